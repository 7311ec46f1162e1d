"""ESC: the advice in sentences, and how every size stands for each propeller and cell count."""

from __future__ import annotations

from collections.abc import Callable

from xlsengine.bench import esc
from xlsengine.bench import summary as g
from xlsengine.bench.settings import ESC_SIZES, esc_size
from xlsengine.expression import Aggregate, Column, Constant, Node, join
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Book, Sheet
from xlsengine.workbook.formats import BAD_FILL, GOOD_FILL, MIDDLE_FILL, ONE_LINE, SLATE
from xlsengine.workbook.layout import Layout
from xlsengine.workbook.page_widths import heading_beside, print_with_breaks
from xlsengine.workbook.sheets.aside import place_aside, write_aside

NAME = "ESC"
_SENTENCES_TOP = 3
_LEFT = ("Propeller and cells", "Steady (A)", "Peak (A)", "In flight, low (A)", "In flight, high (A)", "Smallest (A)")
_SIZES = len(ESC_SIZES.rows)
_ROW_HEIGHT, _ROWS_OF_A_PAGE = 20, 18
_ASIDE = len(_LEFT) + _SIZES + 2
_SENTENCES = {"esc_advice": "For the way of flying on Craft", "esc_advice_other": "The other question",
              "flight_note": "Current to expect in flight"}  # fmt: skip


def _rows(scope: Scope) -> int:
    return scope.used_rows(g.SUMMARY.name) + 2


def place_esc(layout: Layout, scope: Scope) -> None:
    """Place the sentences at the top, the other ESC figures beside the page."""
    for row, name in enumerate(_SENTENCES, start=_SENTENCES_TOP):
        layout.name(name, NAME, row, 3)
    place_aside(layout, NAME, [name for name in esc.ESC.quantities if name not in _SENTENCES], _ASIDE)


def _matrix_top(number: int, rows: int) -> int:
    return _SENTENCES_TOP + 7 + number * (rows + 5)


def write_esc(book: Book) -> None:
    """Write the sheet."""
    assert book.scope is not None
    sheet, rows = book.sheet(NAME), _rows(book.scope)
    said = "Static currents were measured; in-flight ones are estimates, never the only ground."
    heading_beside(sheet, "Which ESC will do", said, 1)
    for column, width in enumerate(_widths()):
        sheet.worksheet.set_column(column, column, width)
    _write_sentences(sheet)
    held = ("Full throttle held", "On the bench or in hover: measured steady and peak current against ratings, amps to "
            "spare")  # fmt: skip
    burst = ("Short full throttle", "In forward flight: estimated current against the burst rating, amps to spare")
    _write_matrix(sheet, _matrix_top(0, rows), rows, held, esc.held_verdict, esc.held_margin, g.held_size)
    _write_matrix(sheet, _matrix_top(1, rows), rows, burst, esc.flight_verdict, esc.flight_margin, g.flight_size)
    write_aside(sheet, esc.ESC, _ASIDE)
    header = _matrix_top(0, rows)
    repeat = None if rows <= _ROWS_OF_A_PAGE else (header, header)
    print_with_breaks(sheet, _widths(), 1, [_matrix_top(1, rows) - 1], repeat)
    sheet.worksheet.print_area(0, 0, _matrix_top(1, rows) + rows, len(_LEFT) + _SIZES - 1)
    sheet.worksheet.freeze_panes(2, 1)


def _widths() -> list[float]:
    return [24.0, *[10.0] * (len(_LEFT) - 1), *[9.5] * _SIZES]


def _write_sentences(sheet: Sheet) -> None:
    """Write the advice clear of the first column, which every printed page begins with."""
    formats = sheet.book.formats
    last = len(_LEFT) + 4
    for row, (name, label) in enumerate(_SENTENCES.items(), start=_SENTENCES_TOP):
        form = formats.get(text_wrap=True, font_size=11, bold=name == "esc_advice")
        titled = formats.get(text_wrap=True, bold=True, font_color=SLATE)
        sheet.merged(row, 1, 2, titled)
        sheet.text(row, 1, label, titled)
        sheet.merged(row, 3, last, form)
        sheet.live(row, 3, esc.ESC.quantities[name].expression, form)
        sheet.worksheet.set_row(row, 46)
    text = "Makers' continuous and burst ratings and cooling notes overrule this sheet; match the pack's volts as well."
    sheet.text(_SENTENCES_TOP + 3, 1, text, formats.get(bold=True))


def _write_matrix(
    sheet: Sheet, top: int, rows: int, title: tuple[str, str], verdict: Callable[[Node], Node],
    margin: Callable[[Node], Node], smallest: Column,
) -> None:  # fmt: skip
    formats = sheet.book.formats
    sheet.text(top - 1, 0, title[0], formats.section)
    sheet.text(top - 1, 1, title[1], formats.subtitle)
    for column, header in enumerate(_LEFT):
        sheet.text(top, column, header, formats.header)
    sheet.worksheet.set_row(top, 32)
    plain = (g.label, g.steady["top_current"], g.peak["top_current"], g.flight_low, g.flight_high, smallest)
    for column, source in enumerate(plain):
        form = formats.derived(0 if source is smallest else 1, source.text, **(ONE_LINE if source.text else {}))
        for row in range(rows):
            sheet.live(top + 1 + row, column, source, form, row)
    for place in range(1, _SIZES + 1):
        _write_size(sheet, top, rows, place, verdict, margin)
    _colour(sheet, top, rows)


def _write_size(
    sheet: Sheet, top: int, rows: int, place: int, verdict: Callable[[Node], Node], margin: Callable[[Node], Node]
) -> None:
    formats = sheet.book.formats
    size = Aggregate("at", (esc_size,), (), Constant(float(place)))
    column = len(_LEFT) + place - 1
    sheet.live(top, column, join(size.fixed(0), " A"), formats.header)
    standing = join(verdict(size), " ", esc.signed(margin(size)))
    form = formats.derived(0, text=True, align="center", font_size=8, indent=0)
    for row in range(rows):
        sheet.live(top + 1 + row, column, standing, form, row)
        sheet.worksheet.set_row(top + 1 + row, _ROW_HEIGHT)


def _colour(sheet: Sheet, top: int, rows: int) -> None:
    """Shade by verdict; the word in the cell says the same."""
    area = (top + 1, len(_LEFT), top + rows, len(_LEFT) + _SIZES - 1)
    for word, fill, bold in (
        (esc.COVERS, GOOD_FILL, True),
        (esc.BORDERLINE, MIDDLE_FILL, False),
        (esc.SHORT, BAD_FILL, False),
    ):
        form = sheet.book.workbook.add_format({"bg_color": fill, "bold": bold})
        rule = {"type": "text", "criteria": "begins with", "value": word, "format": form}
        sheet.worksheet.conditional_format(*area, rule)
