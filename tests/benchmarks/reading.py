"""Time and peak memory of reading, side by side on the same files.

    python tests/benchmarks/reading.py [--workbooks 20 200] [--sheets 30] [--readers ...]

Each reader runs in a process of its own over all the files, once. Time is processor time, which other work on the
machine disturbs least; memory is the process's peak resident size less the size it had before the
first file. The files are surveys on forms of 222 filled cells, 30 sheets to a workbook."""

from __future__ import annotations

import argparse
import datetime as dt
import os
import random
import subprocess
import sys
import tempfile
import time
from pathlib import Path

READERS = ("read_workbook", "openpyxl read-only", "openpyxl full twice", "python-calamine")


def build(folder: Path, workbooks: int, sheets: int) -> None:
    """Writes the files: labels, dates, whole and decimal readings, formulas with stored results."""
    import xlsxwriter

    for number in range(workbooks):
        chance = random.Random(number)
        book = xlsxwriter.Workbook(str(folder / f"survey-{number:04}.xlsx"))
        one, day = book.add_format({"num_format": "0.0"}), book.add_format({"num_format": "yyyy-mm-dd"})
        for index in range(sheets):
            sheet = book.add_worksheet(f"Hood {index + 1}")
            for row in range(37):
                sheet.write_string(row, 0, f"Label {row}")
                for column in range(1, 6):
                    if row == 3:
                        sheet.write_datetime(row, column, dt.datetime(2026, 3, column), day)
                    elif column == 5 and row % 5 == 0:
                        sheet.write_formula(row, column, f"=AVERAGE(B{row + 1}:E{row + 1})", one, 98.2)
                    elif row % 2:
                        sheet.write_number(row, column, chance.randint(70, 130))
                    else:
                        sheet.write_number(row, column, round(chance.gauss(98, 11), 1), one)
        book.close()


def run(reader: str, folder: Path) -> tuple[float, float, int]:
    """Processor seconds, peak MB above the start, cells seen."""
    read = _reader(reader)
    before = _peak_kilobytes(reset=True)
    started, cells = time.process_time(), 0
    for path in sorted(folder.glob("*.xlsx")):
        cells += read(path)
    seconds = time.process_time() - started
    return seconds, (_peak_kilobytes() - before) / 1024, cells


def _peak_kilobytes(reset: bool = False) -> int:
    """Peak resident size since the last reset (Linux: VmHWM; the parent's peak is inherited, hence the reset)."""
    if reset:
        Path("/proc/self/clear_refs").write_text("5")
    status = Path("/proc/self/status").read_text()
    return int(next(line for line in status.splitlines() if line.startswith("VmHWM")).split()[1])


def _reader(name: str):
    if name == "read_workbook":
        from auditor.workbook import read_workbook

        return lambda path: sum(len(s.cells) for s in read_workbook(path.read_bytes(), path.name).sheets)
    if name == "python-calamine":
        import python_calamine

        def calamine(path: Path) -> int:
            book = python_calamine.CalamineWorkbook.from_path(str(path))
            return sum(
                value != "" for title in book.sheet_names for row in book.get_sheet_by_name(title).to_python()
                for value in row
            )  # fmt: skip

        return calamine
    import openpyxl

    def read_only(path: Path) -> int:
        book = openpyxl.load_workbook(path, read_only=True, data_only=True)
        count = sum(cell.value is not None for sheet in book for row in sheet.iter_rows() for cell in row)
        book.close()
        return count

    def full_twice(path: Path) -> int:
        values, formulas = openpyxl.load_workbook(path, data_only=True), openpyxl.load_workbook(path)
        count = sum(cell.value is not None for sheet in values for row in sheet.iter_rows() for cell in row)
        return count + 0 * sum(cell.data_type == "f" for sheet in formulas for row in sheet.iter_rows() for cell in row)

    return read_only if name == "openpyxl read-only" else full_twice


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--workbooks", type=int, nargs="+", default=[20, 200])
    parser.add_argument("--sheets", type=int, default=30)
    parser.add_argument("--readers", nargs="+", default=READERS, choices=READERS)
    parser.add_argument("--one", nargs=2, metavar=("READER", "FOLDER"), help=argparse.SUPPRESS)
    chosen = parser.parse_args()
    if chosen.one:
        print(*run(chosen.one[0], Path(chosen.one[1])))
        return
    print("workbooks  reader               seconds  ms/sheet  to read-only  peak MB     cells")
    for count in chosen.workbooks:
        with tempfile.TemporaryDirectory() as folder:
            build(Path(folder), count, chosen.sheets)
            measured = {reader: _in_process(reader, folder) for reader in chosen.readers}
        base = measured.get("openpyxl read-only", [float("nan")])[0]
        for reader, (seconds, peak, cells) in measured.items():
            each = 1000 * seconds / (count * chosen.sheets)
            line = f"{count:9}  {reader:20} {seconds:7.2f} {each:9.2f} {seconds / base:13.2f} {peak:8.0f} {cells:9.0f}"
            print(line, flush=True)


def _in_process(reader: str, folder: str) -> list[float]:
    root = Path(__file__).resolve().parents[2]
    command = [sys.executable, __file__, "--one", reader, folder]
    done = subprocess.run(command, capture_output=True, text=True, check=True, cwd=root, env=_environment(root))
    return [float(word) for word in done.stdout.split()]


def _environment(root: Path) -> dict[str, str]:
    return {**os.environ, "PYTHONPATH": str(root)}


if __name__ == "__main__":
    main()
