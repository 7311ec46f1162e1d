"""``xlsengine changes``: what was changed from one workbook to another."""

from pathlib import Path

import click

from xlsengine.commands.printing import AS_JSON, FILE, say_all, say_json
from xlsengine.outcome import DONE


@click.command()
@click.argument("before", type=FILE)
@click.argument("after", type=FILE)
@AS_JSON
def changes(before: Path, after: Path, as_json: bool) -> None:
    """Say what was changed from one workbook to another, and what it did to the headline figures."""
    from xlsengine.workbook.comparing import compare_workbooks

    report = compare_workbooks(before, after)
    if as_json:
        say_json({"before": str(before), "after": str(after), **report.as_dict(), "exit_code": DONE})
    else:
        say_all(report.lines())
