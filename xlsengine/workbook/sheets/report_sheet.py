"""Report: two landscape pages that can be published as they are; the first answers, the second explains."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from xlsengine.bench.advice import esc, suits
from xlsengine.bench.advice.esc_needs import VERDICTS_MEAN
from xlsengine.bench.advice.short_answers import CANNOT, SHORT_ANSWERS, SIZES_THAT_MATTER, TOO_MUCH
from xlsengine.bench.comparison.ranking import comparison_line
from xlsengine.bench.declaring.spoken import decimals_of, in_thousands
from xlsengine.bench.groups import summary as g
from xlsengine.bench.groups.by_propeller import rowless, tested_cells
from xlsengine.bench.groups.headline import AS_QUOTED, HEADLINE_LIST, Headline
from xlsengine.bench.inputs.craft import pack_cells
from xlsengine.bench.inputs.motor import label_kv, test_date, tester
from xlsengine.bench.judging.round_thrusts import compared_thrust
from xlsengine.bench.physics.motor_model import best_kv, best_kv_basis
from xlsengine.bench.uncertainty.motor_uncertainty import best_kv_expanded, kv_verdict
from xlsengine.bench.uncertainty.telling_apart import HEADLINE_EXPANDED, efficiency_apart, thrust_apart
from xlsengine.cautions import CAUTIONS, DEFERENCE, IN_ONE_LINE
from xlsengine.expression import Constant, Named, Node, call, join, say
from xlsengine.study.comparison import is_compared
from xlsengine.workbook.book import FOOTER, Said, Sheet, Span
from xlsengine.workbook.formats import GREY, MIDDLE_FILL, MIST, RULE, SLATE, VERMILION
from xlsengine.workbook.layout import cell_address
from xlsengine.workbook.marked_readings import CAVEAT
from xlsengine.workbook.sheets.parts import Content, Kind, Page, SheetPlan, warn, write_cards
from xlsengine.workbook.sheets.report_charts import ReportCharts
from xlsengine.workbook.sheets.report_table import MARGINS, Grid, grid_of, write_whole_table

_MOTOR_SAYS = (Named("motor_statement", text=True), " ", Named("inspection_statement", text=True))
_STATEMENTS = [
    Named("disclosure", text=True),
    call("trim", join(*_MOTOR_SAYS)),
    Named("conditions_statement", text=True),
]
_TITLE, _GAP, _CAUTION, _SPARE = 34, 5, 16, 10  # points
_TITLED = Named("motor_title", text=True)


def _write_report(sheet: Sheet, content: Content, top: int) -> int:
    """Write both pages, and beside them what they are drawn from."""
    grid = grid_of(content.scope)
    charts = ReportCharts(sheet, grid)
    bold = Page(grid.page.span, 185, grid.page.line)
    row = _write_tiles(sheet, grid, _write_head(sheet, grid, bold))
    row = _write_answers(sheet, grid, _below_gap(sheet, row), bold)
    row = write_whole_table(sheet, grid, _below_gap(sheet, row))
    room = grid.page_height - sheet.points(0, row - 1) - _CAUTION - _SPARE
    row = charts.on_first_page(row, room)
    sheet.across(row, *grid.page.span, IN_ONE_LINE, sheet.book.formats.get(bold=True, text_wrap=True), height=_CAUTION)
    sheet.worksheet.set_h_pagebreaks([row + 1])
    below = _write_second_page(sheet, grid, row + 1, charts)
    sheet.fold(grid.aside, charts.last_column, 8)
    return below


def _set_page(sheet: Sheet, content: Content, below: int) -> None:
    """Set the widths and the print: two pages of A4 landscape, the footer as large as it is declared."""
    grid, worksheet = grid_of(content.scope), sheet.worksheet
    sheet.widths((*((width - 5) / 7 for width in grid.widths), 1))
    sheet.print_setup(margins=MARGINS)
    worksheet.set_footer(FOOTER, {"scale_with_doc": False})
    worksheet.fit_to_pages(1, 0)  # so many pages as there are breaks: with a number of pages they are void
    worksheet.set_zoom(130)  # beside the panels of a screen 1,920 pixels wide
    worksheet.print_area(0, 0, below - 1, grid.last)
    worksheet.set_first_sheet()
    worksheet.activate()


def _below_gap(sheet: Sheet, row: int) -> int:
    sheet.height(row, _GAP)
    return row + 1


def _write_head(sheet: Sheet, grid: Grid, bold: Page) -> int:
    """Write the title, below it disclosure, motor and conditions, and the line about the class; return the row below."""
    formats = sheet.book.formats
    quiet = {"font_size": 11, "font_color": GREY, "align": "right"}
    kv = label_kv.present().where(join("  ·  ", in_thousands(label_kv), " rpm/V (label)").otherwise(""), "")
    by_whom = tester.present().where(join("tested by ", tester), "")
    title = {"bold": True, "font_size": 22, "font_color": SLATE, "shrink": True}
    forms = [formats.get(**look) for look in (title, quiet, {"num_format": "yyyy-mm-dd", **quiet})]
    sheet.over(0, grid.spans(0.72, 0.18, 0.1), (join(_TITLED, kv), by_whom, test_date), forms)
    sheet.height(0, _TITLE)
    row = grid.page.paragraphs(sheet, 1, _STATEMENTS, font_color=GREY)
    sheet.height(row, grid.page.line)  # where stands what is out of date
    if not is_compared(sheet.scope):
        return row + 1
    return _below_gap(sheet, bold.paragraphs(sheet, row + 1, [comparison_line], bold=True, valign="vcenter"))


# --- tiles: each figure in the digits that it has in the table below, its ± and where it was seen --------------


@dataclass(frozen=True)
class Tile:
    """One figure: `needs` is what would have to be read where it is missing."""

    label: Node
    value: Named
    expanded: Named
    unit: str
    shown: int
    place: Node
    note: Named | None
    needs: str


def _sure(tile: Tile) -> Node:
    unit = "" if tile.unit.startswith(":") else f" {tile.unit}"
    margin = call("fixed", tile.expanded, decimals_of(tile.expanded, tile.shown))
    said = join("± ", margin, f"{unit} · ", tile.place).otherwise(tile.place)
    return tile.value.present().where(said, f"Not measured: needs {tile.needs}")


def _of_other_cells(cells: Node) -> Node:
    """Name the cell count where it is not that of the craft's pack, so that nobody takes the figure for his."""
    same = pack_cells.otherwise(cells).equals(cells)
    return same.where("", say(", on {:.0f}S", cells)).otherwise("")


