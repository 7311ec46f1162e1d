"""Repeats: readings with the same propeller, cells, kind and throttle, each against the mean of its group.

Only sound rows count: a slip of the pen is no scatter of the bench. Nor does a row whose readings are all those of an
earlier one of its group: it is taken for a copy, and copies would make the bench look surer than it is.
"""

from __future__ import annotations

from xlsengine.bench import readings as r
from xlsengine.bench.counting import sound
from xlsengine.bench.declare import Quantity, Table
from xlsengine.bench.speed_figures import figure_of_merit
from xlsengine.expression import BLANK, Aggregate, Column, Condition, Node, join
from xlsengine.sources import GUM_REPEATS, Source, definition

REPEATS = Table(
    "Repeats", "One row a reading: how far it lies from the mean of its repeats; blank where it was read once or is a copy.",
    r.NO_SPARE, per=(r.row_number,),
)  # fmt: skip
_taken = definition("taken over from Readings")


def _derive(
    name: str, label: str, unit: str, shown: int, expression: Node, meaning: str, source: Source = _taken,
    helper: bool = False,
) -> Column:  # fmt: skip
    return REPEATS.derive(Quantity(name, label, expression, meaning, source, "", unit, shown, helper))


row = _derive(
    "repeats_row", "Row", "", 0, Aggregate("row", (Column(REPEATS.name, "repeats_row"),)), "Row of Readings.",
)  # fmt: skip


def _fetch(column: Column) -> Node:
    return Aggregate("text at" if column.text else "at", (column,), (), row)


prop = _derive("repeats_prop", "Prop", "", 0, _fetch(r.prop), "The propeller.")
cells = _derive("repeats_cells", "Cells", "", 0, _fetch(r.cells), "Cell count.")
kind = _derive("repeats_kind", "Kind", "", 0, _fetch(r.kind_taken), "Peak or steady.")
throttle = _derive(
    "repeats_throttle", "Throttle", "%", 0, prop.present().where(_fetch(r.throttle).otherwise(100.0), BLANK),
    "100 where it was left blank.",
)  # fmt: skip
run = _derive(
    "repeats_run", "Run", "", 0, prop.present().where(_fetch(r.run).otherwise(row), BLANK),
    "Number of the run, or of the row where none was given.",
)  # fmt: skip
thrust = _derive("repeats_thrust", "Thrust", "g", 0, _fetch(r.thrust), "As read.", helper=True)
current = _derive("repeats_current", "Current", "A", 1, _fetch(r.current), "As read.", helper=True)
voltage = _derive("repeats_voltage", "Voltage", "V", 2, _fetch(r.voltage), "As read.", helper=True)
merit = _derive(
    "repeats_merit", "Figure of merit", "", 3, Aggregate("at", (figure_of_merit,), (), row), "As on Speed figures.",
    helper=True,
)  # fmt: skip
key = _derive(
    "repeats_key", "Key", "", 0,
    _fetch(sound).equals(1).where(
        join(_fetch(r.prop_key), "|", cells.fixed(0), "|", kind, "|", throttle.fixed(1)), ""
    ),
    "What repeats have in common, in one text; blank for rows out of use or in doubt.", helper=True,
)  # fmt: skip
alike = _derive(
    "repeats_alike", "First alike", "", 0,
    key.present().where(Aggregate("text position", (key,), (), key), BLANK), "First row with the same key.", helper=True,
)  # fmt: skip
_READ = (_fetch(r.voltage), _fetch(r.current), _fetch(r.thrust), _fetch(r.speed).otherwise(0.0))
reading_key = _derive(
    "repeats_reading", "Reading", "", 0,
    key.present().where(
        join(alike.fixed(0), *(part for each in _READ for part in ("|", each.fixed(4)))), ""
    ),
    "What is alike, and the volts, amps, grams and speed that were read, in one text.", helper=True,
)  # fmt: skip
group = _derive(
    "repeats_group", "Group", "", 0,
    Aggregate("text position", (reading_key,), (), reading_key).equals(row).where(alike, BLANK),
    "First row with the same key; blank where all readings are those of an earlier row with the same key.",
    helper=True,
)  # fmt: skip
run_read = _derive(
    "run_read", "Run of a sound row", "", 0, group.present().where(run, BLANK), "Blank elsewhere.", helper=True
)
count = _derive(
    "repeats_count", "Readings", "", 0, Aggregate("count", (group,), (Condition(group, "=", group),)),
    "How many there are of the same; blank for a row with the very readings of an earlier one.",
)  # fmt: skip
first = _derive(
    "repeats_first", "First of group", "", 0,
    (group.equals(row) & (count > 1)).where(row, BLANK), "Set in the first row of a group of two or more.", helper=True,
)  # fmt: skip

