"""ESC: the advice in sentences, and for each propeller and cell count the three sizes that matter to each question."""

from typing import Any

from xlsengine.bench.advice import esc_needs as n
from xlsengine.bench.advice import in_flight as f
from xlsengine.bench.advice import rule_of_thumb as rule
from xlsengine.bench.groups import summary as g
from xlsengine.expression import Column, Named, Node, call, join
from xlsengine.workbook.book import Sheet
from xlsengine.workbook.formats import BAD_FILL, BLUE, GOOD_FILL, GREY, INK, MIDDLE_FILL, RULE, SLATE
from xlsengine.workbook.layout import Layout, cell_address
from xlsengine.workbook.marked_readings import write_caveat
from xlsengine.workbook.page_widths import MARGINS
from xlsengine.workbook.sheets.parts import Content, Kind, SheetPlan

LEFT = (("", "Propeller"), ("", "Cells"), ("Steady", "(A)"), ("Peak", "(A)"))
_WIDTHS = (130, 38, 48, 48, *[121] * 3, 131, *[144] * 3)  # pixels: a page, of A4 or Letter, at the scale below
_HELD, _CURRENT, _BURSTS, _LAST = 4, 7, 8, 10
_CAVEAT, _SENTENCES_TOP, _TEXT = 3, 4, 3
_SENTENCES = {
    "esc_advice": "For the type of flying on Craft",
    "esc_advice_other": "If flown the other way",
    "esc_uncovered": "Without an answer",
    "esc_flight_source": "What “in flight” rests on",
    "esc_settings": "Changed settings",
    "esc_precedence": "What overrules this",
}
_HEADER = _SENTENCES_TOP + len(_SENTENCES) + 1
_TOP = _HEADER + 3
_LETTERS, _LINE, _ROW = 170, 13.2, 13
_SCALE, _PAGE = 80, 657  # percent; points of height that a page holds at that scale
_SPARE, _FEWEST = 2, 4
_BURSTS_FILL = "#7A5200"
_BURSTS_BAND = "Short bursts in forward flight: at launch, and at speed by estimate"
_NO_BURSTS = "No burst answer: hover, 3D, ducted and full throttle held draw in full"
"""Where nothing flies in bursts its half of the table says so once, and is else empty."""
_LIKELY = "enough (est.)"
"""The verdict at speed in as few letters as its cell holds."""
_MEANING = join(n.VERDICTS_MEAN, " ×: no peak read.")


def _place_esc(layout: Layout, content: Content, sheet: str) -> None:
    for row, name in enumerate(_SENTENCES, start=_SENTENCES_TOP):
        layout.name(name, sheet, row, _TEXT)


def _write_esc(sheet: Sheet, content: Content) -> None:
    used = content.scope.used_rows(g.SUMMARY.name)
    groups = min(used + _SPARE, content.scope.rows(g.SUMMARY.name))
    said = "Static currents are measured. In-flight currents are estimates: never choose an ESC by them alone."
    sheet.heading("Choosing an ESC", said)
    sheet.widths(_WIDTHS, pixels=True)
    _write_sentences(sheet)
    _write_headers(sheet)
    for group in range(groups):
        _write_group(sheet, group, group < used)
    _colour(sheet, _TOP + 2 * groups - 1)
    _print(sheet, used, groups)


def _print(sheet: Sheet, used: int, groups: int) -> None:
    """Print at a scale, which keeps page breaks: the two lines of a propeller and cell count stay together.

    Spare rows are printed where they fill no other page.
    """
    first, further = (int((_PAGE - sheet.points(top, _TOP - 1)) / (2 * _ROW)) for top in (0, _HEADER))
    starts = list(range(first, groups, further))
    last = used if any(used <= start for start in starts) else groups
    starts = [start for start in starts if start < last]
    if starts:  # a page of one or two would be nearly blank
        starts[-1] = min(starts[-1], max(last - _FEWEST, starts[-1] - first + 1))
    sheet.print_setup(scale=_SCALE, repeat=(_HEADER, _TOP - 1), margins=MARGINS)
    sheet.worksheet.print_area(0, 0, _TOP + 2 * last - 1, _LAST)
    sheet.worksheet.set_h_pagebreaks([_TOP + 2 * start for start in starts])
    sheet.worksheet.center_horizontally()
    sheet.worksheet.freeze_panes(0, 2)  # what stands above the table would fill a low screen


def _write_sentences(sheet: Sheet) -> None:
    """Write the advice, and what the words in the cells mean."""
    formats, said = sheet.book.formats, sheet.book.layout.said["caveat"]
    write_caveat(sheet, said, _CAVEAT, (0, _LAST), _LETTERS, _LINE, 2)
    for row, (name, label) in enumerate(_SENTENCES.items(), start=_SENTENCES_TOP):
        bold = name == "esc_advice"
        form = formats.get(text_wrap=True, valign="top", bold=bold)
        titled = formats.get(text_wrap=True, valign="top", bold=True, font_color=SLATE)
        sheet.across(row, 0, _TEXT - 1, Named(name, True).present().where(label, ""), titled)
        sheet.paragraph(row, (_TEXT, _LAST), Named(name, True), form, 0.92 * _LETTERS if bold else _LETTERS, _LINE, 2)
    form = formats.get(text_wrap=True, font_color=GREY)
    sheet.paragraph(_HEADER - 1, (0, _LAST), _MEANING, form, _LETTERS, _LINE, 3)


