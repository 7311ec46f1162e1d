"""Flags with the cells of the workbook that was read: what `check` and `results` say of odd readings."""

from __future__ import annotations

from typing import Any

from xlsengine.bench.readings import READINGS
from xlsengine.study.assessment import Assessment
from xlsengine.workbook.layout import quoted
from xlsengine.workbook.reading.contents import Contents
from xlsengine.workbook.reading.positions import Position, positions


def placed_flags(assessment: Assessment, contents: Contents) -> list[dict[str, Any]]:
    """Return every flag of a workbook that was read, the most severe first, with the cell to look at first.

    `place` is that cell, `label` its header, `row` the row of the table Readings counted from 1.
    """
    where = positions(contents)[READINGS.name]
    return [_placed(flag, where) for flag in assessment.flag_list()]


def _placed(flag: dict[str, Any], where: Position) -> dict[str, Any]:
    column = flag["column"]
    place = {"place": _place(where, flag["row"], column), "label": READINGS.columns[column].header}
    said = {name: value for name, value in flag.items() if name not in ("severity", "column")}
    return {"severity": flag["severity"], **place, **said}


def _place(where: Position, row: int, column: str) -> str:
    """Return a cell; the row of the sheet where the workbook has no such column."""
    if column in where.columns:
        return where.place(row - 1, column)
    line = where.rows[row - 1] + 1
    return f"{quoted(where.area.sheet)}!{line}:{line}"


def flag_line(flag: dict[str, Any]) -> str:
    """Return a flag as a line of text."""
    where = f"{flag['place']} {flag['label']}, {flag['seen_with']}"
    return f"{flag['severity']}: {where}: {flag['what']}; {flag['found']}; expected {flag['expected']}. {flag['mend']}"
