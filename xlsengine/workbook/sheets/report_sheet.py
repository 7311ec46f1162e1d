"""Report: two landscape pages that can be published as they are; the first answers, the second explains."""

from collections.abc import Sequence
from typing import Any

from xlsengine.bench.advice.short_answers import CANNOT, SHORT_ANSWERS, TOO_MUCH
from xlsengine.bench.comparison.ranking import comparison_line
from xlsengine.bench.declaring.spoken import in_thousands
from xlsengine.bench.inputs.motor import label_kv, test_date, tester
from xlsengine.cautions import IN_ONE_LINE
from xlsengine.expression import Named, join
from xlsengine.study.comparison import is_compared
from xlsengine.workbook.book import Sheet
from xlsengine.workbook.formats import GREY, MIDDLE_FILL, SLATE
from xlsengine.workbook.layout import Layout, cell_address
from xlsengine.workbook.marked_readings import write_caveat
from xlsengine.workbook.sheets.parts import Content, Kind, SheetPlan
from xlsengine.workbook.sheets.report_charts import CURRENT, THRUST, ReportCharts, Shown, Steps
from xlsengine.workbook.sheets.report_explains import write_second_page
from xlsengine.workbook.sheets.report_grid import LETTERS, POINTS, SMALLEST, Grid, grid_of, set_page
from xlsengine.workbook.sheets.report_table import write_whole_table
from xlsengine.workbook.sheets.report_tiles import write_tiles

_LINES = {"disclosure": 1, "motor_statement": 2, "conditions_statement": 3}
_TITLE, _LINE, _GAP, _CAUTION, _SPARE = 34, 15, 5, 16, 10  # points
_ANSWER_HEIGHTS = (17, 25, 40)
_WORDS, _LETTER = 12.8, 5.6  # points of a line of the smallest type, pixels of a letter
_FEW, _LEAST = 7, 85
_BOLD_LETTERS = 185  # of the smallest type in a line of the page
_ANSWER_COLOURS = ("#B84A00", "#9A6700", "#00795A")


def _place_report(layout: Layout, content: Content, sheet: str) -> None:
    for name, row in _LINES.items():
        layout.name(name, sheet, row, 0)


def _write_report(sheet: Sheet, content: Content) -> None:
    """Write both pages, and beside them what they are drawn from."""
    grid = grid_of(content.scope)
    set_page(sheet, grid, "&L&8&F&C&8&A&R&8page &P of &N")
    charts = ReportCharts(sheet, grid)
    row = write_tiles(sheet, grid, _write_head(sheet, grid))
    row = write_whole_table(sheet, grid, _below_gap(sheet, row))
    row = _write_answers(sheet, grid, _below_gap(sheet, row))
    room = grid.page_height - sheet.points(0, row - 1) - _CAUTION - _SPARE
    row, later = _write_bars(sheet, grid, row, room, charts)
    form = sheet.book.formats.get(font_size=SMALLEST, bold=True, text_wrap=True)
    sheet.across(row, 0, grid.last, IN_ONE_LINE, form, height=_CAUTION)
    last = write_second_page(sheet, grid, row + 1, charts, later)
    sheet.fold(grid.aside, charts.last_column, 8)
    sheet.worksheet.set_h_pagebreaks([row + 1])
    sheet.worksheet.print_area(0, 0, last, grid.last)
    sheet.worksheet.set_first_sheet()
    sheet.worksheet.activate()


def _below_gap(sheet: Sheet, row: int) -> int:
    sheet.height(row, _GAP)
    return row + 1


def _write_head(sheet: Sheet, grid: Grid) -> int:
    """Write the title, below it disclosure, motor and conditions, and the line about the class; return the row below."""
    formats = sheet.book.formats
    left, middle, right = grid.spans(0.72, 0.18, 0.1)
    quiet = {"font_size": 11, "font_color": GREY, "align": "right"}
    kv = label_kv.present().where(join("  ·  ", in_thousands(label_kv), " rpm/V (label)").otherwise(""), "")
    by_whom = tester.present().where(join("tested by ", tester), "")
    title = formats.get(bold=True, font_size=22, font_color=SLATE, shrink=True)
    for span, node, form in (
        (left, join(Named("motor_title", text=True), kv), title),
        (middle, by_whom, formats.get(**quiet)),
        (right, test_date, formats.get(num_format="yyyy-mm-dd", **quiet)),
    ):
        sheet.across(0, *span, node, form)
    sheet.height(0, _TITLE)
    form = formats.get(font_size=SMALLEST, font_color=GREY, text_wrap=True, valign="top")
    for name, row in _LINES.items():
        sheet.paragraph(row, (0, grid.last), Named(name, text=True), form, LETTERS, _LINE)
    row = len(_LINES) + 1
    sheet.height(row, _LINE)  # where stands what is out of date
    if not is_compared(sheet.scope):
        return row + 1
    form = formats.get(font_size=SMALLEST, bold=True, text_wrap=True)
    sheet.paragraph(row + 1, (0, grid.last), comparison_line, form, _BOLD_LETTERS, _LINE)
    return _below_gap(sheet, row + 2)