def _write_headers(sheet: Sheet) -> None:
    for row, height in ((1, 15), (2, 15), (_HEADER, 18), (_HEADER + 1, 13.5), (_HEADER + 2, 13.5)):
        sheet.height(row, height)
    _band(sheet, 0, _HELD - 1, "Highest reading, full throttle", INK)
    _band(sheet, _HELD, _CURRENT - 1, "Full throttle held (bench, hover, 3D, ducted)", BLUE)
    _band(sheet, _CURRENT, _LAST, rule.flies_forward(_BURSTS_BAND, _NO_BURSTS), _BURSTS_FILL)
    for column, (first, second) in enumerate(LEFT):
        _head(sheet, column, first, second)
    _head(sheet, _CURRENT, "Current", "(A)")
    for left in (_HELD, _BURSTS):
        for column, place in enumerate(n.HELD_SIZES, start=left):
            _head(sheet, column, place, "amps to spare", place == n.ENOUGH)


def _band(sheet: Sheet, left: int, right: int, text: str | Node, fill: str) -> None:
    form = sheet.book.formats.get(bold=True, font_color="#FFFFFF", bg_color=fill, align="center", shrink=True)
    sheet.across(_HEADER, left, right, text, form)


def _head(sheet: Sheet, column: int, first: str, second: str, bold: bool = False) -> None:
    formats, side = sheet.book.formats, {"left": 1, "left_color": RULE} if column in (_HELD, _CURRENT) else {}
    style: dict[str, Any] = {"align": "left" if column == 0 else "center", "shrink": True, **side}
    forms = formats.get(bold=bold, **style), formats.get(bottom=2, bottom_color=INK, **style)
    for row, (words, form) in enumerate(zip((first, second), forms, strict=True), start=_HEADER + 1):
        said = words if column < _CURRENT else rule.flies_forward(words, "")
        sheet.across(row, column, column, said, form)


# --- one propeller and cell count ----------------------------------------------------------------------------


_PLAIN: tuple[tuple[Node, dict[str, Any]], ...] = (
    (call("in short", g.prop), {"bold": True, "align": "left"}),
    (g.cells, {"num_format": '0"S"', "align": "center"}),
    (g.steady["top_current"], {"num_format": "0.0", "align": "center"}),
    (g.peak["top_current"], {"num_format": "0.0", "align": "center"}),
)


def _write_group(sheet: Sheet, group: int, ruled: bool) -> None:
    """Write the two lines of a propeller and cell count; spare ones stay without a grid."""
    top = _TOP + 2 * group
    for row in (top, top + 1):
        sheet.height(row, _ROW)
    for column, (source, style) in enumerate(_PLAIN):
        form = _form(sheet, ruled, **style)
        sheet.merged(top, column, column, form, rows=2)
        sheet.live(top, column, source, form, at=group)
    for column, (first, second) in _LINES.items():
        edge: dict[str, Any] = {"left": 1, "left_color": RULE} if ruled and column in (_HELD, _CURRENT) else {}
        edge |= {"align": "center", "bold": column in (_HELD + 1, _BURSTS + 1)}
        sheet.live(top, column, first, _form(sheet, False, **edge), at=group)
        sheet.live(top + 1, column, second, _form(sheet, ruled, **edge), at=group)


def _form(sheet: Sheet, ruled: bool, **style: Any) -> Any:
    line = {"bottom": 1, "bottom_color": RULE} if ruled else {}
    return sheet.book.formats.get(shrink=True, **line, **style)


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


# --- colours ---------------------------------------------------------------------------------------------------


def _colour(sheet: Sheet, last: int) -> None:
    """Shade by verdict, which the cell says in words; amps held have the colour of the verdict above them."""
    fills = ((n.COVERS, GOOD_FILL), (n.BORDERLINE, MIDDLE_FILL), (n.SHORT, BAD_FILL))
    for left, right in ((_HELD, _CURRENT - 1), (_BURSTS, _LAST)):
        sheet.shade_words((_TOP, left, last, right), fills, "containing")
    above = cell_address(_TOP, _HELD)
    for word, fill in fills:
        asked = f'=AND(MOD(ROW(),2)={(_TOP + 2) % 2},ISNUMBER(SEARCH("{word}",{above})))'
        sheet.shade((_TOP + 1, _HELD, last, _CURRENT - 1), {"bg_color": fill}, type="formula", criteria=asked)


SHEET = SheetPlan(
    "ESC",
    Kind.READ,
    "which ESC size covers each propeller and cell count, held and in short bursts",
    writes=_write_esc,
    places=_place_esc,
    printed=True,
)
