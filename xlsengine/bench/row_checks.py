"""Every live check of a single row, and what is raised: by the row's own readings, or by the motor's model."""

from __future__ import annotations

from xlsengine.bench import readings as r
from xlsengine.bench.declare import Field, Quantity
from xlsengine.bench.model_checks import MODEL_CHECKS
from xlsengine.bench.plain_checks import (
    PLAIN_CHECKS,
    Explains,
    RowCheck,
    Severity,
    any_severe,
    raised_column,
    written_order,
    written_severity,
)
from xlsengine.expression import BLANK, Column, Node, flag
from xlsengine.sources import definition

__all__ = ["CODES", "RAISED", "ROW_CHECKS", "Explains", "RowCheck", "Severity", "flagged", "written_flags",
           "written_order", "written_severity"]  # fmt: skip

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

written_flags = r.READINGS.write_once(
    Field(
        "written_flags",
        "Group checks",
        "",
        "What the group checks found when this workbook was written.",
        kind="text",
    )
)


flagged = r.READINGS.derive(
    Quantity(
        "flagged", "Flagged", r.used_flag(any_severe(ROW_CHECKS)),
        "1 where a doubtful or impossible flag stands on the row.", definition(), shown=0, helper=True,
    )
)  # fmt: skip
