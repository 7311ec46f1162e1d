"""The two pictures to publish, 1920 x 1080 and 1080 x 1350: title, conditions, table, bars, answers, notes, caution."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from xlsengine.bench.advice.short_answers import BURSTS_TITLE, HELD_TITLE
from xlsengine.cautions import ON_A_PICTURE
from xlsengine.publish.content import AIR, BURSTS, CURRENT, HELD, PER_WATT, THRUST, Answer, Content, Line, in_cells
from xlsengine.publish.drawing import Drawing, draw_bar, png, text_width, wrap
from xlsengine.workbook.formats import CELL_COUNT_FILLS, CELL_COUNT_HEADS, DOUBT_FILL, GOOD_FILL, GREY, INK, RULE, SLATE

WIDE, TALL = (1920, 1080), (1080, 1350)
_LEFT = {WIDE: 40, TALL: 36}
_SHORT = {HELD_TITLE: "ESC, full throttle held", BURSTS_TITLE: "ESC, short bursts in forward flight"}
_COLOURS = ("#B84A00", "#9A6700", "#00795A")
_GREEN, _WHITE = "#00694B", "#FFFFFF"
_FIGURES = (
    ("Thrust g", THRUST, 5.2),
    ("Amps", CURRENT, 3.5),
    ("g/W", PER_WATT, 3.4),
    ("In air A", AIR, 4.3),
    ("ESC A", HELD, 3.4),
)
"""The figures of the table: header, place in a line, and the width of their column in sizes of its type."""
_NARROWER = ((0, 1, 2, 3, 4), (0, 1, 3, 4), (0, 1, 4), (0, 4), (0,))
"""Which of them stand in the table, by the room there is."""
_TOP, _HEAD, _GAP, _PAD = 44, 84, 12, 14  # a table's first header row, both of them, between cell counts, within a cell
_LOWEST_ROW, _SMALLEST, _LARGEST, _NAMED = 37.0, 23.0, 38.0, 20.0
_BARS, _THICKEST, _LABELLED = 430, 50.0, 17.0
_FOOT, _NOTES, _LINE_OF_NOTES = 38, 17.0, 24
NOTHING = "No full-throttle reading counts."


def picture(content: Content, size: tuple[int, int]) -> bytes:
    """Return a picture of one of both sizes as PNG, its title and its alt text in it."""
    page, props = drawn(content, size)
    return png(page, content.title, described(content, props))


def alt_text(content: Content, size: tuple[int, int]) -> str:
    """Return the alt text of a picture."""
    return described(content, drawn(content, size)[1])


def drawn(content: Content, size: tuple[int, int]) -> tuple[Drawing, Sequence[str]]:
    """Return a picture's shapes and the propellers that it shows; `size` is `WIDE` or `TALL`."""
    return _wide(content) if size == WIDE else _tall(content)


def _wide(content: Content) -> tuple[Drawing, Sequence[str]]:
    page, left = Drawing(*WIDE), _LEFT[WIDE]
    who = ", ".join(each for each in (content.tester, content.date) if each)
    right = page.text(1880, 62, who, 27, GREY, anchor="end", room=620, least=20)
    room = 1840 - right - 40
    used = page.text(left, 60, content.title, 54, bold=True, room=room - 330, least=30)
    page.text(left + used + 26, 64, content.label, 34, GREY, room=room - used - 26, least=18)
    y = 118 + _draw_sentences(page, 118, f"{content.sample}{content.short_conditions}", 2, 25)
    room = (788 - y) / len(bands(content)) - _HEAD - 8
    props = shown_props(content, int(room / _LOWEST_ROW))
    figures, _ = _draw_tables(page, content, props, y, min(136.0, room / max(1, len(props))), _BARS)
    for (x, width), answer, colour in zip(
        ((40, 560), (640, 560), (1240, 640)), _three_answers(content), _COLOURS, strict=True
    ):
        _draw_answer_column(page, answer, colour, x, width)
    _draw_sentences(page, 972, notes(content, props, figures, bool(page.shortened)), 2, 21, _NOTES)
    _draw_caution(page, 1)
    return page, props


