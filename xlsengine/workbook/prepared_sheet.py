"""A worksheet of XlsxWriter that takes formulas as they are, a column at a time, and writes its cells without detours.

XlsxWriter looks through every formula for the names of newer functions, which costs ten times the writing; ours use none. It
keeps every formula of a column, while a column needs one for all its rows. And it looks through every text and number for
signs to escape. The methods are private, so the version range is pinned, and a test holds both routes to the same parts.
"""

from collections.abc import Sequence
from itertools import chain, zip_longest
from typing import Any

from xlsxwriter.worksheet import CellBlankTuple, CellFormulaTuple, CellNumberTuple, CellStringTuple, Worksheet

from xlsengine.workbook.layout import ROW_MARK, column_letters

_ERRORS = frozenset(("#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!"))


class ColumnFormula:
    """A formula down a column, its rows set apart by `ROW_MARK` and written for the row `top` of the sheet, from 0."""

    def __init__(self, pattern: str, top: int) -> None:
        pieces = pattern.split(ROW_MARK)
        self._pieces, self._top = pieces[::2], top
        self._firsts = [int(row) for row in pieces[1::2]]
        self._alike = len(set(self._firsts)) == 1

    def at(self, row: int) -> str:
        """Return the formula in a row of the sheet."""
        below = row - self._top
        if self._alike:
            return str(self._firsts[0] + below).join(self._pieces)
        rows = [str(first + below) for first in self._firsts]
        return "".join(chain.from_iterable(zip_longest(self._pieces, rows, fillvalue="")))


class PreparedFormulas(Worksheet):  # type: ignore[misc]
    """The worksheet; its formulas are kept with their signs escaped."""

    def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:
        return formula.lstrip("=")

    def _write_formula(self, row: int, col: int, formula: str, cell_format: Any = None, value: Any = 0) -> int:
        return self.fill_down(row, col, formula.lstrip("="), cell_format, [value])

    def declare_formulas(self, formulas: Sequence[str]) -> None:
        """Give the columns of the last table their formulas, without writing every cell as `add_table` would."""
        for column, text in zip(self.tables[-1]["columns"], formulas, strict=True):
            column["formula"] = text.lstrip("=")

    def fill_down(
        self, row: int, col: int, pattern: str, cell_format: Any, values: Sequence[float | str], at: int = 0
    ) -> int:
        """Put a formula down a column with its values; its rows are set apart by `ROW_MARK`, `at` rows above the first."""
        if not values:
            return 0
        if self._check_dimensions(row, col) or self._check_dimensions(row + len(values) - 1, col):
            return -1
        formula = ColumnFormula(_escaped(pattern), row - at)
        for place, value in enumerate(values, start=row):
            self.table[place][col] = CellFormulaTuple(formula, cell_format, value)
        return 0

    def _write_cell(self, row: int, col: int, cell: Any) -> None:
        kind, form = type(cell), cell.format or self._format_around(row, col)
        start = f'<c r="{column_letters(col)}{row + 1}"' + (f' s="{form._get_xf_index()}"' if form else "")
        if kind is CellFormulaTuple:
            value, typed = _as_value(cell.value)
            self.fh.write(f"{start}{typed}><f>{cell.formula.at(row)}</f><v>{value}</v></c>")
        elif kind is CellStringTuple:
            self.fh.write(f'{start} t="s"><v>{cell.string}</v></c>')
        elif kind is CellNumberTuple:
            self.fh.write(f"{start}><v>{cell.number:.16G}</v></c>")
        elif kind is CellBlankTuple:
            self.fh.write(f"{start}/>")
        else:
            super()._write_cell(row, col, cell)

    def _format_around(self, row: int, col: int) -> Any:
        """Return the format of a cell that has none of its own: its row's, else its column's."""
        if row in self.row_info and self.row_info[row].row_format:
            return self.row_info[row].row_format
        return self.col_info[col].column_format if col in self.col_info else None


def _as_value(value: float | str) -> tuple[float | str, str]:
    """Return a formula's value as it is written, and the attribute that tells its type."""
    if not isinstance(value, str):
        return value, ""
    return _escaped(value), "" if not value else ' t="e"' if value in _ERRORS else ' t="str"'


def _escaped(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
