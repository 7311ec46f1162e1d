"""The workbook of a need: the form to be filled, and with it the ranked pairs that a library holds for it."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from xlsengine.bench.advice import pair_answers as a
from xlsengine.bench.advice import pairs as p
from xlsengine.bench.inputs.bench_test import BenchTest
from xlsengine.bench.inputs.need import FACTORS, NEED
from xlsengine.cautions import DEFERENCE
from xlsengine.expression import Column
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Book, Sheet, new_book
from xlsengine.workbook.formats import BAD_FILL, GOOD_FILL, GREY, INK, MIDDLE_FILL, MIST, ONE_LINE, VERMILION
from xlsengine.workbook.input_sheets import form_headers, place_parts, write_form_sheet
from xlsengine.workbook.layout import TITLE_ROWS, Layout
from xlsengine.workbook.page_widths import print_over_pages
from xlsengine.workbook.sheets.parts import write_aside, write_table

NEED_SHEET, PAIRS_SHEET, WHY_SHEET, STEPS_SHEET, FACTORS_SHEET = "Need", "Pairs", "Why not", "Steps", "Factors"
HOW_TO = "Fill in the cream cells, save, then run: xlsengine find FILE"
ESTIMATES = (
    "Hover and flight figures are estimates from static readings of one sample each; a pair that fits is a candidate to "
    "test, not a promise. “estimate” beside a hover figure: worked out from full throttle, for want of steady readings at "
    "part throttle; the sheet Craft of results gives none then. " + DEFERENCE
)
SHOWN: tuple[tuple[Column, float], ...] = (
    (a.rank, 6),
    (a.verdict, 12),
    (p.motor, 28),
    (p.prop, 15),
    (p.cells, 6),
    (a.ratio, 8),
    (a.ratio_doubt, 7),
    (p.grams_per_watt, 8.5),
    (p.grams_per_watt_doubt, 8.5),
    (a.minutes, 8.5),
    (a.minutes_doubt, 8.5),
    (a.flight_low, 8),
    (a.flight_high, 8),
    (a.flight_spare, 9),
    (a.bench_spare, 9),
    (a.first_reason, 37),
    (a.ratio_spare, 8),
    (a.hover_basis, 12),
    (a.hover_current, 8.5),
    (a.hover_current_doubt, 8),
    (a.hover_throttle, 8.5),
    (p.motor_mass, 8),
    (a.mass_spare, 8),
    (p.test, 14),
)
"""What stands on the sheet Pairs for readers, and how wide in letters: on the first page what a craft is chosen by.

