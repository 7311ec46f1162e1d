"""The command line. Exit codes: 0 done, 1 the workbook has faults, 2 it cannot be read or written.

Heavy parts are imported where a command uses them, so that a wrong command line is answered at once.
"""

from __future__ import annotations

import sys

import click

from xlsengine.commands.batch import batch
from xlsengine.commands.changes import changes
from xlsengine.commands.check import check
from xlsengine.commands.printing import ReaderGone, complain, let_go_of, refusal
from xlsengine.commands.results import results
from xlsengine.commands.template import template
from xlsengine.errors import WorkbookFaulty, XlsEngineError
from xlsengine.outcome import FAULTY, UNREADABLE, Outcome


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="xlsengine")
def cli() -> None:
    """Bench readings of small brushless motors in, a living results workbook out.

    Spinning propellers and lithium packs hurt people: heed the cautions on the sheet Start. Makers' ratings and local
    rules overrule every figure this program gives.
    """


cli.add_command(template)
cli.add_command(check)
cli.add_command(results)
cli.add_command(changes)
cli.add_command(batch)


def main(arguments: list[str] | None = None) -> None:
    """Run the command line; no traceback ever reaches a person."""
    try:
        cli(args=arguments, prog_name="xlsengine")
    except WorkbookFaulty as error:
        complain(*refusal(Outcome("", FAULTY, faults=error.faults)))
        sys.exit(FAULTY)
    except ReaderGone:
        let_go_of(sys.stdout)
        sys.exit(UNREADABLE)
    except XlsEngineError as error:
        complain(str(error))
        sys.exit(UNREADABLE)
    except OSError as error:
        let_go_of(sys.stdout)
        complain(f"cannot print to standard output: {error.strerror or error}; a workbook that was written stands")
        sys.exit(UNREADABLE)
