"""Every live check of a single row, and what is raised: by the row's own readings, or by the motor's model."""

from xlsengine.bench.checks.model_checks import MODEL_CHECKS
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.judging import counting
from xlsengine.bench.judging.plain_checks import (
    PLAIN_CHECKS,
    RAISED_BY_MODEL,
    RAISED_PLAIN,
    Explains,
    RowCheck,
    Severity,
    any_severe,
    is_raised,
    raised_in,
)
from xlsengine.expression import Column, Node, as_node, flag

__all__ = ["CODES", "RAISED", "ROW_CHECKS", "Explains", "RowCheck", "Severity", "flagged", "relied_on"]

CODES = 100
ROW_CHECKS = (*PLAIN_CHECKS, *MODEL_CHECKS)


def _all_raised(among: Column) -> Node:
    total = as_node(0.0)
    for code, check in enumerate(ROW_CHECKS, start=1):
        column, weight = raised_in(code)
        if column == among:
            total = total + check.condition.where(weight, 0.0).otherwise(0.0)
    return r.used.equals(1).where(total, 0.0)


for _column, _label in ((RAISED_PLAIN, "Checks raised"), (RAISED_BY_MODEL, "Checks raised, by motor model")):
    r.READINGS.helper(_column.name, _label).derive(
        _all_raised(_column), "All of them in one number: 1 for the first, 2 for the second, 4 for the third and so on."
    )
RAISED: tuple[Column, ...] = tuple(
    r.READINGS.helper(f"check_{code}", f"Check {code}").derive(
        is_raised(code).where(r.row_number * CODES + code), f"{check.title}: row and code.", check.source
    )
    for code, check in enumerate(ROW_CHECKS, start=1)
)
"""Each live check of its own; a workbook holds them in two numbers."""

flagged = r.READINGS.helper("flagged", "Flagged").derive(
    r.used_flag(any_severe(ROW_CHECKS)), "1 where the reading has a doubtful or impossible flag."
)
relied_on = r.READINGS.helper("relied_on", "Relied on").derive(
    counting.counts.equals(1).where(flag(flagged.equals(0) | r.use.equals(r.COUNT)), 0.0),
    "1 where the reading counts and nothing speaks against it, or Use says “yes”: predictions rest on such rows.",
)
