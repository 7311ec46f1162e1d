"""The table of Craft that says which propeller to take: a row for each that was tested on the pack's cells."""

from collections.abc import Sequence
from typing import Any

from xlsengine.bench.advice import craft_propellers as p
from xlsengine.bench.advice.craft_asks import ESTIMATE
from xlsengine.bench.inputs.settings import hover_range, pack_rate_most
from xlsengine.expression import Column
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Sheet, Span
from xlsengine.workbook.formats import GOOD_FILL, GREY, MIDDLE_FILL, MIST, RULE, SLATE, VERMILION
from xlsengine.workbook.layout import Layout, cell_address

_TITLE, _HEADER, _ROW, _NOTE = 17, 27, 13.5, 13.5  # points
_LEFT = 3  # columns that the title stands over
_ABOVE = 2
"""Rows of title and headers."""
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


def rows_of(scope: Scope) -> int:
    """Return how many propellers there is room for."""
    return scope.rows(p.FLOWN.name)


def height_of(scope: Scope) -> int:
    """Return how many rows of the sheet the table takes."""
    return _ABOVE + rows_of(scope) + 1


def place_propellers(layout: Layout, scope: Scope, sheet: str, top: int) -> None:
    """Place title and note; the cells between them are nobody's but the table's."""
    layout.name(p.title.name, sheet, top, 0)
    layout.name(p.note.name, sheet, top + _ABOVE + rows_of(scope), 0)


def write_propellers(sheet: Sheet, top: int, spans: Sequence[Span]) -> None:
    """Write the table over spans of columns, one for each of its columns."""
    rows, (left, right) = rows_of(sheet.scope), (spans[0][0], spans[-1][1])
    titled = sheet.book.formats.get(bold=True, font_size=12, font_color=SLATE, valign="bottom")
    sheet.across(top, left, spans[_LEFT - 1][1], p.title, titled, height=_TITLE)
    sheet.across(top, spans[_LEFT][0], right, p.unlisted, sheet.book.formats.get(bold=True, font_color=VERMILION))
    sheet.height(top + 1, _HEADER)
    for row in range(top + _ABOVE, top + _ABOVE + rows):
        sheet.height(row, _ROW)
    for span, (column, header) in zip(spans, p.HEADERS.items(), strict=True):
        _write_column(sheet, top + 1, span, column, header, rows)
    quiet = sheet.book.formats.get(font_color=GREY)
    sheet.across(top + _ABOVE + rows, left, right, p.note, quiet, height=_NOTE)
    _shade(sheet, top + _ABOVE, rows, dict(zip(p.HEADERS, spans, strict=True)), right + 2)


def _write_column(sheet: Sheet, top: int, span: Span, column: Column, header: Any, rows: int) -> None:
    formats, is_name = sheet.book.formats, column == p.prop
    line: dict[str, Any] = {"bottom": 1, "bottom_color": RULE, "align": "left" if is_name else "right"}
    line |= {"indent": 1} if is_name else {}
    sheet.across(top, *span, header, formats.get(font_color=GREY, text_wrap=True, **line))
    shape = {"num_format": _SHAPES[column]} if column in _SHAPES else {}
    form = formats.get(bold=is_name, **shape, **line)
    for row in range(top + 1, top + 1 + rows):
        sheet.merged(row, *span, form)
    sheet.live(top + 1, span[0], column, form, rows)


def _shade(sheet: Sheet, top: int, rows: int, spans: dict[Column, Span], aside: int) -> None:
    """Mark the propeller on Craft, what is best, what is estimated, and what no pack gives."""
    last, limits = top + rows - 1, (hover_range, pack_rate_most)
    for row, limit in enumerate(limits, start=top - _ABOVE):
        sheet.live(row, aside, limit, sheet.book.formats.helper)
    sheet.fold(aside, aside, 8)
    share, most = (cell_address(row, aside, fixed=True) for row in range(top - _ABOVE, top))

    def rule(column: Column, criteria: str, style: dict[str, Any]) -> None:
        area = (top, spans[column][0], last, spans[column][1])
        sheet.shade(area, style, type="formula", criteria=f"=AND({criteria})", stop_if_true=True)

    def cell(column: Column) -> str:
        return f"${cell_address(top, spans[column][0])}"

    estimated, good, weak = f'{cell(p.fourth)}="{ESTIMATE}"', {"bold": True, "bg_color": GOOD_FILL}, {"italic": True}
    hovers = _hovers(top - 1, spans[p.first][0])
    rule(p.ratio, f"ISNUMBER({cell(p.ratio)}),{cell(p.ratio)}<1,{hovers}", {"bold": True, "bg_color": MIDDLE_FILL})
    for column in (p.ratio, p.first, p.second, p.third):
        best = _best(column, (top, spans[column][0], last), cell(column), share)
        if column in (p.second, p.third):
            rule(column, f"{estimated},{best}", good | weak)
            rule(column, estimated, weak)
        rule(column, best, good)
    rule(
        p.pack_rate,
        f"ISNUMBER({cell(p.pack_rate)}),{cell(p.pack_rate)}>{most}",
        {"bold": True, "bg_color": MIDDLE_FILL},
    )
    rule(p.prop, f'ISNUMBER(SEARCH("{p.CHOSEN}",{cell(p.prop)}))', {"bg_color": MIST})


def _hovers(row: int, column: int) -> str:
    """Write when a header is that of a craft that hovers."""
    return f'LEFT({cell_address(row, column, fixed=True)},5)="Hover"'


def _best(column: Column, place: tuple[int, int, int], here: str, share: str) -> str:
    """Write when a cell holds the best of its column, of several, or one that cannot be told from it."""
    top, left, last = place
    area = f"{cell_address(top, left, fixed=True)}:{cell_address(last, left, fixed=True)}"
    several, hovers = f"ISNUMBER({here}),COUNT({area})>1", _hovers(top - 1, left)
    most, least = f"{here}>=MAX({area})*(1-{share}/100)", f"{here}<=MIN({area})*(1+{share}/100)"
    if column == p.second:
        return f"{several},{hovers},{least}"
    return f"{several},IF({hovers},{least},{most})" if column == p.first else f"{several},{most}"
