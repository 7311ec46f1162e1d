"""``xlsengine results``: the results workbook, and its headlines in a few lines."""

import sys
from pathlib import Path

import click

from xlsengine.commands.printing import FILE, complain, progress, refusal, say, say_json, say_noted
from xlsengine.outcome import DONE, Outcome


@click.command()
@click.argument("file", type=FILE)
@click.option("-o", "--output", type=FILE, help="File to write; else '<name> results.xlsx' beside the input.")
@click.option(
    "--library",
    default="",
    help="Library to compare with: its file, or postgresql://… of a server; else as XLSENGINE_LIBRARY or your configuration "
    "file says.",
)
@click.option("--overwrite", is_flag=True, help="Replace the output if it exists.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object instead of lines.")
def results(file: Path, output: Path | None, library: str, overwrite: bool, as_json: bool) -> None:
    """Compute, check and advise, and write the results workbook."""
    from xlsengine.jobs import make_results, named_library

    with progress(as_json) as step:
        outcome = make_results(file, output, overwrite=overwrite, library=named_library(library), step=step)
    if outcome.exit_code != DONE:
        complain(*refusal(outcome))
        sys.exit(outcome.exit_code)
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
    say_noted(outcome.told)
    for line in outcome.changes.lines() if outcome.changes else ():
        say(f"  changed since it was written: {line}")
    if outcome.kept:
        say(f"kept the file that was there as {outcome.kept}")
    say(f"wrote {outcome.output}")