def _headline(headline: Headline, label: Node, needs: str) -> Tile:
    name = headline.value.name
    return Tile(
        join(label, _of_other_cells(g.cells.at(Named(f"{name}_row")))),
        headline.value,
        HEADLINE_EXPANDED[name],
        AS_QUOTED.get(headline.unit, headline.unit),
        headline.shown,
        headline.place,
        Named(f"{name}_note", text=True),
        needs,
    )


_ROWLESS = say(
    "{:.0f} of the propellers and cell counts typed since have no room in these figures: make the results again. ",
    rowless,
)
_FULL = "a full-throttle reading that counts"
_SAID: tuple[tuple[Node, str], ...] = (
    (join("Highest thrust"), _FULL),
    (join("Highest current"), _FULL),
    (
        join("Best g/W at ", in_thousands(compared_thrust), " g").otherwise("Best g/W at part throttle"),
        "steady readings at part throttle",
    ),
    (join("Best g/W at full throttle"), _FULL),
    (join("Thrust to motor weight"), "the motor's mass"),
)
TILES = (
    *(_headline(headline, *said) for headline, said in zip(HEADLINE_LIST, _SAID, strict=True)),
    Tile(
        best_kv.present().where(join("Kv by ", best_kv_basis), "Kv measured"),
        best_kv,
        best_kv_expanded,
        "rpm/V",
        0,
        kv_verdict,
        None,
        "a spin without propeller",
    ),
)


_LETTER, _SMALL = 6.1, 13.5  # pixels of a letter and points of a line of the smallest type
_CARD: dict[str, Any] = {"bg_color": MIST, "indent": 1, "align": "left"}


def _write_tiles(sheet: Sheet, grid: Grid, top: int) -> int:
    """Write the tiles of what was read from a row on, and below them what flagged readings and those left out do to them."""
    tiles = [tile for tile in TILES if not sheet.book.layout.is_left_out(tile.value)]
    spans, sure = grid.spans(*[1.0] * len(tiles)), [_sure(tile) for tile in tiles]
    figures = [call("round", tile.value, _decimals(tile)) for tile in tiles]
    cards = zip((tile.label for tile in tiles), figures, sure, strict=True)
    row = write_cards(sheet, top, spans, cards, map(_looks, tiles))
    for place, height in enumerate((16, 28), start=top):
        sheet.height(place, height)
    sheet.fit(row - 1, sure, [grid.span_width(span) / _LETTER for span in spans], _SMALL, 0, 2 * _SMALL)
    return grid.page.paragraphs(sheet, row, [_notes(tiles, grid)], **_CARD, font_color=VERMILION)


_FINE = {"g": 99.5, "A": 2.95}
"""Below it a figure has one digit more, as in the table below."""


def _decimals(tile: Tile) -> Node:
    usual = Constant(float(tile.shown))
    return (tile.value < _FINE[tile.unit]).where(usual + 1.0, usual) if tile.unit in _FINE else usual


def _plain(decimals: int) -> str:
    return "#,##0" + ("." + "0" * decimals if decimals else "")


def _looks(tile: Tile) -> tuple[dict[str, Any], ...]:
    small, usual = (f'{shape}" {tile.unit}"' for shape in (f"0.{'0' * (tile.shown + 1)}", _plain(tile.shown)))
    shape = f"[<{_FINE[tile.unit]}]{small};{usual}" if tile.unit in _FINE else usual
    value = {"font_size": 20, "bold": True, "font_color": SLATE, "num_format": shape}
    return {**_CARD, "font_color": GREY}, {**_CARD, **value}, {**_CARD, "text_wrap": True, "valign": "top"}


