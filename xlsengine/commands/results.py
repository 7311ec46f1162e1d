"""``xlsengine results``: the results workbook, and its headlines in a few lines."""

from pathlib import Path

import click

from xlsengine.commands.printing import (
    AS_JSON,
    FILE,
    LIBRARY,
    OVERWRITE,
    progress,
    say,
    say_all,
    say_json,
    say_noted,
    stop_unless_done,
)
from xlsengine.outcome import Outcome


@click.command()
@click.argument("file", type=FILE)
@click.option("-o", "--output", type=FILE, help="File to write; else '<name> results.xlsx' beside the input.")
@LIBRARY
@OVERWRITE
@AS_JSON
def results(file: Path, output: Path | None, library: str, overwrite: bool, as_json: bool) -> None:
    """Compute, check and advise, and write the results workbook."""
    from xlsengine.jobs import make_results, named_library

    with progress(as_json) as step:
        outcome = make_results(file, output, overwrite=overwrite, library=named_library(library), step=step)
    stop_unless_done(outcome)
    if as_json:
        say_json(outcome.as_dict())
    else:
        print_results(outcome)


def print_results(outcome: Outcome) -> None:
    """Print the figures, flags and advice of results that were written, and where they lie."""
    answers = outcome.answers
    assert answers is not None
    say(answers.motor)
    for line in (*answers.headline_lines, *answers.advice):
        say(f"  {line}")
    say(f"  {answers.left_out}")
    say(f"  {answers.flags_line}")
    say_all(f"  {line}" for line in outcome.flag_lines)
    say_noted(outcome.told)
    for line in outcome.changes.lines() if outcome.changes else ():
        say(f"  changed since it was written: {line}")
    if outcome.kept:
        say(f"kept the file that was there as {outcome.kept}")
    say(f"wrote {outcome.output}")
