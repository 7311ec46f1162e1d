"""The parts of a picture: its table, the bars beside it, the answers below and the caution at its foot."""

from collections.abc import Sequence
from dataclasses import dataclass

from xlsengine.cautions import ON_A_PICTURE
from xlsengine.publish.choice import NARROWER, cell, figure_of
from xlsengine.publish.content import THRUST, Answer, Content, in_cells
from xlsengine.publish.drawing import Drawing, text_width, wrap
from xlsengine.workbook.formats import CELL_COUNT_FILLS, CELL_COUNT_HEADS, DOUBT_FILL, GOOD_FILL, GREY, INK, RULE, SLATE

HEAD = 84
"""Pixels of a table's two header rows."""
_TOP, _GAP, _PAD = 44, 12, 14
_GREEN = "#00694B"
_WHITE = "#FFFFFF"
_FOOT = 38
_NAMED = 20.0
_THICKEST, _LABELLED = 50.0, 17.0
NOTHING = "No full-throttle reading counts."


@dataclass(frozen=True)
class Table:
    """A table of propellers on some cell counts: where it stands, how high its rows are and how large its type."""

    content: Content
    props: Sequence[str]
    counts: range
    figures: tuple[int, ...]
    x: float
    y: float
    row: float
    size: float
    names: float
    column: tuple[float, ...]

    @property
    def top(self) -> float:
        """Return where the first row begins."""
        return self.y + HEAD

    @property
    def bottom(self) -> float:
        """Return where the last row ends."""
        return self.top + self.row * len(self.props)

    @property
    def group(self) -> float:
        """Return the width of one cell count."""
        return sum(self.column)

    @property
    def width(self) -> float:
        """Return the whole width."""
        return self.names + len(self.counts) * (self.group + _GAP)


def column_widths(content: Content, props: Sequence[str], figures: Sequence[int], size: float) -> tuple[float, ...]:
    """Return the widths that the figures of some propellers and their headers need."""
    widths, shown = [], [line for line in content.lines if line.prop in props]
    for place in figures:
        header, figure = figure_of(content, place)
        texts = [text_width(cell(content, line, figure).text, size, True) for line in shown]
        widths.append(max([*texts, text_width(header, _heading(size))]) + 2 * _PAD)
    return tuple(widths)


def _heading(size: float) -> float:
    return min(size * 0.85, 23.0)


def figures_that_fit(
    content: Content, props: Sequence[str], counts: int, size: float, room: float
) -> tuple[tuple[int, ...], tuple[float, ...]]:
    """Return the figures that so many cell counts have room for, and the widths of their columns."""
    for figures in NARROWER:
        widths = column_widths(content, props, figures, size)
        if counts * (sum(widths) + _GAP) <= room or figures == NARROWER[-1]:
            return figures, widths
    raise AssertionError


def draw_table(page: Drawing, table: Table) -> None:
    """Draw a table."""
    page.box(table.x, table.y, table.names - _GAP, _TOP, INK)
    page.text(table.x + _PAD, table.y + _TOP / 2, "Full throttle", 25, _WHITE, True, room=table.names - 40, least=16)
    page.text(table.x + 2, table.y + 66, "Propeller", _heading(table.size), GREY)
    for place, number in enumerate(table.counts):
        _draw_head(page, table, table.x + table.names + place * (table.group + _GAP), number)
    for place, prop in enumerate(table.props):
        y = table.top + place * table.row
        page.rule(table.x, y, table.width - _GAP, RULE)
        page.name(table.x + 2, y + table.row / 2, prop, table.size, table.names - 16, table.row, _NAMED)
        for group, number in enumerate(table.counts):
            _draw_figures(page, table, table.x + table.names + group * (table.group + _GAP), y, prop, number)
    page.rule(table.x, table.bottom, table.width - _GAP, RULE)


def _draw_head(page: Drawing, table: Table, x: float, number: int) -> None:
    counts = table.content.cell_counts
    words = in_cells(counts[number]) if number < len(counts) else "No cell count"
    page.box(x, table.y, table.group, _TOP, CELL_COUNT_HEADS[number])
    page.text(
        x + table.group / 2, table.y + _TOP / 2, words, 25, _WHITE, True, "middle", room=table.group - 8, least=16
    )
    for place, width in zip(table.figures, table.column, strict=True):
        x += width
        page.text(x - _PAD, table.y + 66, figure_of(table.content, place)[0], _heading(table.size), GREY, anchor="end")


