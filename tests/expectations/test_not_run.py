"""A check that could not run is louder than one that failed: every survey it concerns is held."""

from __future__ import annotations

import threading
from typing import Any

import pandas as pd
import pytest

from expectations import check, checks, run, suites
from expectations.run import Outcome
from expectations.suites import Check
from tests.expectations.frames import TODAY, Batch, workbooks


@pytest.fixture
def batch() -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    return Batch().add().add().add(drop=("sash_height",)).frames()


def codes_by_survey(found: pd.DataFrame) -> dict[str, list[str]]:
    return {name: sorted(rows["code"]) for name, rows in found.groupby("survey_id")}


def test_an_expectation_that_raises_holds_every_survey_and_loses_no_other_finding(
    batch: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    broken = Check("a broken one", "sash-missing", "sash_height", "between", "no such column", {"min_value": 1})
    monkeypatch.setitem(suites.SUITES, "surveys", [*suites.SURVEY_CHECKS, broken])
    found = check(*batch, today=TODAY)
    assert codes_by_survey(found) == {
        "s00000": ["check-not-run"],
        "s00001": ["check-not-run"],
        "s00002": ["check-not-run", "sash-missing"],
    }
    row = found[found["code"] == "check-not-run"].iloc[0]
    assert row["severity"] == "hold"
    assert "'a broken one'" in row["message"]
    assert "Traceback" not in row["message"]


@pytest.mark.parametrize("table", [0, 1, 2])
def test_no_column_can_be_absent_without_a_word(batch: Any, table: int) -> None:
    """Every column that the checks of a frame look at, taken away in turn: nobody gets away clean."""
    from expectations.prepare import NEEDED as OF_SURVEYS
    from expectations.readings import NEEDED as OF_READINGS
    from expectations.workbooks import NEEDED as OF_WORKBOOKS

    for column in (OF_SURVEYS, OF_READINGS, OF_WORKBOOKS)[table]:
        frames = list(batch)
        frames[table] = frames[table].drop(columns=column)
        frames[2] = frames[2] if table == 2 else None  # of the files nothing is asked here
        found = check(*frames, today=TODAY)
        held = found[found["code"] == "check-not-run"]
        assert len(held) == (1 if table == 2 else 3), column  # the file, or every survey
        assert held["message"].str.contains(column).any(), column


def test_whatever_great_expectations_does_wrong_is_heard(batch: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails() -> Any:
        raise OSError("no context today")

    monkeypatch.setattr(run, "_batch_definition", fails)
    found = check(*batch, today=TODAY)
    held = found[found["code"] == "check-not-run"]
    assert set(held["survey_id"].dropna()) == {"s00000", "s00001", "s00002"}
    assert held["survey_id"].isna().sum() == 1  # the workbook
    assert held["message"].str.contains("no context today").all()


class Result:
    """A validation result as a faulty library could give it."""

    def __init__(self, success: bool = True, exception_info: Any = None, **result: Any) -> None:
        self.success, self.exception_info, self.result = success, exception_info, result


WHOLE = {"element_count": 3, "unexpected_count": 0, "unexpected_index_list": []}


@pytest.mark.parametrize(
    "result",
    [
        Result(),
        Result(False),
        Result(False, {"raised_exception": True, "exception_message": "it broke"}),
        Result(False, {"some metric": {"raised_exception": True, "exception_message": "it broke"}}),
        Result(**(WHOLE | {"element_count": 2})),
        Result(False, **WHOLE),
        Result(True, **(WHOLE | {"unexpected_count": 1, "unexpected_index_list": [0]})),
        Result(False, **(WHOLE | {"unexpected_count": 2, "unexpected_index_list": [0]})),
        Result(False, **(WHOLE | {"unexpected_count": 1, "unexpected_index_list": None})),
    ],
)
def test_a_result_that_is_not_plainly_one_counts_as_not_run(result: Result) -> None:
    outcome, one = Outcome(), suites.SURVEY_CHECKS[0]
    run._take(outcome, one, result, 3, pd.RangeIndex(3))
    assert one in outcome.not_run
    assert not outcome.failed


def test_a_result_that_does_not_come_counts_as_not_run(batch: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = suites.build

    def short(suite: str, severities: dict[str, str]) -> Any:
        built = whole(suite, severities)
        built.expectations = built.expectations[:-1]
        return built

    monkeypatch.setattr(run, "build", short)
    found = check(*batch, today=TODAY)
    assert found.loc[found["code"] == "check-not-run", "message"].str.contains("it gave no result").all()
    assert set(found.loc[found["code"] == "check-not-run", "survey_id"]) >= {"s00000", "s00001", "s00002"}


def test_a_stage_that_raises_holds_the_chunk_it_was_in_and_no_other(batch: Any) -> None:
    surveys, readings, books = batch
    surveys = surveys.assign(face_mean_fpm=surveys["face_mean_fpm"].astype(object))
    surveys.loc[1, "face_mean_fpm"] = "98 or so"
    found = check(surveys, readings, books, today=TODAY, chunk=1)
    assert codes_by_survey(found) == {"s00001": ["check-not-run"], "s00002": ["sash-missing"]}


# --- nothing is not fine ---------------------------------------------------------------------------------------------


def test_empty_frames_have_nothing_due(batch: Any) -> None:
    surveys, readings, books = (frame.iloc[:0] for frame in batch)
    assert check(surveys, readings, books, today=TODAY).empty
    assert check(surveys, readings, None, today=TODAY).empty


def test_surveys_without_any_reading_are_not_fine(batch: Any) -> None:
    surveys, readings, books = batch
    found = check(surveys, readings.iloc[:0], books, today=TODAY)
    assert all("readings-missing" in codes for codes in codes_by_survey(found).values())
    assert len(codes_by_survey(found)) == 3


def test_readings_without_their_survey_are_heard(batch: Any) -> None:
    surveys, readings, books = batch
    found = check(surveys.iloc[:2], readings, books, today=TODAY)
    assert codes_by_survey(found) == {"s00002": ["check-not-run"]}


def test_surveys_of_the_record_need_no_new_workbook(batch: Any) -> None:
    surveys, readings, books = batch
    assert set(check(surveys, readings, books.iloc[:0], today=TODAY)["code"]) == {"sash-missing"}


@pytest.mark.parametrize("changed", [{"sha256": None}, {"sha256": "abc"}, {"status": None}, {"status": "fine"}])
def test_a_workbook_that_is_not_known_for_sure_is_heard(batch: Any, changed: dict[str, Any]) -> None:
    found = check(batch[0].iloc[:0], batch[1].iloc[:0], workbooks(**changed), today=TODAY)
    assert set(found["code"]) == {"check-not-run"}


def test_an_all_missing_column_is_not_fine(batch: Any) -> None:
    surveys, readings, _ = batch
    due = {
        "surveyed_on": "date-missing", "sash_height_in": "sash-missing", "hood_id": "hood-unknown",
        "instrument_id": "instrument-missing", "smoke_local_grade": "smoke-missing",
    }  # fmt: skip
    found = check(surveys.assign(**dict.fromkeys(due), smoke_gross_grade=None), readings, None, today=TODAY)
    for column, code in due.items():
        assert set(found.loc[found["code"] == code, "survey_id"]) == set(surveys["survey_id"]), column
    found = check(surveys, readings.assign(value=None, velocity_fpm=None), None, today=TODAY)
    assert set(found.loc[found["code"] == "check-not-run", "survey_id"]) == set(surveys["survey_id"])
    found = check(surveys, readings.assign(velocity_fpm=None), None, today=TODAY)
    assert set(found.loc[found["code"] == "unit-unknown", "survey_id"]) == set(surveys["survey_id"])


def test_two_surveys_of_one_id_are_heard(batch: Any) -> None:
    surveys, readings, books = batch
    found = check(surveys.assign(survey_id="s00000"), readings[readings["survey_id"] == "s00000"], books, today=TODAY)
    assert "check-not-run" in set(found["code"])


# --- great-expectations itself ---------------------------------------------------------------------------------------


def test_every_expectation_of_a_suite_carries_what_it_is_about() -> None:
    severities = checks.default_severities()
    for name, expected in suites.SUITES.items():
        built = suites.build(name, severities | {"sash-differs": "hold"})
        assert len(built.expectations) == len(expected)
        metas = {e.meta["check"]: e.meta for e in built.expectations}
        assert len(metas) == len(expected)
        for each in expected:
            assert metas[each.name]["code"] == each.code
            assert metas[each.name]["field"] == each.field
            assert metas[each.name]["severity"] == ("hold" if each.code == "sash-differs" else severities[each.code])


def test_threads_do_not_disturb_one_another(batch: Any) -> None:
    surveys, readings, _ = batch
    parts = {n: (surveys.iloc[n:], readings[readings["survey_id"] >= f"s{n:05d}"], None) for n in (0, 2)}
    alone = {n: check(*part, today=TODAY) for n, part in parts.items()}
    found: dict[int, pd.DataFrame] = {}

    def ask(n: int) -> None:
        found[n] = check(*parts[n], today=TODAY)

    threads = [threading.Thread(target=ask, args=(n,)) for n in parts]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    for n, frame in alone.items():
        pd.testing.assert_frame_equal(found[n], frame)


def test_order_chunks_and_labels_change_nothing() -> None:
    order, chunk = [2, 0, 1], 2
    surveys, readings, books = Batch().add().add(drop=("sash_height",)).add({"room": "999"}).frames()
    expected = check(surveys, readings, books, today=TODAY)
    shuffled = surveys.iloc[order].set_axis([f"row {i}" for i in order])
    relabelled = readings.sample(frac=1, random_state=chunk)
    found = check(shuffled, relabelled, books, today=TODAY, chunk=chunk)
    key = ["survey_id", "code", "cell"]
    pd.testing.assert_frame_equal(
        found.sort_values(key, ignore_index=True), expected.sort_values(key, ignore_index=True)
    )


def test_the_frames_given_are_left_as_they_were(batch: Any) -> None:
    before = [frame.copy(deep=True) for frame in batch]
    check(*batch, today=TODAY)
    for frame, same in zip(batch, before, strict=True):
        pd.testing.assert_frame_equal(frame, same)


def test_importing_the_package_loads_no_heavy_library() -> None:
    import subprocess
    import sys

    loaded = "import sys, expectations; print({'pandas', 'numpy', 'great_expectations', 'scipy'} & set(sys.modules))"
    done = subprocess.run([sys.executable, "-c", loaded], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "set()"
