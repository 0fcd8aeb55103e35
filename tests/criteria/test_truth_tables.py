"""Each profile against its table in `truth/`: readings, and the outcome due for every criterion it has.

The limits are those of the sources named in the profiles; cases P1, P2, X1-X3, T1 and the printed misfits (0.4 m/s is
not 80 ft/min, '+20%', the gaps of integer bands) are worked from those sources by hand. A table is named for its
profile, or for several joined by ' + '. An empty outcome means that the criterion is not for that survey."""

import csv
from functools import cache
from pathlib import Path

import pytest

from auditor.criteria import combine
from tests.criteria.builders import PROFILES, judged, survey

TABLES = {path.stem: path for path in sorted((Path(__file__).parent / "truth").glob("*.csv"))}
ROWS = [(name, row) for name, path in TABLES.items() for row in csv.DictReader(path.open(encoding="utf-8"))]
GIVEN = ["case", "unit", "face", "cross", "smoke", "beside", "verdict"]
OF_THE_SURVEY = {"sash", "operating_mode", "tracer"}


def beside(text: str) -> tuple[dict, dict, float | None]:
    """(fields of the survey, of the register, the last point's distance from the edge)."""
    pairs = dict(p.split("=", 1) for p in text.split(";") if p)
    edge = pairs.pop("edge", None)
    values = {k: (float(v) if v.replace(".", "").isdigit() else v or None) for k, v in pairs.items()}
    mine = {k: v for k, v in values.items() if k in OF_THE_SURVEY}
    return mine, {k: v for k, v in values.items() if k not in OF_THE_SURVEY}, float(edge) if edge else None


@cache
def judged_table(name: str) -> tuple[dict[str, dict[str, str]], dict[str, str]]:
    """(outcomes by case, verdict by case) of all rows of one table, judged in one go."""
    surveys, registers = [], []
    for profile, row in ROWS:
        if profile == name:
            fields, register, edge = beside(row["beside"])
            edges = [5.0] * 8 + [edge] if edge is not None else None
            one = survey(
                row["face"],
                row["cross"],
                row["smoke"] or None,
                row["unit"],
                survey_id=row["case"],
                edges=edges,
                **fields,
            )
            surveys.append(one)
            registers.append(register)
    j = judged(*surveys, register=registers, profile=name)
    each = {
        case: dict(zip(rows["criterion"], rows["outcome"], strict=True))
        for case, rows in j.findings.groupby("survey_id")
    }
    return each, dict(zip(j.verdicts["survey_id"], j.verdicts["verdict"], strict=True))


@pytest.mark.parametrize(("profile", "row"), ROWS, ids=[f"{name}: {row['case']}" for name, row in ROWS])
def test_every_outcome_is_as_the_table_says(profile, row):
    outcomes, verdicts = judged_table(profile)
    assert outcomes[row["case"]] == {c: o for c, o in row.items() if c not in GIVEN and o}
    assert verdicts[row["case"]] == row["verdict"]


@pytest.mark.parametrize("name", TABLES)
def test_a_table_has_every_criterion_of_its_profile(name):
    profile = combine(PROFILES, name)
    columns = set(next(csv.reader(TABLES[name].open(encoding="utf-8")))) - set(GIVEN)
    optional = {"washdown", "tracer-gas"}  # for perchloric hoods, and for rated ones: they have tests of their own
    assert columns | optional == {limit.criterion for limit in profile.limits} | optional


def test_every_profile_that_is_in_use_has_a_table():
    covered = {part.strip() for name in TABLES for part in name.split("+")} | {"draft-and-smoke"}
    assert {name for name, p in PROFILES.items() if p.enabled} <= covered
