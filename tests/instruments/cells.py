"""Rules on the cells of a sheet: their order, their stored values and their formulas."""

import math
import re
from collections.abc import Iterator
from itertools import pairwise

from tests.instruments.charts import charted_areas
from tests.instruments.findings import Finding, Rule
from tests.instruments.grid import Area
from tests.instruments.parts import Book, Cell, Sheet
from tests.instruments.references import Home, judge

ERRORS = frozenset({"#N/A", "#DIV/0!", "#VALUE!", "#REF!", "#NAME?", "#NUM!", "#NULL!", "#GETTING_DATA"})
# Excel 2010 and later: Microsoft, "Excel specifications and limits", characters in a cell.
LONGEST_CELL = 32_767

_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([Ee][+-]?\d+)?")
# A person may type such a word too: give the linter workbooks whose typed texts are none of these.
_PYTHON = re.compile(r"[+-]?nan|NaN|NaT|[+-]?inf|None|<NA>|np\.\w+\(.*|.*\bnumpy\..*|array\(.*|.*<.* object at 0x.*")


def cell_findings(book: Book) -> Iterator[Finding]:
    """Judge every cell of every sheet."""
    charted = charted_areas(book)
    for sheet in book.sheets.values():
        yield from _order(sheet)
        for cell in sheet.cells:
            for rule, message in (
                *_value(cell, book),
                *_error(cell, charted.get(sheet.name, [])),
                *_formula(cell, sheet, book),
            ):
                yield Finding(sheet.part, cell.place, rule, message)


def _order(sheet: Sheet) -> Iterator[Finding]:
    for before, row in pairwise([0, *sheet.written_rows]):
        if row <= before:
            yield Finding(sheet.part, str(row), Rule.CELL_ORDER, f"row {row} after row {before}")
    seen: set[str] = set()
    for cell in sheet.cells:
        if cell.place in seen:
            yield Finding(sheet.part, cell.place, Rule.CELL_REPEATED, "a second <c> of this place")
        seen.add(cell.place)
        if cell.row != cell.written_in:
            yield Finding(sheet.part, cell.place, Rule.CELL_ORDER, f"written in row {cell.written_in}")
    for left, right in pairwise(sheet.cells):
        if left.written_in == right.written_in and left.column > right.column:
            yield Finding(sheet.part, right.place, Rule.CELL_ORDER, f"after {left.place}")


def _value(cell: Cell, book: Book) -> Iterator[tuple[Rule, str]]:
    text = cell.text
    if text is None:
        return
    if not _fits_its_type(cell, text, book):
        yield Rule.VALUE_INVALID, f"{text!r} stored as type {cell.kind!r}"
        return
    if cell.kind in ("s", "str", "inlineStr"):
        words = book.words(cell) or ""
        if _PYTHON.fullmatch(words):
            yield Rule.PYTHON_TEXT, f"{words!r}"
        if len(words) > LONGEST_CELL:
            yield Rule.VALUE_INVALID, f"{len(words)} characters, at most {LONGEST_CELL}"


def _fits_its_type(cell: Cell, text: str, book: Book) -> bool:
    """Return whether a stored text may stand under the type of its cell."""
    match cell.kind:
        case "n":
            # An empty <v> under a formula stands for an empty text; XlsxWriter writes it so.
            empty_result = text == "" and cell.formula is not None
            return empty_result or (bool(_NUMBER.fullmatch(text)) and math.isfinite(float(text)))
        case "b":
            return text in ("0", "1")
        case "s":
            return book.words(cell) is not None and cell.formula is None
        case "str":
            return cell.formula is not None
        case "inlineStr":
            return cell.formula is None
        case "e":
            return text in ERRORS
    return False


def _error(cell: Cell, charted: list[Area]) -> Iterator[tuple[Rule, str]]:
    """Judge a stored error: only a chart may ask for one, for #N/A, which it leaves out."""
    if cell.kind == "e":
        gap = cell.text == "#N/A" and any(area.contains(cell.row, cell.column) for area in charted)
        if not gap:
            yield Rule.ERROR_STORED, f"{cell.text}"


def _formula(cell: Cell, sheet: Sheet, book: Book) -> Iterator[tuple[Rule, str]]:
    if cell.formula is not None and cell.text is None:
        yield Rule.NO_STORED_VALUE, f"={cell.formula}"
    if cell.formula:
        home = Home(sheet.name, cell.row, cell.column)
        yield from judge(cell.formula, book, home, array=cell.array is not None)
