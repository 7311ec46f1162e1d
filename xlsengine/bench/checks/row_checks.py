"""Every live check of a single row, and what is raised, by the row's own readings or by the motor's model."""

from xlsengine.bench.checks.model_checks import MODEL_CHECKS
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.judging import counting, judgements
from xlsengine.bench.judging.plain_checks import (
    FIRST_BY_MODEL,
    PLAIN_CHECKS,
    RAISED_BY_MODEL,
    RAISED_PLAIN,
    Explains,
    RowCheck,
    Severity,
    all_raised,
    doubts,
    loudest_last,
)
from xlsengine.expression import Condition, Constant, Node, greater

__all__ = ["CODES", "ROW_CHECKS", "Explains", "RowCheck", "Severity", "entry_severity", "relied_point"]

CODES = 100


def _by_model() -> dict[int, RowCheck]:
    """Number the checks by the model: those that say which reading is off above the notes, what says more above all."""
    ranked = loudest_last(MODEL_CHECKS)
    reading = [check for check in ranked if check.order is Explains.READING]
    numbered = dict(enumerate(reading, start=FIRST_BY_MODEL))
    return numbered | dict(enumerate(ranked[len(reading) :], start=max(PLAIN_CHECKS) + 1))


_MODEL_CHECKS = _by_model()
_NUMBERED = PLAIN_CHECKS | _MODEL_CHECKS
ROW_CHECKS: tuple[RowCheck, ...] = tuple(_NUMBERED[code] for code in range(1, len(_NUMBERED) + 1))
"""In the order of their codes, from 1: of several on one reading the last speaks."""

r.READINGS.helper(RAISED_BY_MODEL.name, "Checks raised, by motor model").derive(
    all_raised(_MODEL_CHECKS, r.judged), "As those of the reading alone, which have other codes."
)
raised: Node = RAISED_PLAIN + RAISED_BY_MODEL
"""All that is raised on a row, in one number."""


def _worst() -> Node:
    """Return the worst severity among the comparisons and the live checks."""
    impossible = counting.standing.equals(counting.IMPOSSIBLE) | counting.standing.equals(counting.OVERRULED)
    lesser = doubts(raised).where(float(Severity.DOUBTFUL), (raised > 0).where(float(Severity.NOTE), 0.0))
    return greater(impossible.where(float(Severity.IMPOSSIBLE), lesser), judgements.severity)


entry_severity = r.READINGS.helper("entry_severity", "Severity").derive(
    _worst(), "1 note, 2 doubtful, 3 impossible; 0 where nothing is."
)
UNFLAGGED = entry_severity < float(Severity.DOUBTFUL)
FLAGGED_ROWS, UNFLAGGED_ROWS = (
    Condition(entry_severity, sign, Constant(float(Severity.DOUBTFUL))) for sign in (">=", "<")
)
relied_point = r.READINGS.helper("relied_point", "Point, relied on").derive(
    (UNFLAGGED | r.use.equals(r.COUNT)).where(counting.point, 0.0),
    "As the point, where nothing speaks against the reading or Use says “yes”: predictions rest on such rows.",
)