def _tall(content: Content) -> tuple[Drawing, Sequence[str]]:
    page, left = Drawing(*TALL), _LEFT[TALL]
    page.text(left, 54, content.title, 50, bold=True, room=1008, least=30)
    who = " · ".join(each for each in (content.label, content.tester, content.date) if each)
    page.text(left, 106, who, 28, GREY, room=1008, least=20)
    y = 146 + _draw_sentences(page, 146, f"{content.sample}{content.short_conditions}", 3, 25)
    more = _LINE_OF_NOTES if content.caveat else 0  # what is to be settled takes a line
    bottom, tables = 944.0 - more, len(bands(content))
    props = shown_props(content, int(((bottom - y - 150) / tables - _HEAD - 8) / _LOWEST_ROW))
    row = (0.62 * (bottom - y) / tables - _HEAD - 8) / max(1, len(props))
    figures, y = _draw_tables(page, content, props, y, min(64.0, max(_LOWEST_ROW, row)), 0)
    _draw_bars_below(page, content, props, y, bottom)
    for place, (answer, colour) in enumerate(zip(_three_answers(content), _COLOURS, strict=True)):
        _draw_answer_row(page, answer, colour, 954 - more + place * 76)
    said = notes(content, props, figures, bool(page.shortened))
    _draw_sentences(page, 1188 - more, said, 4 if more else 3, 19, _NOTES)
    _draw_caution(page, 2)
    return page, props


# --- the table ---------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Grid:
    """Where a table stands, how wide are its names and each cell count, how high its rows, how large its type."""

    y: float
    names: float
    group: float
    row: float
    size: float
    figures: tuple[tuple[str, int, float], ...]

    def columns(self, x: float) -> Iterator[tuple[str, int, float, float]]:
        """Yield header, place in a line, left edge and width of the columns of a cell count that begins at `x`."""
        whole = sum(ems for *_, ems in self.figures)
        for header, figure, ems in self.figures:
            yield header, figure, x, self.group * ems / whole
            x += self.group * ems / whole


def _draw_tables(
    page: Drawing, content: Content, props: Sequence[str], y: float, row: float, bars: float
) -> tuple[list[int], float]:
    """Draw the tables, with `bars` beside them where these have a width; return the figures they show, and where they end."""
    left, rows = _LEFT[page.width, page.height], bands(content)
    width = page.width - 2 * left
    names = max(190.0, min(250.0, 24 + max((text_width(prop, 30, True) for prop in props), default=0.0)))
    group = (width - bars - names) / len(rows[0]) - _GAP
    for shown in _NARROWER:
        figures = tuple(_FIGURES[place] for place in shown)
        size = min(_LARGEST, row * 0.62, group / sum(ems for *_, ems in figures))
        if size >= min(_SMALLEST, row * 0.62):
            break
    if content.bursts:
        figures = tuple((header, BURSTS if figure == HELD else figure, ems) for header, figure, ems in figures)
    for counts in rows:
        grid = _Grid(y, names, group, row, size, figures)
        _draw_table(page, content, props, counts, grid)
        if bars:
            x = page.width - left - bars + _GAP
            page.text(x, y + 22, "Thrust at full throttle, g", 25, bold=True, room=page.width - left - x, least=18)
            if counts == rows[0]:
                _draw_key(page, content, y + 64)
            _draw_bars(page, content, props, counts, (x, y + _HEAD, page.width - left - x, row))
        y += _HEAD + row * len(props) + 8
    return [figure for _, figure, _ in figures], y


