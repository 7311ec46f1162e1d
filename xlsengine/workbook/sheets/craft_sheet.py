"""Craft in a results workbook: what follows from its cream cells, to the right of them and below."""

from typing import Any

from xlsengine.bench.advice import craft_answers as a
from xlsengine.bench.advice import craft_propellers as p
from xlsengine.bench.advice import suits
from xlsengine.bench.advice.limits import BEYOND, craft_state
from xlsengine.bench.advice.short_answers import CANNOT
from xlsengine.bench.advice.suitability import ESTIMATE
from xlsengine.bench.advice.suits import HEADERS, LIMITS, LINES
from xlsengine.bench.inputs.craft import CRAFT
from xlsengine.bench.inputs.settings import hover_range, pack_rate_high, pack_rate_most
from xlsengine.bench.inputs.uses import USES, use_name
from xlsengine.expression import Column, Named
from xlsengine.workbook.book import Sheet
from xlsengine.workbook.formats import BAD_FILL, BLUE, GOOD_FILL, GREY, MIDDLE_FILL, MIST, RULE, SLATE, VERMILION
from xlsengine.workbook.layout import FORM_HEADERS, TITLE_ROWS, cell_address, quoted
from xlsengine.workbook.marked_readings import CAVEAT, cell_in, esc_caveat
from xlsengine.workbook.page_widths import MARGINS
from xlsengine.workbook.sheets.parts import Content, Kind, Page, SheetPlan, warn, write_cards

_LEFT_WIDTHS = (185, 135, 50, 10)  # pixels: a page, of A4 or Letter, at the scale below
_TILE, _ACROSS = (100, 99, 5), 4
"""Pixels of the two columns of a tile, and of the gap behind it."""
_RIGHT = len(_LEFT_WIDTHS)
_COLUMNS = tuple(_RIGHT + 3 * place for place in range(_ACROSS))
_LAST = _COLUMNS[-1] + 1
_PAGE = Page((0, _LAST), 200, 13.5, 3)
_SCALE, _PAGE_POINTS = 80, 655  # percent: type of 10 points comes out at 8; height that a page holds at that scale
_LOW = 4  # points of the rows between parts

# --- the answer in one line, and tiles beside the form ---------------------------------------------------------


_BANDS = (TITLE_ROWS, TITLE_ROWS + 6)
_BAND_FILLS = (BLUE, "#7A5200")
_BELOW_FORM = TITLE_ROWS + 12
_CAVEAT = 2
_HEIGHTS = {
    **dict.fromkeys(range(TITLE_ROWS, _BELOW_FORM), 15.5),
    **dict(enumerate((34, 27))),
    3: 15,
    TITLE_ROWS + 1: 28,  # the type of flying takes two lines
    _BELOW_FORM: _LOW,
    **dict(enumerate((15, 15, 14, 14), start=_BANDS[1] + 2)),
}
_CARD: dict[str, Any] = {"bg_color": MIST, "indent": 1}
_LOOKS = (
    {**_CARD, "font_color": GREY},
    {**_CARD, "align": "left", "bold": True, "font_size": 20, "shrink": True},
    {**_CARD, "align": "left", "text_wrap": True, "valign": "top"},
)


def _write_answers(sheet: Sheet, content: Content, top: int) -> int:
    """Write the answer in one line, what it is of, what to settle first, and the tiles."""
    formats = sheet.book.formats
    for row, height in _HEIGHTS.items():
        sheet.height(row, height)
    for row, declared in enumerate(CRAFT.fields.values(), start=TITLE_ROWS + 1):
        sheet.text(row, FORM_HEADERS.index("Unit"), declared.unit, formats.label)
    sheet.across(1, 0, _RIGHT - 1, craft_state, formats.get(font_color=GREY, text_wrap=True, valign="top"))
    warn(sheet, 1, (0, _RIGHT - 1), BEYOND)
    sheet.across(0, _RIGHT, _LAST, a.headline, formats.get(text_wrap=True, bold=True, font_size=13))
    sheet.across(1, _RIGHT, _LAST, a.basis, formats.get(text_wrap=True, font_color=GREY))
    warn(sheet, 0, (_RIGHT, _LAST), CANNOT)
    _PAGE.paragraphs(sheet, _CAVEAT, [esc_caveat(cell_in(sheet.book.layout))], 1.5, **CAVEAT)
    spans = [(column, column + 1) for column in _COLUMNS]
    tiles = (a.TILES[:_ACROSS], a.TILES[_ACROSS:])
    for title, row, fill, band in zip(a.BANDS, _BANDS, _BAND_FILLS, tiles, strict=True):
        form = formats.get(bold=True, font_size=11, font_color="#FFFFFF", bg_color=fill, indent=1)
        sheet.across(row, _RIGHT, _LAST, title, form)
        write_cards(sheet, row + 1, spans, band, [_LOOKS] * _ACROSS, (1, 2, 2))
    return _BELOW_FORM + 1


