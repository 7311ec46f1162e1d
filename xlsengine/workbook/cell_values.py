"""What stands in cells: values of formulas, texts that a cell can hold, and how exact they are shown."""

import re
from typing import Any

import numpy as np

from xlsengine.bench.declaring.declare import Field, Quantity
from xlsengine.workbook.layout import LONGEST_CELL

_NO_XML = re.compile(
    "_(?=x[0-9A-Fa-f]{4}_)|[\\x00-\\x08\\x0b-\\x1f\\ufffe\\uffff]"
)  # escaped as in strings: ECMA-376 part 1, ST_Xstring
# Signs that XML cannot hold or that steer whatever shows them: a workbook with one of the former in the header of a table
# cannot be opened.
_NO_HEADER = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff\ufffe\uffff]")
TALLEST = 400
"""Points of a row: spreadsheet programs refuse more than 409."""


def stored(value: Any) -> Any:
    """Return what stands in a cell as a formula's value: blanks become empty texts."""
    if isinstance(value, np.ndarray | np.generic):
        value = value.item()
    if isinstance(value, str):
        return _NO_XML.sub(lambda sign: f"_x{ord(sign[0]):04X}_", value)
    return "" if value is None or value != value else value


def all_stored(values: Any) -> list[Any]:
    """Return what stands in the cells of a column of formulas as their values."""
    listed = values.tolist()
    return ["" if v != v else v for v in listed] if values.dtype.kind == "f" else [stored(value) for value in listed]


def fitted(text: str) -> str:
    """Return a text cut to what a cell or note can hold, counted as the format counts: in units of two bytes."""
    if len(text) <= LONGEST_CELL // 2:
        return text
    return text.encode("utf-16-le", "replace")[: 2 * LONGEST_CELL].decode("utf-16-le", "ignore")


def decimals_of(declared: Field | Quantity) -> int:
    """Return how many decimals a declared cell shows."""
    return declared.decimals if isinstance(declared, Field) else declared.shown


def writable_header(text: str) -> str:
    """Return a header with blanks in place of the signs that no table's header can hold."""
    return _NO_HEADER.sub(" ", text)
