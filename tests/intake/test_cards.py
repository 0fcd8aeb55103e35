"""Settle once, know for ever: cards handed in are kept and used, what is settled is offered, nothing silently."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest

from auditor.cli import main
from auditor.files import Source
from auditor.intake import settle, take_in
from auditor.sheets.cards import CardError
from auditor.teaching import cards_of, offers_for, read_card, remember
from tests.intake.forms import form, workbook

OTHER = [[91, 88, 94], [87, 92, 85]]
THIRD = [[111, 108, 114], [107, 112, 105]]
LAYOUT = """card = 1
contractor = "Cobalt"
[[layout]]
name = "coded form"
shape = "form"
unit = "ft/min"
mark.cells.A1 = "K1"
[layout.fields]
hood = { cell = "B1", label = "K1" }
surveyed_on = { cell = "B2", label = "K2" }
sash_height = { cell = "B3", label = "K3", unit = "in" }
surveyor = "B5"
instrument_id = "B6"
calibration_due = "B8"
smoke_local = "B9"
[[layout.grid]]
range = "B21:D22"
[[layout.cross]]
range = "B28:D28"
"""


def cobalt(hood: str = "H-1", **changes) -> bytes:
    """A form that names its contractor and gives no unit."""
    return workbook({"Contractor": "Cobalt", **form(hood, **{"Velocity unit": None, **changes})})


def coded(hood: str = "H-1", **changes) -> bytes:
    """The form of tests.intake.forms with labels that say nothing."""
    one = form(hood, **changes)
    codes = {name: f"K{i}" for i, name in enumerate((n for n in one if n not in ("grid", "drafts")), start=1)}
    book = workbook({codes.get(name, name): value for name, value in one.items()} | {"K4": "-"})
    import io

    import openpyxl

    opened = openpyxl.load_workbook(io.BytesIO(book))
    sheet = opened.worksheets[0]
    sheet["A20"], sheet["A28"] = "K20", "K28"
    stream = io.BytesIO()
    opened.save(stream)
    return stream.getvalue()


def source(name: str, data: bytes) -> Source:
    return Source(f"{name}.xlsx", f"{name}.xlsx", data)


def only(store, name: str):
    return store.table("surveys", workbook=f"{name}.xlsx").iloc[0]


def taught(text: str = LAYOUT):
    return [read_card(text.encode(), "cobalt.toml")]


# --- cards handed in -------------------------------------------------------------------------------------------------
def test_a_card_handed_in_is_used_kept_and_used_the_next_time(store, terms) -> None:
    assert take_in([source("before", coded())], store, terms).surveys.empty
    outcome = take_in([source("a", coded("H-2"))], store, terms, cards=taught())
    assert list(outcome.surveys["status"]) == ["accepted"]
    assert (only(store, "a")["unit"], only(store, "a")["hood_id"]) == ("ft/min", "H-2")
    assert any("1 sheet read by the card of Cobalt" in note for note in outcome.notes)
    later = take_in([source("b", coded("H-3", grid=OTHER))], store, terms)
    assert (only(store, "b")["status"], only(store, "b")["verdict"]) == ("accepted", "pass")
    assert "by the card of Cobalt" in later.sheets["reason"].iloc[0]
    assert "layout 'coded form'" in later.sheets["reason"].iloc[0]
    assert list(store.cards()["body"]) == [LAYOUT]
    assert store.verify() == []


def test_a_check_keeps_no_card(store, terms) -> None:
    outcome = take_in([source("a", coded())], store, terms, cards=taught(), check=True)
    assert list(outcome.surveys["status"]) == ["accepted"]
    assert store.cards().empty


def test_cards_that_cannot_be_used_are_told_and_change_nothing(store, terms) -> None:
    """One that is for no sheet of the batch, one of the store that can no longer be read."""
    store.add_card("Amber", "card = 99\n", "K. L.")
    outcome = take_in([source("a", workbook(form()))], store, terms, cards=taught())
    assert any("the card of Cobalt" in note and "was used on no sheet" in note for note in outcome.notes)
    assert any("stored card of Amber" in note and "not used" in note for note in outcome.notes)
    assert only(store, "a")["status"] == "accepted"


def test_contradictions_hold_through_the_whole_way(store, terms) -> None:
    """A reading in another unit; numbers that cannot be in the card's unit."""
    other = [["101 m/s", 98, 104], [97, 102, 95]]
    small = [[0.51, 0.5, 0.53], [0.49, 0.52, 0.48]]
    take_in([source("a", coded(grid=other)), source("b", coded("H-2", grid=small))], store, terms, cards=taught())
    for name in ("a", "b"):
        assert only(store, name)["status"] == "held"
        assert "unit-mismatch" in set(store.table("discrepancies", workbook=f"{name}.xlsx")["code"])


