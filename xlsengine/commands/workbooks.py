"""The commands that take a workbook: ``check``, ``results``, ``template``, ``changes``, ``batch``."""

import sys
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
from xlsengine.outcome import DONE, FAULTY, JUDGED_LATER, Outcome, counted

DEFAULT_TEMPLATE = "motor bench.xlsx"


@click.command(short_help="List faults, and readings that look odd.")
@click.argument("files", nargs=-1, required=True, type=FILE)
@AS_JSON
def check(files: tuple[Path, ...], as_json: bool) -> None:
    """Say everything that is wrong in the workbooks, and which readings look odd."""
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
    say_all(f"  {line}" for line in outcome.checked_lines)
    if outcome.exit_code == FAULTY:
        say(f"  {counted(outcome.faults, 'fault')}; {JUDGED_LATER}")
    if outcome.exit_code == DONE:
        say(f"  no faults, {counted(outcome.flags, 'flag')}")


@click.command(short_help="Write the results workbook.")
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
    lines = (*answers.headline_lines, *answers.advice, answers.left_out, answers.flags_line, *outcome.flag_lines)
    say_all(f"  {line}" for line in lines)
    say_noted(outcome.told)
    for line in outcome.changes.lines() if outcome.changes else ():
        say(f"  changed since it was written: {line}")
    if outcome.kept:
        say(f"kept the file that was there as {outcome.kept}")
    say(f"wrote {outcome.output}")


@click.command(short_help="Write the empty workbook, or fill one from a table.")
@click.option("-o", "--output", type=FILE, help=f"File to write; else '{DEFAULT_TEMPLATE}', or '<name> bench.xlsx'.")
@click.option("--from", "source", type=FILE, help="Table of readings to take in: .xlsx, .ods, .csv, .tsv or .txt.")
@click.option("--sheet", default="", help="Sheet of that file to take in; else the one that holds most.")
@OVERWRITE
def template(output: Path | None, source: Path | None, sheet: str, overwrite: bool) -> None:
    """Write the empty workbook, or one filled with the readings of a plain table."""
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


@click.command(short_help="List what was changed from one workbook to another.")
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


@click.command(short_help="Judge a box of motors against its label.")
@click.argument("files", nargs=-1, type=FILE)
@click.option("--new", "new", type=FILE, help="Write an empty workbook of serials to this file.")
@click.option(
    "-o", "--output", type=FILE, help="File to write; else '<name> batch results.xlsx' beside the first file."
)
@OVERWRITE
def batch(files: tuple[Path, ...], new: Path | None, output: Path | None, overwrite: bool) -> None:
    """Say how a box of motors stands against its label: spread, capability, run charts, how many to test.

    FILES are workbooks of serials (write an empty one with --new), and bench tests or results of one model, a serial each.
    """
    if (new is None) == (not files):
        raise click.UsageError("name FILES to judge, or --new FILE to write an empty workbook")
    from xlsengine.study.batch import scope_of
    from xlsengine.workbook.batch_workbook import lines_of, write_batch, write_batch_template
    from xlsengine.workbook.output import refuse_input
    from xlsengine.workbook.reading.batch_reader import gather

    if new is not None:
        say(f"wrote {write_batch_template(new, overwrite)}; fill its cream cells, then run: xlsengine batch FILE")
        return
    target = output or batch_path(files[0])
    for file in files:
        refuse_input(target, file)
    with progress() as step:
        box = gather(files, step)
        scope = scope_of(box.fields, box.serials)
        write_batch(target, scope, overwrite)
    say_all(lines_of(scope))
    say_noted(box.told)
    say(f"wrote {target}")


def batch_path(file: Path) -> Path:
    """Return where a box goes: ``<name> batch results.xlsx`` beside the first file; one that came back is numbered on."""
    from xlsengine.workbook.output import next_name, numbered

    name = numbered(file.stem)[0]
    return next_name(file if name.endswith("batch") else file.with_stem(f"{name} batch")) if file.name else file
