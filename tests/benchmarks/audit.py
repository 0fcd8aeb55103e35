"""How long a whole audit takes beside openpyxl's read-only mode merely iterating over the same files.

Run by hand: `python tests/benchmarks/audit.py [--workbooks 200] [--sheets 30] [--workers 1]`. Both run as processes of
their own over the same bytes, in turn; processor time and the largest process's peak memory come from the operating
system. The fixed start (a run over one workbook of one sheet) is shown apart.
"""

from __future__ import annotations

import argparse
import datetime as dt
import os
import random
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import xlsxwriter

ITERATE = """
import sys, openpyxl
from pathlib import Path
for path in sorted(Path(sys.argv[1]).glob('*.xlsx')):
    book = openpyxl.load_workbook(path, read_only=True)
    for sheet in book:
        for row in sheet.iter_rows(values_only=True):
            pass
    book.close()
"""


def make(folder: Path, workbooks: int, sheets: int) -> None:
    """Form sheets of about 220 filled cells: fields, a grid of 6 x 12, a cross-draft table, notes."""
    random.seed(7)
    folder.mkdir(parents=True, exist_ok=True)
    tags = []
    for number in range(workbooks):
        book = xlsxwriter.Workbook(folder / f"contractor-{number:04}.xlsx")
        day = book.add_format({"num_format": "yyyy-mm-dd"})
        for place in range(sheets):
            tag = f"H-{number * sheets + place:06}"
            tags.append(tag)
            fill(book.add_worksheet(f"Sheet {place + 1}"), tag, day)
        book.close()
    rows = [f"{tag},Alder,1,{n},72,30,18" for n, tag in enumerate(tags)]
    (folder / "register.csv").write_text(
        "hood_id,building,floor,room,opening_width_in,opening_height_in,working_sash_in\n" + "\n".join(rows)
    )


def fill(sheet, tag: str, day) -> None:
    fields = [
        ("Hood ID", tag), ("Building", "Alder"), ("Date of survey", dt.date(2026, 5, 4)), ("Reason", "Annual"),
        ("Surveyed by", "K. L."), ("Instrument", "TA-2"), ("Calibrated", dt.date(2026, 1, 12)),
        ("Calibration due", dt.date(2027, 1, 12)), ("Sash height (in)", 18), ("Opening width (in)", 72),
        ("Opening height (in)", 30), ("Velocity unit", "fpm"),
    ]  # fmt: skip
    for row, (label, value) in enumerate(fields):
        sheet.write(row, 0, label)
        if isinstance(value, dt.date):
            sheet.write_datetime(row, 1, dt.datetime.combine(value, dt.time()), day)
        else:
            sheet.write(row, 1, value)
    sheet.write(14, 0, "Face velocity")
    sheet.write_row(15, 1, list(range(1, 13)))
    for row in range(6):
        sheet.write(16 + row, 0, "ABCDEF"[row])
        sheet.write_row(16 + row, 1, [random.randint(86, 114) for _ in range(12)])
    sheet.write(23, 0, "Cross-draft at 6 in")
    sheet.write_row(24, 1, ["Left", "Centre", "Right"])
    for row, name in enumerate(("Parallel", "Perpendicular", "Vertical")):
        sheet.write_row(25 + row, 0, [name, *(random.randint(3, 15) for _ in range(3))])
    sheet.write_row(29, 0, ["Smoke (tube)", "captured"])
    sheet.write_row(30, 0, ["Smoke (large volume)", "captured, slow clearing"])
    for row in range(12):
        sheet.write_row(33 + row, 0, ["Note", "all doors closed", "lamp works", "sink dry", "label renewed"])


def run(words: list[str], environment: dict[str, str]) -> tuple[float, float]:
    """(processor seconds, wall seconds) of one process and its children."""
    before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    done = subprocess.run(words, env=os.environ | environment, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    if done.returncode not in (0, 1):
        raise SystemExit(done.stderr.decode())
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime, time.perf_counter() - start


def audit(folder: Path, workers: int) -> tuple[float, float]:
    with tempfile.TemporaryDirectory() as place:
        environment = {"HOODAUDIT_STORE": f"{place}/record.db", "HOODAUDIT_TODAY": "2026-11-16"}
        command = [sys.executable, "-m", "auditor"]
        run([*command, "register", "load", str(folder / "register.csv")], environment)
        files = [str(path) for path in sorted(folder.glob("*.xlsx"))]
        return run([*command, "intake", *files, "--workers", str(workers), "--json"], environment)


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--workbooks", type=int, default=200)
    parser.add_argument("--sheets", type=int, default=30)
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--rounds", type=int, default=3)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        one, many = Path(place) / "one", Path(place) / "many"
        make(one, 1, 1)
        make(many, options.workbooks, options.sheets)
        start = min(audit(one, 1)[0] for _ in range(2))
        print(f"fixed start: {start:.2f} s of processor time")
        print("processor s: audit, openpyxl read-only, ratio | wall s: audit, openpyxl")
        for _ in range(options.rounds):
            ours = audit(many, options.workers)
            theirs = run([sys.executable, "-c", ITERATE, str(many)], {})
            print(
                f"{ours[0]:.2f}  {theirs[0]:.2f}  {ours[0] / theirs[0]:.2f} | {ours[1]:.2f}  {theirs[1]:.2f}",
                flush=True,
            )
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    print(f"peak of the largest process: {peak:.0f} MB")


if __name__ == "__main__":
    main()
