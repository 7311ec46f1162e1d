"""XlsxWriter with less: sheets that take formulas as they are, a column at a time, and a package as small as can be.

XlsxWriter looks through every formula for the names of newer functions, which costs ten times the writing; ours use none. It
keeps every formula of a column, while a column needs one for all its rows. And it looks through every text and number for
signs to escape. The methods are private, so the version range is pinned, and a test holds both routes to the same parts.
"""

import re
from collections.abc import Collection, Iterator, Sequence
from io import StringIO
from itertools import chain, zip_longest
from typing import Any
from zipfile import ZipFile

import xlsxwriter
from xlsxwriter import workbook as library
from xlsxwriter.worksheet import CellBlankTuple, CellNumberTuple, CellStringTuple, Worksheet

from xlsengine.workbook.formats import FONT
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
        self._of_own_row = set(self._offsets) <= {1}

    def rows(self, first: int, last: int) -> range:
        """Return its rows from `first` to before `last`."""
        return range(max(first, self.top), min(last, self.top + len(self.values)))

    def cells(self, first: int, last: int, style: str) -> Iterator[tuple[int, str]]:
        """Yield row and cell for each row from `first` to before `last`."""
        start = f'<c r="{column_letters(self.column)}'
        for row in self.rows(first, last):
            value, own = self.values[row - self.top], str(row + 1)
            kind, shown = _as_value(value) if type(value) is str else ("", f"{value:.15G}")
            formula = own.join(self._pieces) if self._of_own_row else self._formula(row)
            yield row, f'{start}{own}"{style}{kind}><f>{formula}</f><v>{shown}</v></c>'

    def _formula(self, row: int) -> str:
        rows = [str(offset + row) for offset in self._offsets]
        return "".join(chain.from_iterable(zip_longest(self._pieces, rows, fillvalue="")))


class PreparedFormulas(Worksheet):  # type: ignore[misc]
    """The worksheet; its formulas are kept with their signs escaped."""

    def __init__(self) -> None:
        super().__init__()
        self.fh: Any = None
        self._runs: list[Run] = []

    def declare_formulas(self, formulas: Sequence[str]) -> None:
        """Give the columns of the last table their formulas, without writing every cell as `add_table` would."""
        for column, text in zip(self.tables[-1]["columns"], formulas, strict=True):
            column["formula"] = text

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


# --- the package ---------------------------------------------------------------------------------------------------

_FILL, _EFFECT = (
    '<a:solidFill><a:schemeClr val="phClr"/></a:solidFill>',
    "<a:effectStyle><a:effectLst/></a:effectStyle>",
)
_PLAIN = (
    ("Cambria|Calibri", FONT),
    ("<a:font .*?/>", ""),
    ("<a:gradFill .*?</a:gradFill>", _FILL),
    ("<a:effectStyle>.*?</a:effectStyle>", _EFFECT),
)
"""What XlsxWriter's theme has and no cell or chart of ours needs. Its fonts would be shown in place of ours by Excel, since
XlsxWriter says of cells in the workbook's own font that they go by the theme."""


class _PackedHard(ZipFile):
    """A package packed as small as can be, which takes 0.03 s more for 2 MB."""

    def writestr(self, part: Any, content: Any, *_: Any) -> None:
        super().writestr(part, content, compresslevel=9)


class PreparedWorkbook(xlsxwriter.Workbook):  # type: ignore[misc]
    """The workbook; one that is put together in memory is packed as small as can be.

    `hidden_names` are kept out of the lists that a person is shown: they are for whoever reads the file.
    """

    hidden_names: Collection[str] = ()

    def __init__(self, *package: Any) -> None:
        super().__init__(*package)
        for part, plain in _PLAIN:
            self.theme_xml: str = re.sub(part, plain, self.theme_xml)

    def _prepare_defined_names(self) -> None:
        """Prepare the names; docProps/app.xml, where nobody looks for them, need not list them once more."""
        super()._prepare_defined_names()
        for one in self.defined_names:
            one[3] = int(one[3] or one[0] in self.hidden_names)
        self.named_ranges.clear()

    def _store_workbook(self) -> None:
        library.ZipFile = _PackedHard if self.in_memory else ZipFile  # it names no level
        super()._store_workbook()
