"""What runs in a process of its own for each file, bounded in time and memory: tasks, whose answers are plain values."""

from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import Any

from xlsengine.errors import XlsEngineError, folded
from xlsengine.outcome import DONE, JUDGED_LATER, UNREADABLE, Outcome, counted

RESULTS, FILLED, TEMPLATE, GUIDE, WIDE, TALL, PAGE = "results", "filled", "template", "guide", "wide", "tall", "page"
SIDE, FOUND = "side", "found"
"""The files that can be taken from the page."""


def work_on(folder: Path, name: str) -> dict[str, Any]:
    """Take a plain table in, check a workbook and write its results; returns what the page shows of it."""
    from xlsengine.jobs import hand_over, make_results, named_library

    library = named_library()
    outcome = hand_over(folder / name, library=library)
    reply: dict[str, Any] = {"name": name, "taken": None, "files": {}}
    if outcome.exit_code == DONE and outcome.readings is not None:
        filled = Path(str(outcome.output))
        reply |= {"taken": {"readings": outcome.readings, "told": outcome.told}, "files": {FILLED: filled.name}}
        outcome = make_results(filled, library=library)
    return {**reply, **_shown(outcome, folder), "files": {**reply["files"], **_written(outcome)}}


def _written(outcome: Outcome) -> dict[str, str]:
    return {RESULTS: Path(outcome.output).name} if outcome.output else {}


def _shown(outcome: Outcome, folder: Path) -> dict[str, Any]:
    """Return an outcome for the page, without the folder it was worked on in."""
    from xlsengine.workbook.flag_places import joined

    faults = folded(outcome.faults)
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
        **_published(outcome),
    }


def _published(outcome: Outcome) -> dict[str, Any]:
    """Return what stands first on a page of results, and its charts, read from the results that were written."""
    if not outcome.output:
        return {"headline": None, "charts": {}}
    from xlsengine.publish.assessed import Publication
    from xlsengine.study.assessment import assess
    from xlsengine.workbook.reading.reader import read_bench_test

    publication = Publication(assess(read_bench_test(outcome.output)))
    return {"headline": publication.headline(), "charts": publication.charts_svg()}


def publish_from(folder: Path, name: str) -> dict[str, Any]:
    """Write what is published of results: two pictures and a page."""
    from xlsengine.publish.files import publish

    done = publish(folder / name, folder / "published", overwrite=True)
    return {
        "files": {what: f"published/{path.name}" for what, path in zip((WIDE, TALL, PAGE), done.files, strict=False)}
    }


def empty_template(folder: Path, name: str) -> dict[str, Any]:
    """Write the empty input workbook."""
    from xlsengine.workbook.template import write_template

    return {"files": {TEMPLATE: write_template(folder / name, overwrite=True).name}}


def whole_guide(folder: Path, name: str) -> dict[str, Any]:
    """Write the guide with pictures."""
    from xlsengine.guide.assemble import write_guide

    return {"files": {GUIDE: write_guide(folder / name, overwrite=True).name}}


TASKS: dict[str, Callable[[Path, str], dict[str, Any]]] = {
    "work": work_on,
    "publish": publish_from,
    "template": empty_template,
    "guide": whole_guide,
}


def done(task: str, folder: Path, name: str) -> dict[str, Any]:
    """Do a task; what a person can cause to go wrong is an answer too."""
    try:
        if task not in TASKS:
            from xlsengine.doors.page import shelf

            return shelf.TASKS[task](folder, name)
        return TASKS[task](folder, name)
    except XlsEngineError as error:
        return {"exit_code": UNREADABLE, "error": str(error), "files": {}}
