"""``xlsengine template``: the empty input workbook, or one filled from a plain table."""

from pathlib import Path

import click

from xlsengine.commands.printing import FILE, OVERWRITE, say, say_noted, stop_unless_done
from xlsengine.outcome import Outcome

DEFAULT_TEMPLATE = "motor bench.xlsx"


@click.command()
@click.option("-o", "--output", type=FILE, help=f"File to write; else '{DEFAULT_TEMPLATE}', or '<name> bench.xlsx'.")
@click.option("--from", "source", type=FILE, help="Table of readings to take in: .xlsx, .ods, .csv, .tsv or .txt.")
@click.option("--sheet", default="", help="Sheet of that file to take in; else the one that holds most.")
@OVERWRITE
def template(output: Path | None, source: Path | None, sheet: str, overwrite: bool) -> None:
    """Write the input workbook: empty to be filled, or with the readings of a plain table."""
    from xlsengine.jobs import take_table
    from xlsengine.workbook.template import write_template

    if source is not None:
        outcome = take_table(source, output, sheet=sheet, overwrite=overwrite)
        stop_unless_done(outcome)
        print_taken(outcome)
        return
    path = write_template(output or Path(DEFAULT_TEMPLATE), overwrite)
    say(f"wrote {path}; fill its cream cells, then run: xlsengine FILE")


def print_taken(outcome: Outcome) -> None:
    """Print what was understood of a plain table, where its workbook lies, and what comes next."""
    say_noted(outcome.told)
    plural = "s" * (outcome.readings != 1)
    say(f"wrote {outcome.output}, {outcome.readings} reading{plural}; add what else you know, then run: xlsengine FILE")
