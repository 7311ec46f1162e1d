"""The list of live row checks that are raised, one row each, as the Checks sheet shows it."""

from xlsengine.bench.checks.row_checks import CAUSES, CODES, FIXES, ROW_CHECKS, TITLES, RowCheck, entry_severity
from xlsengine.bench.checks.row_entries import (
    RANKS,
    REMARK_CODES,
    entry,
    entry_listed,
    measured,
    severity_word,
    stop_fixes,
    stop_titles,
)
from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.inputs import readings as r
from xlsengine.expression import Aggregate, Column, Condition, Constant, Node, Operand, call, join, say

NOTHING = "Nothing found."
MOST_PERCENT = 1000.0
"""Percentage beyond which only a slip lies, and its digits say nothing."""

RAISED_CHECKS = Table("RaisedChecks", "One live check a reading, the most severe first.", spare=1, per=(entry_listed,))

raised_place = RAISED_CHECKS.helper("raised_place", "Raised check").derive(
    Aggregate("row", (Column("RaisedChecks", "raised_place"),))
)
_raised_key = RAISED_CHECKS.helper("raised_key", "Rank, row and code").derive(
    Aggregate("smallest", (entry_listed,), (), raised_place)
)
raised_code = RAISED_CHECKS.helper("raised_code", "Row and code").derive(
    _raised_key - (_raised_key / RANKS).whole_part() * RANKS
)
raised_row = RAISED_CHECKS.row = RAISED_CHECKS.helper("raised_row", "Table row").derive(
    (raised_code / CODES).whole_part()
)
check_number = RAISED_CHECKS.helper("check_number", "Check").derive(raised_code - raised_row * CODES)


def by_check(*options: Operand) -> Node:
    """Choose one of as many options as there are checks, by the check of this reading."""
    return call("choose", check_number, *options)


def said_of(check: RowCheck, value: Node) -> Node:
    """Say what a check found; a percentage beyond sense, as a slip gives, only by how much it is at least."""
    quantity = r.READINGS.columns[check.figure.name]
    said = join(f"{quantity.label} ", measured(check, value))
    if quantity.unit != "%":
        return said
    return (value > MOST_PERCENT).where(f"{quantity.label} more than {MOST_PERCENT:g} %", said)


raised_run = RAISED_CHECKS.take(r.run, "raised_run")
raised_prop = RAISED_CHECKS.take(r.prop, "raised_prop", "Propeller")
raised_cells = RAISED_CHECKS.take(r.cells, "raised_cells")
raised_severity = RAISED_CHECKS.column("raised_severity", "Severity").derive(
    severity_word(entry_severity.at(raised_row))
)
raised_title = RAISED_CHECKS.column("raised_title", "What").derive(
    join(TITLES.at(check_number), stop_titles(raised_row, check_number))
)
raised_value = RAISED_CHECKS.helper("raised_value", "Figure").derive(
    by_check(*(c.figure.at(raised_row) for c in ROW_CHECKS))
)
raised_found = RAISED_CHECKS.column("raised_found", "Found").derive(
    by_check(*(said_of(c, raised_value) for c in ROW_CHECKS))
)
raised_expected = RAISED_CHECKS.column("raised_expected", "Expected").derive(
    by_check(*(c.expected for c in ROW_CHECKS))
)
raised_cause = RAISED_CHECKS.column("raised_cause", "Likely cause").derive(CAUSES.at(check_number))
raised_fix = RAISED_CHECKS.column("raised_fix", "What to do").derive(
    call("trim", join(stop_fixes(raised_row, check_number), " ", FIXES.at(check_number)))
)


def _remark(code: int) -> Node:
    """Say in one sentence in how many readings a check is raised that asks for nothing; nothing where in none."""
    check = ROW_CHECKS[code - 1]
    count = r.row_number.count(Condition(entry, "=", Constant(float(code))))
    return (count > 0).where(join(f"{check.title} in ", count.fixed(0), f" readings: {check.cause} "), "")


def remarks() -> Node:
    """Return what the notes say that ask for nothing, in one sentence each."""
    return call("trim", join("", *(_remark(code) for code in REMARK_CODES)))


def raised_count() -> Node:
    """Return how many readings have an entry."""
    return entry_listed.count()


def beyond_list(rows: int) -> Node:
    """Say that nothing is raised, or how much beyond what a list of so many rows shows; else nothing."""
    raised = raised_count()
    more = say("{:.0f} more: see the column Flag on Readings.", raised - float(rows))
    return (raised > 0).where((raised > float(rows)).where(more, ""), NOTHING)
