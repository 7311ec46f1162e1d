"""Craft in a results workbook: what follows from its cream cells, to the right of them and below."""

from typing import Any

from xlsengine.bench.advice import craft_answers as a
from xlsengine.bench.advice import suits
from xlsengine.bench.advice.short_answers import CANNOT
from xlsengine.bench.advice.suits import HEADERS, LIMITS, LINES
from xlsengine.bench.inputs.craft import CRAFT
from xlsengine.bench.inputs.uses import USES, use_name
from xlsengine.expression import Named
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Sheet
from xlsengine.workbook.formats import BAD_FILL, BLUE, GOOD_FILL, GREY, INK, MIDDLE_FILL, MIST, RULE
from xlsengine.workbook.layout import FORM_HEADERS, TITLE_ROWS, Layout, cell_address, quoted
from xlsengine.workbook.marked_readings import esc_caveat, write_caveat
from xlsengine.workbook.page_widths import MARGINS
from xlsengine.workbook.sheets.craft_table import height_of, place_propellers, write_propellers
from xlsengine.workbook.sheets.parts import Content, Kind, SheetPlan

_LEFT_WIDTHS = (185, 135, 50, 10)  # pixels: a page, of A4 or Letter, at the scale below
_TILE, _ACROSS = (100, 99, 5), 4
"""Pixels of the two columns of a tile, and of the gap behind it."""
_RIGHT = len(_LEFT_WIDTHS)
_COLUMNS = tuple(_RIGHT + 3 * place for place in range(_ACROSS))
_LAST = _COLUMNS[-1] + 1
_HALVES = [span for column in _COLUMNS for span in ((column, column), (column + 1, min(column + 2, _LAST)))]
_TABLE_SPANS = ((0, 0), (1, 1), (2, _RIGHT - 1), *_HALVES)
_BANDS = (TITLE_ROWS, TITLE_ROWS + 6)
_BAND_FILLS = (BLUE, "#7A5200")
_TOP_ROWS, _CAVEAT = (34, 27, 0, 15), 2  # points, and the row whose height goes by what it says
_ROW, _FLYING, _VALUE, _WORDS = 15.5, 28, 15, 14  # points; the type of flying takes two lines
_TABLE_TOP = TITLE_ROWS + 13
_LETTERS, _LINE, _LOW = 200, 13.5, 4
_SCALE, _PAGE = 80, 655  # percent: type of 10 points comes out at 8; points of height that a page holds at that scale


def _sentences_top(scope: Scope) -> int:
    return _TABLE_TOP + height_of(scope) + 1


def _placed_tiles() -> list[tuple[a.Placed, int, int]]:
    """Return the tiles with row and column of their titles, band by band."""
    places = [(band + 1, column) for band in _BANDS for column in _COLUMNS]
    return [(tile, *place) for tile, place in zip(a.TILES, places, strict=True)]


def _place_craft(layout: Layout, content: Content, sheet: str) -> None:
    """Place the answers: one line above, tiles beside the form, sentences below."""
    layout.say("caveat", esc_caveat(layout), content.scope, sheet, _CAVEAT)
    layout.name(a.headline.name, sheet, 0, _RIGHT)
    layout.name(a.basis.name, sheet, 1, _RIGHT)
    for (title, value, words), row, column in _placed_tiles():
        if isinstance(title, Named):
            layout.name(title.name, sheet, row, column)
        layout.name(value.name, sheet, row + 1, column)
        layout.name(words.name, sheet, row + 3, column)
    place_propellers(layout, content.scope, sheet, _TABLE_TOP)
    for row, sentence in enumerate(a.BELOW, start=_sentences_top(content.scope)):
        layout.name(sentence.name, sheet, row, 0)
    _place_suits(layout, content.scope, sheet)