The kept figures are folded away behind it."""
_OF_HOVER = {a.hover_basis, a.minutes, a.minutes_doubt, a.hover_current, a.hover_current_doubt, a.hover_throttle}
_KEPT_WIDTH, _NAMING = 9.0, 4
_MOST_WHY, _ASIDE = 2000, 13  # rows; the column of what only formulas read
_SOFT = {"border": 0, "bottom": 1, "bottom_color": MIST}
Rejected = tuple[str, str, float, str]
"""Motor, propeller and cell count of a pair that is not listed, and the first reason."""


def write_need(path: str | Path, need: BenchTest, overwrite: bool = False) -> Path:
    """Write the form of a need to be filled; returns its path. Raises `OutputRefused` as `write_input_workbook`."""
    with new_book(path, overwrite, _forms(), "Need") as book:
        _write_need_form(book, need)
        book.sheet(NEED_SHEET).text(1, 0, HOW_TO, book.formats.subtitle)
        _write_factors(book, need)
    return Path(path)


def _shown(scope: Scope) -> dict[str, float]:
    """Return the columns that stand open, with their widths: figures of hovering only for a craft that hovers."""
    hovers = bool(scope.named(a.hovers.name))
    return {column.name: width for column, width in SHOWN if hovers or column not in _OF_HOVER}


def write_found(path: str | Path, scope: Scope, unlisted: Sequence[Rejected], overwrite: bool = False) -> Path:
    """Write the ranked pairs with the need; returns the path. Raises `OutputRefused` as `write_input_workbook`."""
    with new_book(path, overwrite, _forms(), "Need, ranked pairs", scope) as book:
        for name in (NEED_SHEET, PAIRS_SHEET, WHY_SHEET, STEPS_SHEET, FACTORS_SHEET):
            book.sheet(name)
        _write_need_form(book, scope.test)
        _write_sentences(book)
        _write_pairs(book, _shown(scope))
        _write_why(book, unlisted)
        _write_steps(book)
        _write_factors(book, scope.test)
        book.put_live_cells()
    return Path(path)


def _forms() -> Layout:
    layout = Layout()
    place_parts(layout, NEED_SHEET, [NEED])
    place_parts(layout, FACTORS_SHEET, [FACTORS])
    return layout


def _write_need_form(book: Book, need: BenchTest) -> None:
    sheet = write_form_sheet(book, NEED_SHEET, NEED, need, "What the craft needs", "")
    last = TITLE_ROWS + len(NEED.fields) + 2
    form = book.formats.get(text_wrap=True, valign="top", font_color=VERMILION)
    sheet.paragraph(last, (0, len(form_headers(NEED)) - 1), ESTIMATES, form, 180, 13, 4)
    sheet.print_setup(one_page=True)


def _write_factors(book: Book, need: BenchTest) -> None:
    write_form_sheet(book, FACTORS_SHEET, FACTORS, need, "Factors", FACTORS.meaning).print_setup()


def _write_sentences(book: Book) -> None:
    """Write above the form what was found, and whether order and choice still hold."""
    sheet = book.sheet(NEED_SHEET)
    styles: tuple[dict[str, Any], ...] = ({"bold": True, "font_size": 12}, {"font_color": GREY}, {"font_color": GREY})
    for row, (sentence, style) in enumerate(zip(a.SENTENCES, styles, strict=True), start=1):
        form = book.formats.get(text_wrap=True, **style)
        sheet.across(row, 0, len(form_headers(NEED)) - 1, sentence, form, height=32 if row == 1 else 18)


def _write_pairs(book: Book, shown: Mapping[str, float]) -> None:
    sheet, widths = book.sheet(PAIRS_SHEET), list(shown.values())
    sheet.heading("Pairs, ranked", "Live: change a cream cell on Need or Factors and every row is judged again.")
    sheet.live(2, 0, a.order_note, book.formats.get(bold=True, font_color=INK))
    order = tuple(dict.fromkeys([*shown, *p.PAIRS.columns]))
    block = write_table(sheet, p.PAIRS, TITLE_ROWS, 0, order, 58, lambda name: ONE_LINE, _SOFT)
    sheet.widths(widths)
    sheet.fold(len(widths), block.right, _KEPT_WIDTH)
    sheet.shade_words(block.area(a.verdict.name), zip(a.VERDICTS, (GOOD_FILL, MIDDLE_FILL, BAD_FILL), strict=True))
    sheet.worksheet.freeze_panes(block.top + 1, _NAMING)
    print_over_pages(sheet, widths, _NAMING, (block.top, block.top))
    sheet.worksheet.print_area(0, 0, block.bottom, len(widths) - 1)


def _write_why(book: Book, unlisted: Sequence[Rejected]) -> None:
    """Write how many pairs each limit rejects first, and the first reason of those that are not listed."""
    sheet, formats = book.sheet(WHY_SHEET), book.formats
    sheet.heading("Why not", "The first limit, in this order, that a pair does not hold.")
    sheet.merged(TITLE_ROWS, 0, 1, formats.header)
    for column, text in ((0, "Limit"), (2, "Listed pairs, live"), (3, "Whole library, as written")):
        sheet.text(TITLE_ROWS, column, text, formats.header)
    sheet.height(TITLE_ROWS, 30)
    for row, limit in enumerate(a.LIMITS, start=TITLE_ROWS + 1):
        sheet.across(row, 0, 1, limit.title, formats.label)
        sheet.live(row, 2, a.REJECTED[row - TITLE_ROWS - 1], formats.derived(0))
        sheet.live(row, 3, a.REJECTED_IN_ALL[row - TITLE_ROWS - 1], formats.derived(0))
    _write_unlisted(sheet, TITLE_ROWS + len(a.LIMITS) + 2, unlisted)
    write_aside(sheet, a.FOUND, _ASIDE)
    sheet.widths((36, 18, 12, 48))
    sheet.print_setup()


def _write_unlisted(sheet: Sheet, top: int, unlisted: Sequence[Rejected]) -> None:
    formats = sheet.book.formats
    count = len(unlisted)
    pairs = "1 pair" if count == 1 else f"{count} pairs"
    said = f"Not listed on {PAIRS_SHEET}: {pairs}" + (f", of which {_MOST_WHY} stand here" * (count > _MOST_WHY))
    sheet.text(top, 0, f"{said}; judged when this was written" if count else "Every pair is listed.", formats.section)
    sheet.row(top + 1, ("Motor", "Propeller", "Cells", "First reason") if count else (), formats.header)
    for row, each in enumerate(unlisted[:_MOST_WHY], start=top + 2):
        for column, value in enumerate(each):
            form = formats.derived(0, isinstance(value, str), text_wrap=False)
            sheet.value(row, column, value, form)


def _write_steps(book: Book) -> None:
    sheet = book.sheet(STEPS_SHEET)
    sheet.heading("Steps", p.STEPS.meaning)
    block = write_table(sheet, p.STEPS, TITLE_ROWS, 0, tuple(p.STEPS.fields), None, lambda name: ONE_LINE, _SOFT)
    sheet.worksheet.set_column(0, block.right, 14)
    sheet.worksheet.freeze_panes(block.top + 1, 0)
    sheet.print_setup()
    sheet.print_nothing()