def test_a_newer_card_takes_the_place_of_the_older(store, terms) -> None:
    take_in([], store, terms, cards=taught())
    take_in([], store, terms, cards=taught(LAYOUT.replace("coded form", "form of 2026")))
    [card] = cards_of(store)[0]
    assert card.layouts[0].name == "form of 2026"


def test_a_card_says_which_past_sheets_it_would_have_changed(store, terms) -> None:
    take_in([source("a", cobalt()), source("b", workbook(form("H-9", Date=None)))], store, terms)
    words = 'card = 1\ncontractor = "Cobalt"\nunit = "ft/min"\n'
    outcome = take_in([], store, terms, cards=taught(words))
    changed = [note for note in outcome.notes if "would have changed" in note]
    assert len(changed) == 1
    assert "a.xlsx, Hood 1: unit: unknown -> ft/min" in changed[0]
    assert only(store, "a")["status"] == "held"  # what is recorded stays


def test_a_file_that_is_no_card_is_refused() -> None:
    with pytest.raises(CardError, match="UTF-8"):
        read_card(b"\xff\xfe\x00", "x.toml")


# --- offers ----------------------------------------------------------------------------------------------------------
def settled(store, terms, name: str, remember: bool = False, **values: str):
    survey = only(store, name)["survey_id"]
    return settle(store, survey, values, evidence="letter", by="K. L.", terms=terms, remember=remember)


def test_a_settled_unit_is_offered_with_the_held_sheets_it_would_have_changed(store, terms) -> None:
    take_in(
        [
            source("a", cobalt()),
            source("b", cobalt("H-2", grid=OTHER)),
            source("c", workbook(form("H-3", grid=THIRD, **{"Velocity unit": None}) | {"Contractor": "Amber"})),
        ],
        store, terms,
    )  # fmt: skip
    [offer] = offers_for(store, only(store, "a")["survey_id"], {"unit": "fpm"})
    assert (offer.contractor, offer.against) == ("Cobalt", "")
    assert offer.line == '[labels] "Face velocity" = { means = "face", unit = "ft/min" }'
    assert [(c.workbook, c.how) for c in offer.changes] == [("b.xlsx", "unit: unknown -> ft/min")]
    assert store.cards().empty  # offered, not kept


def test_what_is_remembered_is_a_line_of_the_card_by_name_and_known_from_then_on(store, terms) -> None:
    take_in([source("a", cobalt())], store, terms)
    settled(store, terms, "a", remember=True, unit="fpm")
    card = store.cards().iloc[0]
    assert (card["contractor"], card["made_by"]) == ("Cobalt", "K. L.")
    assert tomllib.loads(card["body"])["labels"] == {"Face velocity": {"means": "face", "unit": "ft/min"}}
    other = cobalt("H-3", grid=THIRD, **{"Velocity unit": "m/s"})
    take_in([source("b", cobalt("H-2", grid=OTHER)), source("c", other)], store, terms)
    assert (only(store, "b")["status"], only(store, "b")["unit"]) == ("accepted", "ft/min")
    assert only(store, "c")["status"] == "held"
    assert store.verify() == []
    logged = store.query("SELECT kind, made_by FROM log_entry WHERE kind IN ('card', 'settle') ORDER BY entry_no")
    assert list(logged.itertuples(index=False, name=None)) == [("settle", "K. L."), ("card", "K. L.")]


