"""``xlsengine library``: earlier tests, kept to compare new ones with; ``compare``: motors side by side."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from xlsengine.commands.printing import AS_JSON, FILE, LIBRARY, OVERWRITE, complain, say, say_all, say_json
from xlsengine.errors import LibraryError
from xlsengine.outcome import DONE, FAULTY, counted

if TYPE_CHECKING:
    from xlsengine.bench.inputs.bench_test import BenchTest
    from xlsengine.library.store import Library


@click.group(short_help="Keep tests, to compare new ones with.")
def library() -> None:
    """Keep tests in a library: one file, or a database that a group shares."""


@library.command()
@click.argument("places", metavar="FILE|FOLDER ...", nargs=-1, required=True, type=FILE)
@LIBRARY
def add(places: tuple[Path, ...], library: str) -> None:
    """Add workbooks, input or results, and those in folders.

    Unchanged ones are skipped; a changed one replaces its earlier version, which is kept among the earlier ones; what is
    wrong with a faulty one is told, and the others are added.
    """
    from xlsengine.library.adding import add_workbooks, workbooks_in

    paths = workbooks_in(places)
    counts: dict[str, int] = {}
    with _opened(library) as shelf, closing(add_workbooks(shelf, paths)) as outcomes:
        for outcome in outcomes:
            what = outcome.added.how.value if outcome.added else "not added"
            counts[what] = counts.get(what, 0) + 1
            say_all(outcome.lines)
        said = ", ".join(f"{count} {what}" for what, count in counts.items()) or "found no workbook (.xlsx) there"
        say(f"{shelf.shown}: {said}")
    sys.exit(FAULTY if "not added" in counts or not paths else DONE)


@library.command("list", short_help="List the tests.")
@LIBRARY
@click.option("--earlier", is_flag=True, help="List what was replaced or removed instead.")
@AS_JSON
def list_tests(library: str, earlier: bool, as_json: bool) -> None:
    """List the tests: number, id, model, stator, Kv, date and highest thrust."""
    from xlsengine.library.listing import earlier_lines, test_lines

    with _opened(library) as shelf:
        rows = shelf.history() if earlier else shelf.tests()
        if as_json:
            say_json({"library": shelf.shown, "tests": rows})
            return
        say_all(earlier_lines(rows) if earlier else test_lines(rows))


@library.command()
@click.argument("named", metavar="ID")
@LIBRARY
@AS_JSON
def show(named: str, library: str, as_json: bool) -> None:
    """Show the kept figures of one test, by its number or its typed id."""
    from xlsengine.library.listing import figure_lines, group_lines

    with _opened(library) as shelf:
        (kept,) = shelf.kept(shelf.tests(id=shelf.find(named)))
        if as_json:
            say_json({"library": shelf.shown, "test": kept.test, "groups": kept.groups})
            return
        say_all((*figure_lines(kept.test), *group_lines(kept.groups)))


@library.command(short_help="Take one test out, by its number or its typed id.")
@click.argument("named", metavar="ID")
@LIBRARY
def remove(named: str, library: str) -> None:
    """Take one test out, by its number or its typed id; what was typed stays among the earlier ones."""
    with _opened(library) as shelf:
        number = shelf.find(named)
        shelf.remove(number)
        say(f"{shelf.shown}: removed number {number}; xlsengine library list --earlier shows it")


@library.command("export")
@click.argument("output", type=FILE)
@LIBRARY
@click.option(
    "--of",
    "part",
    type=click.Choice(["tests", "propellers", "readings"]),
    default="tests",
    help="One row a test (the default), a propeller and cell count, or a steady reading.",
)
@OVERWRITE
def export_csv(output: Path, library: str, part: str, overwrite: bool) -> None:
    """Write the kept figures as comma-separated text."""
    from xlsengine.library.listing import export

    with _opened(library) as shelf:
        rows = export(shelf, output, part, overwrite)
    say(f"wrote {output}, {rows} rows")


@click.command(short_help="Put two to four motors side by side.")
@click.argument("motors", metavar="MOTOR MOTOR ...", nargs=-1, required=True)
@click.option("-o", "--output", type=FILE, required=True, help="File to write.")
@LIBRARY
@OVERWRITE
def compare(motors: tuple[str, ...], output: Path, library: str, overwrite: bool) -> None:
    """Put two to four motors side by side: workbooks, or tests of a library by id.

    All are brought to the voltage and air of the first; who is ahead is said only where the difference is more than noise.
    """
    if not 2 <= len(motors) <= 4:
        raise click.UsageError(f"found {counted(motors, 'motor')}; name 2 to 4 of them")
    from xlsengine.library.side_by_side import NOISE_HERE, side_by_side
    from xlsengine.study.assessment import assess
    from xlsengine.workbook.output import refuse_input
    from xlsengine.workbook.side_by_side import write_side_by_side

    for named in motors:
        refuse_input(output, Path(named))
    sides = side_by_side([assess(_test(named, library)) for named in motors])
    written = write_side_by_side(sides, output, overwrite)
    say_all((*sides.verdicts(), NOISE_HERE))
    say(f"wrote {written}")


def _test(named: str, library: str) -> BenchTest:
    """Return the test of a workbook, or else of a library.

    Raises `WorkbookFaulty` and `WorkbookUnreadable` as reading does, and `LibraryError` where there is neither.
    """
    from xlsengine.library.store import Library
    from xlsengine.library.where import library_place
    from xlsengine.workbook.reading.reader import read_workbook

    if Path(named).exists():
        reading = read_workbook(Path(named))
        if reading.faults:
            raise LibraryError(
                f"{named}: the workbook has {len(reading.faults)} faults; xlsengine check lists them; nothing was written"
            )
        return reading.test
    where = library_place(library)
    if where is None:
        raise LibraryError(f"{named}: there is no such file, and no library is named to look it up in (--library)")
    shelf = Library(where)
    return shelf.get(shelf.find(named))


@contextmanager
def _opened(library: str) -> Iterator[Library]:
    from xlsengine.library.store import Library
    from xlsengine.library.where import wanted_place

    with Library(wanted_place(library), _renewing) as shelf:
        yield shelf


def _renewing(done: int, of: int) -> None:
    """Tell now and then how far an older library has come."""
    if done % 100 == 0:
        complain(f"bringing the figures of an older library up to date: {done} of {of}")
