"""What a picture has room for: which propellers, which figures, and the sentences that tell what is not on it."""

from collections.abc import Sequence

from xlsengine.publish.content import BURSTS, HELD, PER_WATT, THRUST, Content, Line


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
