"""The workbook of motors side by side: one sheet to read and print, each figure with its ±, and charts."""

from pathlib import Path
from typing import Any

from xlsengine.bench.declaring.spoken import decimals_by
from xlsengine.cautions import DEFERENCE
from xlsengine.study.comparison import NO_DIFFERENCE, NOT_COMPARED, Line, Part, Sides
from xlsengine.workbook.book import Sheet, new_book
from xlsengine.workbook.charts import AXIS_NUMBERS, BARS, PALE, chart, font
from xlsengine.workbook.formats import BLUE, GOOD_FILL, GREEN, GREY, ORANGE, PURPLE, RULE
from xlsengine.workbook.layout import Layout
from xlsengine.workbook.page_widths import pixels, print_blocks
from xlsengine.workbook.sheets.parts import Page

NAME = "Side by side"
_COLOURS = (BLUE, ORANGE, GREEN, PURPLE)
_UNIT = 7
_FEW, _MANY = (26, 19, 9, 44, 11), (25, 15.5, 8, 32, 11)
"""Letters of label, value, ±, verdict and least difference for up to three motors, and for four."""
_FIRST = 2
_TOP = 4
_HEADER = 42  # points
_HEIGHT, _GAP = 334, 12  # of a chart and between two, in pixels
_CHART_ROWS, _LINE, _FURTHER = 18, 14.5, 13  # of a line in points, and of each that follows it
_CHARTED = ("Thrust, full throttle", "Thrust per power, full throttle")
_MOST_WIDE = 3


def write_side_by_side(sides: Sides, path: str | Path, overwrite: bool = False) -> Path:
    """Write the workbook; returns its path.

    Raises `OutputRefused` when the file exists and `overwrite` is false, or cannot be written.
    """
    with new_book(path, overwrite, Layout(), "Motors side by side") as book:
        _write(book.sheet(NAME), sides)
    return Path(path)


def _write(sheet: Sheet, sides: Sides) -> None:
    page, widths = _page(sides), _widths(sides)
    sheet.heading("Side by side", "")
    sheet.widths(widths)
    sheet.usual_height(_LINE)
    motors = f"{', '.join(sides.motors)}. Not live: written once from their tests."
    page.paragraphs(sheet, 1, [motors], font_color=GREY, italic=True)
    starts, row = [0], page.paragraphs(sheet, _TOP - 1, sides.summary(), bold=True) + 1
    for part in sides.parts:
        starts.append(row)
        row = _write_part(sheet, sides, part, row)
    starts.append(row)
    row = _write_charts(sheet, sides, row)
    row = page.paragraphs(sheet, row, sides.notes, font_color=GREY)
    row = page.paragraphs(sheet, row, [DEFERENCE], bold=True)
    print_blocks(sheet, sum(map(pixels, widths)), starts, (row - 1, _last(sides)))
    sheet.worksheet.freeze_panes(2, 1)


def _page(sides: Sides) -> Page:
    return Page((0, _last(sides)), sum(_widths(sides)), _FURTHER, _LINE - _FURTHER)


def _widths(sides: Sides) -> list[float]:
    label, value, margin, verdict, least = _MANY if len(sides.motors) > _MOST_WIDE else _FEW
    return [label, _UNIT, *[value, margin] * len(sides.motors), verdict, least]


def _last(sides: Sides) -> int:
    return len(_widths(sides)) - 1


def _write_part(sheet: Sheet, sides: Sides, part: Part, top: int) -> int:
    """Write a title, a header, a line a figure and what differs; return the row for the next part."""
    formats = sheet.book.formats
    sheet.text(top, 0, part.title, formats.section)
    margins = [name for motor in sides.motors for name in (motor, "±")]
    sheet.row(top + 1, ("Figure", "Unit", *margins, "Ahead", "Differences count from (%)"), formats.header)
    sheet.height(top + 1, _HEADER)
    for row, line in enumerate(part.lines, start=top + 2):
        _write_line(sheet, sides, line, row)
    return _page(sides).paragraphs(sheet, top + 2 + len(part.lines), part.notes, font_color=GREY, italic=True) + 1


