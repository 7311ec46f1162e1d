"""``xlsengine template``: the empty input workbook, or one filled from a plain table."""

import sys
from pathlib import Path

import click

from xlsengine.commands.printing import FILE, complain, refusal, say, say_noted
from xlsengine.outcome import DONE, Outcome

DEFAULT_TEMPLATE = "motor bench.xlsx"


@click.command()
@click.option("-o", "--output", type=FILE, help=f"File to write; else '{DEFAULT_TEMPLATE}', or '<name> bench.xlsx'.")
@click.option("--from", "source", type=FILE, help="Table of readings to take in: .xlsx, .ods, .csv, .tsv or .txt.")
@click.option("--sheet", default="", help="Sheet of that file to take in; else the one that holds most.")
@click.option("--overwrite", is_flag=True, help="Replace the file if it exists.")
def template(output: Path | None, source: Path | None, sheet: str, overwrite: bool) -> None:
    """Write the input workbook: empty to be filled, or with the readings of a plain table."""
    from xlsengine.workbook.template import write_template

    if source is not None:
        take_in(source, output, sheet, overwrite)
        return
    path = write_template(output or Path(DEFAULT_TEMPLATE), overwrite)
    say(f"wrote {path}; fill its cream cells, then run: xlsengine FILE")


def take_in(source: Path, output: Path | None, sheet: str, overwrite: bool) -> None:
    """Write an input workbook filled from a plain table, and print what was taken."""
    from xlsengine.jobs import take_table

    outcome = take_table(source, output, sheet=sheet, overwrite=overwrite)
    if outcome.exit_code != DONE:
        complain(*refusal(outcome))
        sys.exit(outcome.exit_code)
    print_taken(outcome)


def print_taken(outcome: Outcome) -> None:
    """Print what was understood of a plain table, where its workbook lies, and what comes next."""
    say_noted(outcome.told)
    plural = "s" * (outcome.readings != 1)
    say(f"wrote {outcome.output}, {outcome.readings} reading{plural}; add what else you know, then run: xlsengine FILE")
