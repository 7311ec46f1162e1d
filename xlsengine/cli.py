"""The command line. Exit codes: 0 done, 1 the workbook has faults, 2 it cannot be read or written.

Heavy parts are imported where a command uses them, so that a wrong command line is answered at once.
"""

import atexit
import gc
import os
import sys

import click

from xlsengine.commands.doors import button, guide, page, publish, watch
from xlsengine.commands.files import files
from xlsengine.commands.find import find
from xlsengine.commands.library import compare, library
from xlsengine.commands.printing import ReaderGone, complain, let_go_of, refusal
from xlsengine.commands.workbooks import batch, changes, check, results, template
from xlsengine.errors import WorkbookFaulty, XlsEngineError
from xlsengine.outcome import FAULTY, UNREADABLE, Outcome

_MANY = 400_000
"""New objects after which Python looks for what can go: what a command makes it needs until its end."""


class OneWord(click.Group):
    """A group in which a word that is no command is a file to check and to write results of."""

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Return the command that is meant, and its arguments."""
        if args and args[0] not in self.commands and not args[0].startswith("-"):
            return files.name, files, args
        return super().resolve_command(ctx, args)

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the commands in the order in which people come to need them."""
        return list(self.commands)

    def format_usage(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Print the one word first."""
        formatter.write_usage(ctx.command_path, "FILE ...")
        formatter.write_usage(ctx.command_path, "COMMAND [ARGS] ...", prefix="       ")


@click.group(cls=OneWord, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="xlsengine")
def cli() -> None:
    """Bench readings of small brushless motors in, a live results workbook out.

    Each FILE is checked and gets its results beside it, or a list of its faults; of a folder, every workbook in it that has
    none yet. A plain table of readings becomes a workbook to fill.

    Spinning propellers and lithium packs hurt people: read the cautions on the sheet Start. Makers' ratings and local
    rules overrule every figure this program gives.
    """


for command in (template, check, results, page, watch, button, guide, changes, publish, library, compare, find, batch):
    cli.add_command(command)


def main(arguments: list[str] | None = None) -> None:
    """Run the command line; no traceback ever reaches a person."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # else numpy starts a thread a core, which nothing here needs
    gc.set_threshold(_MANY)
    atexit.register(gc.freeze)  # else Python looks three times through all that is there before it ends
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
    except MemoryError:
        complain("this takes more memory than there is; close other programs, and try again. Nothing was changed")
        sys.exit(UNREADABLE)
    except OSError as error:
        let_go_of(sys.stdout)
        complain(f"cannot print to standard output: {error.strerror or error}; a workbook that was written stands")
        sys.exit(UNREADABLE)
