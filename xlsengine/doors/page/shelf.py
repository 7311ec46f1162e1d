"""What the page does with a library: its list, some tests side by side, and what of it fits a craft."""

import json
import math
from pathlib import Path
from typing import Any, NamedTuple

from xlsengine.bench.advice import pair_answers as a
from xlsengine.bench.advice import pairs as p
from xlsengine.bench.advice.craft_asks import ESTIMATE
from xlsengine.bench.inputs.need import NEED
from xlsengine.doors.page.worker import FOUND, SIDE
from xlsengine.errors import LibraryError
from xlsengine.expression import Column
from xlsengine.library.finding import Finding, find
from xlsengine.library.listing import test_cells
from xlsengine.library.side_by_side import side_by_side
from xlsengine.library.store import Library
from xlsengine.library.where import wanted_place
from xlsengine.outcome import FAULTY, counted
from xlsengine.study.assessment import assess
from xlsengine.study.need_pairs import need_values
from xlsengine.text_operations import fixed_text
from xlsengine.workbook.need_workbook import ESTIMATES, write_found
from xlsengine.workbook.reading.need_reader import not_given, typed_need
from xlsengine.workbook.side_by_side import write_side_by_side

SIDE_NAME, FOUND_NAME = "side by side.xlsx", "found.xlsx"
MOST_SHOWN = 20


class _Figure(NamedTuple):
    """What is shown of a pair: how it is headed, the figure, its ±, decimals and unit."""

    head: str
    column: Column
    doubt: Column | None
    decimals: int
    unit: str


_RATIO = _Figure("Thrust to weight", a.ratio, a.ratio_doubt, 2, " : 1")
_HOVERING = (
    _RATIO,
    _Figure("Hover (estimate)", a.minutes, a.minutes_doubt, 1, " min"),
    _Figure("Hover current", a.hover_current, a.hover_current_doubt, 1, " A"),
    _Figure("Hover throttle", a.hover_throttle, None, 0, " %"),
)
_ON_A_WING = (
    _RATIO,
    _Figure("Thrust per power, full throttle", p.grams_per_watt, p.grams_per_watt_doubt, 2, " g/W"),
    _Figure("In flight, at most (estimate)", a.flight_high, None, 0, " A"),
    _Figure("Motor mass", p.motor_mass, p.mass_doubt, 1, " g"),
)


def list_library(folder: Path, name: str) -> dict[str, Any]:
    """Return what a list shows of each test of the library, and the fields of a need."""
    with Library(wanted_place()) as shelf:
        tests = list(test_cells(shelf.rows()))
    need = [
        {
            "name": name,
            "label": field.header,
            "meaning": field.meaning,
            "choices": field.choices,
            "required": field.required,
            "default": None if field.default is None else f"{field.default:g}",
        }
        for name, field in NEED.fields.items()
    ]
    return {"library": shelf.shown, "tests": tests, "need": need, "files": {}}


def put_side_by_side(folder: Path, name: str) -> dict[str, Any]:
    """Write some tests of the library side by side; `name` holds their numbers. Returns who is ahead, in lines."""
    with Library(wanted_place()) as shelf:
        sides = side_by_side([assess(shelf.get(int(number))) for number in name.split()])
    written = write_side_by_side(sides, folder / SIDE_NAME, overwrite=True)
    said = {"motors": list(sides.motors), "verdicts": sides.verdicts(), "notes": list(sides.notes)}
    return {**said, "files": {SIDE: written.name}}


def find_for_a_craft(folder: Path, name: str) -> dict[str, Any]:
    """Write what of the library fits a craft, whose needs a file holds as texts by field; returns the first pairs.

    Raises `LibraryError` where no pair can be judged.
    """
    asked = json.loads((folder / name).read_text(encoding="utf-8"))
    texts = {name: asked[name].strip() for name in NEED.fields if asked.get(name, "").strip()}
    given, faults = typed_need(texts, lambda name: "")
    faults += not_given(texts, lambda name: "", "fill it in")
    if faults:
        said = [fault.as_dict() for fault in faults]
        return {"exit_code": FAULTY, "faults": said, "fault_count": counted(faults, "fault"), "files": {}}
    with Library(wanted_place()) as shelf:
        finding = find(need_values(given), shelf)
    if not finding.pairs:
        raise LibraryError(finding.nothing_to_judge(shelf.shown))
    written = write_found(folder / FOUND_NAME, finding.scope, finding.unlisted, overwrite=True)
    return {**_found(finding), "faults": [], "files": {FOUND: written.name}}


def _found(finding: Finding) -> dict[str, Any]:
    texts = [_column(finding, column) for column in (a.verdict, p.motor, p.prop, p.cells, a.first_reason)]
    figures = _HOVERING if finding.hovers else _ON_A_WING
    rows = [
        [verdict, motor, f"{prop} on {cells:.0f}S", *shown, reason]
        for (verdict, motor, prop, cells, reason), *shown in zip(
            zip(*texts, strict=True), *(_shown(finding, figure) for figure in figures), strict=True
        )
    ]
    counts = {"fitting": finding.fitting, "near": finding.near, "searched": finding.pairs, "tests": finding.tests}
    heads = ["Verdict", "Motor", "Propeller", *(figure.head for figure in figures), "First reason"]
    return {"counts": counts, "heads": heads, "pairs": rows, "estimates": ESTIMATES}


def _column(finding: Finding, column: Column) -> list[Any]:
    return list(finding.scope.column(column.table, column.name).tolist()[:MOST_SHOWN])


def _shown(finding: Finding, figure: _Figure) -> list[str]:
    """Return a figure of each pair with its ±, where it has one, and whether it is an estimate from full throttle."""
    values = _column(finding, figure.column)
    bases = _column(finding, a.hover_basis) if figure.column in (a.minutes, a.hover_current) else [""] * len(values)
    doubts = [math.nan] * len(values) if figure.doubt is None else _column(finding, figure.doubt)
    return [
        _said(figure, value, doubt) + f" ({ESTIMATE})" * (basis == ESTIMATE and value == value)
        for value, doubt, basis in zip(values, doubts, bases, strict=True)
    ]


def _said(figure: _Figure, value: float, doubt: float) -> str:
    if value != value:
        return "–"
    sure = f" ± {fixed_text(doubt, figure.decimals)}" if doubt == doubt else ""
    return f"{fixed_text(value, figure.decimals)}{sure}{figure.unit}"


TASKS = {"list": list_library, "compare": put_side_by_side, "find": find_for_a_craft}
