"""Every page over an empty record, one survey, and the demo campus; addresses that ask for what is not there."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from tests.dashboard.conftest import PAGES, links


@pytest.mark.parametrize("page", PAGES)
@pytest.mark.parametrize("record", ["empty_store", "one_survey_store", "demo_store"])
def test_every_page_opens(page: str, record: str, screen, request: pytest.FixtureRequest) -> None:
    test = screen(request.getfixturevalue(record), page)
    assert not test.exception
    assert len(test.title) == 1
    assert any("does not replace, local codes" in text.value for text in test.caption)


def test_hoods_not_to_be_used_come_first_the_dangerous_held_one_before_all(screen, demo_store, manifest) -> None:
    test = screen(demo_store)
    barred = {row["hood_id"] for row in manifest["do_not_use"]} | {
        row["hood_id"] for row in manifest["held_but_dangerous"]
    }
    assert test.header[0].value == f"Hoods that must not be used: {len(barred)}"
    named = [plain(label) for label in links(test)]
    assert named[0] == f"■ {len(barred)} hoods must not be used"  # the line above every page
    assert named[1] == manifest["held_but_dangerous"][0]["hood_id"]
    assert set(named[1 : 1 + len(barred)]) == barred


def plain(label: str) -> str:
    """A link's label without its Markdown."""
    return re.sub(r":\w+\[|\]$|\*\*|\\", "", label)


@pytest.mark.parametrize("page", PAGES)
def test_the_way_to_barred_hoods_stands_on_every_page(page: str, screen, demo_store) -> None:
    assert "must not be used" in links(screen(demo_store, page))[0]


def test_figures_of_the_year_are_the_manifests(screen, demo_store: Path, manifest: dict[str, Any]) -> None:
    test = screen(demo_store, year="2026")
    columns = manifest["survey_columns"]
    surveys = [dict(zip(columns, row, strict=True)) for row in manifest["surveys"]]
    accepted = {
        row["hood_id"] for row in surveys if row["status"] == "accepted" and str(row["surveyed_on"]).startswith("2026")
    }
    shown = next(metric for metric in test.metric if metric.label == "Hoods surveyed")
    assert int(shown.value.split(" of ")[0]) == len(accepted)
    assert any("held survey" in text.value and "left out of every figure" in text.value for text in test.caption)


@pytest.mark.parametrize(
    ("page", "query"),
    [
        ("this_year", {"year": "1823"}),
        ("this_year", {"year": "<script>alert(1)</script>"}),
        ("cross_drafts", {"level": "planet"}),
        ("cross_drafts", {"level": "room", "group": "nowhere"}),
        ("hood", {"hood": "NO-SUCH"}),
        ("hood", {"hood": "AV-103", "survey": "0000"}),
        ("hood", {"hood": "AV-103", "cell": "XFD1048577"}),
        ("work_list", {"state": "fine", "building": "[x](javascript:alert(1))"}),
        ("intake", {"code": "no-such-code"}),
        ("intake", {"mends": "prayer"}),
        ("contractors", {"year": "0"}),
        ("this_year", {"unit": "furlongs"}),
    ],
)
def test_an_address_that_asks_for_what_is_not_there_gets_a_message(page, query, screen, demo_store) -> None:
    test = screen(demo_store, page, **query)
    assert not test.exception
    assert len(test.warning) >= 1
    assert "<script>" not in "".join(text.value for text in test.warning)


def test_the_unit_stands_in_the_address_and_holds_everywhere(screen, demo_store) -> None:
    said = [text.value for text in screen(demo_store, "hood", hood="AV-103", unit="mps").caption]
    assert any(re.search(r"mean 0\.\d\d m/s", text.replace("\\", "")) for text in said), said
    said = [text.value for text in screen(demo_store, "hood", hood="AV-103").caption]
    assert any(re.search(r"mean \d+ ft/min", text.replace("\\", "")) for text in said), said


def test_what_is_carried_comes_along_to_the_next_page(screen, demo_store) -> None:
    test = screen(demo_store, year="2025", unit="mps")
    test.switch_page("screens/contractors.py")
    test.query_params.clear()  # as the browser does on a change of page
    test.run()
    assert test.query_params["year"] in ("2025", ["2025"])
    assert test.query_params["unit"] in ("mps", ["mps"])
    assert any(header.value == "Sheets of 2025" for header in test.header)


def test_a_filter_of_the_work_list_is_its_address(screen, demo_store) -> None:
    test = screen(demo_store, "work_list", state="do not use", building="Avocet Hall")
    assert "Avocet Hall" in test.header[0].value.replace("\\", "")
    hoods = test.dataframe[0].value
    assert len(hoods) > 0
    assert set(hoods["building"]) == {"Avocet Hall"}
    assert all("do not use" in state for state in hoods["state"])


def test_a_hood_leads_to_its_survey_grid_and_cells(screen, demo_store) -> None:
    test = screen(demo_store, "hood", hood="AV-103", cell="C15")
    assert test.title[0].value.replace("\\", "") == "Hood AV-103"
    subheads = [part.value for part in test.subheader]
    assert subheads == ["Face velocities in the opening", "Cross-drafts", "As it was handed in"]
    sheet = test.table[-2].value if "C" not in test.table[-1].value.columns else test.table[-1].value
    assert any("background" in str(value) for value in sheet.to_numpy().ravel()), "the cell asked for is marked"


def test_a_held_survey_says_so_and_names_what_would_mend_it(screen, demo_store, manifest) -> None:
    hood = manifest["held_but_dangerous"][0]["hood_id"]
    test = screen(demo_store, "hood", hood=hood)
    said = " ".join(text.value for text in test.markdown)
    assert "in no figure until it is settled or released" in said
    assert len(test.warning) >= 1
    assert "do not use until settled" in said


def test_a_record_that_is_not_there_gets_one_line(screen, tmp_path) -> None:
    test = screen(tmp_path / "none.db")
    assert not test.exception
    assert test.title[0].value == "The record cannot be opened"
    assert len(test.error) == 1
