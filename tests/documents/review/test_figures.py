"""The review's figures against the exported tables, counted anew with plain loops, and against published formulas."""

from __future__ import annotations

import math
from collections import Counter
from pathlib import Path

import pandas as pd
import pytest

from auditor.answers import hood_states, table
from auditor.answers.causes import UNTOLD
from auditor.answers.record import open_record
from auditor.answers.reviewing import Review, review
from tests.documents.review.conftest import TODAY, YEAR


@pytest.fixture(scope="module")
def exported(demo_store: Path) -> dict[str, pd.DataFrame]:
    names = ("register", "surveys", "findings", "discrepancies", "verdicts", "rates", "trends", "clusters")
    with open_record(str(demo_store)) as store:
        found = {name: table(store, name, today=TODAY) for name in names}
        return found | {"states": hood_states(store, TODAY)}


def of_the_year(surveys: pd.DataFrame) -> pd.DataFrame:
    return surveys[surveys["surveyed_on"].dt.year.eq(YEAR) & surveys["status"].ne("superseded")]


def test_coverage(gathered: Review, exported: dict[str, pd.DataFrame]):
    seen: dict[str, set[str]] = {}
    for row in of_the_year(exported["surveys"]).to_dict("records"):
        seen.setdefault(row["hood_id"], set()).add(row["status"])
    counted: Counter[str] = Counter()
    for hood in exported["register"].to_dict("records"):
        if hood["in_service"] is False or hood["installed_on"] > pd.Timestamp(YEAR, 12, 31):
            continue
        had = seen.get(hood["hood_id"], set())
        counted["accepted" if "accepted" in had else "held" if had else "none"] += 1
    facts = gathered.facts
    assert (facts["covered"], facts["held_only"], facts["not_surveyed"]) == (
        counted["accepted"], counted["held"], counted["none"],
    )  # fmt: skip
    assert facts["in_service"] == sum(counted.values())
    assert len(gathered.tables["without_survey"]) == counted["held"] + counted["none"]


def test_verdicts_and_their_interval(gathered: Review, exported: dict[str, pd.DataFrame]):
    """Each hood by the worst verdict of its last day; Wilson's interval by his formula (Wilson 1927, as in Agresti and
    Coull 1998), z = 1.959964."""
    worst = ["fail", "restricted", "not judged", "pass"]
    last: dict[str, tuple[pd.Timestamp, str]] = {}
    for row in of_the_year(exported["surveys"]).to_dict("records"):
        if row["status"] != "accepted":
            continue
        day, verdict = last.get(row["hood_id"], (pd.Timestamp(0), "pass"))
        if row["surveyed_on"] > day:
            last[row["hood_id"]] = row["surveyed_on"], row["verdict"]
        elif row["surveyed_on"] == day:
            last[row["hood_id"]] = day, min(verdict, row["verdict"], key=worst.index)
    counts = Counter(verdict for _, verdict in last.values())
    facts = gathered.facts
    assert (facts["passed"], facts["restricted"], facts["failed"], facts["not_judged"]) == (
        counts["pass"], counts["restricted"], counts["fail"], counts["not judged"],
    )  # fmt: skip
    n = counts["pass"] + counts["restricted"] + counts["fail"]
    p, z = counts["pass"] / n, 1.959963984540054
    centre, half = p + z * z / (2 * n), z * math.sqrt(p * (1 - p) / n + z * z / (4 * n * n))
    assert facts["low"] == pytest.approx((centre - half) / (1 + z * z / n), abs=1e-12)
    assert facts["high"] == pytest.approx((centre + half) / (1 + z * z / n), abs=1e-12)
    failing = gathered.tables["failing"]
    assert dict(Counter(failing["verdict"])) == {k: counts[k] for k in ("fail", "restricted") if counts[k]}
    assert set(failing["hood_id"]) == {hood for hood, (_, v) in last.items() if v in ("fail", "restricted")}


def test_by_building_it_adds_up_to_the_campus(gathered: Review):
    table = gathered.tables["verdicts_by_building"]
    for name, fact in (("judged", "judged"), ("passed", "passed"), ("not_judged", "not_judged")):
        assert table[name].sum() == gathered.facts[fact]


def test_states_are_those_of_today(gathered: Review, exported: dict[str, pd.DataFrame]):
    counts = Counter(exported["states"]["state"])
    facts = gathered.facts
    assert facts["not_in_use"] == counts["do not use"] + counts["do not use until settled"] > 0
    assert facts["restricted_now"] == counts["restricted"]
    assert facts["overdue_now"] == counts["overdue"]
    assert facts["never"] == counts["never surveyed"]