def _draw_figures(page: Drawing, table: Table, x: float, y: float, prop: str, number: int) -> None:
    line = table.content.line_of(prop, number)
    for place, width in zip(table.figures, table.column, strict=True):
        x += width
        if line is None:
            page.text(x - _PAD, y + table.row / 2, "–", table.size, GREY, anchor="end")
            continue
        said = cell(table.content, line, figure_of(table.content, place)[1])
        if said.best or said.doubtful:
            fill = GOOD_FILL if said.best else DOUBT_FILL
            high = min(table.row * 0.82, table.size * 2)
            page.box(x - width + 3, y + (table.row - high) / 2, width - 6, high, fill, 5)
        page.text(
            x - _PAD, y + table.row / 2, said.text or "–", table.size, _GREEN if said.best else INK, said.best, "end"
        )


def draw_bars(
    page: Drawing,
    content: Content,
    props: Sequence[str],
    counts: range,
    place: tuple[float, float, float, float],
    most: float,
) -> None:
    """Draw a bar of thrust for each cell count in rows that begin at (x, y), within a width; the fourth is a row's height."""
    x, y, width, row = place
    high = min(_THICKEST, row * 0.82 / len(counts))
    size = min(22.0, high * 0.78)
    above = (row - high * len(counts)) / 2
    room = width - (text_width(f"{most:,.0f}", size) + 12 if size >= _LABELLED else 0)
    for down, prop in enumerate(props):
        for turn, number in enumerate(counts):
            line = content.line_of(prop, number)
            thrust = line.numbers[THRUST] if line else None
            if line is None or thrust is None:
                continue
            top, long = y + down * row + above + turn * high, room * thrust / most
            page.box(x, top, long, high - 2, CELL_COUNT_FILLS[number])
            if size >= _LABELLED and long > 60:
                ink = _WHITE if number in (0, 5) else INK
                page.text(x + 8, top + high / 2 - 1, f"{line.cells}S", size, ink, True)
            if size >= _LABELLED:
                page.text(x + long + 8, top + high / 2 - 1, line.shown[THRUST], size)
    if not any(line.numbers[THRUST] is not None for line in content.lines):
        page.text(x, y + 24, NOTHING, 22, GREY, room=width, least=16)
        return
    page.path(((x, y), (x, y + len(props) * row)), INK, 2)


def draw_key(page: Drawing, content: Content, right: float, middle: float, size: float) -> None:
    """Draw which colour stands for which cell count, from right to left."""
    for number in reversed(range(len(content.cell_counts))):
        right -= page.text(right, middle, f"{content.cell_counts[number]}S", size, anchor="end") + 8 + size * 0.8
        page.box(right, middle - size * 0.4, size * 0.8, size * 0.8, CELL_COUNT_FILLS[number])
        right -= 18


def highest_thrust(content: Content) -> float:
    """Return the longest bar's thrust, never 0."""
    return max([line.numbers[THRUST] or 0.0 for line in content.lines], default=0.0) or 1.0


def short_words(answer: Answer) -> str:
    """Return the first sentence of an answer's words."""
    return answer.words.partition(". ")[0].rstrip(".")


def fitting_size(text: str, room: float, lines: int, size: float, least: float) -> float:
    """Return the largest size at which a text takes no more than so many lines."""
    while size > least and len(wrap(text, size, room)) > lines:
        size -= 0.5
    return size


def draw_sentences(
    page: Drawing, x: float, middle: float, text: str, room: float, lines: int, size: float, least: float = 20.0
) -> float:
    """Write sentences in so many lines, in type that gets smaller down to `least`; return how high they are."""
    size = fitting_size(text, room, lines, size, least)
    return page.paragraph(x, middle, text, size, room, lines, fill=SLATE)


def draw_caution(page: Drawing, left: float, lines: int) -> None:
    """Draw the dark foot with the caution, in one line or two."""
    texts = [" ".join(ON_A_PICTURE)] if lines == 1 else list(ON_A_PICTURE)
    high = 22 + _FOOT * lines
    page.box(0, page.height - high, page.width, high, INK)
    for place, text in enumerate(texts):
        page.text(
            left,
            page.height - high + 11 + _FOOT * (place + 0.5),
            text,
            26,
            _WHITE,
            room=page.width - 2 * left,
            least=18,
        )