def _draw_table(page: Drawing, content: Content, props: Sequence[str], counts: range, grid: _Grid) -> None:
    left, head = _LEFT[page.width, page.height], min(grid.size * 0.85, 23.0)
    width = grid.names + len(counts) * (grid.group + _GAP) - _GAP
    page.box(left, grid.y, grid.names - _GAP, _TOP, INK)
    page.text(left + _PAD, grid.y + _TOP / 2, "Full throttle", 25, _WHITE, True, room=grid.names - 40, least=16)
    page.text(left + 2, grid.y + 66, "Propeller", head, GREY)
    begins = [left + grid.names + place * (grid.group + _GAP) for place in range(len(counts))]
    for x, number in zip(begins, counts, strict=True):
        words = in_cells(content.cell_counts[number]) if content.cell_counts else "No cell count"
        page.box(x, grid.y, grid.group, _TOP, CELL_COUNT_HEADS[number])
        middle, room = x + grid.group / 2, grid.group - 8
        page.text(middle, grid.y + _TOP / 2, words, 25, _WHITE, True, "middle", room=room, least=16)
        for header, _, column, wide in grid.columns(x):
            page.text(column + wide - _PAD, grid.y + 66, header, head, GREY, anchor="end", room=wide - 4, least=16)
    for place, prop in enumerate(props):
        y = grid.y + _HEAD + place * grid.row
        page.rule(left, y, width, RULE)
        page.name(left + 2, y + grid.row / 2, prop, grid.size, grid.names - 16, grid.row, _NAMED)
        for x, number in zip(begins, counts, strict=True):
            _draw_figures(page, content, grid, (x, y), (prop, number))
    page.rule(left, grid.y + _HEAD + len(props) * grid.row, width, RULE)


def _draw_figures(
    page: Drawing, content: Content, grid: _Grid, at: tuple[float, float], which: tuple[str, int]
) -> None:
    """Draw the figures of a propeller on a cell count; the best and the doubtful stand on a ground of their own."""
    line, (x, y) = content.line_of(*which), at
    for _, figure, column, wide in grid.columns(x):
        best = line is not None and content.is_best(line, figure) and not line.doubtful
        doubtful = line is not None and line.doubtful
        if best or doubtful:
            high = min(grid.row * 0.82, grid.size * 2)
            fill = GOOD_FILL if best else DOUBT_FILL
            page.box(column + 3, y + (grid.row - high) / 2, wide - 6, high, fill, 5)
        text, ink = ("–", GREY) if line is None else (mark(line, figure) or "–", _GREEN if best else INK)
        room = wide - _PAD - 4
        page.text(column + wide - _PAD, y + grid.row / 2, text, grid.size, ink, best, "end", room=room, least=16)


# --- bars --------------------------------------------------------------------------------------------------------


def _draw_bars(
    page: Drawing, content: Content, props: Sequence[str], counts: range, place: tuple[float, float, float, float]
) -> None:
    """Draw a bar of thrust for each cell count in rows that begin at (x, y), within a width; the fourth is a row's height."""
    x, y, width, row = place
    known = [line.numbers[THRUST] for line in content.lines if line.numbers[THRUST] is not None]
    if not known:
        page.text(x, y + 24, NOTHING, 22, GREY, room=width, least=16)
        return
    most = max(number or 0.0 for number in known) or 1.0
    high = min(_THICKEST, row * 0.82 / len(counts))
    size = min(22.0, high * 0.78)
    labelled = size >= _LABELLED
    room = width - (text_width(f"{most:,.0f}", size) + 12 if labelled else 0)
    for down, prop in enumerate(props):
        for turn, number in enumerate(counts):
            line = content.line_of(prop, number)
            thrust = line.numbers[THRUST] if line else None
            if line is None or thrust is None:
                continue
            top = y + down * row + (row - high * len(counts)) / 2 + turn * high
            name, shown = (f"{line.cells}S", line.shown[THRUST]) if labelled else ("", "")
            draw_bar(page, (x, top, room * thrust / most, high - 2), number, size, name, shown)
    page.path(((x, y), (x, y + len(props) * row)), INK, 2)


def _draw_key(page: Drawing, content: Content, middle: float) -> None:
    """Draw which colour stands for which cell count, from the right edge to the left."""
    right, size = page.width - float(_LEFT[page.width, page.height]), 22
    for number in reversed(range(len(content.cell_counts))):
        right -= page.text(right, middle, f"{content.cell_counts[number]}S", size, anchor="end") + 8 + size * 0.8
        page.box(right, middle - size * 0.4, size * 0.8, size * 0.8, CELL_COUNT_FILLS[number])
        right -= 18


