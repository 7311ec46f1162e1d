"""The list of live row checks that are raised, one row each, as the Checks sheet shows it."""

from __future__ import annotations

from xlsengine.bench import readings as r
from xlsengine.bench.declare import Quantity, Table
from xlsengine.bench.row_checks import CODES, ROW_CHECKS
from xlsengine.bench.row_entries import ENTRIES, RANKS, REMARK_CODES, entry, entry_severity, severity_word
from xlsengine.expression import Aggregate, Column, Condition, Constant, Node, Operand, call, join
from xlsengine.sources import definition

NOTHING = "OK / not raised."
MOST_PERCENT = 1000.0
"""Percentage beyond which only a slip lies, and its digits say nothing."""

RAISED_CHECKS = Table(
    "RaisedChecks", "One live check a reading, and what says to stop; the most severe first.", spare=4, per=ENTRIES
)  # fmt: skip


def _derive(name: str, label: str, expression: Node, meaning: str, helper: bool = False) -> Column:
    return RAISED_CHECKS.derive(Quantity(name, label, expression, meaning, definition(), shown=0, helper=helper))


raised_place = _derive(
    "raised_place",
    "Raised check",
    Aggregate("row", (Column("RaisedChecks", "raised_place"),)),
    "Number.",
    helper=True,
)
_raised_key = _derive(
    "raised_key", "Rank, row and code", Aggregate("smallest", ENTRIES, (), raised_place), "As on Readings.", helper=True
)
raised_code = _derive(
    "raised_code", "Row and code", _raised_key - (_raised_key / RANKS).whole_part() * RANKS, "Row times 100, and code.",
    helper=True,
)  # fmt: skip
raised_row = _derive(
    "raised_row", "Table row", (raised_code / CODES).whole_part(), "Row of the table Readings.", helper=True
)
check_number = _derive("check_number", "Check", raised_code - raised_row * CODES, "Which check.", helper=True)


def by_check(*options: Operand) -> Node:
    """Choose one of as many options as there are checks, by the check of this row."""
    return call("choose", check_number, *options)


def _reading(column: Column) -> Node:
    return Aggregate("text at" if column.text else "at", (column,), (), raised_row)


def said_of(column: Column, reading: Node | None = None) -> Node:
    """Say what was found in a column; a percentage beyond sense, as a slip gives, only by how much it is at least."""
    value = column if reading is None else reading
    quantity = r.READINGS.columns[column.name]
    decimals = quantity.shown if isinstance(quantity, Quantity) else quantity.decimals
    unit = f" {quantity.unit}" if quantity.unit else ""
    said = join(f"{quantity.label} ", value.fixed(decimals), unit)
    if quantity.unit != "%":
        return said
    return (value > MOST_PERCENT).where(f"{quantity.label} more than {MOST_PERCENT:g} %", said)


raised_run = _derive("raised_run", "Run", _reading(r.run), "Run of the row.")
raised_prop = _derive("raised_prop", "Propeller", _reading(r.prop), "Propeller of the row.")
raised_cells = _derive("raised_cells", "Cells", _reading(r.cells), "Cell count of the row.")
raised_severity = _derive(
    "raised_severity", "Severity",
    by_check(*(1.0 if c.stops else 0.0 for c in ROW_CHECKS)).equals(1).where(
        by_check(*(c.severity.word for c in ROW_CHECKS)), severity_word(_reading(entry_severity))
    ),
    "Impossible, doubtful or note: of what says to stop its own, else the worst that stands on the reading.",
)  # fmt: skip
raised_title = _derive("raised_title", "What", by_check(*(c.title for c in ROW_CHECKS)), "Name of the check.")
raised_found = _derive(
    "raised_found",
    "Found",
    by_check(*(said_of(c.figure, _reading(c.figure)) for c in ROW_CHECKS)),
    "Figure of the row.",
)
raised_expected = _derive("raised_expected", "Expected", by_check(*(c.expected for c in ROW_CHECKS)), "The limit.")
raised_cause = _derive(
    "raised_cause", "Likely cause", by_check(*(c.cause for c in ROW_CHECKS)), "What usually does it."
)
raised_mend = _derive("raised_mend", "What to do", by_check(*(c.mend for c in ROW_CHECKS)), "The fix.")


def _remark(code: int) -> Node:
    """Say in one sentence in how many readings a check is raised that asks for nothing; nothing where in none."""
    check = ROW_CHECKS[code - 1]
    count = Aggregate("count", (r.row_number,), (Condition(entry, "=", Constant(float(code))),))
    return (count > 0).where(join(f"{check.title} in ", count.fixed(0), f" readings: {check.cause} "), "")


def remarks() -> Node:
    """Return what the notes say that ask for nothing, in one sentence each."""
    return call("trim", join("", *(_remark(code) for code in REMARK_CODES)))


def beyond_list(rows: int) -> Node:
    """Say that nothing is raised, or how much beyond what a list of so many rows shows; else nothing."""
    raised: Node = Constant(0.0)
    for column in ENTRIES:
        raised = raised + Aggregate("count", (column,))
    more = join((raised - float(rows)).fixed(0), " more: see the column Flag on Readings.")
    return (raised > 0).where((raised > float(rows)).where(more, ""), NOTHING)
