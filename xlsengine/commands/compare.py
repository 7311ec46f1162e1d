"""``xlsengine compare``: two to four motors side by side."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from xlsengine.commands.printing import FILE, LIBRARY, OVERWRITE, say, say_all
from xlsengine.errors import LibraryError

if TYPE_CHECKING:
    from xlsengine.bench.inputs.bench_test import BenchTest

FEWEST, MOST = 2, 4


@click.command()
@click.argument("motors", metavar="MOTOR MOTOR ...", nargs=-1, required=True)
@click.option("-o", "--output", type=FILE, required=True, help="File to write.")
@LIBRARY
@OVERWRITE
def compare(motors: tuple[str, ...], output: Path, library: str, overwrite: bool) -> None:
    """Put two to four motors side by side: workbooks, or tests of a library by id.

    All are brought to the voltage and air of the first; who is ahead is said only where the difference is more than noise.
    """
    if not FEWEST <= len(motors) <= MOST:
        raise click.UsageError(f"found {len(motors)} motor{'s' * (len(motors) != 1)}; name {FEWEST} to {MOST} of them")
    from xlsengine.library.side_by_side import NOISE_HERE, side_by_side
    from xlsengine.study.assessment import assess
    from xlsengine.workbook.output import refuse_input
    from xlsengine.workbook.side_by_side import write_side_by_side

    for named in motors:
        refuse_input(output, Path(named))
    sides = side_by_side([assess(_test(named, library)) for named in motors])
    written = write_side_by_side(sides, output, overwrite)
    say_all([*sides.verdicts(), NOISE_HERE])
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
