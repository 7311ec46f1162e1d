"""The two pictures to publish, 1920 x 1080 and 1080 x 1350: title, conditions, table, bars, answers, caution."""

from collections.abc import Sequence

from xlsengine.bench.advice.short_answers import BURSTS_TITLE, HELD_TITLE
from xlsengine.publish.choice import FIGURES, bands, described, figure_of, notes, shown_props
from xlsengine.publish.content import Answer, Content
from xlsengine.publish.drawing import Drawing, lacks_signs, png, text_width
from xlsengine.publish.parts import (
    HEAD,
    Table,
    draw_bars,
    draw_caution,
    draw_key,
    draw_sentences,
    draw_table,
    figures_that_fit,
    fitting_size,
    highest_thrust,
    short_words,
)
from xlsengine.workbook.formats import GREY, INK, SLATE

WIDE, TALL = (1920, 1080), (1080, 1350)
_SHORT = {HELD_TITLE: "ESC, full throttle held", BURSTS_TITLE: "ESC, short bursts in forward flight"}
_COLOURS = ("#B84A00", "#9A6700", "#00795A")
_LOWEST_ROW, _SMALLEST = 37.0, 23.0
_BARS, _NOTES = 360, 17.0
_LEFT = {WIDE: 40, TALL: 36}


def picture(content: Content, size: tuple[int, int]) -> bytes:
    """Return a picture of one of both sizes as PNG, its title and its alt text in it."""
    page, props = drawn(content, size)
    return png(page, content.title, described(content, props))


def alt_text(content: Content, size: tuple[int, int]) -> str:
    """Return the alt text of a picture."""
    return described(content, drawn(content, size)[1])


def drawn(content: Content, size: tuple[int, int]) -> tuple[Drawing, Sequence[str]]:
    """Return a picture's shapes and the propellers that it shows.

    Raises ValueError for another size.
    """
    if size not in _LEFT:
        raise ValueError(f"a picture is {WIDE} or {TALL}, not {size}")
    return _wide(content) if size == WIDE else _tall(content)


def _wide(content: Content) -> tuple[Drawing, Sequence[str]]:
    page, left = Drawing(*WIDE), _LEFT[WIDE]
    who = ", ".join(each for each in (content.tester, content.date) if each)
    right = page.text(1880, 62, who, 27, GREY, anchor="end", room=620, least=20)
    room = 1840 - right - 40
    kv = f"{content.kv} (label)" if content.kv else "Kv of the label not given"
    used = page.text(left, 60, content.title, 54, bold=True, room=room - 330, least=30)
    page.text(left + used + 26, 64, kv, 34, GREY, room=room - used - 26, least=18)
    said = f"{content.sample}{content.short_conditions}"
    high = draw_sentences(page, left, 118, said, 1840, 2, 25)
    y, bottom = 118 + high, 788
    rows = bands(content)
    most = int((bottom - y - len(rows) * (HEAD + 8)) / len(rows) / _LOWEST_ROW)
    props = shown_props(content, most)
    figures = _draw_tables(page, content, props, rows, (left, y, 1840, bottom))
    _draw_answers(page, content, 798, ((40, 560), (640, 560), (1240, 640)))
    said = notes(content, props, figures, bool(page.shortened), lacks_signs(page))
    draw_sentences(page, left, 972, said, 1840, 2, 21, _NOTES)
    draw_caution(page, left, 1)
    return page, props


def _draw_tables(
    page: Drawing,
    content: Content,
    props: Sequence[str],
    rows: Sequence[range],
    place: tuple[float, float, float, float],
) -> list[int]:
    """Draw the tables of the wide picture with bars beside them; return the places of the figures they show."""
    x, y, width, bottom = place
    beside = len(rows[0])
    row = min(136.0, (bottom - y - len(rows) * (HEAD + 8)) / len(rows) / max(1, len(props)))
    size, names, figures, columns = _widths(content, props, beside, min(38.0, row * 0.62), width)
    for counts in rows:
        table = Table(content, props, counts, figures, x, y, row, size, names, columns)
        draw_table(page, table)
        bars = x + names + beside * (sum(columns) + 12) + 20
        page.text(bars, y + 22, "Thrust at full throttle, g", 25, bold=True, room=x + width - bars, least=18)
        if counts == rows[0]:
            draw_key(page, content, x + width, y + 64, 22)
        draw_bars(page, content, props, counts, (bars, table.top, x + width - bars, row), highest_thrust(content))
        y = table.bottom + 8
    return [figure_of(content, place)[1] for place in figures]


def _widths(
    content: Content, props: Sequence[str], beside: int, size: float, width: float
) -> tuple[float, float, tuple[int, ...], tuple[float, ...]]:
    """Return type, width of names, figures and widths of columns: all figures in smaller type before fewer of them."""
    while True:
        names = _names_width(props, size, 340 if beside < 3 else 250)
        figures, columns = figures_that_fit(content, props, beside, size, width - names - _BARS)
        if len(figures) == len(FIGURES) or size <= _SMALLEST:
            return size, names, figures, columns
        size -= 1