GROUPS = Table(
    "RepeatGroups", "Readings that were taken more than once, and how far they scatter.", spare=1, per=(first,)
)  # fmt: skip


def _of_group(
    name: str, label: str, unit: str, shown: int, expression: Node, meaning: str, helper: bool = False
) -> Column:
    return GROUPS.derive(Quantity(name, label, expression, meaning, GUM_REPEATS, "", unit, shown, helper))


_place = _of_group(
    "repeat_place", "Place", "", 0, Aggregate("row", (Column(GROUPS.name, "repeat_place"),)), "Place.", helper=True
)
group_first = _of_group(
    "repeat_first", "First row", "", 0, Aggregate("smallest", (first,), (), _place), "On Readings.", helper=True
)


def _of_first(column: Column) -> Node:
    return Aggregate("text at" if column.text else "at", (column,), (), group_first)


group_prop = _of_group("repeat_prop", "Prop", "", 0, _of_first(prop), "The propeller.")
group_cells = _of_group("repeat_cells", "Cells", "", 0, _of_first(cells), "Cell count.")
group_kind = _of_group("repeat_kind", "Kind", "", 0, _of_first(kind), "Peak or steady.")
group_throttle = _of_group("repeat_throttle", "Throttle", "%", 0, _of_first(throttle), "As read.")
group_count = _of_group("repeat_count", "Readings", "", 0, _of_first(count), "How many.")
OWN = Condition(group, "=", group_first)


def _mean(column: Column) -> Node:
    return Aggregate("mean", (column,), (OWN,))


mean_thrust = _of_group("repeat_thrust", "Thrust, mean", "g", 0, _mean(thrust), "Of the readings.")
mean_current = _of_group("repeat_current", "Current, mean", "A", 1, _mean(current), "Of the readings.")
mean_voltage = _of_group("repeat_voltage", "Voltage, mean", "V", 2, _mean(voltage), "Of the readings.")
mean_merit = _of_group(
    "repeat_merit", "Figure of merit, mean", "", 3, _mean(merit), "Of the readings with a speed.", helper=True
)
mean_run = _of_group("repeat_run", "Run, mean", "", 1, _mean(run), "Of the readings.", helper=True)

own_group = _derive(
    "repeats_place", "Place of group", "", 0, Aggregate("position", (group_first,), (), group), "In RepeatGroups.",
    helper=True,
)  # fmt: skip


def _own(mean: Column) -> Node:
    return Aggregate("at", (mean,), (), own_group)


def _off(name: str, label: str, reading: Column, mean: Column) -> Column:
    return _derive(
        name, f"{label}, off its mean", "%", 2, (reading / _own(mean) - 1) * 100, "Of the group's repeats.", GUM_REPEATS
    )


thrust_off = _off("thrust_off", "Thrust", thrust, mean_thrust)
current_off = _off("current_off", "Current", current, mean_current)
voltage_off = _off("voltage_off", "Voltage", voltage, mean_voltage)
merit_off = _off("merit_off", "Figure of merit", merit, mean_merit)
run_off = _derive(
    "run_off", "Run, off its mean", "", 1, thrust_off.present().where(run - _own(mean_run), BLANK),
    "Of the group's repeats.",
)  # fmt: skip


def _scatter(name: str, label: str, off: Column) -> Column:
    squares = Aggregate("dot", (off, off), (OWN,))
    return _of_group(
        name, f"{label}, scatter", "%", 2, (squares / (group_count - 1)).sqrt(), "Standard deviation of a reading."
    )


group_scatter = tuple(
    _scatter(name, label, off)
    for name, label, off in (
        ("repeat_thrust_scatter", "Thrust", thrust_off),
        ("repeat_current_scatter", "Current", current_off),
        ("repeat_voltage_scatter", "Voltage", voltage_off),
    )
)
