"""What the linter can find: the closed set of rules, and one finding."""

from dataclasses import dataclass
from enum import StrEnum


class Rule(StrEnum):
    """Every rule the linter knows; a test sees each of them fire."""

    PART_REPEATED = "part written twice"
    PART_MISSING = "part missing"
    XML_BROKEN = "XML not well formed"
    CELL_REPEATED = "cell written twice"
    CELL_ORDER = "cells out of order"
    VALUE_INVALID = "invalid stored value"
    PYTHON_TEXT = "Python's text for a missing value"
    NO_STORED_VALUE = "formula without a stored value"
    ERROR_STORED = "error value stored"
    FORMULA_SYNTAX = "formula does not parse"
    FORMULA_TOO_LONG = "formula beyond a limit of the format"
    FUNCTION_NOT_ALLOWED = "function not allowed"
    ARGUMENT_COUNT = "wrong number of arguments"
    AT_REFERENCE = "[@ reference"
    BARE_RANGE = "range where one value is wanted"
    UNKNOWN_SHEET = "unknown sheet"
    OUTSIDE_GRID = "reference outside the grid"
    UNKNOWN_TABLE = "unknown table"
    UNKNOWN_HEADER = "unknown table header"
    OUTSIDE_TABLE = "[#This Row] outside its table"
    UNKNOWN_NAME = "unknown name"
    NAME_INVALID = "invalid defined name"
    NAME_TARGET = "defined name points at nothing"
    TABLE_NAME = "table name"
    TABLE_SHAPE = "table columns do not fit its range"
    TABLE_HEADER = "table header"
    TABLE_FORMULA = "calculated column"
    TABLE_OVERLAP = "tables overlap"
    CHART_REFERENCE = "chart reference"
    CHART_ALT_TEXT = "drawing without alt text"
    CHART_SERIES_NAME = "series without a name"
    CONDITION = "conditional format"
    VALIDATION = "data validation"
    LINK_TARGET = "link target"
    MERGE_OVERLAP = "merged ranges overlap"
    PAGE_SETUP = "page set-up"


@dataclass(frozen=True)
class Finding:
    """One thing wrong in a written workbook; `cell` is "" where no cell is meant."""

    part: str
    cell: str
    rule: Rule
    message: str

    def __str__(self) -> str:
        return f"{self.part} {self.cell}: {self.rule}: {self.message}".replace(" :", ":")
