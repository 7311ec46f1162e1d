"""Every error a person can meet.

XlsEngineError
├── WorkbookUnreadable   the file cannot be opened as a workbook (exit code 2)
├── WorkbookFaulty       it opens, and holds faults: all of them, listed (exit code 1)
└── OutputRefused        the result cannot be put where it was asked for (exit code 2)

`Fault` is one finding inside a workbook: its place, what was found, what was wanted and the mend.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
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
    mend: str

    def __str__(self) -> str:
        where = f"{self.place} {self.label}".rstrip()
        return f"{where}: found {self.found}; wanted {self.wanted}; {self.mend}"

    def as_dict(self) -> dict[str, str]:
        """Return the fault as plain texts, for ``--json``."""
        return {
            "reason": str(self.reason),
            "place": self.place,
            "label": self.label,
            "found": self.found,
            "wanted": self.wanted,
            "mend": self.mend,
        }


class XlsEngineError(Exception):
    """Base of all errors this package raises on purpose; its text is meant for a person."""


class WorkbookUnreadable(XlsEngineError):
    """The file is missing, damaged, or no .xlsx workbook."""


class WorkbookFaulty(XlsEngineError):
    """The workbook opens but holds faults; `faults` lists every one."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


class OutputRefused(XlsEngineError):
    """The output cannot be written where it was asked for; nothing was changed."""
