"""What a picture has room for: which propellers, which figures, and the sentences that tell what is not on it."""

from collections.abc import Sequence
from dataclasses import dataclass

from xlsengine.publish.content import AIR, BURSTS, CURRENT, HELD, PER_WATT, THRUST, Content, Line

FIGURES: tuple[tuple[str, int], ...] = (
    ("Thrust g", THRUST),
    ("Amps", CURRENT),
    ("g/W", PER_WATT),
    ("In air A", AIR),
    ("ESC A", HELD),
)
"""The figures of a picture's table, with their places in a line; of the ESC sizes the one for what is flown."""
NARROWER = ((0, 1, 2, 3, 4), (0, 1, 3, 4), (0, 1, 4), (0, 4), (0,))
"""Which of them stand in the table, by the room there is."""
_FLAG, _PEAK = "● ", " p"


@dataclass(frozen=True)
class Cell:
    """A figure of the table as it stands in a picture."""

    text: str
    best: bool
    doubtful: bool


def figure_of(content: Content, place: int) -> tuple[str, int]:
    """Return header and place in a line of one of `FIGURES`."""
    header, figure = FIGURES[place]
    return header, BURSTS if figure == HELD and content.bursts else figure


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


def cell(content: Content, line: Line, figure: int) -> Cell:
    """Return a figure with its marks: the best thrust and grams per watt of its cell count, peaks, flagged readings."""
    text = line.shown[figure]
    number = line.numbers[figure]
    best = figure in (THRUST, PER_WATT) and number is not None and number == content.most(figure, line.place)
    if text and figure == THRUST:
        text = f"{_FLAG * line.doubtful}{text}{_PEAK * line.peak}"
    return Cell(text, best and not line.doubtful, line.doubtful)


def bands(content: Content) -> list[range]:
    """Return which cell counts stand beside each other in a table; further ones follow below.

    >>> from types import SimpleNamespace
    >>> bands(SimpleNamespace(cell_counts=("3", "4", "5", "6")))
    [range(0, 2), range(2, 4)]
    """
    counts = max(1, len(content.cell_counts))
    beside = 2 if counts == 4 else min(counts, 3)
    return [range(first, min(first + beside, counts)) for first in range(0, counts, beside)]


def notes(content: Content, props: Sequence[str], figures: Sequence[int], shortened: bool, lacks: bool) -> str:
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
        (lacks, "�: a sign that this type does not have."),
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