def _draw_bars_below(page: Drawing, content: Content, props: Sequence[str], y: float, bottom: float) -> None:
    """Draw the bars of as many propellers as there is room for; the title says how many."""
    counts = range(max(1, len(content.cell_counts)))
    room = bottom - y - 58
    shown = props[: max(1, int(room / (20 * len(counts) + 8)))]
    which = "" if len(shown) == len(props) else f", the {len(shown)} highest" if len(shown) > 1 else ", the highest"
    page.text(36, y + 28, f"Thrust at full throttle, g{which}", 25, bold=True, room=760)
    _draw_key(page, content, y + 28)
    row = min(110.0, room / max(1, len(shown)))
    for place, prop in enumerate(shown):
        page.name(36, y + 52 + (place + 0.5) * row, prop, 24, 222, row, 18)
    _draw_bars(page, content, shown, counts, (270, y + 52, 774, row))


# --- words -------------------------------------------------------------------------------------------------------


def _three_answers(content: Content) -> tuple[Answer, Answer, Answer]:
    """Return the two about the ESC in the order of the Report, and between them the amps in the air."""
    first, second = (
        Answer(_SHORT[each.title], each.line, each.words.partition(". ")[0].rstrip(".")) for each in content.answers[:2]
    )
    return first, content.air, second


def _draw_answer_column(page: Drawing, answer: Answer, colour: str, x: float, width: float) -> None:
    """Draw an answer of the wide picture; a line for many cell counts gets smaller and takes two."""
    page.box(x, 798, width, 6, colour)
    page.text(x, 827, answer.title, 24, colour, True, room=width, least=18)
    if text_width(answer.line, 26, True) <= width:
        page.text(x, 869, answer.line, 36, bold=True, room=width, least=26)
    else:
        size = _fitting_size(answer.line, width, 2, 24, 16)
        page.paragraph(x, 869 - 0.6 * size, answer.line, size, width, 2, 1.2, bold=True)
    page.paragraph(x, 906, answer.words, _fitting_size(answer.words, width, 2, 21, 17), width, 3, 1.24, fill=SLATE)


_WORDS_ROOM = 974  # as measured: what is drawn of a small type may be one percent wider


def _draw_answer_row(page: Drawing, answer: Answer, colour: str, y: float) -> None:
    """Draw an answer of the tall picture; a line for many cell counts stands in place of the words."""
    page.box(36, y, 8, 66, colour)
    if text_width(answer.line, 24, True) > 560:
        page.text(60, y + 18, answer.title, 25, colour, True, room=984, least=17)
        page.text(60, y + 51, answer.line, 26, INK, True, room=984, least=17)
        return
    used = page.text(1044, y + 18, answer.line, 31, INK, True, "end", room=560, least=24)
    page.text(60, y + 18, answer.title, 25, colour, True, room=984 - used - 16, least=17)
    if text_width(answer.words, 17, False) > _WORDS_ROOM:
        page.paragraph(60, y + 42, answer.words, 17, _WORDS_ROOM, 2, 1.2, SLATE)
    else:
        page.text(60, y + 51, answer.words, 21, SLATE, room=_WORDS_ROOM, least=17)


def _fitting_size(text: str, room: float, lines: int, size: float, least: float) -> float:
    """Return the largest size at which a text takes no more than so many lines."""
    while size > least and len(wrap(text, size, room)) > lines:
        size -= 0.5
    return size


def _draw_sentences(page: Drawing, middle: float, text: str, lines: int, size: float, least: float = 20.0) -> float:
    """Write sentences in so many lines, in type that gets smaller down to `least`; return how high they are."""
    left = _LEFT[page.width, page.height]
    room = page.width - 2.0 * left
    return page.paragraph(left, middle, text, _fitting_size(text, room, lines, size, least), room, lines, fill=SLATE)


