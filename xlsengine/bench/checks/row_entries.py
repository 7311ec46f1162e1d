"""One entry a reading: of all checks that are raised on it the one that explains it best, as severe as the worst.

What the group checks explain as well or better stands among them, as written. A check that says to stop is never
absorbed: where it does not speak itself, its words stand in the entry of its reading.
"""

from collections.abc import Iterable

from xlsengine.bench.checks.row_checks import CODES, ROW_CHECKS, Explains, Severity
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.judging import judgements
from xlsengine.bench.judging.plain_checks import is_raised
from xlsengine.expression import BLANK, Node, Operand, as_node, call, greater, say

STOP_CODES = tuple(code for code, check in enumerate(ROW_CHECKS, 1) if check.stops)
STOP_WEIGHTS = {code: 2.0**place for place, code in enumerate(STOP_CODES)}
REMARK_CODES = tuple(code for code, check in enumerate(ROW_CHECKS, 1) if not check.fix)
"""Checks that ask for nothing: one sentence says it of all their readings."""


def _first(codes: Iterable[int], otherwise: Operand) -> Node:
    """Return the first of the checks that is raised."""
    chosen = as_node(otherwise)
    for code in reversed(tuple(codes)):
        chosen = is_raised(code).where(float(code), chosen)
    return chosen


def _of_order(order: Explains) -> list[int]:
    """Return the checks of one place in the order of explanation: the severe first, those that ask for nothing last."""
    own = [code for code, check in enumerate(ROW_CHECKS, 1) if check.order is order]
    return sorted(own, key=lambda code: (code in REMARK_CODES, -ROW_CHECKS[code - 1].severity))


def _stops() -> Node:
    """Return which checks say to stop, in one number."""
    total = as_node(0.0)
    for code, weight in STOP_WEIGHTS.items():
        total = total + is_raised(code).where(weight, 0.0)
    return total


stops_now = r.READINGS.helper("stops_now", "Checks that say stop").derive(
    _stops(), "1, 2, 4 and so on for each, added up."
)


def _best() -> Node:
    """Return the check that explains the row best; 0 where none is raised, or a group check does so as well.

    Beside such a group check only a check that says to stop can speak, where the words of the group check have none of it.
    """
    beside = judgements.stops_folded.equals(stops_now).where(0.0, _first(STOP_CODES, 0.0))
    chosen = as_node(0.0)
    for order in reversed(Explains):
        is_written = (judgements.order >= 1.0) & (judgements.order <= float(order))
        chosen = is_written.where(beside, _first(_of_order(order), chosen))
    return chosen


def _worst() -> Node:
    """Return the worst severity among the group checks and the live ones."""
    worst = as_node(0.0)
    for code, check in sorted(enumerate(ROW_CHECKS, 1), key=lambda numbered: numbered[1].severity):
        worst = is_raised(code).where(float(check.severity), worst)
    return greater(worst, judgements.severity)


entry = r.READINGS.helper("entry", "Check that speaks").derive(
    _best(), "Which live check speaks for the reading; 0 where none, or a comparison does."
)
entry_severity = r.READINGS.helper("entry_severity", "Severity").derive(
    _worst(), "1 note, 2 doubtful, 3 impossible; 0 where nothing is."
)

RANKS = 1e9
"""More than row and code come to."""


def _listed() -> Node:
    """Return rank, row and code of the entry, so that the Checks sheet can list it; what asks for nothing is told once."""
    rank = (float(max(Severity)) - entry_severity) * RANKS
    listed: Node = rank + r.row_number * CODES + entry
    for code in (0, *REMARK_CODES):
        listed = entry.equals(float(code)).where(BLANK, listed)
    return listed


entry_listed = r.READINGS.helper("entry_listed", "Rank, row and check that speaks").derive(
    _listed(), "A thousand million for each step below impossible, row times 100, and code."
)


def severity_word(severity: Operand) -> Node:
    """Return a severity, from 1, as a reader sees it."""
    return call("choose", severity, *(each.word for each in Severity))


row_flags = r.READINGS.helper("row_flags", "Row checks").derive(
    (entry > 0).where(
        say("{} ({}).", call("choose", entry, *(check.title for check in ROW_CHECKS)), severity_word(entry_severity)),
        "",
    ),
    "The live check that speaks for this reading.",
)
