"""How commands print: as text alone that steers no terminal, into whatever their output is led to."""

import json
import os
import re
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import click

from xlsengine.outcome import DONE, JUDGED_LATER, Outcome, counted, told_lines

FILE = click.Path(path_type=Path)
LIBRARY = click.option(
    "--library",
    default="",
    help="The library: its file, or postgresql://… of a server; else as XLSENGINE_LIBRARY or your configuration file says.",
)
OVERWRITE = click.option("--overwrite", is_flag=True, help="Replace what is written already.")
AS_JSON = click.option("--json", "as_json", is_flag=True, help="Print one JSON object instead of lines.")
_STEPS = 9
# Signs that steer a terminal, turn the direction of writing, or stand in no text at all (halves of pairs).
_STEERING = re.compile("[\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")


def say(line: str, err: bool = False) -> None:
    """Print one line as text alone, with a sign in place of what would steer the terminal."""
    stream = sys.stderr if err else sys.stdout
    encoding = getattr(stream, "encoding", None) or "utf-8"
    plain = _STEERING.sub(lambda sign: " " if sign[0] in "\t\n\r" else "\ufffd", line)
    _print(plain.encode(encoding, "replace").decode(encoding), err)


def say_all(lines: Iterable[str]) -> None:
    """Print lines, each as `say` does."""
    for line in lines:
        say(line)


def say_noted(told: Iterable[str]) -> None:
    """Print what else whoever sent a workbook should know."""
    say_all(f"  {line}" for line in told_lines(told))


def say_json(report: dict[str, Any]) -> None:
    """Print an object as JSON; what would steer the terminal is written as its number."""
    in_ascii = "utf" not in (getattr(sys.stdout, "encoding", None) or "utf-8").lower()
    lines = json.dumps(report, indent=2, ensure_ascii=in_ascii).split("\n")
    _print("\n".join(_STEERING.sub(lambda sign: f"\\u{ord(sign[0]):04x}", line) for line in lines))


def _print(text: str, err: bool = False) -> None:
    """Print a text; raises `ReaderGone` where nobody reads on, which click would take for a fault of the workbook."""
    try:
        click.echo(text, err=err)
    except BrokenPipeError as error:
        raise ReaderGone from error


class ReaderGone(Exception):
    """Whoever read the output along has read enough."""


def complain(*lines: str) -> None:
    """Print lines to standard error, if it can take them."""
    try:
        for line in lines:
            say(line, err=True)
    except (OSError, ReaderGone):
        let_go_of(sys.stderr)


def let_go_of(stream: Any) -> None:
    """Lead what a stream still holds nowhere, so that closing it at the end cannot fail again."""
    with suppress(OSError, ValueError, AttributeError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def refusal(outcome: Outcome) -> list[str]:
    """Return why nothing was written, as lines of text; none where it was."""
    count = f"{counted(outcome.faults, 'fault')}; nothing was written; {JUDGED_LATER}"
    return [*outcome.checked_lines, *([count] if outcome.faults else [])]


def stop_unless_done(outcome: Outcome) -> None:
    """End the program with why nothing was written, where that is so."""
    if outcome.exit_code != DONE:
        complain(*refusal(outcome))
        sys.exit(outcome.exit_code)


@contextmanager
def progress(quiet: bool = False) -> Iterator[Callable[[str], None]]:
    """Show steps on a terminal while the work lasts; say nothing into files, pipes or JSON."""
    hidden = quiet or sys.stderr is None or not sys.stderr.isatty()
    with click.progressbar(
        length=_STEPS, label="xlsengine", file=sys.stderr, hidden=hidden, item_show_func=lambda item: item
    ) as bar:
        yield lambda step: bar.update(1, step)
