"""± of a single reading: a line a figure, from which the ± of every row follows."""

from xlsengine.bench.propagation.accuracies import LIMIT_TO_DEVIATION, taken_thrust_accuracy
from xlsengine.bench.propagation.terms import NOTHING, coverage_factor
from xlsengine.bench.uncertainty.row_uncertainty import SINGLE, SINGLES, Single
from xlsengine.expression import Named, Node, join
from xlsengine.workbook.book import Sheet
from xlsengine.workbook.layout import Layout
from xlsengine.workbook.sheets.parts import Content

HEADERS = (
    "Figure",
    "± at highest thrust",
    "Share",
    "Power of thrust p",
    "Degrees of freedom",
    "Coverage factor k",
    "Behind it",
)
_SPANS = ((0, 1), (2, 2), (3, 3), (4, 4), (5, 5), (6, 6), (7, 10))
_SHARE, _FREEDOM = _SPANS[2][0], _SPANS[4][0]
_BLANK = (
    "A line is blank where no reading has its figure. What stays unexplained of the watts has no line: it is a small "
    "difference of figures that have."
)
_LETTERS = (30, 44)  # of the first and the last span in a line
_ABOVE = 4
"""Rows of title, explanation and headers."""
_STAND = taken_thrust_accuracy * LIMIT_TO_DEVIATION
_AT_HIGHEST = _STAND / Named("best_thrust")


def place_singles(layout: Layout, content: Content, sheet: str, top: int) -> int:
    """Place the block with its title at `top`; return the row below."""
    lines = _lines(layout)
    for row, each in enumerate(lines, start=top + _ABOVE):
        layout.name(each.share.name, sheet, row, _SHARE)
        layout.name(each.freedom.name, sheet, row, _FREEDOM)
    return top + _ABOVE + len(lines) + 1


def _lines(layout: Layout) -> list[Single]:
    """Return the figures that something was read for."""
    return [each for each in SINGLES if not layout.is_left_out(each.share)]


def write_singles(sheet: Sheet, content: Content, top: int) -> int:
    """Write the block where it was placed; return the row below."""
    formats, lines, first = sheet.book.formats, _lines(sheet.book.layout), top + _ABOVE
    sheet.text(first - _ABOVE, 0, SINGLE.name, formats.section)
    how = join(
        "Relative standard uncertainty u(y)/y = √(share² + (p·u(T)/T)²), with the thrust stand's u(T) = ",
        _STAND.fixed(2),
        " g; ± is k times that, k a little less where u(T)/T is large.",
    )
    sheet.live(first - _ABOVE + 1, 0, how.otherwise(""), formats.subtitle)
    sheet.text(first - _ABOVE + 2, 0, _BLANK, formats.subtitle)
    for (left, right), words in zip(_SPANS, HEADERS, strict=True):
        sheet.across(first - 1, left, right, words, formats.header)
    sheet.worksheet.set_row(first - 1, 44)
    for row, each in enumerate(lines, start=first):
        _write_line(sheet, row, each)
    return first + len(lines) + 1


def _write_line(sheet: Sheet, row: int, each: Single) -> None:
    formats = sheet.book.formats
    percent, plain = formats.derived(2, num_format="0.00%"), formats.derived(2)
    words = formats.derived(0, text=True)
    cells: tuple[tuple[Node, object], ...] = (
        (each.expanded(_AT_HIGHEST), percent),
        (SINGLE.quantities[each.share.name].expression, percent),
        (each.power, plain),
        (SINGLE.quantities[each.freedom.name].expression, formats.derived(0)),
        (coverage_factor(each.freedom), plain),
    )
    for (left, right), text in ((_SPANS[0], each.label), (_SPANS[-1], _behind(each))):
        sheet.across(row, left, right, text, words)
    for (left, _), (node, form) in zip(_SPANS[1:-1], cells, strict=True):
        sheet.live(row, left, node, form)
    lines = max(-(-len(each.label) // _LETTERS[0]), -(-len(_behind(each)) // _LETTERS[1]))
    sheet.worksheet.set_row(row, 13 * lines + 3)


def _behind(each: Single) -> str:
    """Name the sources of error that the figure feels."""
    names = ["Thrust stand"] if each.power != NOTHING else []
    names += [error.label for error, _ in each.shares]
    names += ["scatter of repeats"] if each.scatter != NOTHING else []
    return ", ".join(name if place == 0 else name[0].lower() + name[1:] for place, name in enumerate(names))