def test_two_things_settled_at_once_are_two_lines_of_one_card(store, terms) -> None:
    take_in([source("a", cobalt(Date="06/07/2026", **{"Velocity unit": "fpmm"}))], store, terms)
    offers = settled(store, terms, "a", remember=True, unit="ft/min", surveyed_on="2026-07-06")
    assert [o.line for o in offers] == ['[unit_words] "fpmm" = "ft/min"', 'date_order = "dmy"']
    kept = tomllib.loads(store.cards()["body"].iloc[0])
    assert (kept["unit_words"], kept["date_order"]) == ({"fpmm": "ft/min"}, "dmy")
    take_in([source("b", cobalt("H-2", grid=OTHER, Date="08/07/2026", **{"Velocity unit": "fpmm"}))], store, terms)
    row = only(store, "b")
    assert (row["status"], f"{row['surveyed_on']:%Y-%m-%d}") == ("accepted", "2026-07-08")


def test_a_line_joins_the_card_that_a_person_wrote(store, terms) -> None:
    text = '# by hand\ncard = 1\ncontractor = "Cobalt"\nmark.texts = ["nowhere"]\n[labels]\n"K1" = "hood"\n'
    take_in([source("a", cobalt())], store, terms, cards=taught(text))
    remember(store, offers_for(store, only(store, "a")["survey_id"], {"unit": "fpm"}), "x", "K. L.")
    body = store.cards()["body"].iloc[0]
    assert body.startswith("# by hand\n")
    assert set(tomllib.loads(body)["labels"]) == {"K1", "Face velocity"}


def test_a_card_that_says_otherwise_is_never_changed(store, terms) -> None:
    take_in([source("a", cobalt(Date="06/07/2026"))], store, terms)
    store.add_card("Cobalt", 'card = 1\ncontractor = "Cobalt"\nmark.texts = ["x"]\ndate_order = "mdy"\n', "M. N.")
    [offer] = offers_for(store, only(store, "a")["survey_id"], {"surveyed_on": "2026-07-06"})
    assert "says otherwise of 'date_order'" in offer.against
    assert remember(store, [offer], "x", "K. L.") == []
    assert len(store.query("SELECT * FROM card")) == 1


def test_without_a_contractor_there_is_no_card_to_offer(store, terms) -> None:
    take_in([source("a", workbook(form(**{"Velocity unit": None})))], store, terms)
    [offer] = offers_for(store, only(store, "a")["survey_id"], {"unit": "fpm"})
    assert "names no contractor" in offer.against
    assert remember(store, [offer], "x", "K. L.") == []
    assert store.cards().empty


def test_what_holds_for_one_survey_alone_is_not_offered(store, terms) -> None:
    """Its sash, its surveyor, a tag that means another hood of the register."""
    take_in([source("a", cobalt("H-3", **{"Velocity unit": "fpm"}))], store, terms)
    survey = only(store, "a")["survey_id"]
    assert offers_for(store, survey, {"sash_height": "18 in", "surveyor": "K. L.", "hood": "H-4"}) == []


def test_a_settled_hood_is_offered_as_an_alias_and_frees_the_held_sheets_of_that_tag(store, terms) -> None:
    take_in(
        [source("a", workbook(form("BH2-14"), form("bh2-14", Date="2025-04-02", grid=OTHER)))], store, terms
    )  # fmt: skip
    first, second = store.table("surveys")["survey_id"]
    [offer] = offers_for(store, first, {"hood": "H-4"})
    assert offer.alias == ("BH2-14", "H-4")
    assert [c.survey_id for c in offer.changes] == [second]
    assert store.aliases().empty
    [again] = settle(store, first, {"hood": "H-4"}, evidence="plan", by="K. L.", terms=terms, remember=True)
    assert [c.survey_id for c in again.changes] == [second]
    assert set(store.table("surveys")["hood_id"]) == {"H-4"}
    assert list(store.aliases().itertuples(index=False, name=None)) == [("BH2-14", "H-4")]
    assert store.verify() == []


