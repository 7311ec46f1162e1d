"""Reads a written results workbook as a person does: by sheet, title and header. What stands where is in `labels`."""

from __future__ import annotations

import re
import warnings
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

import openpyxl
from openpyxl.utils import range_boundaries

from xlsengine import Assessment, write_results


@dataclass(frozen=True)
class Listed:
    """A table on a sheet: its headers by the name that tests use, each with the decimals that are shown.

    `title` stands above a table where headers alone would not tell it from others of its sheet; `group` stands above
    headers that occur twice.
    """

    sheet: str
    headers: dict[str, tuple[str, int | None]]
    title: str = ""
    groups: dict[str, str] = field(default_factory=dict)

    def shown(self, name: str) -> str:
        """Return the number format that belongs to the decimals."""
        return format_of(self.headers[name][1])


@dataclass(frozen=True)
class Figures:
    """A list of single figures: label, value, unit; by the name that tests use, label, unit and decimals."""

    sheet: str
    lines: dict[str, tuple[str, str, int | None]]


@dataclass(frozen=True)
class ChartAxes:
    """A chart: what its axes say, and the columns (table, header) that its points must be those of."""

    x: str
    y: str
    x_from: tuple[str, str]
    y_from: tuple[tuple[str, str], ...]
    bars: bool = False


@dataclass(frozen=True)
class Drawn:
    """A series as a chart holds it: name, x and y as the cells hold them, None for nothing to draw."""

    name: str
    x: list[Any]
    y: list[Any]
    x_header: str
    bars: str = ""


def format_of(decimals: int | None) -> str:
    """Return the number format with so many decimals; whole numbers have a mark for thousands."""
    return "General" if decimals is None else ("#,##0" if decimals == 0 else "0." + "0" * decimals) + "_)"


def hue(colour: str) -> str:
    """Return what a person calls a fill, by its red, green and blue: green, amber, red, or grey.

    >>> hue("D5EFE6"), hue("FBE9C6"), hue("F8D3BF"), hue("EEF2F5")
    ('green', 'amber', 'red', 'grey')
    """
    red, green, blue = (int(colour[-6:][at : at + 2], 16) for at in (0, 2, 4))
    if max(red, green, blue) - min(red, green, blue) < 16:
        return "grey"
    if green > red:
        return "green"
    return "amber" if red - green < (red - blue) / 2 else "red"


