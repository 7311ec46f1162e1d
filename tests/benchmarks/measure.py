"""Time and peak memory of the whole job as ratios to bare libraries doing the same cells in the same run.

Run ``python -m tests.benchmarks.measure`` from the project root. For each number of rows it makes an input workbook,
then measures, each in its own process and taken in turns: the engine (read, compute, check, write), and bare libraries
(import openpyxl, xlsxwriter, numpy and pandas; read the same input with openpyxl; write the same cells, formulas and
values with XlsxWriter, once as its manual says and once with its search of formulas for newer functions left out, as
the engine does). The bare runs load nothing of the engine and get their cells ready made, so they compute nothing.
Seconds are those of the processor, which a busy machine blurs less than those of the clock; modules are compiled
beforehand, as they are once installed. Above `MOST_PLAIN_ROWS` only
the second, faster bare part runs.
Never run as a timed test.
"""

import contextlib
import datetime
import os
import pickle
import resource
import subprocess
import sys
import tempfile
from pathlib import Path
from statistics import median
from typing import Any

ROWS = (40, 1_000, 10_000, 100_000)
REPEATS = {40: 5, 1_000: 3, 10_000: 1, 100_000: 1}
MOST_PLAIN_ROWS = 10_000
_PROPELLERS = 8


def make_input(path: Path, rows: int) -> None:
    """Write an input workbook of `rows` readings with eight propellers on three and four cells."""
    import xlsengine

    readings = [_reading(row) for row in range(rows)]
    fields: dict[str, float | str | datetime.date | None] = {
        "test_id": f"benchmark-{rows}",
        "model": "Made up",
        "label_kv": 2000.0,
        "mass_as_supplied": 33.0,
        "poles": 14.0,
        "test_date": datetime.date(2026, 1, 1),
    }
    xlsengine.write_input_workbook(xlsengine.bench_test(fields, {"Readings": readings}), path, overwrite=True)


