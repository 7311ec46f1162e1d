"""What is done with files that are handed over, in a process for each, and what the page is told of it: plain values."""

from dataclasses import asdict
from pathlib import Path
from typing import Any

from xlsengine.doors.page.workers import PUBLISHED
from xlsengine.errors import folded
from xlsengine.guide.assemble import write_guide
from xlsengine.jobs import hand_over, make_results, named_library
from xlsengine.outcome import DONE, JUDGED_LATER, Outcome, counted
from xlsengine.publish.assessed import Publication
from xlsengine.publish.files import publish
from xlsengine.workbook.flag_places import joined
from xlsengine.workbook.template import write_template


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
    """Write the empty input workbook."""
    return {"files": {"template": write_template(folder / name, overwrite=True).name}}


def whole_guide(folder: Path, name: str) -> dict[str, Any]:
    """Write the guide with pictures."""
    return {"files": {"guide": write_guide(folder / name, overwrite=True).name}}
