"""One entry a reading: of all checks that are raised on it the one that explains it best, as severe as the worst.

What the group checks explain as well or better stands among them, as written. A check that says to stop is never
absorbed: where it does not speak itself, its words stand in the entry of its reading. And how a reading is marked beside
what was typed: one text, and which typed cell it is about.
"""

import math
from collections.abc import Callable, Iterable

from xlsengine.bench.checks.row_checks import (
    CAUSES,
    CODES,
    FIXES,
    ROW_CHECKS,
    TITLES,
    RowCheck,
    Severity,
    entry_severity,
    raised,
)
from xlsengine.bench.declaring.declare import Field, Quantity, Table
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.judging import judgements
from xlsengine.bench.judging.counting import UNREADABLE, standing
from xlsengine.bench.judging.plain_checks import is_raised
from xlsengine.expression import Aggregate, Condition, Constant, Node, Operand, as_node, call, first_holding, join, say

STOP_CODES = tuple(code for code in range(len(ROW_CHECKS), 0, -1) if ROW_CHECKS[code - 1].stops)
"""The loudest first."""
REMARK_CODES = tuple(code for code, check in enumerate(ROW_CHECKS, 1) if not check.fix)
"""Checks that ask for nothing, the quietest: one sentence says it of all their readings."""


_stop = first_holding(((is_raised(code), float(code)) for code in STOP_CODES), 0.0)
"""The loudest of the checks that are raised and say to stop."""
_loudest = ((2 * raised + 1).ln() / math.log(2.0)).whole_part()
_beside = raised.equals(judgements.raised_then).where(0.0, _stop)
entry = r.READINGS.helper("entry", "Check that speaks").derive((_loudest <= judgements.speaks).where(_beside, _loudest))
"""0 where no check is raised, or a comparison explains the reading as well: beside that only a check that says to stop
can speak, once others are raised than when it was written."""

RANKS = 1e9
"""More than row and code come to."""


_rank = (float(max(Severity)) - entry_severity.whole_part()) * RANKS
entry_listed = r.READINGS.helper("entry_listed", "Rank, row and check that speaks").derive(
    (entry > float(len(REMARK_CODES))).where(_rank + r.row_number * CODES + entry)
)
"""What asks for nothing is told once."""


def severity_word(severity: Operand) -> Node:
    """Return a severity, from 1, as a reader sees it."""
    return call("choose", severity, *(each.word for each in Severity))


# --- what says to stop where another check speaks for the reading ---------------------------------------------

VOLTS_STOPS = tuple(code for code in STOP_CODES if ROW_CHECKS[code - 1].figure == r.cell_voltage)
SPEED_STOPS = tuple(code for code in STOP_CODES if ROW_CHECKS[code - 1].figure == r.speed_ratio)


def measured(check: RowCheck, value: Node) -> Node:
    """Write a value of the figure that a check goes by, with its unit; volts per cell finer than their limits."""
    quantity = r.READINGS.columns[check.figure.name]
    said = value.fixed(3) if check.figure == r.cell_voltage else _digits(value, quantity)
    return join(said, f" {quantity.unit}") if quantity.unit else said


def _digits(value: Node, quantity: Field | Quantity) -> Node:
    """Write a number with the decimals of its column, a ratio with three digits, and a typed one as it was typed."""
    if isinstance(quantity, Quantity):
        shown = value.fixed(quantity.shown)
        if quantity.unit:
            return shown
        return (value < 1).where(shown, (value < 10).where(value.fixed(2), value.fixed(1)))
    return value.equals(value.whole_part()).where(value.fixed(0), value.fixed(1))


def named_stops(codes: Iterable[int], row: Node | None, own: Operand, words: Callable[[RowCheck], Node | str]) -> Node:
    """Say in `words` each check that says to stop, is raised on a row (the own one without) and is not `own` itself."""
    said = (
        is_raised(code, row).where(as_node(own).equals(float(code)).where("", words(ROW_CHECKS[code - 1])), "")
        for code in codes
    )
    return join("", *said)


def stop_titles(row: Node, own: Operand, codes: Iterable[int] = STOP_CODES) -> Node:
    """Say which checks say to stop beside the check that speaks, `own` by its code, to be put behind its title."""

    def words(check: RowCheck) -> Node:
        title = f", and {check.title[0].lower()}{check.title[1:]}"
        return say(title + " ({}; {})", measured(check, check.figure.at(row)), check.expected)

    return named_stops(codes, row, own, words)


def stop_fixes(row: Node, own: Operand, codes: Iterable[int] = STOP_CODES) -> Node:
    """Say what those checks ask for, to be put before what the other one does."""
    return call("trim", named_stops(codes, row, own, lambda check: f"{check.fix} "))