def _notes(tiles: Sequence[Tile], grid: Grid) -> Node:
    """Say what has no row here, and behind the name of each tile what is said of it."""
    said = (
        tile.note.present().where(join(tile.label, ": ", tile.note, " "), "") for tile in tiles if tile.note is not None
    )
    beyond = tested_cells[grid.cell_counts :][:1]
    counts = (
        say("No room for {:.0f}S in the table: make the results again. ", cells).otherwise("") for cells in beyond
    )
    return call("trim", join((rowless > 0).where(_ROWLESS, ""), *counts, *said))


# --- the three answers -----------------------------------------------------------------------------------------


_ANSWER_COLOURS = ("#B84A00", "#9A6700", "#00795A")
_WORDS, _ANSWER_LETTER = 12.8, 5.6  # points of a line of the smallest type, pixels of a letter


def _write_answers(sheet: Sheet, grid: Grid, top: int, bold: Page) -> int:
    """Write the three answers: what each is of, a short line in large type, and two sentences; return the row below."""
    spans = grid.spans(1, 1, 1)
    looks = [
        [
            {**look, "align": "left", "indent": 1 if span[0] else 0}
            for look in (
                {"font_size": 10.5, "bold": True, "font_color": colour, "top": 5, "top_color": colour},
                {"font_size": 17, "bold": True, "shrink": True},
                {"text_wrap": True, "valign": "top"},
            )
        ]
        for span, colour in zip(spans, _ANSWER_COLOURS, strict=True)
    ]
    row = write_cards(sheet, top, spans, SHORT_ANSWERS, looks)
    for place, height in enumerate((17, 25), start=top):
        sheet.height(place, height)
    letters = [grid.span_width(span) / _ANSWER_LETTER for span in spans]
    sheet.fit(row - 1, [words for *_, words in SHORT_ANSWERS], letters, _WORDS, 2, 40)
    for place, said in enumerate((CANNOT, TOO_MUCH), start=top + 1):
        warn(sheet, place, spans[-1], said)
    row = bold.paragraphs(sheet, row, [suits.in_short], bold=True, valign="vcenter")
    return bold.paragraphs(sheet, row, [sheet.book.layout.said["caveat"]], **CAVEAT, valign="vcenter")


# --- the second page: what stands behind the answers of the first, and the cautions whole ----------------------


_TEXTS, _CHARTS = 0.62, 0.38
_CHECKS = Named("checks_statement", text=True)
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
            _CHECKS,
        ),
    ),
    ("Cautions", (*(join(each.full) for each in CAUTIONS), join(DEFERENCE))),
)


def _write_second_page(sheet: Sheet, grid: Grid, top: int, charts: ReportCharts) -> int:
    beside = charts.later or charts.steps_later
    left, right = grid.spans(_TEXTS, _CHARTS) if beside else (grid.page.span, (0, 0))
    form = sheet.book.formats.get(font_size=18, bold=True, font_color=SLATE)
    sheet.across(top, *grid.page.span, join(_TITLED, ": what stands behind the answers"), form, height=_TITLE)
    page = Page(left, int(grid.span_width(left) / _LETTER), _WORDS, 3)
    row = _write_sizes(sheet, top + 1, page)
    for title, texts in _PARTS:
        row = _title(sheet, row, left, title)
        for node in (text for text in texts if sheet.lines(text, page.letters)):
            if node is _CHECKS:
                _warn(sheet, row, left)
            row = page.paragraphs(sheet, row, [node])
    if beside:
        charts.on_second_page(top + 1, right, grid.page_height - _TITLE - 20)
    return row


def _write_sizes(sheet: Sheet, top: int, page: Page) -> int:
    """Write how the size named and its neighbours stand, question by question, and what the verdicts mean."""
    formats, line = sheet.book.formats, {"bottom": 1, "bottom_color": RULE, "shrink": True}
    _title(sheet, top, page.span, "ESC at the three sizes that matter, with the amps to spare")
    quiet, plain, bold = (formats.get(**look, **line) for look in ({"font_color": GREY}, {}, {"bold": True}))
    heads = ("Question", "One size down", "Size named", "One size up")
    lines: list[tuple[Said, ...]] = [heads, *SIZES_THAT_MATTER]
    for row, words in enumerate(lines, start=top + 1):
        forms = [quiet] * 4 if words is heads else [plain, plain, bold, plain]
        sheet.over(row, _quarters(page.span), words, forms)
        sheet.height(row, 17)
    return page.paragraphs(sheet, top + 1 + len(lines), [VERDICTS_MEAN], font_color=GREY)


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


def _title(sheet: Sheet, row: int, span: Span, words: str) -> int:
    form = sheet.book.formats.get(bold=True, font_size=12, font_color=SLATE, valign="bottom")
    sheet.across(row, *span, words, form, height=20)
    return row + 1


SHEET = SheetPlan(
    "Report",
    Kind.READ,
    "two pages to publish: what was tested, the best figures, thrust and amps, advice, cautions",
    parts=(_write_report,),
    page=_set_page,
    printed=True,
    out_of_date=(4, 0),
)