# --- commands --------------------------------------------------------------------------------------------------------
@pytest.fixture
def here(tmp_path: Path, store, monkeypatch) -> Path:
    store.close()
    monkeypatch.setenv("HOODAUDIT_STORE", str(tmp_path / "record.db"))
    monkeypatch.setenv("HOODAUDIT_TODAY", "2026-11-16")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_draft_mend_and_hand_in(here: Path, capsys) -> None:
    (here / "a.xlsx").write_bytes(workbook({"Contractor": "Cobalt", **form()}))
    assert main(["explain", "a.xlsx", "--draft-card", "-o", "cobalt.toml"]) == 0
    text = (here / "cobalt.toml").read_text()
    assert 'contractor = "Cobalt"' in text
    assert main(["explain", "a.xlsx", "--draft-card"]) == 0
    assert capsys.readouterr().out == text
    assert main(["intake", "a.xlsx", "--card", "cobalt.toml", "--json"]) == 0
    said = capsys.readouterr()
    assert json.loads(said.out)["surveys"][0]["status"] == "accepted"
    assert "read by the card of Cobalt" in said.err
    assert main(["explain", "a.xlsx"]) == 0
    assert "by the card of Cobalt" in capsys.readouterr().out


def test_a_card_with_a_slip_is_refused_in_one_line(here: Path, capsys) -> None:
    (here / "a.xlsx").write_bytes(cobalt())
    (here / "bad.toml").write_text(LAYOUT.replace("B21:D22", "B21-D22"))
    for command in (["intake", "a.xlsx", "--card", "bad.toml"], ["explain", "a.xlsx", "--card", "bad.toml"]):
        assert main(command) == 2
        said = capsys.readouterr().err
        assert "bad.toml: layout 1 ('coded form'), grid 1, range: 'B21-D22' is not a range" in said
    assert main(["intake", "a.xlsx", "--card", "nowhere.toml"]) == 3
    assert "nowhere.toml" in capsys.readouterr().err


def test_a_draft_that_must_be_filled_in_says_so(here: Path, capsys) -> None:
    (here / "a.xlsx").write_bytes(workbook(form()))
    assert main(["explain", "a.xlsx", "--draft-card", "-o", "x.toml"]) == 1
    assert "x.toml: contractor: the draft left this open" in capsys.readouterr().err


def test_settle_prints_its_offer_and_the_command_that_keeps_it(here: Path, capsys) -> None:
    for name, hood, grid in (("a", "H-1", OTHER), ("b", "H-2", THIRD)):
        (here / f"{name}.xlsx").write_bytes(cobalt(hood, grid=grid))
    assert main(["intake", "a.xlsx", "b.xlsx", "--json"]) == 1
    survey = json.loads(capsys.readouterr().out)["surveys"][0]["survey_id"]
    words = ["settle", survey, "--set", "unit=fpm", "--evidence", "their letter", "--by", "K. L."]
    assert main(words) == 0
    said = capsys.readouterr().out
    assert "'Face velocity' is face velocity in ft/min" in said
    assert "1 held survey" in said
    assert "b.xlsx" in said
    flat = " ".join(said.split())
    assert f"hoodaudit settle {survey} --set unit=fpm --evidence 'their letter' --by 'K. L.' --remember" in flat
    assert main([*words, "--remember", "--json"]) == 0
    [offer] = json.loads(capsys.readouterr().out)["offers"]
    assert (offer["kept"], offer["contractor"]) == (True, "Cobalt")
    assert [c["workbook"] for c in offer["would_have_changed"]] == ["b.xlsx"]
    assert main(["verify"]) == 0
