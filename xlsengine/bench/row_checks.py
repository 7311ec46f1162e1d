"""Every live check of a single row, and what is raised: by the row's own readings, or by the motor's model."""

from __future__ import annotations

from xlsengine.bench import counting
from xlsengine.bench import readings as r
from xlsengine.bench.declare import Quantity
from xlsengine.bench.model_checks import MODEL_CHECKS
from xlsengine.bench.plain_checks import (
    PLAIN_CHECKS,
    RowCheck,
    Severity,
    any_severe,
    raised_column,
)
from xlsengine.expression import BLANK, Column, Node, call, flag, join
from xlsengine.sources import definition

__all__ = ["CODES", "RAISED", "ROW_CHECKS", "RowCheck", "Severity", "flagged", "row_flags"]

CODES = 100
ROW_CHECKS = (*PLAIN_CHECKS, *MODEL_CHECKS)


def _raised(code: int, check: RowCheck) -> Node:
    """Row and code in one number where the check is raised, so that the Checks sheet can list raised checks."""
    condition = check.figure.present().where(flag(check.condition), 0.0)
    return r.used.equals(1).where(condition.equals(1).where(r.row_number * CODES + code, BLANK), BLANK)


RAISED: tuple[Column, ...] = tuple(
    r.READINGS.derive(
        Quantity(raised_column(code).name, f"Check {code}", _raised(code, check), check.title, check.source, shown=0,
                 helper=True)
    )
    for code, check in enumerate(ROW_CHECKS, start=1)
)  # fmt: skip


def _titles() -> Node:
    parts = [
        column.present().where(f"{check.title} ({check.severity.word}). ", "")
        for column, check in zip(RAISED, ROW_CHECKS, strict=True)
    ]
    return call("trim", join(*parts))


flagged = r.READINGS.derive(
    Quantity(
        "flagged", "Flagged", r.used_flag(any_severe(ROW_CHECKS)),
        "1 where a doubtful or impossible flag stands on the row.", definition(), shown=0, helper=True,
    )
)  # fmt: skip
relied_on = r.READINGS.derive(
    Quantity(
        "relied_on", "Relied on", counting.counts.equals(1).where(flag(flagged.equals(0) | r.use.equals(r.COUNT)), 0.0),
        "1 where the reading counts and nothing speaks against it, or Use says “yes”: predictions rest on such rows.",
        definition(), shown=0, helper=True,
    )
)  # fmt: skip
row_flags = r.READINGS.derive(
    Quantity("row_flags", "Row checks", _titles(), "Live checks of this row by itself.", definition())
)