def _write_line(sheet: Sheet, sides: Sides, line: Line, row: int) -> None:
    """Write a figure of each motor and what differs."""
    formats, widths = sheet.book.formats, _widths(sides)
    sheet.text(row, 0, line.label, formats.label)
    sheet.text(row, 1, line.unit, formats.derived(0, True, font_color=GREY))
    margins = line.margins or [None] * len(sides.motors)
    for place, (value, margin) in enumerate(zip(line.values, margins, strict=True)):
        sheet.value(row, _FIRST + 2 * place, value, formats.derived(line.decimals, isinstance(value, str)))
        finer = 0 if margin is None else max(0, decimals_by(float(margin), line.decimals))
        sheet.value(row, _FIRST + 2 * place + 1, margin, formats.derived(finer, font_color=GREY))
    real = line.verdict not in ("", NOT_COMPARED) and not line.verdict.startswith(NO_DIFFERENCE)
    words = formats.derived(0, True, **({"bold": True, "bg_color": GOOD_FILL} if real else {}))
    sheet.value(row, _last(sides) - 1, line.verdict, words)
    sheet.value(row, _last(sides), line.least, formats.derived(1))
    said = [value for value in line.values if isinstance(value, str)]
    letters = [*[widths[_FIRST]] * len(said), (0.95 if real else 1.1) * widths[-2]]
    sheet.fit(row, [*said, line.verdict], letters, _FURTHER, _LINE - _FURTHER)


# --- charts ----------------------------------------------------------------------------------------------------


def _write_charts(sheet: Sheet, sides: Sides, top: int) -> int:
    """Put a chart for each figure that is drawn, a bar for each motor; return the row below them."""
    drawn = [label for label in _CHARTED if any(line.label == label for part in sides.parts for line in part.lines)]
    if not drawn:
        return top
    column = _last(sides) + 3
    width = int(sum(map(pixels, _widths(sides))) - _GAP * len(drawn)) // len(drawn)
    for number, label in enumerate(drawn):
        bars = _bars(sheet, sides, label, column)
        column += len(sides.motors) + 2
        described = f"Bar chart: {label.lower()} by propeller and cell count, a bar for each motor."
        sheet.chart((top, 0), bars, (width, _HEIGHT), described, x_offset=4 + number * (width + _GAP))
    return top + _CHART_ROWS


def _bars(sheet: Sheet, sides: Sides, label: str, left: int) -> Any:
    """Make the chart of a figure from cells beside the page, from column `left` on."""
    found = [(part.title, line) for part in sides.parts for line in part.lines if line.label == label]
    form, series = sheet.book.formats.helper, []
    for row, (title, line) in enumerate(found, start=1):
        for column, value in enumerate((title, *line.values), start=left):
            sheet.value(row, column, value, form)
    for place, motor in enumerate(sides.motors):
        sheet.text(0, left + 1 + place, motor, form)
        held = [1, left + 1 + place, len(found), left + 1 + place]
        cells = {"name": [NAME, 0, left + 1 + place], "categories": [NAME, 1, left, len(found), left]}
        series.append({**cells, "values": [NAME, *held], "gap": 60, "fill": {"color": _COLOURS[place]}})
    x, lines = {"num_font": font(10), "line": {"color": RULE}, "major_tick_mark": "none"}, {"color": PALE}
    y = {
        "min": 0,
        "num_format": AXIS_NUMBERS,
        "num_font": font(10),
        "major_gridlines": {"visible": True, "line": lines},
    }
    legend, title = {"position": "bottom", "font": font(10)}, f"{label} ({found[0][1].unit})"
    return chart(sheet.book, BARS, series, (x, y), title, 12, legend, PALE)