def test_held_surveys_are_left_out_and_counted(gathered: Review, exported: dict[str, pd.DataFrame]):
    held = exported["surveys"][exported["surveys"]["status"].eq("held")]
    assert gathered.facts["surveys_held"] == len(of_the_year(held)) > 0
    assert gathered.facts["undated"] == held["surveyed_on"].isna().sum() > 0
    assert len(gathered.tables["held"]) == gathered.facts["left_out"]
    assert set(gathered.tables["failing"]["survey_id"]).isdisjoint(held["survey_id"])


def test_findings_by_criterion_and_by_cause(gathered: Review, exported: dict[str, pd.DataFrame]):
    accepted = of_the_year(exported["surveys"]).query("status == 'accepted'")["survey_id"]
    found = exported["findings"]
    bad = found[found["survey_id"].isin(accepted) & found["outcome"].isin(["restricted", "fail"])]
    counted = Counter(zip(bad["criterion"], bad["outcome"], strict=True))
    table = gathered.tables["criteria_failed"].set_index("criterion")
    assert {(c, "fail"): n for c, n in table["failed"].items() if n} | {
        (c, "restricted"): n for c, n in table["restricted"].items() if n
    } == dict(counted)
    causes = gathered.tables["causes"].set_index("cause")["findings"]
    untold = bad["causes"].fillna("").str.startswith(UNTOLD) | bad["causes"].fillna("").eq("")
    assert causes[UNTOLD] == untold.sum()
    # each finding that tells causes numbers them: '1. …; 2. …'
    told = bad.loc[~untold, "causes"].str.count(r"(?:^|; )\d+\. ").sum()
    assert causes.drop(UNTOLD).sum() == told


def test_trends_and_clusters_are_the_exports(gathered: Review, exported: dict[str, pd.DataFrame]):
    own = gathered.tables["trends"].sort_values("hood_id", ignore_index=True)[exported["trends"].columns]
    pd.testing.assert_frame_equal(own, exported["trends"].sort_values("hood_id", ignore_index=True), check_dtype=False)
    pd.testing.assert_frame_equal(gathered.tables["clusters"], exported["clusters"])
    assert gathered.facts["falling"] == exported["trends"]["trend"].eq("falling").sum()
    assert gathered.facts["tested"] == exported["trends"]["p_value"].notna().sum()
    assert gathered.facts["claimed"] == exported["clusters"]["claimed"].sum()


def test_the_profile_and_its_version_are_those_of_the_verdicts(gathered: Review, exported: dict[str, pd.DataFrame]):
    accepted = of_the_year(exported["surveys"]).query("status == 'accepted'")["survey_id"]
    used = exported["verdicts"][exported["verdicts"]["survey_id"].isin(accepted)]
    wanted = used.groupby(["profile", "profile_version"]).size().to_dict()
    table = gathered.tables["profiles"]
    assert (
        dict(zip(zip(table["profile"], table["profile_version"], strict=True), table["surveys"], strict=True)) == wanted
    )
    assert gathered.facts["profiles"] == "Common practice (version 1)"


def test_the_first_year_has_nothing_before_it(demo_store: Path):
    told: list[tuple[int, int]] = []
    with open_record(str(demo_store)) as store:
        found = review(store, 2022, TODAY, told=lambda done, steps, _: told.append((done, steps)))
    assert told == [(n, 9) for n in range(1, 10)]
    assert found.tables["over_years"]["year"].tolist() == [2022]
    assert found.tables["moves"].empty
    assert pd.isna(found.facts["change_hoods_both"])


def test_a_year_without_surveys_is_refused(demo_store: Path):
    with (
        open_record(str(demo_store)) as store,
        pytest.raises(ValueError, match="no survey of 2019; years with surveys"),
    ):
        review(store, 2019, TODAY)


def test_a_profile_that_is_gone_or_has_changed_is_never_taken_for_another(demo_store: Path):
    import dataclasses

    from auditor.answers.profiles import profiles_named, title_of
    from auditor.answers.reviewing import _criteria
    from auditor.criteria import load_profiles

    known = load_profiles()
    newer = known | {"common-practice": dataclasses.replace(known["common-practice"], version="2")}
    with open_record(str(demo_store)) as store:
        gone = _criteria(store, YEAR, {"general-80-120": known["general-80-120"]})
        changed = _criteria(store, YEAR, newer)
    assert gone["profiles"]["title"].tolist() == ["common-practice (no longer among the profiles)"]
    assert gone["criteria"].empty
    assert changed["profiles"][["profile_version", "version_now"]].values.tolist() == [["1", "2"]]
    joined = profiles_named(["common-practice + draft-30pct", "common-practice + nobody"])
    assert [profile is None for profile in joined.values()] == [False, True]
    assert title_of("x", None) != known["common-practice"].title
