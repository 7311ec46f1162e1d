"""ESC: the advice in sentences, and for each propeller and cell count the three sizes that matter to each question."""

from typing import Any

from xlsengine.bench.advice import esc_needs as n
from xlsengine.bench.advice import in_flight as f
from xlsengine.bench.advice import rule_of_thumb as rule
from xlsengine.bench.groups import summary as g
from xlsengine.expression import Column, Named, Node, call, join
from xlsengine.workbook.book import Sheet, Span
from xlsengine.workbook.formats import BAD_FILL, BLUE, GOOD_FILL, GREY, INK, MIDDLE_FILL, RULE, SLATE
from xlsengine.workbook.layout import cell_address
from xlsengine.workbook.marked_readings import CAVEAT
from xlsengine.workbook.page_widths import MARGINS
from xlsengine.workbook.sheets.parts import Content, Kind, Page, SheetPlan, write_cards

LEFT = (("", "Propeller"), ("", "Cells"), ("Steady", "(A)"), ("Peak", "(A)"))
_WIDTHS = (130, 38, 48, 48, *[121] * 3, 131, *[144] * 3)  # pixels: a page, of A4 or Letter, at the scale below
_HELD, _CURRENT, _BURSTS, _LAST = 4, 7, 8, 10
_CAVEAT, _TEXT = 3, 3  # row, and the column of the sentences
_WHOLE, _RIGHT = (Page((left, _LAST), 170, 13.2, 2) for left in (0, _TEXT))
_BOLD = Page(_RIGHT.span, 0.92 * _RIGHT.letters, _RIGHT.line, _RIGHT.spare)
_SENTENCES = {
    "esc_advice": "For the type of flying on Craft",
    "esc_advice_other": "If flown the other way",
    "esc_uncovered": "Without an answer",
    "esc_flight_source": "What “in flight” rests on",
    "esc_settings": "Changed settings",
    "esc_precedence": "What overrules this",
}
_HEADER = _CAVEAT + len(_SENTENCES) + 2
_TOP = _HEADER + 3
_ROW = 13
_SCALE, _PAGE = 80, 657  # percent; points of height that a page holds at that scale
_SPARE, _FEWEST = 2, 4
_BURSTS_FILL = "#7A5200"
_BURSTS_BAND = "Short bursts in forward flight: at launch, and at speed by estimate"
_NO_BURSTS = "No burst answer: hover, 3D, ducted and full throttle held draw in full"
"""Where nothing flies in bursts its half of the table says so once, and is else empty."""
_LIKELY = "enough (est.)"
"""The verdict at speed in as few letters as its cell holds."""
_MEANING = join(n.VERDICTS_MEAN, " ×: no peak counts.")


def _write_sentences(sheet: Sheet, content: Content, top: int) -> int:
    """Write the advice, and what the words in the cells mean."""
    formats = sheet.book.formats
    said = "Static currents are measured. In-flight currents are estimates: never choose an ESC by them alone."
    sheet.heading("Choosing an ESC", said)
    _WHOLE.paragraphs(sheet, _CAVEAT, [sheet.book.layout.said["caveat"]], **CAVEAT)
    titled = formats.get(text_wrap=True, valign="top", bold=True, font_color=SLATE)
    for row, (name, label) in enumerate(_SENTENCES.items(), start=_CAVEAT + 1):
        page = _BOLD if name == "esc_advice" else _RIGHT
        page.paragraphs(sheet, row, [Named(name, True)], bold=page is _BOLD)
        sheet.across(row, 0, _TEXT - 1, Named(name, True).present().where(label, ""), titled)
    _WHOLE.paragraphs(sheet, _HEADER - 1, [_MEANING], 3, font_color=GREY, valign="vcenter")
    return _HEADER


# --- the table: headers, and two lines for each propeller and cell count ---------------------------------------


