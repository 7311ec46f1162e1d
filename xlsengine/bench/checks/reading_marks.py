"""How a reading is marked beside what was typed: one text, how severe it is, and which typed cell it is about."""

from xlsengine.bench.checks.row_checks import ROW_CHECKS, TITLES, Severity, entry_severity
from xlsengine.bench.checks.row_entries import STOP_CODES, entry, named_stops, severity_word
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.judging import judgements
from xlsengine.bench.judging.counting import UNREADABLE, standing
from xlsengine.expression import call, say

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


marked_severity = entry_severity
_looked_at = call("choose", entry, *(r.place_of(check.look_at) for check in ROW_CHECKS))
marked_column = r.READINGS.helper("marked_column", "Mark, column").derive(
    standing.equals(UNREADABLE).where(-r.full_kind, (entry > 0).where(_looked_at, judgements.found_column)),
    "Which typed column, from 1, the flag is about, or the reading is left out for; 0 for none.",
)


_none = (standing < 0).where(LEFT_OUT_SIGN, "")
_sign = (marked_severity > 0).where(call("choose", marked_severity, *(SIGNS[each] for each in Severity)), _none)
_own = (entry > 0).where(say("{} ({}).", TITLES.at(entry), severity_word(entry_severity)), "")
_stops = named_stops(STOP_CODES, None, entry, lambda check: f"{check.title}. ")
_outcome = call("choose", standing + (1.0 - UNREADABLE), *_OUTCOMES)
flag_text = r.READINGS.column("flag_text", "Flag").derive(
    call("trim", say("{} {} {} {} {}", _sign, _own, judgements.flags, _stops, _outcome)),
    "What speaks for this reading, live or from comparing readings, and whether it is left out.",
)
