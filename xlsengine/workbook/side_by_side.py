"""The workbook of motors side by side: one sheet to read and print, each figure with its ±, and charts."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from xlsengine.cautions import DEFERENCE
from xlsengine.study.sides import NO_DIFFERENCE, NOT_COMPARED, Line, Part, Sides
from xlsengine.workbook.book import Book, Sheet, strict
from xlsengine.workbook.formats import BLUE, FONT, GOOD_FILL, GREEN, GREY, INK, ONE_LINE, ORANGE, PURPLE, RULE
from xlsengine.workbook.layout import Layout
from xlsengine.workbook.output import whole_file

NAME = "Side by side"
_COLOURS = (BLUE, ORANGE, GREEN, PURPLE)
_LABEL, _UNIT, _VALUE, _MARGIN, _VERDICT, _LEAST = 30, 7, 20, 9, 44, 12
_FIRST = 2
_TOP = 4
_SIZE = (640, 330)
_CHART_ROWS = 18
_CHARTED = ("Thrust, full throttle", "Thrust per power, full throttle")
_GRID = "#E4E9ED"


def write_side_by_side(sides: Sides, path: str | Path, overwrite: bool = False) -> Path:
    """Write the workbook; returns its path.

    Raises `OutputRefused` when the file exists and `overwrite` is false, or cannot be written.
    """
    target = Path(path)
    with whole_file(target, overwrite) as unfinished, strict():
        book = Book(unfinished, Layout())
        _write(book.sheet(NAME), sides)
        book.properties("Motors side by side", {})
        book.close()
    return target


def _write(sheet: Sheet, sides: Sides) -> None:
    formats, last = sheet.book.formats, _last(sides)
    sheet.heading("Side by side", f"{', '.join(sides.motors)}. Not live: written once from their tests.")
    for column, width in enumerate(_widths(sides)):
        sheet.worksheet.set_column(column, column, width)
    row = _TOP - 1
    for note in sides.notes:
        sheet.text(row, 0, note, formats.get(font_color=GREY))
        row += 1
    row += 1
    for part in sides.parts:
        row = _write_part(sheet, sides, part, row)
    row = _write_charts(sheet, sides, row)
    form = formats.get(text_wrap=True, bold=True, valign="top")
    sheet.merged(row, 0, last, form)
    sheet.text(row, 0, DEFERENCE, form)
    sheet.worksheet.set_row(row, 44)
    sheet.print_setup()
    sheet.worksheet.print_area(0, 0, row, last)
    sheet.worksheet.freeze_panes(2, 1)


def _widths(sides: Sides) -> list[int]:
    return [_LABEL, _UNIT, *[_VALUE, _MARGIN] * len(sides.motors), _VERDICT, _LEAST]


def _last(sides: Sides) -> int:
    return len(_widths(sides)) - 1


def _write_part(sheet: Sheet, sides: Sides, part: Part, top: int) -> int:
    """Write a title, a header, a line a figure and what differs; return the row for the next part."""
    formats = sheet.book.formats
    sheet.text(top, 0, part.title, formats.section)
    margins = [name for motor in sides.motors for name in (motor, "±")]
    for column, header in enumerate(("Figure", "Unit", *margins, "Ahead", "Differences count from (%)")):
        sheet.text(top + 1, column, header, formats.header)
    sheet.worksheet.set_row(top + 1, 42)
    row = top + 2
    for line in part.lines:
        _write_line(sheet, sides, line, row)
        row += 1
    for note in part.notes:
        sheet.text(row, 0, note, formats.get(font_color=GREY, italic=True))
        row += 1
    return row + 1


def _write_line(sheet: Sheet, sides: Sides, line: Line, row: int) -> None:
    formats = sheet.book.formats
    sheet.text(row, 0, line.label, formats.label)
    sheet.text(row, 1, line.unit, formats.quiet)
    margins = line.margins or [None] * len(sides.motors)
    for place, (value, margin) in enumerate(zip(line.values, margins, strict=True)):
        form = formats.derived(line.decimals, isinstance(value, str), **(ONE_LINE if isinstance(value, str) else {}))
        sheet.value(row, _FIRST + 2 * place, value, form)
        sheet.value(row, _FIRST + 2 * place + 1, margin, formats.derived(_finer(line), font_color=GREY))
    real = line.verdict not in ("", NOT_COMPARED) and not line.verdict.startswith(NO_DIFFERENCE)
    words = formats.derived(0, True, **({"bold": True, "bg_color": GOOD_FILL} if real else {}))
    sheet.value(row, _last(sides) - 1, line.verdict, words)
    sheet.value(row, _last(sides), line.least, formats.derived(1))


def _finer(line: Line) -> int:
    """Return the decimals of a ±: one more than the figure's where it has any."""
    return line.decimals + 1 if line.decimals else 0


# --- charts ----------------------------------------------------------------------------------------------------


def _write_charts(sheet: Sheet, sides: Sides, top: int) -> int:
    """Put a chart for each figure that is drawn, a bar for each motor; return the row below them."""
    drawn = [label for label in _CHARTED if any(line.label == label for part in sides.parts for line in part.lines)]
    if not drawn:
        return top
    column = _last(sides) + 3
    for number, label in enumerate(drawn):
        chart = _chart(sheet, sides, label, column)
        column += len(sides.motors) + 2
        options = {
            "description": f"Bar chart: {label.lower()} by propeller and cell count, a bar for each motor.",
            "x_offset": 4 + number * (_SIZE[0] + 12),
            "object_position": 2,
        }
        sheet.worksheet.insert_chart(top, 0, chart, options)
    return top + _CHART_ROWS


def _chart(sheet: Sheet, sides: Sides, label: str, left: int) -> Any:
    """Make the chart of a figure from cells beside the page, from column `left` on."""
    found = [(part.title, line) for part in sides.parts for line in part.lines if line.label == label]
    form, chart = sheet.book.formats.helper(0), sheet.book.workbook.add_chart({"type": "column"})
    for row, (title, line) in enumerate(found, start=1):
        for column, value in enumerate((title, *line.values), start=left):
            sheet.value(row, column, value, form)
    for place, motor in enumerate(sides.motors):
        sheet.text(0, left + 1 + place, motor, form)
        chart.add_series(
            {
                "name": [NAME, 0, left + 1 + place],
                "categories": [NAME, 1, left, len(found), left],
                "values": [NAME, 1, left + 1 + place, len(found), left + 1 + place],
                "gap": 60,
                "fill": {"color": _COLOURS[place]},
            }
        )
    chart.set_title({"name": f"{label} ({found[0][1].unit})", "name_font": _font(12, bold=True), "overlay": False})
    chart.set_legend({"position": "bottom", "font": _font(10)})
    chart.set_x_axis({"num_font": _font(10), "line": {"color": RULE}, "major_tick_mark": "none"})
    chart.set_y_axis({"min": 0, "num_font": _font(10), "major_gridlines": {"visible": True, "line": {"color": _GRID}}})
    chart.set_chartarea({"border": {"color": _GRID}, "fill": {"color": "#FFFFFF"}})
    chart.set_size({"width": _SIZE[0], "height": _SIZE[1]})
    return chart


def _font(size: float, bold: bool = False) -> dict[str, Any]:
    return {"name": FONT, "size": size, "bold": bold, "color": INK}
