"""One entry a reading: of all checks that are raised on it the one that explains it best, as severe as the worst.

What the group checks explain as well or better stands among them, as written. A check that says to stop is never
absorbed: where it does not speak itself, its words stand in the entry of its reading.
"""

import math

from xlsengine.bench.checks.row_checks import CODES, ROW_CHECKS, Severity, entry_severity, raised
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.judging import judgements
from xlsengine.bench.judging.plain_checks import is_raised
from xlsengine.expression import BLANK, Node, Operand, as_node, call

STOP_CODES = tuple(code for code in range(len(ROW_CHECKS), 0, -1) if ROW_CHECKS[code - 1].stops)
"""The loudest first."""
REMARK_CODES = tuple(code for code, check in enumerate(ROW_CHECKS, 1) if not check.fix)
"""Checks that ask for nothing: one sentence says it of all their readings."""


def _stop() -> Node:
    """Return the loudest of the checks that are raised and say to stop; 0 where none is."""
    chosen = as_node(0.0)
    for code in reversed(STOP_CODES):
        chosen = is_raised(code).where(float(code), chosen)
    return chosen


def _best() -> Node:
    """Return the check that explains the row best; 0 where none is raised, or a comparison does so as well.

    Beside such a comparison only a check that says to stop can speak, once others are raised than when it was written.
    """
    loudest = (raised > 0).where((raised.ln() / math.log(2.0)).whole_part() + 1, 0.0)
    beside = raised.equals(judgements.raised_then).where(0.0, _stop())
    return (loudest <= judgements.speaks).where(beside, loudest)


entry = r.READINGS.helper("entry", "Check that speaks").derive(
    _best(), "Which live check speaks for the reading; 0 where none, or a comparison does."
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
