"""Every error a person can meet.

XlsEngineError
├── WorkbookUnreadable   the file cannot be opened as a workbook (exit code 2)
├── WorkbookFaulty       it opens, and holds faults: all of them, listed (exit code 1)
└── OutputRefused        the result cannot be put where it was asked for (exit code 2)

`Fault` is one finding inside a workbook: its place, what was found, what was wanted and the fix.
"""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from enum import StrEnum


class Reason(StrEnum):
    """The closed set of reasons for which a workbook is sent back."""

    MISSING_SHEET = "missing sheet"
    MISSING_TABLE = "missing table"
    MISSING_HEADER = "missing header"
    DOUBLED_HEADER = "doubled header"
    MISSING_FIELD = "missing field"
    DOUBLED_FIELD = "doubled field"
    REQUIRED_BLANK = "required cell is blank"
    WRONG_TYPE = "wrong type"
    OUT_OF_LIMITS = "outside its limits"
    NOT_A_CHOICE = "not one of the choices"
    ERROR_VALUE = "error value"
    NO_STORED_VALUE = "formula without a stored value"
    NO_READINGS = "no readings"
    OTHER_VERSION = "other template version"
    STRAY_CELLS = "cells outside the table"
    CONTRADICTION = "contradiction"


@dataclass(frozen=True)
class Fault:
    """One thing wrong in a workbook, worded for the person who has it open.

    `place` is a cell or sheet such as ``Readings!J14``; `label` is the header or field there, or "".
    """

    reason: Reason
    place: str
    label: str
    found: str
    wanted: str
    fix: str

    def __str__(self) -> str:
        where = f"{self.place} {self.label}".rstrip()
        return f"{where}: found {self.found}; wanted {self.wanted}; {self.fix}"

    def as_dict(self) -> dict[str, str]:
        """Return the fault as plain texts, for ``--json``."""
        return {**asdict(self), "reason": str(self.reason)}


_CELL = re.compile(r"(.*!)([A-Z]+)(\d+)")
_MOST_RANGES = 5
_MANY = 5
"""Cells from which on one line tells of values outside the same limits."""


def fault_lines(faults: Sequence[Fault]) -> list[str]:
    """Return faults as lines: the same one in many rows of a column is one line, with its cells as ranges.

    >>> kind = [Fault(Reason.NOT_A_CHOICE, f"Readings!H{row}", "Kind", '"x"', "y", "z") for row in (6, 7, 8, 12)]
    >>> fault_lines(kind)
    ['Readings!H6:H8, H12 Kind: found "x"; wanted y; z']
    """
    return [str(fault) for fault in folded(faults)]


def folded(faults: Sequence[Fault]) -> list[Fault]:
    """Return faults with the same one in many rows of a column as one, whose place names its cells as ranges.

    So are many values outside the same limits: a whole column with another sign or unit.
    """
    alike: dict[Fault, list[Fault]] = {}
    kinds = Counter(map(_kind, faults))
    for fault in faults:
        many = fault.reason is Reason.OUT_OF_LIMITS and kinds[_kind(fault)] >= _MANY
        same = _kind(fault) if many else replace(fault, place=column_of(fault.place))
        alike.setdefault(same, []).append(fault)
    return [_as_one(same) for same in alike.values()]


def _kind(fault: Fault) -> Fault:
    return replace(fault, place=column_of(fault.place), found="")


def _as_one(same: Sequence[Fault]) -> Fault:
    found = list(dict.fromkeys(fault.found for fault in same))
    said = found[0] if len(found) == 1 else f"{found[0]}, {found[1]} ..."
    return replace(same[0], place=cells_joined([one.place for one in same]), found=said)


def column_of(place: str) -> str:
    """Return a cell's sheet and column; any other place stays whole."""
    cell = _CELL.fullmatch(place)
    return f"{cell[1]}{cell[2]}" if cell else place


def cells_joined(places: Sequence[str]) -> str:
    """Join the cells of one column: neighbours as ranges, a few of them, and how many cells are left.

    >>> cells_joined(["Readings!H6", "Readings!H7", "Readings!H9"])
    'Readings!H6:H7, H9'
    """
    cell = _CELL.fullmatch(places[0])
    if cell is None or len(places) == 1:
        return places[0]
    ranges: list[list[int]] = []
    for row in sorted({int(place.removeprefix(f"{cell[1]}{cell[2]}")) for place in places}):
        if ranges and row == ranges[-1][1] + 1:
            ranges[-1][1] = row
        else:
            ranges.append([row, row])
    shown = [f"{cell[2]}{low}" if low == high else f"{cell[2]}{low}:{cell[2]}{high}" for low, high in ranges]
    left = sum(high - low + 1 for low, high in ranges[_MOST_RANGES:])
    return cell[1] + ", ".join(shown[:_MOST_RANGES]) + f" and {left} more" * bool(left)


class XlsEngineError(Exception):
    """Base of all errors this package raises on purpose; its text is meant for a person."""


class WorkbookUnreadable(XlsEngineError):
    """The file is missing, damaged, or no .xlsx workbook."""


class WorkbookFaulty(XlsEngineError):
    """The workbook opens but holds faults; `faults` lists every one."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(fault_lines(self.faults)))


class OutputRefused(XlsEngineError):
    """The output cannot be written where it was asked for; nothing was changed."""


class LibraryError(XlsEngineError):
    """A library of tests cannot be opened, read or written to; what stood in it stands."""
