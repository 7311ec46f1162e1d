"""Report: one landscape page that can be published as it is and read on a screen of 1920 by 1080."""

from __future__ import annotations

from typing import Any

from xlsengine.bench import esc_needs as n
from xlsengine.bench import in_flight as f
from xlsengine.bench import summary as g
from xlsengine.bench.headline import HEADLINE_LIST, HEADLINES, Headline
from xlsengine.bench.motor import test_date
from xlsengine.bench.motor_model import best_kv, best_kv_basis
from xlsengine.bench.motor_uncertainty import best_kv_expanded, kv_verdict
from xlsengine.bench.round_thrusts import ROUND
from xlsengine.bench.statements import STATEMENTS
from xlsengine.bench.telling_apart import HEADLINE_EXPANDED, sure_statement
from xlsengine.cautions import CAUTIONS, DEFERENCE
from xlsengine.expression import Aggregate, Named, Node, join
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Book, Sheet
from xlsengine.workbook.charts import scatter
from xlsengine.workbook.formats import GREY, MIDDLE_FILL, MIST, SLATE, VERMILION
from xlsengine.workbook.layout import Layout
from xlsengine.workbook.left_out import left_out_statement
from xlsengine.workbook.sheets.aside import place_aside, write_aside
from xlsengine.workbook.sheets.charts_sheet import Pictures

NAME = "Report"
LEAST_ROWS, MOST_ROWS = 9, 16  # fewer, and the charts beside the table would reach below the page
_LEFT_LAST, _RIGHT, _LAST, _ASIDE = 12, 14, 20, 23
_STATEMENTS = {"motor_title": 0, "motor_statement": 1, "conditions_statement": 2, "disclosure": 3}
_CARDS = 5
_TABLE = 10
_CARD_SPANS = ((0, 1), (2, 4), (5, 7), (8, 12), (14, 16), (17, 20))
_CHART_HEIGHT = 420
_LETTERS = 140  # of a caution in a line


def _rows(scope: Scope) -> int:
    wanted = max(scope.used_rows(g.SUMMARY.name) + 1, LEAST_ROWS)
    return min(wanted, scope.rows(g.SUMMARY.name), MOST_ROWS)


def place_report(layout: Layout, scope: Scope) -> None:
    """Give the statements their names and cells; the counts behind them stand to the right of the page."""
    for name, row in _STATEMENTS.items():
        layout.name(name, NAME, row, 0)
    layout.name("checks_statement", NAME, _advice_row(scope) + len(_ADVICE) + 2, 0)
    placed = (*STATEMENTS.quantities, *STATEMENTS.written, *ROUND.quantities)
    rest = [name for name in placed if name not in layout.cells]
    place_aside(layout, NAME, rest, _ASIDE)


def _advice_row(scope: Scope) -> int:
    return _TABLE + 2 + _rows(scope) + 1


def write_report(book: Book, pictures: Pictures) -> None:
    """Write the page; `pictures` are the charts of the Charts sheet, of which the first two are shown."""
    assert book.scope is not None
    sheet = book.sheet(NAME)
    _set_widths(sheet)
    _write_statements(sheet)
    for span, headline in zip(_CARD_SPANS[:5], HEADLINE_LIST, strict=True):
        _write_headline(sheet, span, headline)
    sure = _sure(best_kv_expanded, 0, "rpm/V", kv_verdict)
    kv = join(best_kv.fixed(0), " rpm/V").otherwise("not measured")
    _write_card(sheet, _CARD_SPANS[5], join("Kv measured by ", best_kv_basis), kv, sure, None)
    _write_table(sheet, _rows(book.scope))
    _insert_charts(sheet, pictures)
    last = _write_advice(sheet, _advice_row(book.scope))
    sheet.print_setup(one_page=True)
    sheet.worksheet.print_area(0, 0, last, _LAST)
    sheet.worksheet.set_first_sheet()
    sheet.worksheet.activate()


def _set_widths(sheet: Sheet) -> None:
    for first, last, width in ((0, 0, 22), (1, 1, 6), (2, _LEFT_LAST, 8.6), (13, 13, 2), (_RIGHT, _LAST, 10.5)):
        sheet.worksheet.set_column(first, last, width)