def _reading(row: int) -> dict[str, object]:
    group, step = row % (2 * _PROPELLERS), row // (2 * _PROPELLERS)
    cells, throttle = 3 + group % 2, 20 + (step * 7) % 81
    thrust = (throttle / 100) ** 1.9 * (900 + 60 * (group // 2)) * (1 + 0.004 * ((row * 7919) % 11 - 5))
    current = 0.9 + (thrust / 31.0) * (thrust / 1200) ** 0.4
    at_its_volts = (cells / 3) ** 1.6
    return {
        "run": float(row + 1),
        "prop": f"5x{3 + group // 2 * 0.25:g}",
        "diameter": 5.0,
        "pitch": 3 + group // 2 * 0.25,
        "blades": 2.0,
        "cells": float(cells),
        "throttle": float(throttle),
        "kind": "steady",
        "voltage": round(4.1 * cells - current * at_its_volts * 0.02, 2),
        "current": round(current * at_its_volts, 1),
        "thrust": round(thrust * at_its_volts),
        "speed": round((3000 + 160 * throttle + row % 13) * cells / 3, -1),
        "use": "yes",
    }


def engine(source: Path, target: Path) -> None:
    """Do the whole job."""
    from xlsengine.cli import main

    with contextlib.suppress(SystemExit):
        main(["results", str(source), "-o", str(target), "--overwrite"])


def bare(source: Path, cells: Path, target: Path, prepared: bool = False) -> None:
    """Read the same input and write the same cells with nothing but the libraries."""
    import numpy  # noqa: F401
    import openpyxl
    import pandas  # noqa: F401
    import xlsxwriter

    book = openpyxl.load_workbook(source, read_only=True, data_only=True)
    for sheet in book:
        for _ in sheet.iter_rows(values_only=True):
            pass
    with cells.open("rb") as stream:
        sheets = pickle.load(stream)
    out = xlsxwriter.Workbook(str(target))
    out.use_zip64()
    form = out.add_format({"border": 1})
    for name, rows in sheets:
        page = out.add_worksheet(name, _prepared_worksheet() if prepared else None)
        for row, column, formula, value in rows:
            if formula is None:
                page.write(row, column, value, form)
            else:
                page.write_formula(row, column, formula, form, value)
    out.close()


def _prepared_worksheet() -> Any:
    """Return a worksheet of XlsxWriter that takes formulas as they are."""
    from xlsxwriter.worksheet import CellFormulaTuple, Worksheet

    class Prepared(Worksheet):  # type: ignore[misc]
        def _write_formula(self, row: int, col: int, formula: str, cell_format: Any = None, value: Any = 0) -> int:
            self._check_dimensions(row, col)
            self.table[row][col] = CellFormulaTuple(formula[1:], cell_format, value)
            return 0

    return Prepared


def ready_cells(results: Path, cells: Path) -> int:
    """Keep every cell of a results workbook as (row, column, formula, value); return how many there are."""
    import openpyxl

    kept: dict[str, str] = {}  # a formula stands in a hundred thousand rows
    formulas, values = (openpyxl.load_workbook(results, read_only=True, data_only=only) for only in (False, True))
    sheets = []
    for page, shown in zip(formulas, values, strict=True):
        rows = []
        for row, (typed, stored) in enumerate(zip(page.iter_rows(), shown.iter_rows(values_only=True), strict=True)):
            for column, (cell, value) in enumerate(zip(typed, stored, strict=True)):
                formula = kept.setdefault(str(cell.value), str(cell.value)) if cell.data_type == "f" else None
                if cell.value is not None:
                    rows.append((row, column, formula, "" if value is None else value))
        sheets.append((page.title, rows))
    with cells.open("wb") as stream:
        pickle.dump(sheets, stream)
    return sum(len(rows) for _, rows in sheets)


def measured(arguments: list[str]) -> tuple[float, float]:
    """Run one part in a process of its own; return seconds of the processor and peak megabytes."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    command = [sys.executable, "-m", "tests.benchmarks.measure", *arguments]
    compiled = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    done = subprocess.run(command, check=True, capture_output=True, text=True, env=compiled)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime, float(done.stderr.split()[-1])


def compare(rows: int, folder: Path) -> str:
    """Measure one size and return its line."""
    source, target, cells = folder / f"{rows}.xlsx", folder / f"{rows} results.xlsx", folder / f"{rows}.cells"
    make_input(source, rows)
    measured(["engine", str(source), str(target)])
    count = ready_cells(target, cells)
    parts = {
        "engine": ["engine", str(source), str(target)],
        "bare": ["bare", str(source), str(cells), str(folder / "bare.xlsx")],
        "prepared": ["prepared", str(source), str(cells), str(folder / "bare.xlsx")],
    }
    if rows > MOST_PLAIN_ROWS:
        del parts["bare"]
    runs: dict[str, list[tuple[float, float]]] = {part: [] for part in parts}
    for _ in range(REPEATS.get(rows, 1)):
        for part, arguments in parts.items():
            runs[part].append(measured(arguments))
    return line(rows, count, runs)


def line(rows: int, count: int, runs: dict[str, list[tuple[float, float]]]) -> str:
    """Return seconds and megabytes of each part, and the engine's ratios to both bare parts; a dash where one ran not."""
    shown = [f"{rows:>8} {count:>9}"]
    for which in (0, 1):
        middle = {part: median(run[which] for run in timed) for part, timed in runs.items()}
        shown.extend(_number(middle.get(part), 9) for part in ("engine", "bare", "prepared"))
        ratios = (middle["engine"] / middle[part] if part in middle else None for part in ("bare", "prepared"))
        shown.extend(_number(ratio, 6) for ratio in ratios)
    return " ".join(shown)


def _number(value: float | None, width: int) -> str:
    return f"{'-':>{width}}" if value is None else f"{value:{width}.2f}"


def main(arguments: list[str]) -> None:
    """Measure all sizes, or do one part when called by `measured`."""
    if arguments and not arguments[0].isdigit():
        paths = [Path(argument) for argument in arguments[1:]]
        if arguments[0] == "engine":
            engine(paths[0], paths[1])
        else:
            bare(paths[0], paths[1], paths[2], prepared=arguments[0] == "prepared")
        print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, file=sys.stderr)
        return
    print("    rows     cells   engine s    bare s prepared s  /bare /prep  engine MB  bare MB  prep MB  /bare /prep")
    with tempfile.TemporaryDirectory() as folder:
        for rows in [int(size) for size in arguments] or ROWS:
            print(compare(rows, Path(folder)), flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
