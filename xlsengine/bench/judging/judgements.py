"""What comparing readings found, which no formula can hold: written once, and held for as long as its reading stands.

A judgement belongs to the values it was made of, propeller to speed, not to a row: it is found again by them wherever
they stand, and is gone as soon as one of them is corrected.
"""

from xlsengine.bench.declaring.declare import Field
from xlsengine.bench.inputs import readings as r
from xlsengine.expression import Column, Node, as_node, lesser, say

_STEPS_OF_ONE = 10_000.0
_MOST = 1e9
SEVERITY, COLUMN, SPEAKS = 1e11, 1e9, 1e7
OF_MORE = 0.5
"""What the parts of the code of a judgement are counted by: the last has room for 23 live checks, one a bit."""
WEIGHTS: dict[Column, float] = {
    r.diameter: 3.6055513,
    r.pitch: 5.1961524,
    r.blades: 17.320508,
    r.cells: 29.154759,
    r.throttle: 1.7320508,
    r.voltage: 13.152946,
    r.current: 7.2801099,
    r.thrust: 1.4142136,
    r.speed: 1.1832160,
}
"""Square roots, so that no two corrections of a reading cancel."""


written_code = r.READINGS.write_once(
    Field("written_code", "Comparisons, code", kind="whole", low=0, high=10 * SEVERITY, default=0.0, helper=True)
)
"""What comparing readings found on writing: 100,000 millions for each step of the worst severity, half as many where a
doubt is about more than the speed, 1,000 millions for each
place of the typed column that it is about, ten millions for each code of a live check up to which its words speak for the
reading, and which live checks were raised beside it."""
written_flags, judged_print = (
    r.READINGS.write_once(Field(name, label, kind="text", helper=True))
    for name, label in (("written_flags", "Comparisons, as written"), ("judged_print", "Values as judged"))
)
"""In words; and the row's values, propeller to speed, when comparing readings judged it."""
_weighted = sum((column.otherwise(0.0) * weight for column, weight in WEIGHTS.items()), start=as_node(0.0))
row_print = r.READINGS.helper("row_print", "Values now").derive(
    r.prop.present().where(say("{}|{}|{:.0f}", r.prop_key, r.kind_taken, lesser(_weighted, _MOST) * _STEPS_OF_ONE), "")
)
judgement_row = r.READINGS.helper("judgement_row", "Row of its judgement").derive(
    row_print.present().where(row_print.equals(judged_print).where(r.row_number, judged_print.position(row_print)))
)
"""Row whose values, when they were judged, are those of this row now; blank where a value was changed since."""
held = r.READINGS.helper("held", "Comparisons, code that holds").derive(
    (r.full_kind >= 0).where(r.use.equals(r.LEAVE_OUT).where(0.0, written_code.at(judgement_row)), 0.0).otherwise(0.0)
)


def _part(of: float, above: float) -> Node:
    return (held / of).whole_part() - (held / above).whole_part() * (above / of)


severity = (held / (OF_MORE * SEVERITY)).whole_part() * OF_MORE
"""The worst severity that a comparison found; `OF_MORE` above it where a doubt is about more than the speed; 0 where none."""
found_column, speaks = _part(COLUMN, OF_MORE * SEVERITY), _part(SPEAKS, COLUMN)
raised_then = held - (held / SPEAKS).whole_part() * SPEAKS
"""Which live checks were raised on the reading when it was judged."""
flags: Node = (held > 0).where(written_flags.at(judgement_row), "")


def is_judged(severity: float) -> Node:
    """Ask whether a comparison found something as severe as that, or worse."""
    return held >= severity * SEVERITY
