"""The live checks in a list, so that formulas look up what each is called, what usually does it and what to do."""

from xlsengine.bench.checks.row_checks import ROW_CHECKS
from xlsengine.bench.declaring.declare import Field, Table

CHECK_LIST = Table(
    "CheckList",
    "The live checks, in the order of their codes.",
    rows=tuple({"check_title": one.title, "check_cause": one.cause, "check_fix": one.fix} for one in ROW_CHECKS),
)
TITLES, CAUSES, FIXES = (
    CHECK_LIST.write_once(Field(name, label, kind="text", helper=True))
    for name, label in (("check_title", "Check"), ("check_cause", "Likely cause"), ("check_fix", "What to do"))
)