# --- which propeller to take: a row for each that was tested on the pack's cells ---------------------------------


_HALVES = [span for column in _COLUMNS for span in ((column, column), (column + 1, min(column + 2, _LAST)))]
_SPANS = dict(zip(p.HEADERS, ((0, 0), (1, 1), (2, _RIGHT - 1), *_HALVES), strict=True))
_TITLED = 2  # last column that the title stands over
_SHAPES = {
    p.ratio: '0.0" : 1"',
    p.thrust: "#,##0",
    p.first: "[<12]0.00;0",  # grams per watt, or percent of throttle
    p.second: "[<1]0.00;0.0",
    p.third: "0.0",
    p.pack_amps: "#,##0",
    p.pack_rate: '0"C"',
    p.size: "0",
}
_GOOD, _WEAK, _WARNED = {"bold": True, "bg_color": GOOD_FILL}, {"italic": True}, {"bold": True, "bg_color": MIDDLE_FILL}


def _write_propellers(sheet: Sheet, content: Content, top: int) -> int:
    formats, rows = sheet.book.formats, content.scope.rows(p.FLOWN.name)
    first, below = top + 2, top + 2 + rows
    titled = formats.get(bold=True, font_size=12, font_color=SLATE, valign="bottom")
    sheet.across(top, 0, _RIGHT - 1, p.title, titled, height=17)
    sheet.across(top, _RIGHT, _LAST, p.unlisted, formats.get(bold=True, font_color=VERMILION))
    sheet.height(top + 1, 27)
    for column, header in p.HEADERS.items():
        line: dict[str, Any] = {"bottom": 1, "bottom_color": RULE, "align": "right"}
        line |= {"align": "left", "indent": 1} if column == p.prop else {}
        sheet.across(top + 1, *_SPANS[column], header, formats.get(font_color=GREY, text_wrap=True, **line))
        shape = {"num_format": _SHAPES[column]} if column in _SHAPES else {}
        form = formats.get(bold=column == p.prop, **shape, **line)
        for row in range(first, below):
            sheet.merged(row, *_SPANS[column], form)
        sheet.live(first, _SPANS[column][0], column, form, rows)
    for row in range(first, below):
        sheet.height(row, _PAGE.line)
    _PAGE.paragraphs(sheet, below, [p.note], font_color=GREY)
    _shade_propellers(sheet, first, below - 1)
    sheet.height(below + 1, _LOW)
    return below + 2


def _shade_propellers(sheet: Sheet, top: int, last: int) -> None:
    """Mark the propeller on Craft, what is best, what is estimated, and what no pack gives."""
    share = hover_range.name
    here = {column: f"${cell_address(top, left)}" for column, (left, _) in _SPANS.items()}
    hovers = {c: f'LEFT({cell_address(top - 1, left, fixed=True)},5)="Hover"' for c, (left, _) in _SPANS.items()}

    def rule(column: Column, where: str, style: dict[str, Any]) -> None:
        left, right = _SPANS[column]
        sheet.shade((top, left, last, right), style, f"AND({where})", stop_if_true=True)

    def best(column: Column) -> str:
        """Write when a cell holds the best of its column, of several, or one that cannot be told from it."""
        left = _SPANS[column][0]
        area = f"{cell_address(top, left, fixed=True)}:{cell_address(last, left, fixed=True)}"
        most, least = f"{here[column]}>=MAX({area})*(1-{share}/100)", f"{here[column]}<=MIN({area})*(1+{share}/100)"
        which = {p.second: f"{hovers[column]},{least}", p.first: f"IF({hovers[column]},{least},{most})"}
        return f"ISNUMBER({here[column]}),COUNT({area})>1,{which.get(column, most)}"

    rule(p.ratio, f"ISNUMBER({here[p.ratio]}),{here[p.ratio]}<1,{hovers[p.first]}", _WARNED)
    for column in (p.ratio, p.first, p.second, p.third):
        if column in (p.second, p.third):
            estimated = f'{here[p.fourth]}="{ESTIMATE}"'
            rule(column, estimated, _WEAK)
        rule(column, best(column), _GOOD)
    for most, style in ((pack_rate_most, _WARNED | {"bg_color": BAD_FILL}), (pack_rate_high, _WARNED)):
        rule(p.pack_rate, f"ISNUMBER({here[p.pack_rate]}),{here[p.pack_rate]}>{most.name}", style)
    rule(p.prop, f'ISNUMBER(SEARCH("{p.CHOSEN}",{here[p.prop]}))', {"bg_color": MIST})