def _write_craft(sheet: Sheet, content: Content) -> None:
    """Write what follows, on the sheet that holds the form already."""
    sheet.widths((*_LEFT_WIDTHS, *(_TILE * _ACROSS)[:-1]), pixels=True)
    _fit_tiles(sheet)
    for row, declared in enumerate(CRAFT.fields.values(), start=TITLE_ROWS + 1):
        sheet.text(row, FORM_HEADERS.index("Unit"), declared.unit, sheet.book.formats.label)
    _write_top(sheet)
    for title, row, fill in zip(a.BANDS, _BANDS, _BAND_FILLS, strict=True):
        form = sheet.book.formats.get(bold=True, font_size=11, font_color="#FFFFFF", bg_color=fill, indent=1)
        sheet.across(row, _RIGHT, _LAST, title, form)
    for tile, *place in _placed_tiles():
        _write_tile(sheet, tile, *place)
    write_propellers(sheet, _TABLE_TOP, _TABLE_SPANS)
    top, suits_top = _sentences_top(content.scope), _suits_top(content.scope)
    for row, figure in enumerate(a.BELOW, start=top):
        form = sheet.book.formats.get(text_wrap=True, valign="top", bold=figure in (a.to_fill, a.precedence))
        sheet.paragraph(row, (0, _LAST), figure, form, _LETTERS, _LINE, 3)
    for gap in (top - 1, suits_top - 1):
        sheet.height(gap, _LOW)
    last = _write_suits(sheet, suits_top)
    sheet.print_setup(scale=_SCALE, margins=MARGINS)
    if sheet.points(0, last) > _PAGE:
        sheet.worksheet.set_h_pagebreaks([suits_top])
    sheet.worksheet.center_horizontally()
    sheet.worksheet.print_area(0, 0, last, _LAST)
    sheet.worksheet.freeze_panes(TITLE_ROWS, 0)


def _fit_tiles(sheet: Sheet) -> None:
    """Make the rows of form and tiles as high as they need."""
    heights = dict.fromkeys(range(TITLE_ROWS, _TABLE_TOP - 1), float(_ROW))
    heights |= {TITLE_ROWS + 1: _FLYING, _TABLE_TOP - 1: _LOW}
    heights |= dict(enumerate((_VALUE, _VALUE, _WORDS, _WORDS), start=_BANDS[1] + 2))
    for row, height in heights.items():
        sheet.height(row, height)


def _write_top(sheet: Sheet) -> None:
    """Write the answer in one line, what it is of, and what to settle first."""
    formats = sheet.book.formats
    sheet.text(1, 0, "Change a cream cell; the rest follows.", formats.subtitle)
    for row, figure, style in (
        (0, a.headline, {"bold": True, "font_size": 13}),
        (1, a.basis, {"font_color": GREY}),
    ):
        sheet.across(row, _RIGHT, _LAST, figure, formats.get(text_wrap=True, **style))
    warns = f'=ISNUMBER(SEARCH("{CANNOT}",{cell_address(0, _RIGHT, fixed=True)}))'
    sheet.shade((0, _RIGHT, 0, _LAST), {"bg_color": MIDDLE_FILL}, type="formula", criteria=warns)
    for row, height in enumerate(_TOP_ROWS):
        sheet.height(row, height)
    write_caveat(sheet, esc_caveat(sheet.book.layout), _CAVEAT, (0, _LAST), _LETTERS, _LINE, 1.5)


def _write_tile(sheet: Sheet, tile: a.Placed, row: int, column: int) -> None:
    """Write a title, the figure in large type, and in two lines what it rests on or what is missing."""
    formats, (title, value, words) = sheet.book.formats, tile
    head = formats.get(bg_color=MIST, font_color=GREY, indent=1)
    sheet.across(row, column, column + 1, title, head)
    large = formats.get(bg_color=MIST, align="left", bold=True, font_size=20, indent=1, shrink=True)
    sheet.across(row + 1, column, column + 1, value, large, rows=2)
    small = formats.get(bg_color=MIST, align="left", font_color=INK, indent=1, text_wrap=True, valign="top")
    sheet.across(row + 3, column, column + 1, words, small, rows=2)