def _write_answers(sheet: Sheet, grid: Grid, top: int) -> int:
    """Write the three answers: what each is of, a short line in large type, and two sentences; return the row below."""
    formats, spans = sheet.book.formats, grid.spans(1, 1, 1)
    placed = zip(spans, SHORT_ANSWERS, strict=True)
    lines = max(sheet.lines(words, grid.span_width(span) / _LETTER) for span, (*_, words) in placed)
    heights = (*_ANSWER_HEIGHTS[:2], max(_ANSWER_HEIGHTS[2], 2 + _WORDS * lines))
    for row, height in enumerate(heights, start=top):
        sheet.height(row, height)
    for span, answer, colour in zip(spans, SHORT_ANSWERS, _ANSWER_COLOURS, strict=True):
        styles: tuple[dict[str, Any], ...] = (
            {"font_size": 10.5, "bold": True, "font_color": colour, "top": 5, "top_color": colour},
            {"font_size": 17, "bold": True, "shrink": True},
            {"font_size": SMALLEST, "text_wrap": True, "valign": "top"},
        )
        for row, (node, style) in enumerate(zip(answer, styles, strict=True), start=top):
            form = formats.get(**style, align="left", indent=1 if span[0] else 0)
            sheet.across(row, *span, node, form)
    _warn_of_craft(sheet, top + 1, spans[-1])
    row, said = top + len(heights), sheet.book.layout.said["caveat"]
    write_caveat(sheet, said, row, (0, grid.last), _BOLD_LETTERS, _LINE, font_size=SMALLEST, valign="vcenter")
    return row + 1


def _warn_of_craft(sheet: Sheet, top: int, span: tuple[int, int]) -> None:
    """Shade the line and the words of the craft where it cannot hover, or asks more than any pack holds."""
    for row, said in enumerate((CANNOT, TOO_MUCH), start=top):
        criteria = f'=ISNUMBER(SEARCH("{said}",{cell_address(row, span[0], fixed=True)}))'
        sheet.shade((row, span[0], row, span[1]), {"bg_color": MIDDLE_FILL}, type="formula", criteria=criteria)


def _write_bars(sheet: Sheet, grid: Grid, row: int, room: float, charts: ReportCharts) -> tuple[int, Sequence[Shown]]:
    """Put the bars into the points that are left; return the row below and the charts there was no room for."""
    drawn, height = charts.has_bars and room >= _LEAST, int(room / POINTS) - 4
    for each in (row, row + 1):
        sheet.height(each, room / 2 if drawn else _GAP)
    if not drawn:
        return row + 2, (THRUST, CURRENT) if charts.has_bars else ()
    if charts.steps is Steps.FIRST:
        left, right = grid.spans(2, 1)
        charts.per_watt((row, left[0]), (grid.span_width(left) - 10, height))
        charts.bars(CURRENT, (row, right[0]), (grid.span_width(right) - 10, height), upright=True)
        return row + 2, (THRUST,)
    if grid.propellers > _FEW:
        charts.bars(THRUST, (row, 0), (grid.width - 10, height), upright=True)
        return row + 2, (CURRENT,)
    for span, shown in zip(grid.spans(1, 1), (THRUST, CURRENT), strict=True):
        charts.bars(shown, (row, span[0]), (grid.span_width(span) - 10, height), upright=True)
    return row + 2, ()


SHEET = SheetPlan(
    "Report",
    Kind.READ,
    "two pages to publish: what was tested, the best figures, thrust and amps, advice, cautions",
    writes=_write_report,
    places=_place_report,
    printed=True,
    out_of_date=(4, 0),
)