def _draw_caution(page: Drawing, lines: int) -> None:
    """Draw the dark foot with the caution, in one line or two."""
    texts = [" ".join(ON_A_PICTURE)] if lines == 1 else list(ON_A_PICTURE)
    left, high = _LEFT[page.width, page.height], 22 + _FOOT * lines
    page.box(0, page.height - high, page.width, high, INK)
    for place, text in enumerate(texts):
        middle = page.height - high + 11 + _FOOT * (place + 0.5)
        page.text(left, middle, text, 26, _WHITE, room=page.width - 2 * left, least=18)


# --- what there is room for: which propellers, which figures, and what is not on the picture ---


def shown_props(content: Content, most: int) -> list[str]:
    """Return the propellers to show, so many at most: those that decide or are best at something, then by thrust."""
    wanted = [*content.deciding, *(best for best in _best_props(content) if best not in content.deciding)]
    kept = set(wanted[:most])
    for prop in content.props:
        if len(kept) < most:
            kept.add(prop)
    return [prop for prop in content.props if prop in kept]


def _best_props(content: Content) -> list[str]:
    found = []
    for figure in (THRUST, PER_WATT):
        measured = [line for line in content.lines if line.numbers[figure] is not None]
        if measured:
            found.append(max(measured, key=lambda line: line.numbers[figure] or 0.0).prop)
    return list(dict.fromkeys(found))


def mark(line: Line, figure: int) -> str:
    """Return a figure as it is shown, the thrust with its marks: of a peak, and of a flagged reading behind it."""
    text = line.shown[figure]
    return f"{'● ' * line.doubtful}{text}{' p' * line.peak}" if text and figure == THRUST else text


def bands(content: Content) -> list[range]:
    """Return which cell counts stand beside each other in a table; further ones follow below.

    >>> from types import SimpleNamespace
    >>> bands(SimpleNamespace(cell_counts=("3", "4", "5", "6")))
    [range(0, 2), range(2, 4)]
    """
    counts = max(1, len(content.cell_counts))
    beside = 2 if counts == 4 else min(counts, 3)
    return [range(first, min(first + beside, counts)) for first in range(0, counts, beside)]


def notes(content: Content, props: Sequence[str], figures: Sequence[int], shortened: bool) -> str:
    """Return what the marks of a picture mean and what is not on it, in as few sentences as are true."""
    shown = [line for line in content.lines if line.prop in props]
    peaks = [line.peak for line in shown]
    more = len(content.props) - len(props)
    unsettled = bool(content.caveat and content.deciding)  # which names what is left out
    said = (
        (unsettled, content.caveat),
        (not unsettled, content.why_left_out),
        (more > 0, f"{more} more propeller{'s' * (more > 1)} on the page and in the workbook."),
        (shortened, "Texts that end in … are whole on the page."),
        (any(peaks), "p: a peak, less when held."),
        (any(line.doubtful for line in shown), "●: a flagged reading."),
        (bool(shown), content.estimate),
        (HELD in figures, "ESC A: full throttle held."),
        (BURSTS in figures, content.bursts),
        (bool(shown), "Green: best of its column."),
    )
    return " ".join(words for holds, words in said if holds)


def described(content: Content, props: Sequence[str]) -> str:
    """Return the alt text of a picture: what was tested, what the table holds, and the answers."""
    *first, last = [f"{count}S" for count in content.cell_counts] or ["no cell count"]
    counts = f"{', '.join(first)} and {last}" if first else last
    best = max(
        (line for line in content.lines if line.numbers[THRUST] is not None),
        key=lambda line: line.numbers[THRUST] or 0.0,
        default=None,
    )
    highest = f" Highest thrust {best.shown[THRUST]} g with {best.prop} on {best.cells}S." if best else ""
    answers = " ".join(f"{each.title}: {each.line}." for each in (content.answers[0], content.air, content.answers[1]))
    return (
        f"Bench test of {content.title}: table and bars of {len(props)} of {len(content.props)} propellers at full throttle "
        f"on {counts}.{highest} {answers} {content.short_conditions} {content.why_left_out}"
    )
