"""Flags with the cells of the workbook that was read: what `check` and `results` say of odd readings."""

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from xlsengine.bench.declaring.declare import Form, Table
from xlsengine.bench.inputs.conditions import CHECK_WEIGHTS
from xlsengine.bench.inputs.forms import FORMS
from xlsengine.bench.inputs.no_load import FREE_SPINS
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.bench.judging.plain_checks import Severity
from xlsengine.errors import cells_joined
from xlsengine.expression import Named, Node, as_node
from xlsengine.study.assessment import Assessment
from xlsengine.workbook.layout import quoted, table_name
from xlsengine.workbook.marked_readings import CellOf, esc_caveat, left_out_statement
from xlsengine.workbook.reading.reader import Where

SOME = 3
"""Readings from which on one line tells what asks for the same in all of them."""
_SAME = ("severity", "label", "what", "expected", "cause", "fix")
_INPUTS: tuple[Form | Table, ...] = (READINGS, CHECK_WEIGHTS, FREE_SPINS, *FORMS)


def placed_flags(assessment: Assessment, where: Where) -> list[dict[str, Any]]:
    """Return every flag of a workbook that was read, the most severe first, with the cell to look at first.

    `place` is that cell, `label` its header or its field, `row` the row of the table Readings counted from 1, or None.
    """
    return [_placed(flag, where) for flag in assessment.flag_list()]


def _placed(flag: dict[str, Any], where: Where) -> dict[str, Any]:
    name = flag["column"]
    part = next(part for part in _INPUTS if name in part.fields)
    place = {"place": _place(where, part, flag["at"], name), "label": part.fields[name].header}
    said = {key: value for key, value in flag.items() if key not in ("severity", "column", "at")}
    return {"severity": flag["severity"], **place, **said}


def _place(where: Where, part: Form | Table, row: int, name: str) -> str:
    """Return a cell; the row of the sheet of Readings where the workbook has no such column or field."""
    held = where.get(table_name(part))
    if held is not None and isinstance(part, Form):
        cell = held.field(name)
        if cell is not None:
            return cell
    elif held is not None and name in held.columns:
        return held.place(row - 1, name)
    readings = where[READINGS.name]
    line = readings.rows[row - 1] + 1
    return f"{quoted(readings.area.sheet)}!{line}:{line}"


def left_out_line(assessment: Assessment, where: Where) -> str:
    """Say which readings take no part in the figures and why, with the cells of a workbook that was read."""
    said = left_out_statement(_cell_in(assessment, where), where[READINGS.name].area.sheet)
    return str(assessment.scope.any_value(said)).removesuffix(".")


def esc_caveat_line(assessment: Assessment, where: Where) -> str:
    """Say which readings to settle before an ESC is chosen, with the cells of a workbook that was read; "" where none."""
    said = esc_caveat(_cell_in(assessment, where), where[READINGS.name].area.sheet)
    return str(assessment.scope.any_value(said) or "")


def _cell_in(assessment: Assessment, where: Where) -> CellOf:
    """Return what gives the address of a cell in a workbook that was read; the row where it has no such column."""
    fields, scope = list(READINGS.fields), assessment.scope

    def cell_of(row: Named, column: Named) -> Node:
        place, number = scope.named(row.name), scope.named(column.name)
        there = place == place and number == number
        return as_node(_place(where, READINGS, int(place), fields[int(number) - 1]).rpartition("!")[2] if there else "")

    return cell_of


def doubt_lines(assessment: Assessment, where: Where) -> tuple[str, ...]:
    """Return what is impossible or doubtful as lines of text, and what an ESC answer passes over."""
    flags = [flag for flag in placed_flags(assessment, where) if flag["severity"] != Severity.NOTE.word]
    return (*flag_lines(flags), *filter(None, [esc_caveat_line(assessment, where)]))


def flag_lines(flags: Sequence[dict[str, Any]]) -> list[str]:
    """Return flags as lines of text, those of one mistake in one, and notes of one kind."""
    return [flag_line(flag) for flag in joined(flags)]


def joined(flags: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Return flags with those of one mistake in many readings as one, whose place names its cells as ranges.

    One mistake is what asks for the same in the same column of `SOME` readings, whatever was found there.
    Notes are told together where they are of one kind.
    """
    kinds = [tuple(flag.get(name) for name in _SAME) for flag in flags]
    counts = Counter(kinds)
    alike: dict[tuple[Any, ...], list[Mapping[str, Any]]] = {}
    for place, (flag, kind) in enumerate(zip(flags, kinds, strict=True)):
        own = () if counts[kind] >= SOME else (place,)
        is_note = flag["severity"] == Severity.NOTE.word
        alike.setdefault((flag["what"], flag["label"]) if is_note else (*kind, *own), []).append(flag)
    return [_as_one(same) for same in alike.values()]


def _as_one(alike: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """Return one flag for some that tell of one mistake."""
    first, count = alike[0], len(alike)
    if count == 1:
        return dict(first)
    same = len({flag["found"] for flag in alike}) == 1
    found = first["found"] if same else f"the first: {first['found']}"
    place = cells_joined([flag["place"] for flag in alike])
    return {**first, "place": place, "seen_with": f"{count} readings", "found": found}


def flag_line(flag: dict[str, Any]) -> str:
    """Return a flag as a line of text; what asks for nothing is one sentence."""
    if not flag["fix"]:
        return f"{flag['severity']}: {flag['place']}: {flag['what']}; {flag['cause']}"
    where = f"{flag['place']} {flag['label']}, {flag['seen_with']}"
    found = flag["found"].removesuffix(".")
    return f"{flag['severity']}: {where}: {flag['what']}; {found}; expected {flag['expected']}. {flag['fix']}"
