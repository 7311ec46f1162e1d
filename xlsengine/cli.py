"""The command line: template, check, results, changes. Exit codes: 0 done, 1 the workbook has faults, 2 it cannot be read.

Heavy parts are imported where a command uses them, so that a wrong command line is answered at once.
"""

from __future__ import annotations

import json
import os
import re
import sys
from collections.abc import Callable, Iterable, Mapping, Sized
from contextlib import AbstractContextManager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from xlsengine.errors import WorkbookFaulty, XlsEngineError, fault_lines

if TYPE_CHECKING:
    from xlsengine.study.assessment import Assessment
    from xlsengine.workbook.reading.reader import Reading

DONE, FAULTY, UNREADABLE = 0, 1, 2
DEFAULT_TEMPLATE = "motor bench.xlsx"
JUDGED_LATER = "the readings are judged once these faults are mended"
_FILE = click.Path(path_type=Path)
_STEPS = 9
# Signs that steer a terminal, turn the direction of writing, or stand in no text at all (halves of pairs).
_STEERING = re.compile("[\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="xlsengine")
def cli() -> None:
    """Bench readings of small brushless motors in, a living results workbook out.

    Spinning propellers and lithium packs hurt people: heed the cautions on the sheet Start. Makers' ratings and local
    rules overrule every figure this program gives.
    """


@cli.command()
@click.option("-o", "--output", type=_FILE, help=f"File to write; else '{DEFAULT_TEMPLATE}', or '<name> bench.xlsx'.")
@click.option("--from", "source", type=_FILE, help="Table of readings to take in: .xlsx, .ods, .csv, .tsv or .txt.")
@click.option("--sheet", default="", help="Sheet of that file to take in; else the one that holds most.")
@click.option("--overwrite", is_flag=True, help="Replace the file if it exists.")
def template(output: Path | None, source: Path | None, sheet: str, overwrite: bool) -> None:
    """Write the input workbook: empty to be filled, or with the readings of a plain table."""
    from xlsengine.workbook.template import write_input_workbook, write_template

    if source is None:
        path = write_template(output or Path(DEFAULT_TEMPLATE), overwrite)
        _say(f"wrote {path}; fill its cream cells, then run: xlsengine results FILE")
        return
    from xlsengine.workbook.reading.plain_tables import take_in

    taken = take_in(source, sheet)
    target = _output_for(source, output, source.with_name(f"{source.stem} bench.xlsx"))
    path = write_input_workbook(taken.test, target, overwrite)
    for line in taken.told:
        _say(f"  told: {line}")
    _say(
        f"wrote {path}, {taken.test.rows('Readings')} readings; add what else you know, then run: xlsengine check FILE"
    )


@cli.command()
@click.argument("files", nargs=-1, required=True, type=_FILE)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object instead of lines.")
def check(files: tuple[Path, ...], as_json: bool) -> None:
    """Say everything that is wrong in the input workbooks, and what their readings look odd about."""
    reports = [_checked(path) for path in files]
    if as_json:
        _say_json({"files": reports})
    else:
        for report in reports:
            _print_check(report)
    sys.exit(max(report["exit_code"] for report in reports))


@cli.command()
@click.argument("file", type=_FILE)
@click.option("-o", "--output", type=_FILE, help="File to write; else '<name> results.xlsx' beside the input.")
@click.option("--overwrite", is_flag=True, help="Replace the output if it exists.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object instead of lines.")
def results(file: Path, output: Path | None, overwrite: bool, as_json: bool) -> None:
    """Compute, check and advise, and write the results workbook."""
    from xlsengine.study.assessment import assess
    from xlsengine.workbook.comparing import returned_changes
    from xlsengine.workbook.output import before_name
    from xlsengine.workbook.reading.reader import read_workbook
    from xlsengine.workbook.results import write_results

    target = _output_for(file, output, results_path(file))
    with _progress(as_json) as step:
        step("reading")
        reading = read_workbook(file)
        if reading.faults:
            raise WorkbookFaulty(reading.faults)
        step("computing")
        assessment = assess(reading.test)
        returned = returned_changes(file, reading, assessment)
        kept = _stamp(before_name(target))
        told = [*reading.told, *_too_long_to_return(reading.test.rows("Readings"))]
        write_results(assessment, target, overwrite, step, returned, told)
        told += _too_large_to_return(target)
    report = {"file": str(file), "results": str(target), "told": told, **_assessed(assessment, reading)}
    report["read_as"] = [cell._asdict() for cell in reading.cells]
    report["kept"] = str(before_name(target)) if _stamp(before_name(target)) != kept else None
    if as_json:
        report["changes"] = None if returned is None else returned.as_dict()
        _say_json({**report, "exit_code": DONE})
    else:
        _print_results(report, [] if returned is None else list(returned.lines()))


@cli.command()
@click.argument("before", type=_FILE)
@click.argument("after", type=_FILE)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object instead of lines.")
def changes(before: Path, after: Path, as_json: bool) -> None:
    """Say what was changed from one workbook to another, and what it did to the headline figures."""
    from xlsengine.workbook.comparing import compare_workbooks

    report = compare_workbooks(before, after)
    if as_json:
        whole = {"before": str(before), "after": str(after), **report.as_dict(), "exit_code": DONE}
        _say_json(whole)
    else:
        _say_all(report.lines())


def results_path(file: Path) -> Path:
    """Return where results go: ``<name> results.xlsx`` beside the input.

    A results workbook that comes back is an input too and is never written to: its results are numbered on. A path
    without a name, which no file can have, stays as it is.
    """
    from xlsengine.workbook.reading.blanks import RETURNED_NAME

    if not file.name:
        return file
    returned = RETURNED_NAME.fullmatch(file.stem)
    if not returned:
        return file.with_name(f"{file.stem} results.xlsx")
    return file.with_name(f"{returned[1]} results {int(returned[2] or 1) + 1}.xlsx")


def _output_for(file: Path, output: Path | None, otherwise: Path) -> Path:
    """Return where to write: never onto the input, and `otherwise` where no place is named."""
    from xlsengine.workbook.output import refuse_input

    target = output or otherwise
    refuse_input(target, file)
    return target


def _too_long_to_return(readings: int) -> list[str]:
    from xlsengine.workbook.reading.limits import MOST_WITH_RESULTS

    return [_cannot_return(f"results of more than {MOST_WITH_RESULTS:,} readings")] * (readings > MOST_WITH_RESULTS)


def _too_large_to_return(written: Path) -> list[str]:
    """Tell of results that the gate would refuse, such as those of thousands of propellers, by what was written."""
    from xlsengine.workbook.layout import SHEETS
    from xlsengine.workbook.reading.package import why_too_large

    why = why_too_large(written, SHEETS)
    return [_cannot_return(f"these results ({why})")] if why else []


def _cannot_return(what: str) -> str:
    return f"{what} are too large to be sent back through this program: change the input workbook instead"


def _stamp(path: Path) -> tuple[int, int] | None:
    """Return what tells one file of a name from the next, None where there is none."""
    try:
        found = path.stat()
    except (OSError, ValueError):
        return None
    return found.st_ino, found.st_mtime_ns


def _checked(path: Path) -> dict[str, Any]:
    """Read one file for `check`; its report holds the faults, or the flags when there are none."""
    from xlsengine.study.assessment import assess
    from xlsengine.workbook.reading.reader import read_workbook

    try:
        reading = read_workbook(path)
    except XlsEngineError as error:
        return {
            "file": str(path),
            "exit_code": UNREADABLE,
            "error": str(error),
            "faults": [],
            "told": [],
            "read_as": [],
            "flags": [],
            "lines": [],
        }
    report: dict[str, Any] = {"file": str(path), "exit_code": FAULTY if reading.faults else DONE, "error": None}
    report["faults"] = [fault.as_dict() for fault in reading.faults]
    report["told"] = list(reading.told)
    report["read_as"] = [cell._asdict() for cell in reading.cells]
    report["flags"] = [] if reading.faults else _assessed(assess(reading.test), reading)["flags"]
    report["lines"] = fault_lines(reading.faults)
    return report


def _assessed(assessment: Assessment, reading: Reading) -> dict[str, Any]:
    """Return what both commands say about an assessment."""
    from xlsengine.workbook.flag_places import left_out_line, placed_flags

    figures = assessment.figures()
    return {
        "motor": figures["motor_title"],
        "headlines": assessment.headlines(),
        "flag_counts": assessment.flag_counts(),
        "flags": placed_flags(assessment, reading.contents),
        "left_out": left_out_line(assessment, reading.contents),
        "advice": [str(figures[name]) for name in _advice(figures) if figures[name]],
    }


def _advice(figures: Mapping[str, object]) -> list[str]:
    """Return what is said of ESC and flight; the answer for bursts says what to expect in flight itself."""
    in_flight = [] if figures["esc_flight_sentence"] else ["flight_note"]
    return ["esc_advice", "esc_advice_other", *in_flight, "esc_uncovered", "esc_settings", "esc_precedence"]


def _print_check(report: dict[str, Any]) -> None:
    from xlsengine.workbook.flag_places import flag_lines

    _say(f"{report['file']}:")
    for line in [report["error"]] if report["error"] else report["lines"]:
        _say(f"  {line}")
    for line in flag_lines(report["flags"]):
        _say(f"  {line}")
    for line in report["told"]:
        _say(f"  told: {line}")
    if report["exit_code"] == FAULTY:
        _say(f"  {_counted(report['faults'], 'fault')}; {JUDGED_LATER}")
    if report["exit_code"] == DONE:
        _say(f"  no faults, {_counted(report['flags'], 'flag')}")


def _counted(things: Sized, word: str) -> str:
    return f"{len(things)} {word}" + "s" * (len(things) != 1)


def _print_results(report: dict[str, Any], changed: list[str]) -> None:
    _say(report["motor"])
    for line in report["headlines"]:
        if line["value"] is not None:
            note = f"  ({line['note']})" if line["note"] else ""
            _say(f"  {line['label']}: {line['shown']}, {line['place']}{note}")
    for line in report["advice"]:
        _say(f"  {line}")
    _say(f"  {report['left_out']}")
    counts = ", ".join(f"{count} {word}" for word, count in report["flag_counts"].items())
    _say(f"  flags: {counts}")
    for line in report["told"]:
        _say(f"  told: {line}")
    for line in changed:
        _say(f"  since it was written: {line}")
    if report["kept"]:
        _say(f"kept the file that was there as {report['kept']}")
    _say(f"wrote {report['results']}")


def _progress(quiet: bool) -> AbstractContextManager[Callable[[str], None]]:
    """Show steps on a terminal while the work lasts; say nothing into files, pipes or JSON."""
    from contextlib import contextmanager

    @contextmanager
    def shown() -> Any:
        hidden = quiet or sys.stderr is None or not sys.stderr.isatty()
        with click.progressbar(length=_STEPS, label="xlsengine", file=sys.stderr, hidden=hidden,
                               item_show_func=lambda item: item) as bar:  # fmt: skip
            yield lambda step: bar.update(1, step)

    return shown()


def _say(line: str, err: bool = False) -> None:
    """Print one line as text alone, with a sign in place of what would steer the terminal."""
    stream = sys.stderr if err else sys.stdout
    encoding = getattr(stream, "encoding", None) or "utf-8"
    plain = _STEERING.sub(lambda sign: " " if sign[0] in "\t\n\r" else "\ufffd", line)
    _print(plain.encode(encoding, "replace").decode(encoding), err)


def _say_all(lines: Iterable[str]) -> None:
    for line in lines:
        _say(line)


def _say_json(report: dict[str, Any]) -> None:
    """Print an object as JSON; what would steer the terminal is written as its number."""
    in_ascii = "utf" not in (getattr(sys.stdout, "encoding", None) or "utf-8").lower()
    lines = json.dumps(report, indent=2, ensure_ascii=in_ascii).split("\n")
    _print("\n".join(_STEERING.sub(lambda sign: f"\\u{ord(sign[0]):04x}", line) for line in lines))


def _print(text: str, err: bool = False) -> None:
    """Print a text; raises `_ReaderGone` where nobody reads on, which click would take for a fault of the workbook."""
    try:
        click.echo(text, err=err)
    except BrokenPipeError as error:
        raise _ReaderGone from error


class _ReaderGone(Exception):
    """Whoever read the output along has read enough."""


def _complain(*lines: str) -> None:
    """Print lines to standard error, if it can take them."""
    try:
        for line in lines:
            _say(line, err=True)
    except (OSError, _ReaderGone):
        _let_go_of(sys.stderr)


def _let_go_of(stream: Any) -> None:
    """Lead what a stream still holds nowhere, so that closing it at the end cannot fail again."""
    with suppress(OSError, ValueError, AttributeError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def main(arguments: list[str] | None = None) -> None:
    """Run the command line; no traceback ever reaches a person."""
    try:
        cli(args=arguments, prog_name="xlsengine")
    except WorkbookFaulty as error:
        _complain(*fault_lines(error.faults), f"{_counted(error.faults, 'fault')}; nothing was written; {JUDGED_LATER}")
        sys.exit(FAULTY)
    except _ReaderGone:
        _let_go_of(sys.stdout)
        sys.exit(UNREADABLE)
    except XlsEngineError as error:
        _complain(str(error))
        sys.exit(UNREADABLE)
    except OSError as error:
        _let_go_of(sys.stdout)
        _complain(f"cannot print to standard output: {error.strerror or error}; a workbook that was written stands")
        sys.exit(UNREADABLE)
