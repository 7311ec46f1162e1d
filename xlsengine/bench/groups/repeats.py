"""Repeats: readings with the same propeller, cells, kind and throttle, each against the mean of its group.

Only sound rows count: a slip of the pen is no scatter of the bench. Nor does a row whose readings are all those of an
earlier one of its group: it is taken for a copy, and copies would make the bench look surer than it is.
"""

from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.judging.counting import OVERRULED, standing
from xlsengine.bench.physics.speed_figures import figure_of_merit
from xlsengine.expression import Aggregate, Column, Condition, Node, join, say
from xlsengine.sources import GUM_REPEATS, definition

_taken = definition("taken over from Readings")

REPEATS = Table(
    "Repeats",
    "One row per reading: how far it lies from the mean of its repeats; blank where it was read once or is a copy.",
    spare=r.NO_SPARE,
    per=(r.row_number,),
    source=_taken,
)

row = REPEATS.row = REPEATS.column("repeats_row", "Row").derive(
    Aggregate("row", (Column(REPEATS.name, "repeats_row"),)), "Row of Readings."
)

prop = REPEATS.take(r.prop, "repeats_prop")
cells = REPEATS.take(r.cells, "repeats_cells")
kind = REPEATS.take(r.kind_taken, "repeats_kind", "Kind")
throttle = REPEATS.column("repeats_throttle", "Throttle", "%", decimals=0).derive(
    prop.present().where(r.throttle.at(row).otherwise(100.0)), "100 where it was left blank."
)
run = REPEATS.column("repeats_run", "Run").derive(
    prop.present().where(r.run.at(row).otherwise(row)), "Number of the run, or of the row where none was given."
)
thrust = REPEATS.take(r.thrust, "repeats_thrust", helper=True)
current = REPEATS.take(r.current, "repeats_current", helper=True)
voltage = REPEATS.take(r.voltage, "repeats_voltage", helper=True)
merit = REPEATS.take(figure_of_merit, "repeats_merit", helper=True)
key = REPEATS.helper("repeats_key", "Key").derive(
    (standing.at(row) >= OVERRULED).where(say("{:.0f}|{}|{:.1f}", r.group.at(row), kind, throttle), ""),
    "What repeats have in common, in one text; blank for readings that are left out or flagged.",
)
alike = REPEATS.helper("repeats_alike", "First alike").derive(
    key.present().where(key.position(key)), "First row with the same key."
)
_READ = (r.voltage.at(row), r.current.at(row), r.thrust.at(row), r.speed.at(row).otherwise(0.0))
reading_key = REPEATS.helper("repeats_reading", "Reading").derive(
    key.present().where(join(alike.fixed(0), *(part for each in _READ for part in ("|", each.fixed(4)))), ""),
    "What is alike, and the volts, amps, grams and speed that were read, in one text.",
)
group = REPEATS.helper("repeats_group", "Group").derive(
    reading_key.position(reading_key).equals(row).where(alike),
    "First row with the same key; blank where all readings are those of an earlier row with the same key.",
)
run_read = REPEATS.helper("run_read", "Run of an unflagged reading").derive(
    group.present().where(run), "Blank elsewhere."
)
count = REPEATS.column("repeats_count", "Readings").derive(
    group.count(Condition(group, "=", group)),
    "How many there are of the same; blank for a row with the very readings of an earlier one.",
)
first = REPEATS.helper("repeats_first", "First of group").derive(
    (group.equals(row) & (count > 1)).where(row), "Set in the first row of a group of two or more."
)

GROUPS = Table(
    "RepeatGroups",
    "Readings that were taken more than once, and how far they scatter.",
    spare=1,
    per=(first,),
    source=GUM_REPEATS,
)

_place = GROUPS.helper("repeat_place", "Place").derive(
    Aggregate("row", (Column(GROUPS.name, "repeat_place"),)), "Place."
)
group_first = GROUPS.row = GROUPS.helper("repeat_first", "First row").derive(first.smallest(_place), "On Readings.")

group_prop = GROUPS.take(prop, "repeat_prop")
group_cells = GROUPS.take(cells, "repeat_cells")
group_kind = GROUPS.take(kind, "repeat_kind")
group_throttle = GROUPS.take(throttle, "repeat_throttle")
group_count = GROUPS.take(count, "repeat_count")
OWN = Condition(group, "=", group_first)


def _mean(column: Column) -> Node:
    return column.mean(OWN)


mean_thrust = GROUPS.column("repeat_thrust", "Thrust, mean", "g").derive(_mean(thrust), "Of the readings.")
mean_current = GROUPS.column("repeat_current", "Current, mean", "A").derive(_mean(current), "Of the readings.")
mean_voltage = GROUPS.column("repeat_voltage", "Voltage, mean", "V").derive(_mean(voltage), "Of the readings.")
mean_merit = GROUPS.helper("repeat_merit", "Figure of merit, mean", decimals=3).derive(
    _mean(merit), "Of the readings with a speed."
)
mean_run = GROUPS.helper("repeat_run", "Run, mean", decimals=1).derive(_mean(run), "Of the readings.")

own_group = REPEATS.helper("repeats_place", "Place of group").derive(group_first.position(group), "In RepeatGroups.")


def _off(name: str, label: str, reading: Column, mean: Column) -> Column:
    return REPEATS.column(name, f"{label}, off its mean", "%", decimals=2).derive(
        (reading / mean.at(own_group) - 1) * 100, "Of the group's repeats.", GUM_REPEATS
    )


thrust_off = _off("thrust_off", "Thrust", thrust, mean_thrust)
current_off = _off("current_off", "Current", current, mean_current)
voltage_off = _off("voltage_off", "Voltage", voltage, mean_voltage)
merit_off = _off("merit_off", "Figure of merit", merit, mean_merit)
run_off = REPEATS.column("run_off", "Run, off its mean", decimals=1).derive(
    thrust_off.present().where(run - mean_run.at(own_group)), "Of the group's repeats."
)


def _scatter(name: str, label: str, off: Column) -> Column:
    squares = off.dot(off, OWN)
    return GROUPS.column(name, f"{label}, scatter", "%", decimals=2).derive(
        (squares / (group_count - 1)).sqrt(), "Standard deviation of a reading."
    )


group_scatter = tuple(
    _scatter(name, label, off)
    for name, label, off in (
        ("repeat_thrust_scatter", "Thrust", thrust_off),
        ("repeat_current_scatter", "Current", current_off),
        ("repeat_voltage_scatter", "Voltage", voltage_off),
    )
)
