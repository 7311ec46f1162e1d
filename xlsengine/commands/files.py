"""``xlsengine FILE ...``: each file gets what it asks for, results or a list of its faults."""

import ctypes
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path

import click

from xlsengine.commands.printing import FILE, progress, say, say_all
from xlsengine.commands.workbooks import print_check, print_results, print_taken
from xlsengine.outcome import DONE, FAULTY, UNREADABLE, Outcome


@click.command("FILE ...", options_metavar="")
@click.argument("files", nargs=-1, required=True, type=FILE)
def files(files: tuple[Path, ...]) -> None:
    """Check workbooks and write their results beside them, or list their faults.

    Of a folder, each workbook in it that has no results yet. A plain table of readings is taken in where it is named.
    """
    outcomes = []
    for outcome in _outcomes(files):
        _print(outcome)
        outcomes.append(outcome)
    if len(outcomes) != 1:
        say(summary(outcomes))
    say_all(passed_over(files))
    wait_for_a_reader()
    sys.exit(max((outcome.exit_code for outcome in outcomes), default=DONE))


def _outcomes(given: Sequence[Path]) -> Iterator[Outcome]:
    from xlsengine.doors.folders import workbooks_in
    from xlsengine.jobs import hand_over, named_library

    library = named_library()
    for path in given:
        is_folder = path.is_dir()
        for one in workbooks_in(path) if is_folder else [path]:
            with progress() as step:
                outcome = hand_over(one, again=not is_folder, library=library, step=step)
            yield outcome if is_folder or len(path.parts) > 1 else _or_a_command(outcome, path)


def _or_a_command(outcome: Outcome, path: Path) -> Outcome:
    """Say that a word which is no file is no command either."""
    if outcome.exit_code != UNREADABLE or path.suffix or path.exists():
        return outcome
    return Outcome(outcome.file, UNREADABLE, f"{outcome.error}, nor such a command: xlsengine --help lists them")


def _print(outcome: Outcome) -> None:
    if outcome.exit_code != DONE:
        print_check(outcome)
        return
    say(f"{outcome.file}:")
    if outcome.up_to_date:
        say(f"  nothing was typed since {outcome.output} was written")
    elif outcome.readings is not None:
        print_taken(outcome)
    else:
        print_results(outcome)


def passed_over(given: Sequence[Path]) -> list[str]:
    """Return for each folder which plain tables in it were not taken in, nor are already; none where there are none."""
    from xlsengine.doors.folders import tables_in
    from xlsengine.jobs import table_path

    lines = []
    for folder in (path for path in given if path.is_dir()):
        names = [path.name for path in tables_in(folder) if not table_path(path).exists()]
        if names:
            lines.append(f"{len(names)} not taken in, as plain tables are where they are named: {', '.join(names)}")
    return lines


def summary(outcomes: Sequence[Outcome]) -> str:
    """Say in one line what came of several files."""
    if not outcomes:
        return "no workbook there that waits for results"
    kinds = Counter(map(_kind, outcomes))
    parts = ", ".join(f"{count} {kind}" for kind, count in kinds.items())
    return f"{len(outcomes)} {'file' if len(outcomes) == 1 else 'files'}: {parts}"


def _kind(outcome: Outcome) -> str:
    if outcome.exit_code == FAULTY:
        return "with faults"
    if outcome.exit_code != DONE:
        return "not read or not written"
    if outcome.up_to_date:
        return "up to date"
    return "with results written" if outcome.readings is None else "taken in"


# --- files that are dropped onto the program ---

_OURS = 2  # the launcher that pip makes, and the program itself; a shell would be the third


def wait_for_a_reader() -> None:
    """Wait for a key where the program's window would close with it, as on Windows before it is read; else return at once."""
    if sys.platform == "win32" and 0 < programs_of_the_window() <= _OURS:
        click.pause("Press any key to close this window.")


def programs_of_the_window() -> int:
    """Return how many programs share the console's window on Windows, 0 where that cannot be told."""
    kernel = getattr(ctypes, "windll", None)
    return int(kernel.kernel32.GetConsoleProcessList((ctypes.c_uint32 * 8)(), 8)) if kernel else 0