_PLAIN: tuple[tuple[Node, dict[str, Any]], ...] = (
    (call("in short", g.prop), {"bold": True, "align": "left"}),
    (g.cells, {"num_format": '0"S"', "align": "center"}),
    (g.steady["top_current"], {"num_format": "0.0", "align": "center"}),
    (g.peak["top_current"], {"num_format": "0.0", "align": "center"}),
)
_BANDS: tuple[tuple[Span, str | Node, str], ...] = (
    ((0, _HELD - 1), "Highest reading, full throttle", INK),
    ((_HELD, _CURRENT - 1), "Full throttle held (bench, hover, 3D, ducted)", BLUE),
    ((_CURRENT, _LAST), rule.flies_forward(_BURSTS_BAND, _NO_BURSTS), _BURSTS_FILL),
)
_SIZES = tuple((place, "amps to spare") for place in n.HELD_SIZES)


def _write_headers(sheet: Sheet) -> None:
    for row, height in ((1, 15), (2, 15), (_HEADER, 18), (_HEADER + 1, 13.5), (_HEADER + 2, 13.5)):
        sheet.height(row, height)
    for span, title, fill in _BANDS:
        form = sheet.book.formats.get(bold=True, font_color="#FFFFFF", bg_color=fill, align="center", shrink=True)
        sheet.across(_HEADER, *span, title, form)
    for column, words in enumerate((*LEFT, *_SIZES, ("Current", "(A)"), *_SIZES)):
        style = {"align": "left" if column == 0 else "center", "shrink": True, **_edge(column)}
        looks = {"bold": words[0] == n.ENOUGH, **style}, {"bottom": 2, "bottom_color": INK, **style}
        said: list[str | Node] = [*words] if column < _CURRENT else [rule.flies_forward(word, "") for word in words]
        write_cards(sheet, _HEADER + 1, [(column, column)], [said], [looks], (1, 1))


def _edge(column: int) -> dict[str, Any]:
    return {"left": 1, "left_color": RULE} if column in (_HELD, _CURRENT) else {}


def _write_table(sheet: Sheet, content: Content, top: int) -> int:
    """Write the table with a few spare rows."""
    used = content.scope.used_rows(g.SUMMARY.name)
    groups = min(used + _SPARE, content.scope.rows(g.SUMMARY.name))
    _write_headers(sheet)
    for group in range(groups):
        _write_group(sheet, group, group < used)
    _colour(sheet, _TOP + 2 * groups - 1)
    return _TOP + 2 * groups


def _write_group(sheet: Sheet, group: int, ruled: bool) -> None:
    """Write the two lines of a propeller and cell count; spare ones stay without a grid."""
    formats, top, line = sheet.book.formats, _TOP + 2 * group, {"bottom": 1, "bottom_color": RULE} if ruled else {}
    for row in (top, top + 1):
        sheet.height(row, _ROW)
    for column, (source, style) in enumerate(_PLAIN):
        form = formats.get(shrink=True, **line, **style)
        sheet.merged(top, column, column, form, rows=2)
        sheet.live(top, column, source, form, at=group)
    for column, lines in _LINES.items():
        look = {"shrink": True, "align": "center", "bold": column in (_HELD + 1, _BURSTS + 1)}
        look |= _edge(column) if ruled else {}
        for row, (said, below) in enumerate(zip(lines, ({}, line), strict=True), start=top):
            sheet.live(row, column, said, formats.get(**look, **below), at=group)


def _amps(margin: Node) -> Node:
    return join(n.to_spare(margin), " A")


def _why_not(place: str, need: Column, enough: Column) -> Node:
    """Say why there is no size: no current, or none smaller, as large or larger on Settings."""
    if place == n.SMALLER:
        return need.present().where("none smaller", "")
    if place == n.LARGER:
        return enough.present().where("none larger", "")
    return need.present().where("none on Settings", n.no_current.present().where("no size:", ""))


def _held_lines(place: str) -> tuple[Node, Node]:
    """Return the two lines of a cell: size with verdict, and amps to spare or what is missing."""
    size, missing = n.HELD_SIZES[place], n.no_current if place == n.ENOUGH else join("")
    first, second = join(size.fixed(0), " A ", n.held_verdict(size)), _amps(n.held_margin(size))
    there = size.present()
    return there.where(first, _why_not(place, n.held_need, n.held_size)), there.where(second, missing)


