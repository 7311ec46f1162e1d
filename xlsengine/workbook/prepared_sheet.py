"""A worksheet of XlsxWriter that takes formulas as they are, a column at a time, and writes its cells without detours.

XlsxWriter looks through every formula for the names of newer functions, which costs ten times the writing; ours use none. It
keeps every formula of a column, while a column needs one for all its rows. And it looks through every text and number for
signs to escape. The methods are private, so the version range is pinned, and a test holds both routes to the same parts.
"""

from collections.abc import Iterator, Sequence
from io import StringIO
from itertools import chain, product, zip_longest
from typing import Any

from xlsxwriter.worksheet import CellBlankTuple, CellNumberTuple, CellStringTuple, Worksheet

from xlsengine.workbook.layout import ROW_MARK, column_letters

_ERRORS = frozenset(("#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!"))
_AT_ONCE = 512
"""Rows whose cells are written before those of the next."""


class Run:
    """A formula down a column with its values, its rows set apart by `ROW_MARK` and written for the row `written_for`."""

    def __init__(self, top: int, column: int, pattern: str, written_for: int, form: Any, values: Sequence[Any]) -> None:
        pieces = pattern.split(ROW_MARK)
        self.top, self.column, self.form, self.values = top, column, form, values
        self._pieces, self._offsets = pieces[::2], [int(row) - written_for for row in pieces[1::2]]
        self._of_own_row = set(self._offsets) == {1}

    def rows(self, first: int, last: int) -> range:
        """Return its rows from `first` to before `last`."""
        return range(max(first, self.top), min(last, self.top + len(self.values)))

    def cells(self, first: int, last: int, style: str) -> Iterator[tuple[int, str]]:
        """Yield row and cell for each row from `first` to before `last`."""
        start, pieces = f'<c r="{column_letters(self.column)}', self._around_rows(style)
        for row in self.rows(first, last):
            value = self.values[row - self.top]
            typed, shown = _as_value(value) if type(value) is str else ("", f"{value:.15G}")
            yield row, f"{start}{self._formula(row, pieces[typed])}</f><v>{shown}</v></c>"

    def _around_rows(self, style: str) -> dict[str, list[str]]:
        """Return what stands around the rows in a cell, that of its own first, by what tells the type of its value."""
        return {
            typed: ["", f'"{style}{typed}><f>{self._pieces[0]}', *self._pieces[1:]]
            for typed in ("", ' t="str"', ' t="e"')
        }

    def _formula(self, row: int, pieces: list[str]) -> str:
        if self._of_own_row:
            return str(row + 1).join(pieces)
        rows = [str(offset + row) for offset in (1, *self._offsets)]
        return "".join(chain.from_iterable(zip_longest(pieces, rows, fillvalue="")))


class PreparedFormulas(Worksheet):  # type: ignore[misc]
    """The worksheet; its formulas are kept with their signs escaped."""

    def __init__(self) -> None:
        super().__init__()
        self.fh: Any = None
        self._runs: list[Run] = []

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
        run = Run(row, col, _escaped(pattern), row - at, cell_format, values)
        for place in run.rows(row, row + len(values)):
            if place in self.table:
                self.table[place].pop(col, None)
        self._runs.append(run)
        return 0

    def _get_range_data(self, row_start: int, col_start: int, row_end: int, col_end: int) -> list[Any]:
        """Return what a chart keeps of the cells that it draws."""
        held = {
            (row, run.column): run.values[row - run.top]
            for run in self._runs
            if col_start <= run.column <= col_end
            for row in run.rows(row_start, row_end + 1)
        }
        plain = super()._get_range_data
        places = product(range(row_start, row_end + 1), range(col_start, col_end + 1))
        return [held[at] if at in held else plain(*at, *at)[0] for at in places]

    def _write_rows(self) -> None:
        for first in range(self.dim_rowmin, self.dim_rowmax + 1, _AT_ONCE):
            cells = self._cells(first, min(first + _AT_ONCE, self.dim_rowmax + 1))
            for row, texts in enumerate(cells, start=first):
                self._write_texts(row, texts)

    def _cells(self, first: int, last: int) -> list[dict[int, str]]:
        """Return the cells of rows by their columns."""
        rows: list[dict[int, str]] = [{} for _ in range(first, last)]
        for row in range(first, last):
            for column, cell in self.table.get(row, {}).items():
                rows[row - first][column] = self._text(row, column, cell)
        for run in self._runs:
            style = f' s="{run.form._get_xf_index()}"' if run.form else ""
            for row, text in run.cells(first, last, style):
                rows[row - first][run.column] = text
        return rows

    def _write_texts(self, row: int, texts: dict[int, str]) -> None:
        dressed = self.row_info.get(row)
        if texts:
            self._write_row(row, None, dressed)
            self.fh.write("".join(map(texts.__getitem__, sorted(texts))))
            self._xml_end_tag("row")
        elif dressed or row in self.comments:
            self._write_empty_row(row, None, dressed)

    def _text(self, row: int, col: int, cell: Any) -> str:
        kind, form = type(cell), cell.format or self._format_around(row, col)
        start = f'<c r="{column_letters(col)}{row + 1}"' + (f' s="{form._get_xf_index()}"' if form else "")
        if kind is CellStringTuple:
            return f'{start} t="s"><v>{cell.string}</v></c>'
        if kind is CellNumberTuple:
            return f"{start}><v>{cell.number:.16G}</v></c>"
        if kind is CellBlankTuple:
            return f"{start}/>"
        page, aside = self.fh, StringIO()
        self.fh = aside
        self._write_cell(row, col, cell)
        self.fh = page
        return aside.getvalue()

    def _format_around(self, row: int, col: int) -> Any:
        """Return the format of a cell that has none of its own: its row's, else its column's."""
        if row in self.row_info and self.row_info[row].row_format:
            return self.row_info[row].row_format
        return self.col_info[col].column_format if col in self.col_info else None


def _as_value(text: str) -> tuple[str, str]:
    """Return the attribute that tells the type of a formula's text, and the text as it is written."""
    return "" if not text else ' t="e"' if text in _ERRORS else ' t="str"', _escaped(text)


def _escaped(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
