"""The use cases, one function each, for whatever door asks: they raise nothing a person can cause, and return outcomes."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial, wraps
from pathlib import Path
from typing import Concatenate, ParamSpec

from xlsengine.errors import WorkbookFaulty, XlsEngineError
from xlsengine.library.where import library_place
from xlsengine.outcome import DONE, FAULTY, UNREADABLE, Answers, Outcome
from xlsengine.study.assessment import Assessment, assess
from xlsengine.study.comparison import Comparing
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.beside import free_place, is_open, place_beside
from xlsengine.workbook.comparing import returned_changes
from xlsengine.workbook.flag_places import esc_caveat_line, flag_lines, left_out_line, placed_flags
from xlsengine.workbook.output import before_name, next_name, refuse_input, stamp
from xlsengine.workbook.reading.kinds import Kind, kind_of
from xlsengine.workbook.reading.limits import MOST_WITH_RESULTS
from xlsengine.workbook.reading.plain_tables import take_in
from xlsengine.workbook.reading.reader import Reading, read_workbook
from xlsengine.workbook.results import write_results
from xlsengine.workbook.template import write_input_workbook

Step = Callable[[str], None]
Asked = ParamSpec("Asked")
_ESC = ("esc_advice", "esc_advice_other")
TAKEN_IN_BEFORE = (
    "{} is there already: fill that in and hand it over, or take the table in under another name "
    "(xlsengine template --from FILE -o OUT)"
)
STILL_OPEN = (
    "{} is open in another program, which still shows what was there: close it there without saving, and open it again"
)
_PRECEDENCE = ("esc_uncovered", "esc_settings", "esc_precedence")


def named_library(asked: str = "") -> Comparing | None:
    """Return what compares with a library: that which is asked for, else as the user's settings say; None without one.

    Raises `LibraryError` where those cannot be read.
    """
    place = library_place(asked)
    if place is None:
        return None
    from xlsengine.library.peers import against_class
    from xlsengine.library.store import Library

    return partial(against_class, Library(place))


def _told(
    job: Callable[Concatenate[str | Path, Asked], Outcome],
) -> Callable[Concatenate[str | Path, Asked], Outcome]:
    """Make an outcome of what a person can cause to go wrong in a job."""

    @wraps(job)
    def told(path: str | Path, /, *asked: Asked.args, **more: Asked.kwargs) -> Outcome:
        try:
            return job(path, *asked, **more)
        except WorkbookFaulty as error:
            return Outcome(str(path), FAULTY, faults=error.faults)
        except XlsEngineError as error:
            return Outcome(str(path), UNREADABLE, str(error))

    return told


@_told
def check(path: str | Path) -> Outcome:
    """Say everything that is wrong in a workbook; once there are no faults, what its readings look odd about."""
    reading = read_workbook(path)
    return _read(path, reading) if reading.faults else _judged(path, reading, assess(reading.test))


@_told
def make_results(
    path: str | Path,
    output: str | Path | None = None,
    *,
    overwrite: bool = False,
    library: Comparing | None = None,
    step: Step = lambda name: None,
) -> Outcome:
    """Compute, check and advise, and write the results workbook to `output`, else to `next_name`.

    Where the workbook has faults nothing is written. `step` is told the name of each step before it begins.
    """
    source = Path(path)
    target = next_name(source) if output is None else Path(output)
    refuse_input(target, source)
    step("reading")
    reading = read_workbook(source)
    if reading.faults:
        return _read(path, reading)
    step("computing")
    opened = (STILL_OPEN.format(target),) if is_open(target) else ()
    written = _written(source, reading, target, overwrite, library, step)
    return replace(written, told=(*written.told, *opened))


@_told
def keep_beside(
    path: str | Path, *, again: bool = False, library: Comparing | None = None, step: Step = lambda name: None
) -> Outcome:
    """Write results beside a workbook, over earlier ones only where nobody has saved those since they were written.

    Where such results of the same inputs are there already, or the workbook is itself results in which nothing was typed,
    nothing is done unless `again`: those results are the output, and the outcome is `up_to_date`.
    """
    source = Path(path)
    step("reading")
    reading = read_workbook(source)
    if reading.faults:
        return _read(path, reading)
    if not again and reading.contents.written_from == reading.input_hash:
        return replace(_read(path, reading), output=str(path), up_to_date=True)
    place = place_beside(source, reading)
    if not again and place.up_to_date:
        return replace(_read(path, reading), output=str(place.path), up_to_date=True)
    if is_open(place.path):
        place = free_place(source)
    step("computing")
    written = _written(source, reading, place.path, place.replaces, library, step)
    return replace(written, told=(*written.told, *place.told))


@_told
def hand_over(
    path: str | Path, *, again: bool = True, library: Comparing | None = None, step: Step = lambda name: None
) -> Outcome:
    """Do what a file asks for: take a plain table in, else `keep_beside`."""
    source = Path(path)
    if kind_of(source) is not Kind.TABLE:
        return keep_beside(path, again=again, library=library, step=step)
    if table_path(source).exists():
        return Outcome(str(path), UNREADABLE, TAKEN_IN_BEFORE.format(table_path(source)))
    return take_table(path)


def table_path(source: Path) -> Path:
    """Return where a plain table is taken in: ``<name> bench.xlsx`` beside it."""
    return source.with_name(f"{source.stem} bench.xlsx")


@_told
def take_table(
    path: str | Path, output: str | Path | None = None, *, sheet: str = "", overwrite: bool = False
) -> Outcome:
    """Write an input workbook filled from a plain table to `output`, else to `table_path`."""
    source = Path(path)
    target = table_path(source) if output is None else Path(output)
    taken = take_in(source, sheet)
    refuse_input(target, source)
    write_input_workbook(taken.test, target, overwrite)
    return Outcome(str(path), DONE, told=taken.told, output=str(target), readings=taken.test.rows("Readings"))


def _written(
    source: Path, reading: Reading, target: Path, overwrite: bool, library: Comparing | None, step: Step
) -> Outcome:
    assessment = assess(reading.test)
    changed = returned_changes(source, reading, assessment)
    comparison = None if library is None else library(assessment)
    told = [
        *reading.told,
        *(comparison.told if comparison else ()),
        *_too_long_to_return(reading.test.rows("Readings")),
    ]
    kept = stamp(before_name(target))
    write_results(assessment, target, overwrite, step, changed, told, comparison)
    before = str(before_name(target)) if stamp(before_name(target)) != kept else None
    judged = _judged(source, reading, assessment)
    return replace(judged, told=tuple(told), output=str(target), kept=before, changes=changed)


def _read(path: str | Path, reading: Reading) -> Outcome:
    code = FAULTY if reading.faults else DONE
    return Outcome(str(path), code, faults=reading.faults, told=reading.told, read_as=reading.cells)


def _judged(path: str | Path, reading: Reading, assessment: Assessment) -> Outcome:
    flags, scope = placed_flags(assessment, reading.where), assessment.scope
    caveat = esc_caveat_line(assessment, reading.where)
    answers = Answers(
        motor=scope.named("motor_title"),
        headlines=assessment.headlines(),
        flag_counts=assessment.flag_counts(),
        left_out=left_out_line(assessment, reading.where),
        caveat=caveat,
        advice=(*([caveat] if caveat else ()), *_said(scope, (*_ESC, *_in_flight(scope), *_PRECEDENCE))),
    )
    read = _read(path, reading)
    return replace(read, flags=flags, flag_lines=tuple(flag_lines(flags)), answers=answers, assessment=assessment)


def _said(scope: Scope, names: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(scope.named(name) for name in names if scope.named(name))


def _in_flight(scope: Scope) -> tuple[str, ...]:
    """Return what the range in flight rests on, and the note on flight where the answer for bursts does not hold it."""
    return ("esc_flight_source",) if scope.named("esc_flight_sentence") else ("flight_note", "esc_flight_source")


def _too_long_to_return(readings: int) -> list[str]:
    if readings <= MOST_WITH_RESULTS:
        return []
    what = f"results of more than {MOST_WITH_RESULTS:,} readings"
    return [
        f"{what} are too large to be sent back through this program: change the workbook that they came from instead"
    ]
