"""The Report's second page: what stands behind the answers of the first, and the cautions whole."""

from collections.abc import Sequence

from xlsengine.bench.advice import esc
from xlsengine.bench.advice.esc_needs import VERDICTS_MEAN
from xlsengine.bench.advice.short_answers import SIZES_THAT_MATTER
from xlsengine.bench.uncertainty.telling_apart import efficiency_apart, thrust_apart
from xlsengine.cautions import CAUTIONS, DEFERENCE
from xlsengine.expression import Named, Node, call, join
from xlsengine.workbook.book import Sheet, Span
from xlsengine.workbook.formats import GREY, MIDDLE_FILL, RULE, SLATE
from xlsengine.workbook.layout import cell_address
from xlsengine.workbook.sheets.pieces import Page
from xlsengine.workbook.sheets.report_charts import ReportCharts, Shown, Steps
from xlsengine.workbook.sheets.report_table import POINTS, Grid

_TEXTS, _CHARTS = 0.62, 0.38
_LETTER, _LINE = 6.1, 12.8  # pixels and points of the smallest type
_TITLE, _GAP = 34, 12
_BAR, _AROUND, _STEPS = 14, 90, 460  # pixels


def _named(name: str) -> Named:
    return Named(name, text=True)


CHECKS = _named("checks_statement")
_IN_FLIGHT = call("trim", join(esc.flight_sentence.present().where("", esc.flight_note), " ", esc.flight_source))
"""The range itself stands in the answer for bursts, where there is one."""
_PARTS: tuple[tuple[str, tuple[Node, ...]], ...] = (
    (
        "Why these ESC sizes",
        (
            esc.advice,
            esc.advice_other,
            join(call("trim", join(esc.uncovered_statement, " ", esc.settings_note, " ", esc.precedence))),
        ),
    ),
    ("Current in flight", (_IN_FLIGHT,)),
    (
        "How it was tested, and how sure it is",
        (
            join(
                "Figures are means of the full-throttle readings that count: steady ones, or peaks where none is "
                "steady; a peak falls when it is held. “±” holds the true value with about 95 % confidence. ",
                thrust_apart,
                " ",
                efficiency_apart,
            ),
            CHECKS,
        ),
    ),
    ("Cautions", (*(join(each.full) for each in CAUTIONS), join(DEFERENCE))),
)


def write_second_page(sheet: Sheet, grid: Grid, top: int, charts: ReportCharts, bars: Sequence[Shown]) -> int:
    """Write it from a row on; return its last row. `bars` are the charts that the first page has no room for."""
    beside = len(bars) + (charts.steps is Steps.SECOND)
    left, right = grid.spans(_TEXTS, _CHARTS) if beside else (grid.page.span, (0, 0))
    form = sheet.book.formats.get(font_size=18, bold=True, font_color=SLATE)
    sheet.across(top, *grid.page.span, join(_named("motor_title"), ": what stands behind the answers"), form)
    sheet.height(top, _TITLE)
    page = Page(left, int(grid.span_width(left) / _LETTER), _LINE, 3)
    row = _write_sizes(sheet, top + 1, page)
    for title, texts in _PARTS:
        _title(sheet, row, left, title)
        row += 1
        for node in (text for text in texts if sheet.lines(text, page.letters)):
            page.paragraphs(sheet, row, [node])
            if node is CHECKS:
                _warn(sheet, row, left)
            row += 1
    if beside:
        _put_charts(sheet, grid, top + 1, right, charts, bars)
    return row - 1


def _write_sizes(sheet: Sheet, top: int, page: Page) -> int:
    """Write how the size named and its neighbours stand, question by question, and what the verdicts mean."""
    formats, line = sheet.book.formats, {"bottom": 1, "bottom_color": RULE, "shrink": True}
    _title(sheet, top, page.span, "ESC at the three sizes that matter, with the amps to spare")
    columns, plain = _quarters(page.span), formats.get(**line)
    heads = ("Question", "One size down", "Size named", "One size up")
    sheet.over(top + 1, columns, heads, formats.get(font_color=GREY, **line))
    last = top + 2 + len(SIZES_THAT_MATTER)
    for row, words in enumerate(SIZES_THAT_MATTER, start=top + 2):
        sheet.over(row, columns, words, (plain, plain, formats.get(bold=True, **line), plain))
    for row in range(top + 1, last):
        sheet.height(row, 17)
    return page.paragraphs(sheet, last, [VERDICTS_MEAN], font_color=GREY)


def _quarters(span: Span) -> list[Span]:
    """Return the columns of the four parts of the table of sizes; the first holds the wide column of names."""
    first, last = span
    each = (last - first - 1) // 3
    starts = [first, last - 3 * each + 1, last - 2 * each + 1, last - each + 1]
    return [(start, end - 1) for start, end in zip(starts, [*starts[1:], last + 1], strict=True)]


def _warn(sheet: Sheet, row: int, span: Span) -> None:
    """Shade the state of the checks where something is impossible or the checks are out of date."""
    said, look = cell_address(row, span[0], fixed=True), {"bg_color": MIDDLE_FILL, "bold": True}
    impossible = f'AND(ISNUMBER(FIND(" impossible",{said})),ISERROR(FIND(": 0 impossible",{said})))'
    criteria = f'OR({impossible},ISNUMBER(FIND("OUT OF DATE",{said})))'
    sheet.shade((row, span[0], row, span[1]), look, criteria)


def _title(sheet: Sheet, row: int, span: Span, words: str) -> None:
    form = sheet.book.formats.get(bold=True, font_size=12, font_color=SLATE, valign="bottom")
    sheet.across(row, *span, words, form, height=20)


def _put_charts(sheet: Sheet, grid: Grid, row: int, span: Span, charts: ReportCharts, bars: Sequence[Shown]) -> None:
    """Put grams per watt beside the texts, and the bars that the first page has no room for, below each other."""
    width = grid.span_width(span) - _GAP
    room = int((grid.page_height - _TITLE - 20) / POINTS)
    steps = min(_STEPS, room // (1 + len(bars))) if charts.steps is Steps.SECOND else 0
    down = 0
    for left, shown in zip(range(len(bars), 0, -1), bars, strict=True):
        wanted = _BAR * grid.propellers * grid.cell_counts + _AROUND
        height = min(wanted, (room - steps - down) // left)
        charts.bars(shown, (row, span[0]), (width, height - _GAP), upright=False, down=down)
        down += height
    if charts.steps is Steps.SECOND:
        charts.per_watt((row, span[0]), (width, steps - _GAP), down=down)