def _names_width(props: Sequence[str], size: float, most: float) -> float:
    return max(190.0, min(most, 24 + max((text_width(prop, size, True) for prop in props), default=0.0)))


def _three_answers(content: Content) -> tuple[Answer, Answer, Answer]:
    """Return the two about the ESC in the order of the Report, and between them the amps in the air."""
    first, second = (Answer(_SHORT[each.title], each.line, short_words(each)) for each in content.answers[:2])
    return first, content.air, second


def _draw_answers(page: Drawing, content: Content, y: float, spans: Sequence[tuple[float, float]]) -> None:
    for (x, width), answer, colour in zip(spans, _three_answers(content), _COLOURS, strict=True):
        page.box(x, y, width, 6, colour)
        page.text(x, y + 29, answer.title, 24, colour, True, room=width, least=18)
        _write_line(page, x, y + 71, answer.line, width)
        size = fitting_size(answer.words, width, 2, 21, 17)
        page.paragraph(x, y + 108, answer.words, size, width, 3, 1.24, fill=SLATE)


def _write_line(page: Drawing, x: float, middle: float, line: str, width: float) -> None:
    """Write an answer in large type; one for many cell counts in two lines."""
    if text_width(line, 26, True) <= width:
        page.text(x, middle, line, 36, bold=True, room=width, least=26)
    else:
        size = fitting_size(line, width, 2, 24, 16)
        page.paragraph(x, middle - 0.6 * size, line, size, width, 2, 1.2, bold=True)


def _tall(content: Content) -> tuple[Drawing, Sequence[str]]:
    page, left = Drawing(*TALL), _LEFT[TALL]
    page.text(left, 54, content.title, 50, bold=True, room=1008, least=30)
    kv = f"{content.kv} (label)" if content.kv else "Kv of the label not given"
    who = " · ".join(each for each in (kv, content.tester, content.date) if each)
    page.text(left, 106, who, 28, GREY, room=1008, least=20)
    said = f"{content.sample}{content.short_conditions}"
    y = 146 + draw_sentences(page, left, 146, said, 1008, 3, 25)
    more = _LINE_OF_NOTES if content.caveat else 0  # what is to be settled takes a line
    bottom, rows = 944.0 - more, bands(content)
    most = int((bottom - y - 150 - len(rows) * (HEAD + 8)) / len(rows) / _LOWEST_ROW)
    props = shown_props(content, most)
    figures, y = _draw_tall_tables(page, content, props, rows, y, bottom)
    _draw_tall_bars(page, content, props, y, bottom)
    for place, (answer, colour) in enumerate(zip(_three_answers(content), _COLOURS, strict=True)):
        _draw_tall_answer(page, answer, colour, 954 - more + place * 76)
    said = notes(content, props, figures, bool(page.shortened), lacks_signs(page))
    draw_sentences(page, left, 1188 - more, said, 1008, 4 if more else 3, 19, _NOTES)
    draw_caution(page, left, 2)
    return page, props


def _draw_tall_tables(
    page: Drawing, content: Content, props: Sequence[str], rows: Sequence[range], y: float, bottom: float
) -> tuple[list[int], float]:
    beside, heads = len(rows[0]), len(rows) * (HEAD + 8)
    row = min(64.0, max(_LOWEST_ROW, (0.62 * (bottom - y) - heads) / len(rows) / max(1, len(props))))
    size = 29.0 if row > 44 and beside < 3 else 25.0
    names = _names_width(props, size, 250)
    figures, columns = figures_that_fit(content, props, beside, size, 1008 - names + 12)
    spare = (1008 - names - beside * 12 + 12 - beside * sum(columns)) / beside / len(columns)
    for counts in rows:
        wide = tuple(column + spare for column in columns)
        table = Table(content, props, counts, figures, _LEFT[TALL], y, row, size, names, wide)
        draw_table(page, table)
        y = table.bottom + 8
    return [figure_of(content, place)[1] for place in figures], y


_LINE_OF_NOTES = 24


def _draw_tall_bars(page: Drawing, content: Content, props: Sequence[str], y: float, bottom: float) -> None:
    """Draw the bars of as many propellers as there is room for; the title says how many."""
    counts = range(max(1, len(content.cell_counts)))
    room = bottom - y - 58
    most = max(1, int(room / (20 * len(counts) + 8)))
    shown = props[:most]
    which = "" if len(shown) == len(props) else f", the {len(shown)} highest" if len(shown) > 1 else ", the highest"
    page.text(36, y + 28, f"Thrust at full throttle, g{which}", 25, bold=True, room=760)
    draw_key(page, content, 1044, y + 28, 22)
    row = min(110.0, room / max(1, len(shown)))
    for place, prop in enumerate(shown):
        page.name(36, y + 52 + (place + 0.5) * row, prop, 24, 222, row, 18)
    draw_bars(page, content, shown, counts, (270, y + 52, 774, row), highest_thrust(content))


_WORDS_ROOM = 974  # as measured: what is drawn of a small type may be one percent wider


def _draw_tall_answer(page: Drawing, answer: Answer, colour: str, y: float) -> None:
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
