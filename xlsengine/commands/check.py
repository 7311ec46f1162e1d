"""``xlsengine check``: the faults of input workbooks, and the flags of their readings."""

import sys
from pathlib import Path

import click

from xlsengine.commands.printing import AS_JSON, FILE, say, say_all, say_json, say_noted
from xlsengine.outcome import DONE, FAULTY, JUDGED_LATER, Outcome, counted


@click.command()
@click.argument("files", nargs=-1, required=True, type=FILE)
@AS_JSON
def check(files: tuple[Path, ...], as_json: bool) -> None:
    """Say everything that is wrong in the input workbooks, and which readings look odd."""
    from xlsengine.jobs import check as checked

    outcomes = [checked(path) for path in files]
    if as_json:
        say_json({"files": [outcome.as_dict() for outcome in outcomes]})
    else:
        for outcome in outcomes:
            print_check(outcome)
    sys.exit(max(outcome.exit_code for outcome in outcomes))


def print_check(outcome: Outcome) -> None:
    """Print what is wrong in one workbook, and what is odd."""
    say(f"{outcome.file}:")
    said = [outcome.error] if outcome.error else [*outcome.fault_lines, *outcome.flag_lines]
    say_all(f"  {line}" for line in said)
    say_noted(outcome.told)
    if outcome.exit_code == FAULTY:
        say(f"  {counted(outcome.faults, 'fault')}; {JUDGED_LATER}")
    if outcome.exit_code == DONE:
        say(f"  no faults, {counted(outcome.flags, 'flag')}")
