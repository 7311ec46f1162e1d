"""What comparing readings found, which no formula can hold: written once, and held for as long as its reading stands.

A judgement belongs to the values it was made of, propeller to speed, not to a row: it is found again by them wherever
they stand, and is gone as soon as one of them is corrected.
"""

from xlsengine.bench.declaring.declare import Field
from xlsengine.bench.inputs import readings as r
from xlsengine.expression import Column, Node, as_node, lesser, say
from xlsengine.sources import definition

_source = definition("values of the row, each with a weight of its own, in one text")
_STEPS_OF_ONE = 10_000.0
_ABSENT = -1.0
_MOST = 1e9
STOPS_FOLDED = 10.0
"""What the order of explanation is counted on by for the first check that says to stop, twice that for the next."""
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


def _write_once(name: str, label: str, meaning: str, text: bool = False, high: float = 100.0) -> Column:
    if text:
        return r.READINGS.write_once(Field(name, label, "", meaning, kind="text", helper=True))
    return r.READINGS.write_once(
        Field(name, label, "", meaning, kind="whole", low=0, high=high, default=0.0, helper=True)
    )


written_severity = _write_once(
    "written_severity", "Comparisons, severity", "Worst severity that comparing readings found on writing; 0 for none."
)
written_flags = _write_once(
    "written_flags", "Comparisons, as written", "What comparing readings found on writing.", text=True
)
written_column = _write_once(
    "written_column", "Comparisons, column", "Which typed column, from 1, the worst finding is about; 0 for none."
)
written_order = _write_once(
    "written_order",
    "Comparisons, order of explanation",
    "1 where a comparison says what happened, 2 where it says which reading is off, 3 for a note, 0 for none; and ten for "
    "each check that says to stop whose words stand in it.",
    high=STOPS_FOLDED * 100,
)
judged_print = _write_once(
    "judged_print",
    "Values as judged",
    "The row's values, propeller to speed, when comparing readings judged it.",
    text=True,
)


def _weighted() -> Node:
    total = as_node(0.0)
    for column, weight in WEIGHTS.items():
        total = total + column.otherwise(_ABSENT) * weight
    return total


row_print = r.READINGS.helper("row_print", "Values now").derive(
    r.prop.present().where(
        say("{}|{}|{:.0f}", r.prop_key, r.kind_taken, lesser(_weighted(), _MOST) * _STEPS_OF_ONE), ""
    ),
    "The row's values, propeller to speed.",
    _source,
)
judgement_row = r.READINGS.helper("judgement_row", "Row of its judgement").derive(
    row_print.present().where(row_print.equals(judged_print).where(r.row_number, judged_print.position(row_print))),
    "Row whose values, when they were judged, are those of this row now; blank where a value was changed since.",
    _source,
)

severity = r.READINGS.helper("held_severity", "Comparisons, severity that holds").derive(
    written_severity.at(judgement_row).otherwise(0.0),
    "0 where nothing was found, and where a value was corrected since.",
    _source,
)
found_column = r.READINGS.helper("held_column", "Comparisons, column that holds").derive(
    written_column.at(judgement_row).otherwise(0.0), "As above.", _source
)
_held_order = written_order.at(judgement_row).otherwise(0.0)
stops_folded = r.READINGS.helper("held_stops", "Comparisons, checks that say stop in them").derive(
    (_held_order / STOPS_FOLDED).whole_part(), "1, 2, 4 and so on for each, added up.", _source
)
order = r.READINGS.helper("held_order", "Comparisons, order of explanation that holds").derive(
    _held_order - stops_folded * STOPS_FOLDED, "As above.", _source
)
flags = r.READINGS.helper("held_flags", "Comparisons").derive(
    written_flags.at(judgement_row).otherwise(""),
    "What comparing this reading with the others found on writing; gone as soon as the reading is corrected.",
    _source,
)
