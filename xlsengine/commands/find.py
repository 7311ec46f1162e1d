"""``xlsengine find``: the motor and propeller out of earlier tests that a craft needs, ranked in a workbook."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from xlsengine.commands.printing import AS_JSON, FILE, LIBRARY, OVERWRITE, complain, say, say_all, say_json, say_noted
from xlsengine.errors import WorkbookFaulty, fault_lines
from xlsengine.outcome import FAULTY, counted

if TYPE_CHECKING:
    from xlsengine.bench.inputs.bench_test import Value
    from xlsengine.library.finding import Finding

OPTIONS = {
    "all_up_mass": ("--all-up-mass", "Of the whole craft, in g."),
    "motor_count": ("--motors", "Number of motors."),
    "wanted_ratio": ("--thrust-to-weight", "Static thrust over weight, at least."),
    "pack_cells": ("--cells", "Cells of the pack in series."),
    "largest_propeller": ("--largest-propeller", "Diameter in inches."),
    "esc_flight_limit": ("--esc-in-flight", "Largest ESC for short bursts in flight, in A."),
    "esc_bench_limit": ("--esc-on-bench", "Largest ESC for full throttle held, in A."),
    "largest_motor_mass": ("--largest-motor-mass", "With trimmed leads, in g."),
    "way_of_flying": (
        "--flown-for",
        "Type of flying, in the form's words, or “bursts”, “held” or “hover” for short, there too; blank: held.",
    ),
    "pack_capacity": ("--capacity", "Of the pack, in mAh, for minutes in hover."),
    "usable_capacity": ("--usable", "Usable share of it, in %; else as on the form."),
}
"""An option for each field of the form Need."""
_SHOWN = 5


def _needs(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the options of a need."""
    for name, (option, said) in reversed(OPTIONS.items()):
        command = click.option(option, name, help=said)(command)
    return command


@click.command(short_help="Find motor and propeller for a craft in the library.")
@click.argument("need", type=FILE, required=False)
@click.option("--new", type=FILE, help="Write the form of a need to be filled, and nothing else.")
@LIBRARY
@click.option("-o", "--output", type=FILE, help="File to write; else '<need> found.xlsx', or 'found.xlsx'.")
@OVERWRITE
@AS_JSON
@_needs
def find(
    need: Path | None,
    new: Path | None,
    library: str,
    output: Path | None,
    overwrite: bool,
    as_json: bool,
    **options: str | None,
) -> None:
    """Find the motor and propeller for a craft among earlier tests, and write them ranked.

    NEED is a workbook that --new wrote and you filled, or one that this command wrote; the options below overrule it.
    """
    typed = {name: text for name, text in options.items() if text is not None}
    if new is not None:
        _write_form(new, overwrite, _fields(typed)[0])
        return
    fields, told = _fields(typed, "add {}, or fill in a form (xlsengine find --new FILE)", need)
    from xlsengine.library.finding import find as found_in
    from xlsengine.library.store import Library
    from xlsengine.library.where import wanted_place
    from xlsengine.workbook.need_workbook import write_found
    from xlsengine.workbook.output import next_name, refuse_input

    target = output or (Path("found.xlsx") if need is None else next_name(need, "found"))
    if need is not None:
        refuse_input(target, need)
    finding = found_in(fields, Library(wanted_place(library)))
    write_found(target, finding.scope, finding.unlisted, overwrite)
    if as_json:
        say_json(_report(finding, target, told))
        return
    say_noted(told)
    say_all(lines(finding))
    say(f"wrote {target}")


def _write_form(path: Path, overwrite: bool, fields: Mapping[str, Value]) -> None:
    from xlsengine.bench.inputs.bench_test import BenchTest
    from xlsengine.workbook.need_workbook import write_need

    said = "fill in its cream cells, then run: xlsengine find FILE"
    say(f"wrote {write_need(path, BenchTest(fields, {}), overwrite)}; {said}")


