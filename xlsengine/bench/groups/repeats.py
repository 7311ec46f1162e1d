"""Repeats: readings with the same propeller, cells, kind and throttle, each against the mean of its group.

Only sound rows count: a slip of the pen is no scatter of the bench. Nor does a row whose readings are all those of an
earlier one of its group: it is taken for a copy, and copies would make the bench look surer than it is.

Repeats are compared at equal volts, since a fresher pack makes no bench scatter. Figures that are made of thrust and amps
go along, thrust per power as one over the volts; the volts read are known as the voltmeter is. Where thrust goes with another
power of the volts than the one taken, that difference times the volts' own stays in the scatter, and so is counted.
"""

from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.groups.normalising import volts_power
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.settings import assumed_speed_ratio
from xlsengine.bench.judging.counting import OVERRULED, standing
from xlsengine.expression import Column, Condition, Node
from xlsengine.sources import GUM_REPEATS, definition, worked_out

_PEAKS, _THROTTLES = 2.0, 1001.0
_WEIGHTS = {r.voltage: 13.152946, r.current: 7.2801099, r.thrust: 1.4142136, r.speed: 1.1832160}
"""Square roots, so that no two sets of readings come to the same number."""

# --- which readings are repeats ------------------------------------------------------------------------------

_tenths = (r.throttle.otherwise(100.0) * 10 + 0.5).whole_part()
_peak = r.kind_taken.equals(r.PEAK).where(1.0, 0.0)
alike = (standing >= OVERRULED).where((r.group * _PEAKS + _peak) * _THROTTLES + _tenths)
"""Propeller, cells, kind and throttle in one number; blank for readings that are left out or flagged."""


_read = sum((column.otherwise(0.0) * weight for column, weight in _WEIGHTS.items()), start=alike)
reading_print = r.READINGS.helper("repeats_print", "Readings of a repeat").derive(_read)
repeat_group = r.READINGS.helper("repeats_group", "Group of repeats").derive(
    reading_print.position(reading_print).equals(r.row_number).where(alike)
)
"""What is alike; blank where all readings are those of an earlier row."""
repeated = r.READINGS.helper("repeated", "Read again").derive(
    (repeat_group.count(Condition(repeat_group, "=", repeat_group)) > 1).where(r.row_number)
)

# --- each of them against its mean ---------------------------------------------------------------------------

REPEATS = Table(
    "Repeats",
    "One row for each reading that was taken more than once: how far it lies from the mean of its repeats.",
    spare=3,
    per=(repeated,),
    source=definition("taken over from Readings"),
)

_here = REPEATS.numbered("repeats_here")
row = REPEATS.row = REPEATS.column("repeats_row", "Row").derive(repeated.smallest(_here), "Row of Readings.")
prop = REPEATS.take(r.prop, "repeats_prop")
cells = REPEATS.take(r.cells, "repeats_cells")
kind = REPEATS.take(r.kind_taken, "repeats_kind", "Kind")
throttle = REPEATS.column("repeats_throttle", "Throttle", "%", decimals=0).derive(
    row.present().where(r.throttle.at(row).otherwise(100.0)), "100 where it was left blank."
)
run = REPEATS.column("repeats_run", "Run").derive(
    row.present().where(r.run.at(row).otherwise(row)), "Number of the run, or of the row where none was given."
)
key = REPEATS.take(repeat_group, "repeats_key", helper=True)
_first = REPEATS.helper("repeats_first", "First of group").derive(key.position(key).equals(_here).where(_here))

GROUPS = Table(
    "RepeatGroups",
    "Readings that were taken more than once, and how far they scatter.",
    spare=1,
    per=(_first,),
    source=GUM_REPEATS,
)
GROUPS.starts(_first, "repeat")

for _column, _name in ((prop, "prop"), (cells, "cells"), (kind, "kind"), (throttle, "throttle")):
    GROUPS.take(_column, f"repeat_{_name}")
group_key = GROUPS.take(key, "repeat_key", helper=True)
OWN = Condition(key, "=", group_key)
group_count = GROUPS.column("repeat_count", "Readings").derive(
    key.count(OWN), "How many there are of the same, without any that has the very readings of an earlier one."
)


def _mean_of(column: Column, own: Column) -> Node:
    return column.mean(Condition(repeat_group, "=", own))


for _name, _label, _unit, _read in (
    ("repeat_thrust", "Thrust", "g", r.thrust),
    ("repeat_current", "Current", "A", r.current),
    ("repeat_voltage", "Voltage", "V", r.voltage),
):
    GROUPS.column(_name, f"{_label}, mean", _unit).derive(_mean_of(_read, group_key), "Of the readings.")


def _percent_off(reading: Node, mean: Node) -> Node:
    return (reading / mean - 1) * 100


def _at_volts(name: str, label: str, column: Column) -> Column:
    off = _percent_off(column.at(row), _mean_of(column, key))
    return REPEATS.column(name, f"{label} at equal volts, off its mean", "%", decimals=2).derive(
        off - volts_power(assumed_speed_ratio) * voltage_off,
        "Less what the volts account for: a pack gives fewer of them as it empties.",
        worked_out("thrust and current go with volts to the power 2/(2 − x), x the speed ratio on Settings"),
    )


_SAME = Condition(key, "=", key)
voltage_off = REPEATS.column("voltage_off", "Voltage, off its mean", "%", decimals=2).derive(
    _percent_off(r.voltage.at(row), _mean_of(r.voltage, key)), "Of the group's repeats.", GUM_REPEATS
)
thrust_at_volts = _at_volts("thrust_at_volts", "Thrust", r.thrust)
current_at_volts = _at_volts("current_at_volts", "Current", r.current)
run_off = REPEATS.column("run_off", "Run, off its mean", decimals=1).derive(
    run - run.mean(_SAME), "Of the group's repeats."
)


for _name, _label, _of in (
    ("repeat_thrust_scatter", "Thrust at equal volts", thrust_at_volts),
    ("repeat_current_scatter", "Current at equal volts", current_at_volts),
    ("repeat_voltage_scatter", "Voltage", voltage_off),
):
    GROUPS.column(_name, f"{_label}, scatter", "%", decimals=2).derive(
        (_of.dot(_of, OWN) / (group_count - 1)).sqrt(), "Standard deviation of a reading."
    )
