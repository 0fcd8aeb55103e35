"""The discrepancy codes: complete against the contract, safe with a sheet's text, strict about a campus's own file."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor import codes
from auditor.codes import CODES, CodesError, compose, default_severities, find, inert, load_severities

CONTRACT = Path(__file__).resolve().parents[1] / ".." / "shared" / "contract.md"
NEW = {"check-not-run"}  # codes of our own, documented in codes.toml


@pytest.mark.skipif(not CONTRACT.exists(), reason="the contract is not beside this checkout")
def test_the_codes_are_those_of_the_contract() -> None:
    section = CONTRACT.read_text(encoding="utf-8").split("## 4.")[1].split("## 5.")[0]
    rows = [line.split("|")[1:3] for line in section.splitlines() if line.startswith("| `")]
    due = {name: default for cells, default in rows for name in re.findall(r"`([\w-]+)`", cells)}
    assert set(due) | NEW == set(CODES)
    for name, default in due.items():
        words = [word.strip() for word in default.split(",")]
        ours = [CODES[name].severity, *(variant.severity for variant in CODES[name].variants.values())]
        if name == "calibration-missing":  # one row for two codes: 'calibration-expired, calibration-missing'
            words = words[1:]
        assert ours[0] == words[0], name
        assert set(ours) <= set(words), name


def test_every_code_says_what_it_is_and_how_to_mend_it() -> None:
    for code in CODES.values():
        for each in (code, *code.variants.values()):
            assert each.severity in codes.SEVERITIES
            assert each.title
            assert each.message.count("[") == each.message.count("]")
            assert len(each.remedy) > 20
            assert re.fullmatch(r"[a-z]+", each.mends)
            assert set(re.findall(r"\{(\w+)\}", each.message)) <= {"written", "detail", "cell"}, each.key


@pytest.mark.parametrize("key", sorted(default_severities()))
@pytest.mark.parametrize("values", [{}, {"written": "98 fpm"}, {"detail": "It is so"}, {"cell": "B4"}], ids=str)
def test_a_message_has_no_leftovers_whatever_is_missing(key: str, values: dict[str, str]) -> None:
    message, remedy = compose(key, **values)
    assert not re.search(r"[\[\]{}]|''|\(\)|  | [.,:;]|[,:]\.|,,|nan|None", message), message
    assert message[0].isupper()
    assert message[-1] in ".!?"
    assert remedy[-1] == "."
    for value in values.values():
        if any(f"{{{name}}}" in find(key).message for name in values):
            assert value in message


def test_missing_values_of_any_kind_leave_no_trace() -> None:
    bare = compose("unit-mismatch")
    assert compose("unit-mismatch", written=None, detail=float("nan"), cell="") == bare
    assert bare[0] == "The readings cannot be in the unit declared."


@settings(deadline=None)
@given(st.text(max_size=400))
def test_text_from_a_sheet_is_inert(text: str) -> None:
    shown = inert(text)
    assert len(shown) <= 120
    assert "\n" not in shown
    assert "\t" not in shown
    assert all(c.isprintable() for c in shown)
    assert inert(shown) == shown
    message, _ = compose("hood-unknown", written=text, detail="Nearest tag in the register: D-A1000.")
    assert len(message) < 250
    assert message.endswith("Nearest tag in the register: D-A1000.")


def test_a_sheet_cannot_fill_in_the_template() -> None:
    message, _ = compose("hood-unknown", written="[{detail}] {cell}", detail="Secret.", cell="B2")
    assert "'[{detail}] {cell}'" in message
    assert message.count("Secret.") == 1


@pytest.mark.parametrize(
    ("detail", "shown"),
    [
        ("this sheet is hidden", "This sheet is hidden."),
        ("m/s stands in B4", "m/s stands in B4."),
        ("fpm stands in B4.", "fpm stands in B4."),
        ("'x' is no unit", "'x' is no unit."),
        ("Why?", "Why?"),
    ],
)
def test_a_detail_becomes_a_sentence(detail: str, shown: str) -> None:
    assert compose("sheet-hidden", detail=detail)[0] == f"The survey stands on a hidden sheet. {shown}"


def test_a_huge_text_costs_no_more_than_its_beginning() -> None:
    message, _ = compose("reading-not-numeric", written="x" * 20_000_000)
    assert len(message) < 250


def test_a_code_that_does_not_exist_is_an_error() -> None:
    with pytest.raises(KeyError):
        compose("no-such-code")
    with pytest.raises(KeyError):
        compose("hood-missing/no-such-variant")


def test_the_reverse_of_a_verdict_is_a_caution_under_the_same_code() -> None:
    assert find("reported-verdict-differs").severity == "hold"
    reverse = find("reported-verdict-differs", "sheet-passes")
    assert (reverse.code, reverse.severity) == ("reported-verdict-differs", "caution")
    assert reverse.mends == find("reported-verdict-differs").mends


def test_a_campus_may_change_severities(tmp_path: Path) -> None:
    own = tmp_path / "own.toml"
    own.write_text('[severities]\nplace-differs = "hold"\n"reported-verdict-differs/sheet-passes" = "hold"\n')
    changed = load_severities(own)
    assert changed["place-differs"] == "hold"
    assert changed["reported-verdict-differs/sheet-passes"] == "hold"
    same = {key: value for key, value in changed.items() if value == default_severities()[key]}
    assert len(same) == len(changed) - 2
    assert load_severities(None) == load_severities() == default_severities()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('[severities]\nplace-difers = "hold"', "'place-difers': there is no such code"),
        ('[severities]\nplace-differs = "warn"', "'warn' is no severity"),
        ("[severities]\nplace-differs = 1", "1 is no severity"),
        ('[severities]\ncheck-not-run = "caution"', "cannot be changed"),
        ('[severity]\nplace-differs = "hold"', "'severity': only a table [severities]"),
        ('place-differs = "hold"', "only a table [severities]"),
        ("severities = 3", "must be a table"),
        ("[severities", "is not valid TOML"),
        (b"[severities]\nx = '\xff'", "is not UTF-8"),
    ],
)
def test_a_file_that_is_wrong_is_refused_with_its_place(tmp_path: Path, text: str | bytes, words: str) -> None:
    own = tmp_path / "own.toml"
    own.write_bytes(text if isinstance(text, bytes) else text.encode())
    with pytest.raises(CodesError, match=re.escape(words)) as raised:
        load_severities(own)
    assert str(own) in str(raised.value)


def test_a_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(CodesError, match="cannot be read"):
        load_severities(tmp_path / "none.toml")


def test_the_file_of_codes_has_no_stranger_in_it() -> None:
    raw = tomllib.loads(Path(codes.__file__).with_name("codes.toml").read_text(encoding="utf-8"))
    fields = {"severity", "title", "message", "remedy", "mends", "fixed", "variants"}
    assert {key for entry in raw.values() for key in entry} <= fields