def _burst_lines(place: str) -> tuple[Node, Node]:
    """Return the two lines of a cell: at launch, and at speed; each with its verdict and amps to spare."""
    size = n.FLIGHT_SIZES[place]
    first = join(size.fixed(0), " A ", n.launch_verdict(size), ", ", _amps(n.launch_margin(size)))
    second = join(n.speed_verdict(size, _LIKELY), ", ", _amps(n.speed_margin(size)))
    none, missing = _why_not(place, n.flight_need, n.flight_size), join("")
    if place == n.ENOUGH:
        none = rule.flies_forward(none, "")
        missing = rule.flies_forward(n.no_current, "")
    there = size.present()
    return there.where(first, none), there.where(second, missing)


_LEAST, _MOST = f.ends(f.flight_low, f.flight_high, g.static_current)
_RANGE = (f.flight_high > f.flight_low).where(join(_LEAST, "–", _MOST), f.flight_high.fixed(1))
_TIMES = (n.over_static > 1).where(join(" ×", n.over_static.fixed(2)), "")
_LINES = {
    **{_HELD + at: _held_lines(place) for at, place in enumerate(n.HELD_SIZES)},
    _CURRENT: (
        rule.flies_forward(join("launch ", n.launch.fixed(1)), ""),
        rule.flies_forward(join("at speed ", _RANGE, _TIMES), ""),
    ),
    **{_BURSTS + at: _burst_lines(place) for at, place in enumerate(n.HELD_SIZES)},
}
"""The two lines of each column, for every propeller and cell count."""


# --- colours, and the print --------------------------------------------------------------------------------------


def _colour(sheet: Sheet, last: int) -> None:
    """Shade by verdict, which the cell says in words; amps held have the colour of the verdict above them."""
    fills = ((n.COVERS, GOOD_FILL), (n.BORDERLINE, MIDDLE_FILL), (n.SHORT, BAD_FILL))
    for left, right in ((_HELD, _CURRENT - 1), (_BURSTS, _LAST)):
        sheet.shade_words((_TOP, left, last, right), fills, "containing")
    above = cell_address(_TOP, _HELD)
    for word, fill in fills:
        asked = f'AND(MOD(ROW(),2)={(_TOP + 2) % 2},ISNUMBER(SEARCH("{word}",{above})))'
        sheet.shade((_TOP + 1, _HELD, last, _CURRENT - 1), {"bg_color": fill}, asked)


def _set_page(sheet: Sheet, content: Content, below: int) -> None:
    """Print at a scale, which keeps page breaks: the two lines of a propeller and cell count stay together.

    Spare rows are printed where they fill no other page.
    """
    used, groups = content.scope.used_rows(g.SUMMARY.name), (below - _TOP) // 2
    first, further = (int((_PAGE - sheet.points(top, _TOP - 1)) / (2 * _ROW)) for top in (0, _HEADER))
    starts = list(range(first, groups, further))
    last = used if any(used <= start for start in starts) else groups
    starts = [start for start in starts if start < last]
    if starts:  # a page of one or two would be nearly blank
        starts[-1] = min(starts[-1], max(last - _FEWEST, starts[-1] - first + 1))
    sheet.widths(_WIDTHS, pixels=True)
    sheet.print_setup(scale=_SCALE, repeat=(_HEADER, _TOP - 1), margins=MARGINS)
    sheet.worksheet.print_area(0, 0, _TOP + 2 * last - 1, _LAST)
    sheet.worksheet.set_h_pagebreaks([_TOP + 2 * start for start in starts])
    sheet.worksheet.center_horizontally()
    sheet.worksheet.freeze_panes(0, 2)  # what stands above the table would fill a low screen


SHEET = SheetPlan(
    "ESC",
    Kind.READ,
    "which ESC size covers each propeller and cell count, held and in short bursts",
    parts=(_write_sentences, _write_table),
    page=_set_page,
    printed=True,
)