def comparison_beside_stops(
    title: str, fix: str, row: Node, explained: Iterable[int], codes: Iterable[int] = STOP_CODES
) -> tuple[Node, Node]:
    """Return the title of what comparing readings found on a row, and what to do, with what says to stop on that row.

    To stop comes first; but what the comparison says how it came about, the `explained`, comes after its fix.
    """
    none, first = as_node(0.0), [code for code in codes if code not in explained]
    after = [code for code in codes if code in explained]
    if_not = named_stops(after, row, none, lambda check: f" If not, {check.fix[0].lower()}{check.fix[1:]}")
    said = join(stop_fixes(row, none, first), " ", fix, if_not)
    return join(title, stop_titles(row, none, codes)), call("trim", said)


# --- how a reading is marked beside what was typed --------------------------------------------------------------

SIGNS: dict[Severity, str] = {Severity.NOTE: "○", Severity.DOUBTFUL: "●", Severity.IMPOSSIBLE: "▲"}
"""Beside every word of severity, so that it can be told in grey print."""
LEFT_OUT_SIGN = "–"
_OUTCOMES = (
    "Cannot be read: left out.",
    "Left out by the tester.",
    "Left out.",
    "",
    "",
    "Counts all the same, by Use “yes”.",
    "",
)
"""What a flag comes to, in the order of the standings."""


_looked_at = call("choose", entry, *(r.place_of(check.look_at) for check in ROW_CHECKS))
marked_column = r.READINGS.helper("marked_column", "Mark, column").derive(
    standing.equals(UNREADABLE).where(-r.full_kind, (entry > 0).where(_looked_at, judgements.found_column))
)
"""Which typed column, from 1, the flag is about, or the reading is left out for; 0 for none."""


_none = (standing < 0).where(LEFT_OUT_SIGN, "")
_sign = (entry_severity > 0).where(call("choose", entry_severity, *(SIGNS[each] for each in Severity)), _none)
_own = (entry > 0).where(say("{} ({}).", TITLES.at(entry), severity_word(entry_severity)), "")
_stops = named_stops(STOP_CODES, None, entry, lambda check: f"{check.title}. ")
_outcome = call("choose", standing + (1.0 - UNREADABLE), *_OUTCOMES)
flag_text = r.READINGS.column("flag_text", "Flag").derive(
    call("trim", say("{} {} {} {} {}", _sign, _own, judgements.flags, _stops, _outcome))
)

# --- the list of them, one row each, as the sheet Checks shows it --------------------------------------------------

NOTHING = "Nothing found."
MOST_PERCENT = 1000.0
"""Percentage beyond which only a slip lies, and its digits say nothing."""

RAISED_CHECKS = Table("RaisedChecks", "One live check a reading, the most severe first.", spare=1, per=(entry_listed,))

raised_place = RAISED_CHECKS.numbered("raised_place", "Raised check")
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


for _typed, _label in ((r.run, ""), (r.prop, "Propeller"), (r.cells, "")):
    RAISED_CHECKS.take(_typed, f"raised_{_typed.name}", _label)
_value = RAISED_CHECKS.helper("raised_value", "Figure").derive(
    by_check(*(check.figure.at(raised_row) for check in ROW_CHECKS))
)
for _name, _label, _told in (
    ("severity", "Severity", severity_word(entry_severity.at(raised_row))),
    ("title", "What", join(TITLES.at(check_number), stop_titles(raised_row, check_number))),
    ("found", "Found", by_check(*(said_of(check, _value) for check in ROW_CHECKS))),
    ("expected", "Expected", by_check(*(check.expected for check in ROW_CHECKS))),
    ("cause", "Likely cause", CAUSES.at(check_number)),
    ("fix", "What to do", call("trim", join(stop_fixes(raised_row, check_number), " ", FIXES.at(check_number)))),
):
    RAISED_CHECKS.column(f"raised_{_name}", _label).derive(_told)


def _remark(code: int) -> Node:
    """Say in one sentence in how many readings a check is raised that asks for nothing; nothing where in none."""
    check = ROW_CHECKS[code - 1]
    count = r.row_number.count(Condition(entry, "=", Constant(float(code))))
    return (count > 0).where(join(f"{check.title} in ", count.fixed(0), f" readings: {check.cause} "), "")


remarks: Node = call("trim", join("", *map(_remark, REMARK_CODES)))
"""What the notes say that ask for nothing, in one sentence each."""
listed: Node = entry_listed.count()
"""How many readings have an entry."""


def beyond_list(rows: int) -> Node:
    """Say that nothing is raised, or how much beyond what a list of so many rows shows; else nothing."""
    more = say("{:.0f} more: see the column Flag on Readings.", listed - float(rows))
    return (listed > 0).where((listed > float(rows)).where(more, ""), NOTHING)
