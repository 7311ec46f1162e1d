"""Craft in a results workbook: what follows from its cream cells, to the right of them and below."""

from xlsengine.bench.advice import craft_answers as a
from xlsengine.bench.groups.summary import headline_efficiency
from xlsengine.bench.inputs.craft import CRAFT
from xlsengine.bench.model import FIGURE_QUANTITIES
from xlsengine.expression import Named, Node
from xlsengine.workbook.book import Sheet
from xlsengine.workbook.formats import BLUE, GREY, INK, MIST, VERMILION
from xlsengine.workbook.layout import FORM_HEADERS, TITLE_ROWS, Layout
from xlsengine.workbook.marked_readings import esc_caveat
from xlsengine.workbook.page_widths import MARGINS
from xlsengine.workbook.sheets.parts import Content, Kind, Own, SheetPlan
from xlsengine.workbook.sheets.suits_table import place_suits, write_suits

_LEFT_WIDTHS = (185, 135, 50, 10)  # pixels: a page, of A4 or Letter, at the scale below
_TILE, _GAP, _ACROSS = 199, 5, 4
_RIGHT = len(_LEFT_WIDTHS)
_COLUMNS = tuple(_RIGHT + 2 * place for place in range(_ACROSS))
_LAST = _COLUMNS[-1]
_BANDS = (TITLE_ROWS, TITLE_ROWS + 6)
_BAND_FILLS = (BLUE, "#7A5200")
_TOP_ROWS, _CAVEAT = (34, 28, 0, 15), 2  # points, and the row whose height goes by what it says
_ROW, _FLYING, _VALUE, _WORDS = 18, 28, 15, 20  # points; the type of flying takes two lines
_SENTENCES_TOP = TITLE_ROWS + 13
_LETTERS, _LINE, _BLANK = 200, 13.5, 4
_SCALE, _PAGE = 80, 655  # percent: type of 10 points comes out at 8; points of height that a page holds at that scale
_SUITS_TOP = _SENTENCES_TOP + len(a.SENTENCES) + 1
_SUITS_SPANS = ((0, 0), (1, _RIGHT - 1), (_RIGHT, _LAST))


def _placed_tiles(layout: Layout) -> list[tuple[a.Tile, int, int]]:
    """Return the tiles with row and column of their titles, band by band; without hovering where nothing is steady."""
    places = [(band + 1, column) for band in _BANDS for column in _COLUMNS]
    if not layout.is_left_out(headline_efficiency):
        return [(tile, *place) for tile, place in zip(a.TILES, places, strict=True)]
    lift, flight = a.TILES[-1], a.TILES[_ACROSS:-1]
    return [
        (a.TILES[0], *places[0]),
        (lift, *places[1]),
        *((tile, *place) for tile, place in zip(flight, places[_ACROSS:], strict=False)),
    ]


def _place_craft(layout: Layout, content: Content, sheet: str, top: int) -> int:
    """Place the answers: one line above, tiles beside the form, sentences below."""
    layout.name(a.headline.name, sheet, 0, _RIGHT)
    layout.name(a.basis.name, sheet, 1, _RIGHT)
    for (title, value, words), row, column in _placed_tiles(layout):
        if isinstance(title, Named):
            layout.name(title.name, sheet, row, column)
        layout.name(value.name, sheet, row + 1, column)
        layout.name(words.name, sheet, row + 3, column)
    for row, sentence in enumerate(a.SENTENCES, start=_SENTENCES_TOP):
        layout.name(sentence.name, sheet, row, 0)
    place_suits(layout, sheet, _SUITS_TOP, _SUITS_SPANS)
    return _SENTENCES_TOP + len(a.SENTENCES)


