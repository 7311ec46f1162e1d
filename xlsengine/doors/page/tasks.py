"""What is done with files that are handed over and with the library, in a process for each, and what the page is told of it:
plain values. A task gets a folder and the name of a file in it.
"""

import json
from dataclasses import asdict
from pathlib import Path
from typing import Any

from xlsengine.bench.inputs.need import NEED
from xlsengine.doors.page.workers import PUBLISHED
from xlsengine.errors import WorkbookFaulty, folded
from xlsengine.guide.assemble import write_guide
from xlsengine.jobs import hand_over, make_results, named_library
from xlsengine.library.where import wanted_place
from xlsengine.outcome import DONE, FAULTY, JUDGED_LATER, Outcome, counted
from xlsengine.publish.assessed import Publication, publish
from xlsengine.study.assessment import assess
from xlsengine.workbook.flag_places import joined
from xlsengine.workbook.need_workbook import ESTIMATES, write_found
from xlsengine.workbook.reading.need_reader import need_of
from xlsengine.workbook.side_by_side import write_side_by_side
from xlsengine.workbook.template import write_template

SIDE_NAME, FOUND_NAME = "side by side.xlsx", "found.xlsx"
MOST_SHOWN = 20


def work_on(folder: Path, name: str) -> dict[str, Any]:
    """Take a plain table in, check a workbook and write its results; returns what the page shows of it."""
    library = named_library()
    outcome = hand_over(folder / name, library=library)
    reply: dict[str, Any] = {"name": name, "taken": None, "files": {}}
    if outcome.exit_code == DONE and outcome.readings is not None:
        filled = Path(str(outcome.output))
        reply |= {"taken": {"readings": outcome.readings, "told": outcome.told}, "files": {"filled": filled.name}}
        outcome = make_results(filled, library=library)
    if outcome.output:
        reply["files"]["results"] = Path(outcome.output).name
    return {**reply, **_shown(outcome, folder)}


def _shown(outcome: Outcome, folder: Path) -> dict[str, Any]:
    """Return an outcome for the page, without the folder it was worked on in."""
    faults = folded(outcome.faults)
    publication = Publication(outcome.assessment) if outcome.assessment else None
    count = f"{counted(outcome.faults, 'fault')}; nothing was written; {JUDGED_LATER}." if faults else ""
    return {
        "exit_code": outcome.exit_code,
        "error": outcome.error and outcome.error.replace(f"{folder}/", "").replace(str(folder), ""),
        "faults": [fault.as_dict() for fault in faults],
        "fault_count": count,
        "flags": joined(outcome.flags),
        "flagged": len(outcome.flags),
        "told": outcome.told,
        "answers": outcome.answers and asdict(outcome.answers),
        "changes": list(outcome.changes.lines()) if outcome.changes else [],
        "headline": publication.headline() if publication else None,
        "charts": publication.charts_svg() if publication else {},
    }


def publish_from(folder: Path, name: str) -> dict[str, Any]:
    """Write what is published of results: two pictures and a page."""
    done = publish(folder / name, folder / "published", overwrite=True)
    named = zip(PUBLISHED, done.files, strict=False)
    return {"files": {what: f"published/{path.name}" for what, path in named}}


def empty_template(folder: Path, name: str) -> dict[str, Any]:
    """Write the empty workbook."""
    return {"files": {"template": write_template(folder / name, overwrite=True).name}}


def whole_guide(folder: Path, name: str) -> dict[str, Any]:
    """Write the guide with pictures."""
    return {"files": {"guide": write_guide(folder / name, overwrite=True).name}}


# --- the library, which is loaded where it is asked for alone ---


def list_library(folder: Path, name: str) -> dict[str, Any]:
    """Return what a list shows of each test of the library, and the fields of a need."""
    from xlsengine.library.listing import test_cells
    from xlsengine.library.store import Library

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
    from xlsengine.library.side_by_side import side_by_side
    from xlsengine.library.store import Library

    with Library(wanted_place()) as shelf:
        sides = side_by_side([assess(shelf.get(int(number))) for number in name.split()])
    written = write_side_by_side(sides, folder / SIDE_NAME, overwrite=True)
    said = {"motors": list(sides.motors), "verdicts": sides.verdicts(), "notes": list(sides.notes)}
    return {**said, "files": {"side": written.name}}


def find_for_a_craft(folder: Path, name: str) -> dict[str, Any]:
    """Write what of the library fits a craft, whose needs a file holds as texts by field; returns the first pairs.

    Raises `LibraryError` where no pair can be judged.
    """
    from xlsengine.library.finding import find, first_pairs
    from xlsengine.library.store import Library

    asked = json.loads((folder / name).read_text(encoding="utf-8"))
    texts = {name: asked[name].strip() for name in NEED.fields if asked.get(name, "").strip()}
    try:
        fields, _ = need_of(texts, lambda name: "", "fill it in")
    except WorkbookFaulty as error:
        said = [fault.as_dict() for fault in error.faults]
        return {"exit_code": FAULTY, "faults": said, "fault_count": counted(error.faults, "fault"), "files": {}}
    with Library(wanted_place()) as shelf:
        finding = find(fields, shelf)
    written = write_found(folder / FOUND_NAME, finding.scope, finding.unlisted, overwrite=True)
    counts = {"fitting": finding.fitting, "near": finding.near, "searched": finding.pairs, "tests": finding.tests}
    heads, pairs = first_pairs(finding, MOST_SHOWN)
    told = {"counts": counts, "heads": heads, "pairs": pairs, "estimates": ESTIMATES}
    return {**told, "faults": [], "files": {"found": written.name}}