def _write_statements(sheet: Sheet) -> None:
    formats = sheet.book.formats
    forms = (formats.get(bold=True, font_size=24, font_color=SLATE), formats.get(font_size=11), formats.get(font_size=11),
             formats.get(font_size=11, bold=True))  # fmt: skip
    for (name, row), form in zip(_STATEMENTS.items(), forms, strict=True):
        last = _LAST - 2 if row == 0 else _LAST
        sheet.merged(row, 0, last, form)
        sheet.live(row, 0, STATEMENTS.quantities[name].expression, form)
        sheet.worksheet.set_row(row, 34 if row == 0 else 18)
    day = formats.get(font_size=12, align="right", num_format="yyyy-mm-dd")
    sheet.merged(0, _LAST - 1, _LAST, day)
    sheet.live(0, _LAST - 1, test_date, day)
    write_aside(sheet, STATEMENTS, _ASIDE)
    write_aside(sheet, ROUND, _ASIDE)


def _write_headline(sheet: Sheet, span: tuple[int, int], headline: Headline) -> None:
    note = Named(f"{headline.value.name}_note", text=True)
    assert note.name in HEADLINES.quantities
    sure = _sure(HEADLINE_EXPANDED[headline.value.name], headline.shown, headline.unit, headline.place)
    _write_card(sheet, span, headline.label, headline.shown_value, sure, note)


def _sure(expanded: Named, shown: int, unit: str, said: Node) -> Node:
    """Write the expanded uncertainty before what else stands in the line."""
    return join("± ", expanded.fixed(shown), f" {unit}  ·  ", said).otherwise(said)


def _write_card(sheet: Sheet, span: tuple[int, int], label: Node, value: Node, place: Node, note: Node | None) -> None:
    """Write one headline: label, large value, where it was seen, and what flagged rows do to it."""
    formats = sheet.book.formats
    card = {"bg_color": MIST, "align": "center"}
    lines: tuple[tuple[Node | None, dict[str, Any], int], ...] = (
        (label, {"font_size": 10, "font_color": GREY}, 17),
        (value, {"font_size": 20, "bold": True, "font_color": SLATE}, 30),
        (place, {"font_size": 10}, 16),
        (note, {"font_size": 9, "bold": True, "font_color": VERMILION, "text_wrap": True}, 38),
    )
    for row, (node, style, height) in enumerate(lines, start=_CARDS):
        form = formats.get(**card, **style)
        sheet.merged(row, *span, form)
        if node is not None:
            sheet.live(row, span[0], node, form)
        sheet.worksheet.set_row(row, height)


_flight = (f.flight_high > f.flight_low).where(
    join(f.flight_low.fixed(0), "–", f.flight_high.fixed(0)), f.flight_high.fixed(0)
)
_COLUMNS: tuple[tuple[str, Node, int | None], ...] = (
    ("Propeller", g.prop, None), ("Cells", g.cells, 0), ("Kind", g.full_kind, None), ("Thrust (g)", g.full["thrust"], 0),
    ("Current (A)", g.full["current"], 1), ("Voltage (V)", g.full["voltage"], 2), ("Power (W)", g.full["power"], 0),
    ("g/W", g.full["grams_per_watt"], 2), ("g/A", g.full["grams_per_amp"], 1),
    ("Current (A)", g.peak["top_current"], 1), ("Current (A)", _flight, None), ("held", n.held_size, 0),
    ("bursts", n.flight_size, 0),
)  # fmt: skip
_GROUPS = (
    (0, 1, ""),
    (2, 8, "At full throttle: steady readings, peaks where none is steady"),
    (9, 9, "Peak"),
    (10, 10, "In flight*"),
    (11, 12, "Smallest ESC (A)"),
)