# --- sentences, and what the motor suits: a row for each use of Settings -----------------------------------------


def _write_sentences(sheet: Sheet, content: Content, top: int) -> int:
    for row, figure in enumerate(a.BELOW, start=top):
        _PAGE.paragraphs(sheet, row, [figure], bold=figure in (a.to_fill, a.precedence))
    sheet.height(top + len(a.BELOW), _LOW)
    return top + len(a.BELOW) + 1


_SUITS_SPANS = ((0, 0), (1, _RIGHT - 1), (_RIGHT, _LAST))
_SUITS_LETTERS = (31, 30, 140)  # of a line in each span
_SHADES = ((suits.SUITS, GOOD_FILL), (suits.BORDERLINE, MIDDLE_FILL), (suits.DOES_NOT, BAD_FILL))
_SUITS_LINE: dict[str, Any] = {"bottom": 1, "bottom_color": RULE, "text_wrap": True, "indent": 1}


def _uses(sheet: Sheet) -> list[tuple[Named, ...]]:
    """Return what is shown: a line for each row of Uses; first what a person added, then what was tested, blank ones last."""
    lines = LINES[: sheet.book.layout.blocks[USES.name].rows]
    names, tested = (sheet.scope.this_row(each).tolist() for each in (use_name, suits.tested))

    def rank(place: int) -> int:
        return 0 if names[place] and place >= len(USES.rows) else 1 if tested[place] > 0 else 2 if names[place] else 3

    return [lines[place] for place in sorted(range(len(lines)), key=rank)]


def _write_suits(sheet: Sheet, content: Content, top: int) -> int:
    """Write the table; return the row below the last that is used."""
    formats, uses, lines = sheet.book.formats, sheet.book.layout.blocks[USES.name], _uses(sheet)
    sheet.live(top, 0, suits.title, formats.section)
    where = f"internal:{quoted(uses.sheet)}!{cell_address(uses.top, uses.left)}"
    link = formats.get(font_color=BLUE, underline=1, valign="bottom", indent=1)
    sheet.worksheet.write_url(top, _RIGHT, where, link, LIMITS)
    sheet.over(top + 1, _SUITS_SPANS, HEADERS, formats.get(font_color=GREY, **_SUITS_LINE))
    for row, height in enumerate((17, 14), start=top):
        sheet.height(row, height)
    forms = [formats.get(bold=bold, **_SUITS_LINE) for bold in (False, True, False)]
    for row, line in enumerate(lines, start=top + 2):
        sheet.over(row, _SUITS_SPANS, line, forms)
        sheet.fit(row, line, _SUITS_LETTERS, _PAGE.line, 0)
    sheet.shade_words((top + 2, 1, top + 1 + len(lines), _RIGHT - 1), _SHADES, "begins with")
    last = top + 1 + min(max(1, int(content.scope.used_rows(USES.name))), len(lines))
    if sheet.points(0, last) > _PAGE_POINTS:
        sheet.worksheet.set_h_pagebreaks([top])
    return last + 1


def _set_page(sheet: Sheet, content: Content, below: int) -> None:
    sheet.widths((*_LEFT_WIDTHS, *(_TILE * _ACROSS)[:-1]), pixels=True)
    sheet.print_setup(scale=_SCALE, margins=MARGINS)
    sheet.worksheet.center_horizontally()
    sheet.worksheet.print_area(0, 0, below - 1, _LAST)
    sheet.worksheet.freeze_panes(TITLE_ROWS, 0)


SHEET = SheetPlan(
    "Craft",
    Kind.READ,
    "what the motor is meant for: type it into the cream cells",
    parts=(_write_answers, _write_propellers, _write_sentences, _write_suits),
    page=_set_page,
    printed=True,
    out_of_date=(3, 0),
)