def _fields(
    typed: Mapping[str, str], if_missing: str = "", need: Path | None = None
) -> tuple[dict[str, Value], tuple[str, ...]]:
    """Return the fields of a need and what is told, as `need_of` does; ends the program with all that is wrong."""
    from xlsengine.workbook.reading.need_reader import need_of

    try:
        return need_of(typed, lambda name: OPTIONS[name][0], if_missing, need)
    except WorkbookFaulty as error:
        complain(*fault_lines(error.faults), f"{counted(error.faults, 'fault')}; nothing was written")
        sys.exit(FAULTY)


# --- what was found ----------------------------------------------------------------------------------------------


def lines(finding: Finding) -> list[str]:
    """Return what was found as lines: how many fit, the first few, and which limits reject the others."""
    said = [
        f"searched {finding.pairs} pairs of {finding.tests} tests: {finding.fitting} fit, {finding.near} borderline"
    ]
    if finding.unjudged:
        said.append(f"  {finding.unjudged} more have no full-throttle reading that counts, and were not judged")
    if not finding.fitting:
        said.append("nothing fits; nearest are:")
    said += [f"  {line}" for line in _first(finding)]
    if finding.fitting or finding.near:
        said += [f"  {line}" for line in _ranked_by(finding)]
    return [*said, *_rejecting(finding)]


def _ranked_by(finding: Finding) -> list[str]:
    """Return what the pairs are ranked by, where that is no flight time or no pack is known."""
    from xlsengine.bench.advice.pair_answers import RANKED_BY_HOVER, RANKED_BY_WATTS
    from xlsengine.bench.inputs.craft import HOVER

    need = finding.scope.test.fields
    if not finding.hovers:
        return [RANKED_BY_WATTS]
    said = [] if need["way_of_flying"] == HOVER else [RANKED_BY_HOVER]
    if need["pack_capacity"] is None:
        said.append("No minutes: the need names no pack capacity; grams per watt in hover rank instead.")
    return said


def _rejecting(finding: Finding) -> list[str]:
    """Return which limits reject how many pairs, the one that rejects most first; nothing where none does."""
    from xlsengine.bench.advice.pair_answers import LIMITS

    counts = [(count, limit.title) for count, limit in zip(finding.rejected, LIMITS, strict=True) if count]
    ordered = sorted(counts, key=lambda each: -each[0])
    named = ", ".join(f"{title} {count}" for count, title in ordered)
    return [f"  rejected, each by the first limit that it does not hold: {named}"] if named else []


def _first(finding: Finding) -> Iterator[str]:
    """Yield a line for each of the first pairs: its rank, what it is, whether it fits, and its figures."""
    from xlsengine.library.finding import first_pairs

    heads, pairs = first_pairs(finding, _SHOWN)
    ranks = finding.scope.column("Pairs", "rank").tolist()
    for rank, (verdict, motor, prop, *figures, reason) in zip(ranks, pairs, strict=False):
        place, why = f"{rank:.0f}." if rank == rank else "–", f" ({reason})" if reason else ""
        known = (f"{head.lower()} {shown}" for head, shown in zip(heads[3:], figures, strict=False) if shown != "–")
        yield ", ".join((f"{place} {motor} with {prop}: {verdict}{why}", *known))


_PAIR = (
    "rank verdict first_reason motor test prop cells ratio minutes minutes_doubt hover_basis grams_per_watt "
    "grams_per_watt_doubt pair_flight_low pair_flight_high pack_rate motor_mass"
)
"""What a program is told of a pair that is listed."""


def _report(finding: Finding, target: Path, told: tuple[str, ...]) -> dict[str, Any]:
    from xlsengine.bench.advice.pair_answers import LIMITS

    columns = [finding.scope.column("Pairs", name).tolist() for name in _PAIR.split()]
    pairs = [dict(zip(_PAIR.split(), row, strict=True)) for row in zip(*columns, strict=True)]
    rejected = {limit.title: count for limit, count in zip(LIMITS, finding.rejected, strict=True)}
    return {
        "found": str(target),
        "tests": finding.tests,
        "pairs_searched": finding.pairs,
        "not_judged": finding.unjudged,
        "rejected_first_by": rejected,
        "pairs": [{name: None if x != x else x for name, x in pair.items()} for pair in pairs],
        "told": list(told),
        "exit_code": 0,
    }