class Workbook:
    """A results workbook that was written, with the values stored in its cells."""

    def __init__(self, path: Path) -> None:
        self.path = path

    @cached_property
    def book(self) -> Any:
        """Return the workbook with values in place of formulas."""
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", UserWarning)  # data bars, which openpyxl does not keep
            return openpyxl.load_workbook(self.path, data_only=True)

    @cached_property
    def formulas(self) -> Any:
        """Return the workbook with its formulas."""
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", UserWarning)
            return openpyxl.load_workbook(self.path)

    def find(self, sheet: str, text: str) -> Any:
        """Return the first cell that holds a text, row by row; LookupError where none does."""
        for row in self.book[sheet].iter_rows():
            for cell in row:
                if cell.value == text:
                    return cell
        raise LookupError(f"{sheet}: no cell holds {text!r}")

    def header_row(self, table: Listed) -> tuple[int, dict[str, int]]:
        """Return the row of a table's headers and the column of each by the tests' name."""
        sheet = self.book[table.sheet]
        start = self.find(table.sheet, table.title).row if table.title else 1
        wanted = {header for header, _ in table.headers.values()}
        for row in range(start, sheet.max_row + 1):
            texts = [str(cell.value or "").removesuffix(" *") for cell in sheet[row]]
            if wanted <= set(texts):
                return row, {name: self._column(table, row, texts, name) for name in table.headers}
        raise LookupError(f"{table.sheet}: no row below {table.title!r} holds {sorted(wanted)}")

    def _column(self, table: Listed, row: int, texts: Sequence[str], name: str) -> int:
        header, group = table.headers[name][0], table.groups.get(name, "")
        places = [place for place, text in enumerate(texts, start=1) if text == header]
        if not group:
            return places[0]
        above = [str(cell.value or "") for cell in self.book[table.sheet][row - 1]]
        first = above.index(group) + 1
        after = next((at for at, text in enumerate(above[first:], start=first + 1) if text), len(above) + 1)
        return next(place for place in places if first <= place < after)

    def rows(self, table: Listed) -> list[dict[str, Any]]:
        """Return the cells of a table's rows down to the first row without anything in them."""
        top, columns = self.header_row(table)
        return list(self._rows(table, top, columns))

    def _rows(self, table: Listed, top: int, columns: dict[str, int]) -> Iterator[dict[str, Any]]:
        sheet = self.book[table.sheet]
        for row in range(top + 1, sheet.max_row + 1):
            cells = {name: sheet.cell(row, column) for name, column in columns.items()}
            if all(cell.value in (None, "") for cell in cells.values()):
                return
            yield cells

    def figure(self, figures: Figures, name: str) -> tuple[Any, str, str]:
        """Return value, unit and number format of a single figure by its label."""
        label = self.find(figures.sheet, figures.lines[name][0])
        sheet = self.book[figures.sheet]
        cell, unit = sheet.cell(label.row, label.column + 1), sheet.cell(label.row, label.column + 2)
        return cell.value, str(unit.value or ""), cell.number_format

    def field(self, sheet: str, label: str) -> Any:
        """Return the cell beside a field's label, which may carry the star of what is required."""
        for row in self.book[sheet].iter_rows(max_col=2):
            if str(row[0].value or "").removesuffix(" *") == label:
                return row[1]
        raise LookupError(f"{sheet}: no field {label!r}")

    def column(self, sheet: str, header: str) -> list[Any]:
        """Return the values below a header of a sheet, None where blank."""
        cell = self.find(sheet, header)
        below = self.book[sheet].iter_rows(cell.row + 1, self.book[sheet].max_row, cell.column, cell.column)
        return [None if found.value in ("", "#N/A") else found.value for (found,) in below]

    # --- charts ----------------------------------------------------------------------------------------------

    def charts(self, sheet: str) -> dict[str, Any]:
        """Return the charts of a sheet by their titles."""
        return {text_of(chart.title): chart for chart in self.formulas[sheet]._charts}

    def drawn(self, chart: Any) -> list[Drawn]:
        """Return the series of a chart with what stands in the cells that they name."""
        return [self._drawn(series) for series in chart.series]

    def _drawn(self, series: Any) -> Drawn:
        name = self._cells(series.tx.strRef.f)[0]
        across, up = ranges(series)
        bars = series.errBars.plus.numRef.f if series.errBars is not None else ""
        return Drawn(str(name), self._cells(across), self._cells(up), self._above(across), bars)

    def _cells(self, reference: str) -> list[Any]:
        sheet, area = split(reference)
        left, top, right, bottom = range_boundaries(area)
        found = self.book[sheet].iter_rows(top, bottom, left, right)
        return [None if cell.value in ("", "#N/A") else cell.value for (cell,) in found]

    def _above(self, reference: str) -> str:
        sheet, area = split(reference)
        left, top, *_ = range_boundaries(area)
        return str(self.book[sheet].cell((top or 1) - 1, left).value)

    def cells_of(self, reference: str) -> list[Any]:
        """Return what stands in the cells of a reference with its sheet."""
        return self._cells(reference)

    # --- rules on cells --------------------------------------------------------------------------------------

    def fills(self, sheet: str) -> dict[str, str]:
        """Return the hue that each conditional format of a sheet gives, by the word or formula that it asks for."""
        found = {}
        for area in self.formulas[sheet].conditional_formatting:
            for rule in area.rules:
                fill = rule.dxf.fill if rule.dxf is not None else None
                if fill is not None and fill.bgColor is not None and fill.bgColor.rgb:
                    asked = rule.text or (rule.formula[0] if rule.formula else "")
                    found[asked.strip('"')] = hue(str(fill.bgColor.rgb))
        return found

    def shaded(self, sheet: str, cell: Any) -> list[str]:
        """Return the hues of the rules on words that hold for a cell: text that begins with, holds, or is a word."""
        hues = []
        for area in self.formulas[sheet].conditional_formatting:
            if cell.coordinate not in area.cells:
                continue
            for rule in area.rules:
                word = (rule.text or (rule.formula[0] if rule.formula else "")).strip('"')
                text = str(cell.value or "")
                begins, contains = rule.type == "beginsWith", rule.type == "containsText"
                holds = text.startswith(word) if begins else word in text if contains else text == word
                if holds and rule.type in ("beginsWith", "containsText", "cellIs"):
                    hues.append(hue(str(rule.dxf.fill.bgColor.rgb)))
        return hues

    def links(self, sheet: str) -> dict[str, str]:
        """Return where the links of a sheet lead, by the cell that they stand in; live ones by their stored text."""
        found = {}
        for row in self.formulas[sheet].iter_rows():
            for cell in row:
                if cell.hyperlink is not None:
                    found[cell.coordinate] = str(cell.hyperlink.location).replace("'", "")
                elif isinstance(cell.value, str) and "HYPERLINK(" in cell.value:
                    said = self.book[sheet][cell.coordinate].value
                    if said:
                        found[cell.coordinate] = said.replace(" ", "!", said.count(" ")) if "!" not in said else said
        return found


def text_of(title: Any) -> str:
    """Return the words of a chart's or an axis's title."""
    return "".join(run.t for paragraph in title.tx.rich.p for run in paragraph.r or ())


def ranges(series: Any) -> tuple[str, str]:
    """Return the references of a series' x and y, whichever way the cells are said to hold them."""
    across, up = ((part.numRef or part.strRef).f for part in (series.xVal or series.cat, series.yVal or series.val))
    return str(across), str(up)


def is_bar(series: Any) -> bool:
    """Tell whether a series stands over names."""
    return series.xVal is None


def split(reference: str) -> tuple[str, str]:
    """Return sheet and area of a reference.

    >>> split("'Speed figures'!$A$1:$A$3")
    ('Speed figures', 'A1:A3')
    """
    sheet, _, area = re.sub(r"[$']", "", reference).rpartition("!")
    return sheet, area


def written(assessment: Assessment, path: Path) -> Workbook:
    """Write the results of an assessment and return them for reading."""
    return Workbook(write_results(assessment, path))
