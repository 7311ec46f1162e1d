"""Tests of a library as text: as a list, one with all that is kept of it, and the figures of all as a .csv."""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from xlsengine.bench.declaring.declare import Field
from xlsengine.library.kept import GROUP_COLUMNS, TEST_COLUMNS, Declared
from xlsengine.library.store import Library
from xlsengine.workbook.output import as_csv, whole_file

_MARGIN = "_uncertainty"
_GROUP_SHOWN = (
    "full_voltage",
    "full_current",
    "full_power",
    "full_thrust",
    "full_grams_per_watt",
    "static_current",
    "headline_efficiency",
)


def test_lines(tests: Sequence[Mapping[Any, Any]]) -> Iterator[str]:
    """Yield one line a test: number, id, model, stator size, labelled Kv, date, highest thrust."""
    yield f"{len(tests)} tests" if len(tests) != 1 else "1 test"
    for cells in test_cells(tests):
        yield f"{cells[0]:>5}  " + "  ".join((*cells[1:-1], f"thrust {cells[-1]}"))


def test_cells(tests: Sequence[Mapping[Any, Any]]) -> Iterator[tuple[str, ...]]:
    """Yield what a list shows of each test: number, id, model, stator size, labelled Kv, date, highest thrust."""
    for row in tests:
        stator = "×".join(_number(row[name], 1) for name in ("stator_diameter", "stator_height"))
        known = row["stator_diameter"] or row["stator_height"]
        size = f"{row['size_code_means'] or 'size'} {stator} mm" if known else "size not given"
        kv, thrust = f"{_number(row['label_kv'], 0)} rpm/V", f"{_number(row['best_thrust'], 0, ',')} g"
        parts = (row["test_id"], row["model"], size, kv, row["test_date"], thrust)
        yield (str(row["id"]), *(str(part or "–") for part in parts))


def earlier_lines(history: Sequence[Mapping[Any, Any]]) -> Iterator[str]:
    """Yield one line a version that stood in the library earlier: its test, when it ended and why, where it was from."""
    yield f"{len(history)} earlier versions" if len(history) != 1 else "1 earlier version"
    for row in history:
        name = " ".join(part for part in (row["test_id"], row["model"]) if part)
        yield f"{row['entry']:>5}  {name or '–'}  {row['why']} {row['ended']}  added {row['added']} from {row['source']}"


def figure_lines(row: Mapping[Any, Any]) -> Iterator[str]:
    """Yield one line a kept figure of a test that is known, with its ±."""
    yield f"number {row['id']}, added {row['added']} from {row['source']}"
    for name, declared in TEST_COLUMNS.items():
        if row[name] is not None and not name.endswith(_MARGIN):
            yield f"  {declared.label}: {_shown(row, name, declared)}"


def group_lines(groups: Iterable[Mapping[str, Any]]) -> Iterator[str]:
    """Yield for each propeller and cell count its full-throttle figures that are known, with their ±."""
    for row in groups:
        left = f", {row['left_out']:.0f} left out" * (row["left_out"] > 0)
        kind = f", {row['kind']}" * bool(row["kind"])
        yield f"  {row['prop']} on {row['cells']:.0f}S{kind}, {_number(row['full_count'], 0)} readings{left}"
        for name in _GROUP_SHOWN:
            if row[name] is not None:
                yield f"    {GROUP_COLUMNS[name].label}: {_shown(row, name, GROUP_COLUMNS[name])}"


def _shown(row: Mapping[Any, Any], name: str, declared: Declared) -> str:
    value, margin = row[name], row.get(name + _MARGIN)
    if isinstance(value, str):
        return value
    decimals = max(_decimals(value, declared), _to_its_first_digit(margin))
    sure = f" ± {_number(margin, decimals)}" if margin is not None else ""
    return f"{_number(value, decimals)}{sure} {declared.unit}".rstrip()


def _decimals(value: float, declared: Declared) -> int:
    if isinstance(declared, Field):
        return 0 if value == round(value) else declared.decimals
    return declared.shown


def _to_its_first_digit(margin: Any) -> int:
    """Return how many decimals it takes that a margin is not shown as nothing."""
    return max(0, -math.floor(math.log10(margin))) if margin else 0


def _number(value: Any, decimals: int, mark: str = "") -> str:
    return "–" if value is None else f"{value:{mark}.{decimals}f}"


# --- as comma-separated text, which spreadsheet programs and pandas read ---

TESTS, PROPELLERS, READINGS = "tests", "propellers", "readings"
PARTS = (TESTS, PROPELLERS, READINGS)


def export(library: Library, path: Path, part: str = TESTS, overwrite: bool = False) -> int:
    """Write one part of a library, a row each under the names of the kept figures; returns how many rows that were.

    Rows of propellers and readings say the number and id of their test. Raises `OutputRefused` and `LibraryError`.
    """
    rows = _part(library, part)
    with whole_file(path, overwrite) as unfinished:
        text = as_csv([rows[0] if rows else (), *(row.values() for row in rows)])
        unfinished.write_bytes(text.encode("utf-8-sig"))
    return len(rows)


def _part(library: Library, part: str) -> list[dict[str, Any]]:
    if part == TESTS:
        return library.tests()
    named = {
        row["id"]: {"test": row["id"], "test_id": row["test_id"], "model": row["model"]} for row in library.tests()
    }
    rows = library.groups() if part == PROPELLERS else library.steps()
    return [named[row["test"]] | row for row in rows]
