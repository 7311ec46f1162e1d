"""Every live check of a single row, and what is raised: by the row's own readings, or by the motor's model."""

from __future__ import annotations

from xlsengine.bench.checks.model_checks import MODEL_CHECKS
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.judging import counting
from xlsengine.bench.judging.plain_checks import PLAIN_CHECKS, Explains, RowCheck, Severity, any_severe, raised_column
from xlsengine.expression import Column, Node, flag

__all__ = ["CODES", "RAISED", "ROW_CHECKS", "Explains", "RowCheck", "Severity", "flagged", "relied_on"]

CODES = 100
ROW_CHECKS = (*PLAIN_CHECKS, *MODEL_CHECKS)


def _raised(code: int, check: RowCheck) -> Node:
    """Row and code in one number where the check is raised, so that the Checks sheet can list raised checks."""
    condition = check.figure.present().where(flag(check.condition), 0.0)
    return r.used.equals(1).where(condition.equals(1).where(r.row_number * CODES + code))


RAISED: tuple[Column, ...] = tuple(
    r.READINGS.helper(raised_column(code).name, f"Check {code}").derive(_raised(code, check), check.title, check.source)
    for code, check in enumerate(ROW_CHECKS, start=1)
)

flagged = r.READINGS.helper("flagged", "Flagged").derive(
    r.used_flag(any_severe(ROW_CHECKS)), "1 where the reading has a doubtful or impossible flag."
)
relied_on = r.READINGS.helper("relied_on", "Relied on").derive(
    counting.counts.equals(1).where(flag(flagged.equals(0) | r.use.equals(r.COUNT)), 0.0),
    "1 where the reading counts and nothing speaks against it, or Use says “yes”: predictions rest on such rows.",
)
