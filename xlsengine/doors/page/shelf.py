"""What the page does with a library: its list, some tests side by side, and what of it fits a craft."""

import json
from pathlib import Path
from typing import Any

from xlsengine.bench.inputs.need import NEED
from xlsengine.library.finding import find, first_pairs
from xlsengine.library.listing import test_cells
from xlsengine.library.side_by_side import side_by_side
from xlsengine.library.store import Library
from xlsengine.library.where import wanted_place
from xlsengine.outcome import FAULTY, counted
from xlsengine.study.assessment import assess
from xlsengine.study.need_pairs import need_values
from xlsengine.workbook.need_workbook import ESTIMATES, write_found
from xlsengine.workbook.reading.need_reader import not_given, typed_need
from xlsengine.workbook.side_by_side import write_side_by_side

SIDE_NAME, FOUND_NAME = "side by side.xlsx", "found.xlsx"
MOST_SHOWN = 20


def list_library(folder: Path, name: str) -> dict[str, Any]:
    """Return what a list shows of each test of the library, and the fields of a need."""
    with Library(wanted_place()) as shelf:
        tests = list(test_cells(shelf.tests()))
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
    return {**said, "files": {"side": written.name}}


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
    written = write_found(folder / FOUND_NAME, finding.scope, finding.unlisted, overwrite=True)
    counts = {"fitting": finding.fitting, "near": finding.near, "searched": finding.pairs, "tests": finding.tests}
    heads, pairs = first_pairs(finding, MOST_SHOWN)
    told = {"counts": counts, "heads": heads, "pairs": pairs, "estimates": ESTIMATES}
    return {**told, "faults": [], "files": {"found": written.name}}
