"""Report: two landscape pages that can be published as they are; the first answers, the second explains."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from xlsengine.bench.advice.short_answers import CANNOT, SHORT_ANSWERS, TOO_MUCH
from xlsengine.bench.comparison.comparison_lines import comparison_line
from xlsengine.bench.declaring.spoken import decimals_of, in_thousands
from xlsengine.bench.groups import summary as g
from xlsengine.bench.groups.headline import AS_QUOTED, HEADLINE_LIST, Headline
from xlsengine.bench.inputs.craft import pack_cells
from xlsengine.bench.inputs.motor import label_kv, test_date, tester
from xlsengine.bench.judging.round_thrusts import compared_thrust
from xlsengine.bench.physics.motor_model import best_kv, best_kv_basis
from xlsengine.bench.uncertainty.motor_uncertainty import best_kv_expanded, kv_verdict
from xlsengine.bench.uncertainty.telling_apart import HEADLINE_EXPANDED
from xlsengine.cautions import IN_ONE_LINE
from xlsengine.expression import Named, Node, call, join, say
from xlsengine.study.comparison import is_compared
from xlsengine.workbook.book import FOOTER, Sheet
from xlsengine.workbook.formats import GREY, MIST, SLATE, VERMILION
from xlsengine.workbook.marked_readings import CAVEAT
from xlsengine.workbook.sheets.parts import Content, Kind, SheetPlan
from xlsengine.workbook.sheets.pieces import Page, warn, write_cards
from xlsengine.workbook.sheets.report_charts import CURRENT, THRUST, ReportCharts, Shown, Steps
from xlsengine.workbook.sheets.report_explains import write_second_page
from xlsengine.workbook.sheets.report_table import MARGINS, POINTS, Grid, grid_of, write_whole_table

_STATEMENTS = [Named(name, text=True) for name in ("disclosure", "motor_statement", "conditions_statement")]
_TITLE, _GAP, _CAUTION, _SPARE = 34, 5, 16, 10  # points
_FEW, _LEAST = 7, 85


def _write_report(sheet: Sheet, content: Content, top: int) -> int:
    """Write both pages, and beside them what they are drawn from."""
    grid = grid_of(content.scope)
    charts = ReportCharts(sheet, grid)
    bold = Page(grid.page.span, 185, grid.page.line)
    row = _write_tiles(sheet, grid, _write_head(sheet, grid, bold))
    row = write_whole_table(sheet, grid, _below_gap(sheet, row))
    row = _write_answers(sheet, grid, _below_gap(sheet, row), bold)
    room = grid.page_height - sheet.points(0, row - 1) - _CAUTION - _SPARE
    row, later = _write_bars(sheet, grid, row, room, charts)
    sheet.across(row, *grid.page.span, IN_ONE_LINE, sheet.book.formats.get(bold=True, text_wrap=True), height=_CAUTION)
    sheet.worksheet.set_h_pagebreaks([row + 1])
    below = write_second_page(sheet, grid, row + 1, charts, later) + 1
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
    sheet.over(0, grid.spans(0.72, 0.18, 0.1), (join(Named("motor_title", text=True), kv), by_whom, test_date), forms)
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
    figures = [call("round", tile.value, float(tile.shown)) for tile in tiles]
    cards = zip((tile.label for tile in tiles), figures, sure, strict=True)
    row = write_cards(sheet, top, spans, cards, map(_looks, tiles))
    for place, height in enumerate((16, 28), start=top):
        sheet.height(place, height)
    sheet.fit(row - 1, sure, [grid.span_width(span) / _LETTER for span in spans], _SMALL, 0, 2 * _SMALL)
    return grid.page.paragraphs(sheet, row, [_notes(tiles)], **_CARD, font_color=VERMILION)


def _looks(tile: Tile) -> tuple[dict[str, Any], ...]:
    shape = f'#,##0{"." + "0" * tile.shown if tile.shown else ""}" {tile.unit}"'
    value = {"font_size": 20, "bold": True, "font_color": SLATE, "num_format": shape}
    return {**_CARD, "font_color": GREY}, {**_CARD, **value}, {**_CARD, "text_wrap": True, "valign": "top"}


def _notes(tiles: Sequence[Tile]) -> Node:
    """Say behind the name of each tile what is said of it."""
    said = (
        tile.note.present().where(join(tile.label, ": ", tile.note, " "), "") for tile in tiles if tile.note is not None
    )
    return call("trim", join("", *said))


# --- the three answers, and bars -------------------------------------------------------------------------------


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
    return bold.paragraphs(sheet, row, [sheet.book.layout.said["caveat"]], **CAVEAT, valign="vcenter")


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
    parts=(_write_report,),
    page=_set_page,
    printed=True,
    out_of_date=(4, 0),
)
