"""Makes `sample_workbooks/`: `python -m tests.demo.make_campus [FOLDER]`. A second run gives the same bytes."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

from tests.demo import campaigns, campus, faults, manifest, workbooks
from tests.demo.readme import readme
from tests.demo.register import write_register
from tests.demo.surveys import Survey

FOLDER = Path(__file__).resolve().parents[2] / "sample_workbooks"


def _lose_some(by_year: dict[int, list[Survey]]) -> list[Survey]:
    """The four surveys of this year that went into the damaged workbook."""
    sound = [
        s for s in by_year[2026] if s.hood.code == "DU" and not s.faults and s.hood.hood_type == "general chemical"
    ]
    lost = sound[-4:]
    by_year[2026] = [s for s in by_year[2026] if s not in lost]
    return lost


def _demo_toml() -> str:
    lines = [
        "# The demo's own day, so that it does not age, and the days within which each campaign's surveys must fall.",
        f'title = "{campus.TITLE}"',
        f"today = {campus.TODAY.isoformat()}",
        'register = "register.xlsx"',
        'manifest = "manifest.json"',
    ]
    for year in campus.YEARS:
        lines += [
            "",
            "[[campaign]]",
            f"year = {year}",
            f'folder = "{year}"',
            f"from = {year}-01-05",
            f"to = {year}-12-18",
        ]
    return "\n".join(lines) + "\n"


def _others() -> list[dict[str, Any]]:
    nothing: dict[str, Any] = {
        "cell": None,
        "cell_is_exact": True,
        "anchor": None,
        "hood_id": None,
        "named": None,
        "true_hood": None,
    }
    nothing |= {"surveyed_on": None}
    cut_short: dict[str, Any] = {
        "code": "file-unreadable",
        "severity": "hold",
        "workbook": manifest.file_name(workbooks.DAMAGED),
    }
    cut_short |= {"sheet": None, **nothing, "field": "file"}
    example: dict[str, Any] = {
        "code": "example-left-in",
        "severity": "caution",
        "workbook": manifest.file_name(workbooks.EXAMPLE_IN),
    }
    example |= {"sheet": "Example", **nothing, "cell_is_exact": False, "field": "sheet"}
    return [
        cut_short | {"story": "a workbook cut short on its way; four hoods are in it"},
        example | {"story": "the template's example was not removed"},
    ]


def make() -> dict[str, bytes]:
    """Every file of the demo by its path within the folder."""
    hoods = campus.make_hoods()
    by_year, events = campaigns.all_surveys(hoods)
    faults.plant_all(by_year)
    lost = _lose_some(by_year)
    files: dict[str, bytes] = {}
    for year in campus.YEARS[:-1]:
        files |= workbooks.archive(year, by_year[year])
    files |= workbooks.this_year(by_year[2026])
    files[workbooks.DAMAGED] = workbooks.damaged(lost)
    books = [
        {"path": path, "workbook": manifest.file_name(path), "year": int(path[:4]),
         "status": "unreadable" if path == workbooks.DAMAGED else "read"}
        for path in sorted(files)
    ]  # fmt: skip
    truth = manifest.make_manifest(hoods, by_year, books, _others(), {s.hood.hood_id for s in lost})
    files["register.xlsx"] = write_register(hoods, events)
    files["demo.toml"] = _demo_toml().encode()
    files["manifest.json"] = _dump(truth).encode()
    files["README.md"] = readme(truth).encode()
    return files


def _dump(truth: dict[str, Any]) -> str:
    """JSON with one line to a row of the long lists."""
    parts = []
    for key, value in truth.items():
        if isinstance(value, list) and value and isinstance(value[0], dict | list):
            rows = ",\n  ".join(json.dumps(v, ensure_ascii=False) for v in value)
            parts.append(f" {json.dumps(key)}: [\n  {rows}\n ]")
        else:
            parts.append(f" {json.dumps(key)}: {json.dumps(value, ensure_ascii=False)}")
    return "{\n" + ",\n".join(parts) + "\n}\n"


def main(folder: Path = FOLDER) -> None:
    files = make()
    for path, data in files.items():
        target = folder / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(data)
    print(f"{len(files)} files, {sum(map(len, files.values())) / 1e6:.2f} MB, in {folder}", file=sys.stderr)


if __name__ == "__main__":
    main(Path(sys.argv[1])) if len(sys.argv) > 1 else main()
