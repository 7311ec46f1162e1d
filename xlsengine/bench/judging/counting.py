"""What counts: a reading judged impossible takes no part in any figure unless Use says “yes”, nor does one with “no”."""

from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.conditions import readings_are
from xlsengine.bench.judging import judgements
from xlsengine.bench.judging.plain_checks import PLAIN_CHECKS, RowCheck, Severity, any_severe, is_raised
from xlsengine.expression import Column, Node, as_node
from xlsengine.sources import definition

IMPOSSIBLE, BY_TESTER, UNREADABLE = 1.0, 2.0, 3.0
WHY = {IMPOSSIBLE: "impossible", UNREADABLE: "that cannot be read", BY_TESTER: "by the tester"}
_source = definition("a reading counts unless it is judged impossible or left out; Use “yes” overrules the checks")

_DECIDING: dict[int, RowCheck] = {
    code: check for code, check in enumerate(PLAIN_CHECKS, start=1) if check.severity is Severity.IMPOSSIBLE
}


def _impossible() -> Node:
    found: Node = judgements.severity >= float(Severity.IMPOSSIBLE)
    for code in _DECIDING:
        found = found | is_raised(code)
    return found


impossible = r.READINGS.helper("impossible", "Impossible").derive(
    r.used_flag(_impossible()), "1 where a flag says that the reading is impossible.", _source
)
_overruled = r.use.equals(r.COUNT)
counts = r.READINGS.helper("counts", "Counts").derive(
    r.used_flag(impossible.equals(0) | _overruled),
    "1 where the reading takes part in the figures; 0 where it is impossible or left out.",
    _source,
)
left_out = r.READINGS.helper("left_out", "Left out").derive(
    r.prop.present().where(
        r.use.equals(r.LEAVE_OUT).where(
            BY_TESTER, r.used.equals(0).where(UNREADABLE, counts.equals(1).where(0.0, IMPOSSIBLE))
        ),
        0.0,
    ),
    "1: impossible; 2: by the tester; 3: a cell of it cannot be read; 0: the reading counts.",
    _source,
)


def place_of(column: Column) -> float:
    """Return the place of a typed column of Readings, from 1."""
    return 1.0 + list(r.READINGS.fields).index(column.name)


def _culprit() -> Node:
    """Return the place of the column that an impossible reading, or one that cannot be read, is left out for."""
    live: Node = as_node(place_of(r.thrust))
    for code, check in _DECIDING.items():
        live = is_raised(code).where(place_of(check.look_at), live)
    judged = (judgements.severity >= float(Severity.IMPOSSIBLE)).where(judgements.found_column, live)
    unread: Node = as_node(place_of(r.thrust))
    for reading in (r.current, r.voltage):
        unread = r.readable(reading).equals(0).where(place_of(reading), unread)
    return left_out.equals(UNREADABLE).where(unread, judged)


culprit = r.READINGS.helper("culprit", "Left out for column").derive(
    _culprit(), "Which typed column, from 1, of a row that is left out.", _source
)
sound = r.READINGS.helper("sound", "Sound").derive(
    r.used_flag(_overruled | ~any_severe(PLAIN_CHECKS)),
    "1 where the reading counts and neither its own values nor the other readings speak against it: such rows give "
    "the motor's line and the propeller's exponents.",
    _source,
)
point = r.READINGS.helper("point", "Point").derive(
    counts.equals(1).where(r.full_kind, 0.0),
    "1 for peak and 2 for steady at full throttle among the readings that count, 0 for all other rows.",
    _source,
)
sweep_thrust = r.READINGS.helper("sweep_thrust", "Sweep thrust").derive(
    counts.equals(1).where(r.kind_taken.equals(r.PEAK).where(0.0, r.thrust), 0.0),
    "Thrust of counting rows that equal-thrust figures are interpolated from: steady ones; 0 elsewhere.",
    _source,
)
full_current = r.READINGS.helper("full_current", "Current, full throttle").derive(
    (r.full_kind > 0).where(r.current, 0.0), "Whether the reading counts or not; 0 in rows at part throttle.", _source
)
unstated_current = r.READINGS.helper("unstated_current", "Current of unstated kind").derive(
    (point.equals(r.AT_PEAK) & ~r.kind.present() & ~readings_are.present()).where(r.current, 0.0),
    "Of readings taken as peaks because neither Kind nor Bench says what they are; 0 in all other rows.",
    _source,
)
