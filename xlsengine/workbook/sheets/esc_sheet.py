"""ESC: the advice in sentences, and how every size stands for each propeller and cell count."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from xlsengine.bench import esc
from xlsengine.bench import esc_needs as n
from xlsengine.bench import in_flight as f
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
_SENTENCES = {"esc_advice": "For the type of flying on Craft", "esc_advice_other": "If flown the other way",
              "flight_note": "Current to expect in flight", "esc_uncovered": "Without an answer",
              "esc_settings": "Changed settings", "esc_precedence": "What overrules this"}  # fmt: skip
_LONG = ("esc_advice", "esc_advice_other", "flight_note")


@dataclass(frozen=True)
class Question:
    """One way of using full throttle: how each size stands, with the amps to spare, and the smallest size named."""

    title: str
    meaning: str
    verdict: Callable[[Node], Node]
    margin: Callable[[Node], Node]
    smallest: Column


_QUESTIONS = (
    Question(
        "Full throttle held", "Bench, hover, 3D, ducted: measured steady and peak current with their ± against the "
        "ratings; amps to spare", n.held_verdict, n.held_margin, n.held_size,
    ),
    Question(
        "Short bursts: at launch", "The static peak with its ± against the burst rating; amps to spare",
        n.launch_verdict, n.launch_margin, n.flight_size,
    ),
    Question(
        "Short bursts: at speed", "An estimate, never a ground for a choice alone: in-flight current against the burst "
        "rating; amps to spare", n.speed_verdict, n.speed_margin, n.flight_size,
    ),
)  # fmt: skip


def _rows(scope: Scope) -> int:
    return scope.used_rows(g.SUMMARY.name) + 2


def place_esc(layout: Layout, scope: Scope) -> None:
    """Place the sentences at the top, the other ESC figures beside the page."""
    for row, name in enumerate(_SENTENCES, start=_SENTENCES_TOP):
        layout.name(name, NAME, row, 3)
    place_aside(layout, NAME, [name for name in esc.ESC.quantities if name not in _SENTENCES], _ASIDE)


def _matrix_top(number: int, rows: int) -> int:
    return _SENTENCES_TOP + len(_SENTENCES) + 3 + number * (rows + 5)


def write_esc(book: Book) -> None:
    """Write the sheet."""
    assert book.scope is not None
    sheet, rows = book.sheet(NAME), _rows(book.scope)
    said = "Static currents are measured. In-flight currents are estimates: never choose an ESC by them alone."
    heading_beside(sheet, "Choosing an ESC", said, 1)
    for column, width in enumerate(_widths()):
        sheet.worksheet.set_column(column, column, width)
    _write_sentences(sheet)
    for number, question in enumerate(_QUESTIONS):
        _write_matrix(sheet, _matrix_top(number, rows), rows, question)
    write_aside(sheet, esc.ESC, _ASIDE)
    header, last = _matrix_top(0, rows), _matrix_top(len(_QUESTIONS) - 1, rows) + rows
    repeat = None if rows <= _ROWS_OF_A_PAGE else (header, header)
    breaks = [_matrix_top(number, rows) - 1 for number in range(1, len(_QUESTIONS))]
    print_with_breaks(sheet, _widths(), 1, breaks, repeat)
    sheet.worksheet.print_area(0, 0, last, len(_LEFT) + _SIZES - 1)
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
        sheet.worksheet.set_row(row, 62 if name in _LONG else 30)


def _write_matrix(sheet: Sheet, top: int, rows: int, question: Question) -> None:
    formats = sheet.book.formats
    sheet.text(top - 1, 0, question.title, formats.section)
    sheet.text(top - 1, 1, question.meaning, formats.subtitle)
    for column, header in enumerate(_LEFT):
        sheet.text(top, column, header, formats.header)
    sheet.worksheet.set_row(top, 32)
    plain = (g.label, g.steady["top_current"], g.peak["top_current"], f.flight_low, f.flight_high, question.smallest)
    for column, source in enumerate(plain):
        form = formats.derived(
            0 if source is question.smallest else 1, source.text, **(ONE_LINE if source.text else {})
        )
        for row in range(rows):
            sheet.live(top + 1 + row, column, source, form, row)
    for place in range(1, _SIZES + 1):
        _write_size(sheet, top, rows, place, question)
    _colour(sheet, top, rows)


def _write_size(sheet: Sheet, top: int, rows: int, place: int, question: Question) -> None:
    formats = sheet.book.formats
    size = Aggregate("at", (esc_size,), (), Constant(float(place)))
    column = len(_LEFT) + place - 1
    sheet.live(top, column, join(size.fixed(0), " A"), formats.header)
    standing = join(question.verdict(size), " ", _signed(question.margin(size)))
    form = formats.derived(0, text=True, align="center", font_size=8, indent=0)
    for row in range(rows):
        sheet.live(top + 1 + row, column, standing, form, row)
        sheet.worksheet.set_row(top + 1 + row, _ROW_HEIGHT)


def _signed(margin: Node) -> Node:
    """Write amps with their sign and unit."""
    return (margin >= 0).where(join("+", margin.fixed(1), " A"), join("−", (-margin).fixed(1), " A")).otherwise("")


def _colour(sheet: Sheet, top: int, rows: int) -> None:
    """Shade by verdict; the word in the cell says the same."""
    area = (top + 1, len(_LEFT), top + rows, len(_LEFT) + _SIZES - 1)
    for word, fill, bold in (
        (n.COVERS, GOOD_FILL, True),
        (n.BORDERLINE, MIDDLE_FILL, False),
        (n.SHORT, BAD_FILL, False),
    ):
        form = sheet.book.workbook.add_format({"bg_color": fill, "bold": bold})
        rule = {"type": "text", "criteria": "begins with", "value": word, "format": form}
        sheet.worksheet.conditional_format(*area, rule)
