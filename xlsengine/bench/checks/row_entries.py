"""One entry a reading: of all checks that are raised on it the one that explains it best, as severe as the worst.

What the group checks explain as well or better stands among them, as written; a check that says to stop has an entry of
its own.
"""

from __future__ import annotations

from collections.abc import Iterable

from xlsengine.bench.checks.row_checks import CODES, RAISED, ROW_CHECKS, Explains, Severity
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.judging import judgements
from xlsengine.expression import BLANK, Column, Node, Operand, as_node, call, greater, join, say

__all__ = ["ENTRIES", "RANKS", "REMARK_CODES", "STOP_CODES", "entry", "entry_severity", "row_flags", "severity_word"]

STOP_CODES = tuple(code for code, check in enumerate(ROW_CHECKS, 1) if check.stops)
REMARK_CODES = tuple(code for code, check in enumerate(ROW_CHECKS, 1) if not check.fix)
"""Checks that ask for nothing: one sentence says it of all their readings."""


def _raised(code: int) -> Node:
    return RAISED[code - 1].present()


def _first(codes: Iterable[int], otherwise: Operand) -> Node:
    """Return the first of the checks that is raised."""
    chosen = as_node(otherwise)
    for code in reversed(tuple(codes)):
        chosen = _raised(code).where(float(code), chosen)
    return chosen


def _of_order(order: Explains) -> list[int]:
    """Return the checks of one place in the order of explanation, those that ask for nothing last."""
    own = [code for code, check in enumerate(ROW_CHECKS, 1) if check.order is order and code not in STOP_CODES]
    return sorted(own, key=lambda code: code in REMARK_CODES)


def _best() -> Node:
    """Return the check that explains the row best, 0 where none is raised or a group check does so as well."""
    chosen = as_node(0.0)
    for order in reversed(Explains):
        is_written = (judgements.order >= 1.0) & (judgements.order <= float(order))
        chosen = is_written.where(0.0, _first(_of_order(order), chosen))
    return chosen


def _worst() -> Node:
    """Return the worst severity among the group checks and the checks that do not speak for themselves."""
    worst = as_node(0.0)
    for code, check in sorted(enumerate(ROW_CHECKS, 1), key=lambda numbered: numbered[1].severity):
        if not check.stops:
            worst = _raised(code).where(float(check.severity), worst)
    return greater(worst, judgements.severity)


entry = r.READINGS.helper("entry", "Check that speaks").derive(
    _best(), "Which live check speaks for the reading; 0 where none, or a comparison does."
)
entry_severity = r.READINGS.helper("entry_severity", "Severity").derive(
    _worst(), "1 note, 2 doubtful, 3 impossible; 0 where nothing is."
)

RANKS = 1e9
"""More than row and code come to."""


def _rank(severity: Operand) -> Node:
    """Return what puts the severe before the others in the list of the Checks sheet, by row among their like."""
    return (float(max(Severity)) - as_node(severity)) * RANKS


def _listed() -> Node:
    """Return rank, row and code of the entry, so that the Checks sheet can list it; what asks for nothing is told once."""
    listed: Node = _rank(entry_severity) + r.row_number * CODES + entry
    for code in (0, *REMARK_CODES):
        listed = entry.equals(float(code)).where(BLANK, listed)
    return listed


def _stops() -> list[tuple[Column, list[int]]]:
    """Return the checks that say to stop, by the figure that they go by: one of each can be raised at a time."""
    figures = dict.fromkeys(ROW_CHECKS[code - 1].figure for code in STOP_CODES)
    return [(figure, [code for code in STOP_CODES if ROW_CHECKS[code - 1].figure == figure]) for figure in figures]


def _stop_code(codes: Iterable[int]) -> Node:
    chosen: Node = BLANK
    for code in codes:
        chosen = _raised(code).where(_rank(float(ROW_CHECKS[code - 1].severity)) + RAISED[code - 1], chosen)
    return chosen


_KEY = "A thousand million for each step below impossible, row times 100, and code."
ENTRIES = (
    r.READINGS.helper("entry_listed", "Rank, row and check that speaks").derive(_listed(), _KEY),
    *(
        r.READINGS.helper(
            f"stop_{figure.name}", f"Rank, row and check that says stop, {figure.name.replace('_', ' ')}"
        ).derive(_stop_code(codes), _KEY)
        for figure, codes in _stops()
    ),
)


def severity_word(severity: Operand) -> Node:
    """Return a severity, from 1, as a reader sees it."""
    return call("choose", severity, *(each.word for each in Severity))


def _texts() -> Node:
    stops = [
        _raised(code).where(f"{ROW_CHECKS[code - 1].title} ({ROW_CHECKS[code - 1].severity.word}). ", "")
        for code in STOP_CODES
    ]
    title = call("choose", entry, *(check.title for check in ROW_CHECKS))
    own = (entry > 0).where(say("{} ({}).", title, severity_word(entry_severity)), "")
    return call("trim", join(*stops, own))


row_flags = r.READINGS.helper("row_flags", "Row checks").derive(
    _texts(), "The live check that speaks for this reading, and what says to stop."
)
