"""How a reading is marked beside what was typed: one text, how severe it is, and which typed cell it is about."""

from xlsengine.bench.checks.row_checks import ROW_CHECKS, Severity
from xlsengine.bench.checks.row_entries import STOP_CODES, entry, entry_severity, row_flags
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.judging import counting, judgements
from xlsengine.bench.judging.plain_checks import is_raised
from xlsengine.expression import Node, call, join, say

SIGNS: dict[Severity, str] = {Severity.NOTE: "○", Severity.DOUBTFUL: "●", Severity.IMPOSSIBLE: "▲"}
"""Beside every word of severity, so that it can be told in grey print."""
LEFT_OUT_SIGN = "–"


marked_severity = entry_severity
marked_column = r.READINGS.helper("marked_column", "Mark, column").derive(
    (entry > 0).where(
        call("choose", entry, *(counting.place_of(check.look_at) for check in ROW_CHECKS)), judgements.found_column
    ),
    "Which typed column, from 1, the flag is about; 0 for none.",
)


def _outcome() -> Node:
    """Say what the flag comes to: left out, by whom, or in the figures although it is impossible."""
    overruled = counting.impossible.equals(1).where("Counts all the same, by Use “yes”.", "")
    left_out = call("choose", counting.left_out, "Left out.", "Left out by the tester.", "Cannot be read: left out.")
    return (counting.left_out > 0).where(left_out, overruled)


def _stops() -> Node:
    """Name what says to stop where another check speaks for the reading."""
    said = [
        (is_raised(code) & ~entry.equals(float(code))).where(f"{ROW_CHECKS[code - 1].title}. ", "")
        for code in STOP_CODES
    ]
    return join("", *said)


def _text() -> Node:
    none = (counting.left_out > 0).where(LEFT_OUT_SIGN, "")
    sign = (marked_severity > 0).where(call("choose", marked_severity, *(SIGNS[each] for each in Severity)), none)
    return call("trim", say("{} {} {} {} {}", sign, row_flags, judgements.flags, _stops(), _outcome()))


flag_text = r.READINGS.column("flag_text", "Flag").derive(
    _text(), "What speaks for this reading, live or from comparing readings, and whether it is left out."
)