def _write_craft(sheet: Sheet, content: Content, top: int) -> int:
    """Write what follows, on the sheet that holds the form already."""
    sheet.widths((*_LEFT_WIDTHS, *([_TILE, _GAP] * _ACROSS)[:-1]), pixels=True)
    tiles = _fit_tiles(sheet)
    for row, declared in enumerate(CRAFT.fields.values(), start=TITLE_ROWS + 1):
        sheet.text(row, FORM_HEADERS.index("Unit"), declared.unit, sheet.book.formats.label)
    top_rows = _write_top(sheet)
    for title, row, fill in zip(a.TITLES, _BANDS, _BAND_FILLS, strict=False):
        form = sheet.book.formats.get(bold=True, font_size=11, font_color="#FFFFFF", bg_color=fill, indent=1)
        sheet.across(row, _RIGHT, _LAST, title, form)
    placed = _placed_tiles(sheet.book.layout)
    for tile, *place in placed:
        _write_tile(sheet, tile, *place)
    if len(placed) < len(a.TILES):
        quiet = sheet.book.formats.get(font_color=GREY, text_wrap=True, indent=1, valign="top")
        sheet.across(_BANDS[0] + 1, _COLUMNS[2], _LAST, a.TITLES[-1], quiet, rows=3)
    above = top_rows + tiles + _write_sentences(sheet) + _ROW
    last, height = write_suits(sheet, _SUITS_TOP, _SUITS_SPANS)
    sheet.print_setup(scale=_SCALE, margins=MARGINS)
    if above + height > _PAGE:
        sheet.worksheet.set_h_pagebreaks([_SUITS_TOP])
    sheet.worksheet.center_horizontally()
    sheet.worksheet.print_area(0, 0, last, _LAST)
    sheet.worksheet.freeze_panes(TITLE_ROWS, 0)
    return _SENTENCES_TOP + len(a.SENTENCES)


def _fit_tiles(sheet: Sheet) -> float:
    """Make the rows of form and tiles as high as they need; return how high they are together, in points."""
    heights = dict.fromkeys(range(TITLE_ROWS, _SENTENCES_TOP - 1), float(_ROW))
    heights |= {TITLE_ROWS + 1: _FLYING, _SENTENCES_TOP - 1: _BLANK}
    heights |= dict(enumerate((_VALUE, _VALUE, _WORDS, _WORDS), start=_BANDS[1] + 2))
    for row, height in heights.items():
        sheet.worksheet.set_row(row, height)
    return sum(heights.values())


def _behind(figure: Named) -> Node:
    return FIGURE_QUANTITIES[figure.name].expression


def _write_top(sheet: Sheet) -> float:
    """Write the answer in one line, what it is of, and what to settle first; return how high they are in points."""
    formats = sheet.book.formats
    sheet.text(1, 0, "Change a cream cell; the rest follows.", formats.subtitle)
    for row, figure, style in ((0, a.headline, {"bold": True, "font_size": 13}), (1, a.basis, {"font_color": GREY})):
        sheet.across(row, _RIGHT, _LAST, _behind(figure), formats.get(text_wrap=True, **style))
    for row, height in enumerate(_TOP_ROWS):
        sheet.worksheet.set_row(row, height)
    return sum(_TOP_ROWS) + _write_caveat(sheet)


def _write_tile(sheet: Sheet, tile: a.Tile, row: int, column: int) -> None:
    """Write a title, the figure in large type, and in two lines what it rests on or what is missing."""
    formats, (title, value, words) = sheet.book.formats, tile
    head = formats.get(bg_color=MIST, font_color=GREY, indent=1)
    sheet.across(row, column, column, title if isinstance(title, str) else _behind(title), head)
    large = formats.get(bg_color=MIST, align="left", bold=True, font_size=20, indent=1, shrink=True)
    sheet.across(row + 1, column, column, _behind(value), large, rows=2)
    small = formats.get(bg_color=MIST, align="left", font_color=INK, indent=1, text_wrap=True, valign="top")
    sheet.across(row + 3, column, column, _behind(words), small, rows=2)


def _write_sentences(sheet: Sheet) -> float:
    """Write what else follows, a sentence a row; return how high they are in points."""
    heights = []
    for row, figure in enumerate(a.SENTENCES, start=_SENTENCES_TOP):
        form = sheet.book.formats.get(text_wrap=True, valign="top", bold=figure in (a.to_fill, a.precedence))
        lines = sheet.lines(figure, _LETTERS)
        heights.append(_LINE * lines + 3 if lines else _BLANK)
        sheet.across(row, 0, _LAST, _behind(figure), form, height=heights[-1])
    return sum(heights)


def _write_caveat(sheet: Sheet) -> float:
    """Write which readings to settle before an ESC is chosen; a line is kept for what is typed later."""
    said = esc_caveat(sheet.book.layout)
    form = sheet.book.formats.get(text_wrap=True, valign="top", bold=True, font_color=VERMILION)
    height = _LINE * max(1, sheet.lines(said, _LETTERS)) + 1.5
    sheet.across(_CAVEAT, 0, _LAST, said, form, height=height)
    return height


SHEET = SheetPlan(
    "Craft",
    Kind.READ,
    "what the motor is meant for: type it into the cream cells",
    parts=(Own(_write_craft, _place_craft),),
    printed=True,
    out_of_date=(3, 0),
)