def _write_table(sheet: Sheet, rows: int) -> None:
    formats = sheet.book.formats
    for first, last, words in _GROUPS:
        sheet.merged(_TABLE, first, last, formats.header)
        sheet.text(_TABLE, first, words, formats.header)
    for column, (header, node, decimals) in enumerate(_COLUMNS):
        sheet.text(_TABLE + 1, column, header, formats.header)
        centre = {"align": "center", "indent": 0} if decimals is None and column else {}
        form = formats.derived(decimals or 0, decimals is None, font_size=11, **centre)
        for row in range(rows):
            sheet.live(_TABLE + 2 + row, column, node, form, row)
    for row in range(rows):
        sheet.worksheet.set_row(_TABLE + 2 + row, 25)
    sheet.worksheet.set_row(_TABLE + 1, 18)
    flagged = sheet.book.layout.blocks[g.SUMMARY.name].cell("flagged_points", 0)
    rule = {"type": "formula", "criteria": f"=N({flagged})>0", "format": sheet.book.workbook.add_format(
        {"bg_color": MIDDLE_FILL, "italic": True})}  # fmt: skip
    sheet.worksheet.conditional_format(_TABLE + 2, 0, _TABLE + 1 + rows, _LEFT_LAST, rule)


_ADVICE: tuple[tuple[Node, bool, int], ...] = (
    (Named("esc_advice", text=True), True, 64),
    (Named("esc_advice_other", text=True), False, 64),
    (Named("flight_note", text=True), False, 34),
    (join(Named("esc_uncovered", text=True), " ", Named("esc_settings", text=True), " ",
          Named("esc_precedence", text=True)), False, 34),
)  # fmt: skip


def _insert_charts(sheet: Sheet, pictures: Pictures) -> None:
    for place, (picture, drawn) in enumerate(pictures[:2]):
        chart = scatter(sheet.book, picture, drawn, small=True)
        chart.set_size({"width": 545, "height": _CHART_HEIGHT})
        options = {"description": picture.described, "object_position": 3, "y_offset": place * (_CHART_HEIGHT + 8)}
        sheet.worksheet.insert_chart(_TABLE, _RIGHT, chart, options)


def _write_advice(sheet: Sheet, top: int) -> int:
    """Write footnote, advice, state of the checks and cautions; return the last row."""
    formats = sheet.book.formats
    more = Aggregate("count", (g.first_row,))
    beyond = (more > float(MOST_ROWS)).where(" More propellers on Summary.", "")
    small = formats.get(font_size=9, font_color=GREY)
    foot = (
        "* Estimate; basis on Summary. Means of the full-throttle readings that count. Shaded: one of them is flagged."
    )
    sheet.live(top - 1, 0, join(foot, beyond), small)
    for row, (node, bold, height) in enumerate(_ADVICE, start=top):
        _paragraph(sheet, row, node, {"bold": bold, "font_size": 11.5}, height)
    top += len(_ADVICE)
    _paragraph(sheet, top, left_out_statement(sheet.book.layout), {"font_size": 11, "bold": True}, 18)
    _paragraph(sheet, top + 1, sure_statement, {"font_size": 11}, 34)
    top -= 2
    _paragraph(sheet, top + 4, STATEMENTS.quantities["checks_statement"].expression, {"font_size": 11}, 18)
    stale = sheet.book.workbook.add_format({"bg_color": MIDDLE_FILL, "bold": True})
    rule = {"type": "formula", "criteria": "=OR(flags_impossible>0,checks_stale>0)", "format": stale}
    sheet.worksheet.conditional_format(top + 4, 0, top + 4, _LEFT_LAST, rule)
    sheet.text(top + 5, 0, "Cautions", formats.section)
    for row, caution in enumerate((*(each.short for each in CAUTIONS), DEFERENCE), start=top + 6):
        _paragraph(sheet, row, join(caution), {"font_size": 10.5}, 8 + 14 * -(-len(caution) // _LETTERS))
    return top + 6 + len(CAUTIONS)


def _paragraph(sheet: Sheet, row: int, node: Node, style: dict[str, Any], height: int) -> None:
    form = sheet.book.formats.get(text_wrap=True, valign="top", **style)
    sheet.merged(row, 0, _LEFT_LAST, form)
    sheet.live(row, 0, node, form)
    sheet.worksheet.set_row(row, height)