# --- what the motor suits: a row for each use of Settings ------------------------------------------------------


_SUITS_SPANS = ((0, 0), (1, _RIGHT - 1), (_RIGHT, _LAST))
_TITLE, _HEADER, _USE, _AROUND = 18, 15, 13.5, 1.5  # points
_USE_LETTERS = (31, 30, 140)  # of a line in each span
_ABOVE_USES = 2
"""Rows of the title, with what leads to the limits, and of the headers."""
_SHADES = ((suits.SUITS, GOOD_FILL), (suits.BORDERLINE, MIDDLE_FILL), (suits.DOES_NOT, BAD_FILL))


def _suits_top(scope: Scope) -> int:
    return _sentences_top(scope) + len(a.BELOW) + 1


def _uses(layout: Layout, scope: Scope) -> list[tuple[Named, ...]]:
    """Return what is shown: a line for each row of Uses; first what a person added, then what was tested, blank ones last."""
    lines = LINES[: layout.blocks[USES.name].rows]
    names, tested = scope.this_row(use_name).tolist(), scope.this_row(suits.tested).tolist()
    rank = [
        0 if names[place] and place >= len(USES.rows) else 1 if tested[place] > 0 else 2 if names[place] else 3
        for place in range(len(lines))
    ]
    return [lines[place] for place in sorted(range(len(lines)), key=rank.__getitem__)]


def _place_suits(layout: Layout, scope: Scope, sheet: str) -> None:
    top = _suits_top(scope)
    layout.name(suits.title.name, sheet, top, 0)
    for row, line in enumerate(_uses(layout, scope), start=top + _ABOVE_USES):
        for (column, _), figure in zip(_SUITS_SPANS, line, strict=True):
            layout.name(figure.name, sheet, row, column)


def _write_suits(sheet: Sheet, top: int) -> int:
    """Write the table; return its last row that is used."""
    lines, begin = _uses(sheet.book.layout, sheet.scope), top + _ABOVE_USES
    _write_suits_heads(sheet, top)
    for row, line in enumerate(lines, start=begin):
        sheet.over(row, _SUITS_SPANS, line, [_suits_form(sheet, bold=bold) for bold in (False, True, False)])
        sheet.height(row, _AROUND + _USE * max(1, *map(sheet.lines, line, _USE_LETTERS)))
    (first, last), bottom = _SUITS_SPANS[1], begin + len(lines) - 1
    sheet.shade_words((begin, first, bottom, last), _SHADES, "begins with")
    return begin + min(max(1, int(sheet.scope.used_rows(USES.name))), len(lines)) - 1


def _suits_form(sheet: Sheet, **more: Any) -> Any:
    look = {"bottom": 1, "bottom_color": RULE, "text_wrap": True, "indent": 1, **more}
    return sheet.book.formats.get(**look)


def _write_suits_heads(sheet: Sheet, top: int) -> None:
    formats, place = sheet.book.formats, sheet.book.layout.blocks[USES.name]
    sheet.live(top, 0, suits.title, formats.section)
    sheet.height(top, _TITLE)
    where = f"{quoted(place.sheet)}!{cell_address(place.top, place.left)}"
    link = formats.get(font_color=BLUE, underline=1, valign="bottom", indent=1)
    sheet.worksheet.write_url(top, _RIGHT, f"internal:{where}", link, LIMITS)
    sheet.over(top + 1, _SUITS_SPANS, HEADERS, _suits_form(sheet, font_color=GREY))
    sheet.height(top + 1, _HEADER)


SHEET = SheetPlan(
    "Craft",
    Kind.READ,
    "what the motor is meant for: type it into the cream cells",
    writes=_write_craft,
    places=_place_craft,
    printed=True,
    out_of_date=(3, 0),
)
