"""What each propeller and cell count lifts: all-up mass by thrust over weight, and hovering the craft of Craft."""

from __future__ import annotations

from xlsengine.bench import measured_points as p
from xlsengine.bench import readings as r
from xlsengine.bench import summary as g
from xlsengine.bench.accuracies import (
    LIMIT_TO_DEVIATION,
    relative,
    taken_current_accuracy,
    taken_thrust_accuracy,
    taken_voltage_accuracy,
)
from xlsengine.bench.craft import all_up_mass, motor_count, pack_capacity, pack_cells
from xlsengine.bench.declare import Quantity, Table
from xlsengine.bench.repeatability import enough_repeats, scatter_freedom, thrust_scatter
from xlsengine.bench.settings import (
    avionics_power,
    default_scatter,
    flight_time_range,
    lift_ratios,
    reference_cell_voltage,
    usable_capacity,
    wing_ratios,
)
from xlsengine.bench.table_maker import TableMaker
from xlsengine.bench.throttle_sweep import Sweep
from xlsengine.bench.uncertainty import effective_freedom, expanded, sum_of_squares
from xlsengine.expression import BLANK, Aggregate, Column, Condition, Constant, Node, call, greater, join
from xlsengine.sources import GUM_FREEDOM, definition, practice, worked_out

MOTOR_NUMBERS = (1, 4, 6, 8)
_CODES = 10
_interpolated = worked_out("between neighbouring unflagged steady readings, straight in logarithms")
_lift = worked_out("static thrust at full throttle, steady or else peak, over thrust-to-weight")

throttle_taken = r.READINGS.derive(
    Quantity("throttle_taken", "Throttle taken", r.throttle.otherwise(100.0), "100 where none was read.", definition(),
             unit="%", shown=0, helper=True)
)  # fmt: skip


# --- hovering the craft ----------------------------------------------------------------------------------------


def craft_power(of_motor: Node) -> Node:
    """Return the watts of the craft of Craft at a power a motor, with everything else as on Settings."""
    return motor_count * of_motor + avionics_power


def minutes_at(watts: Node, cells: Column) -> Node:
    """Return how long the pack of Craft lasts at a power of the craft; blank for another cell count than the pack's."""
    energy = pack_capacity / 1000 * cells * reference_cell_voltage * usable_capacity / 100
    return pack_cells.otherwise(cells).equals(cells).where(60 * energy / watts, BLANK)


HOVERING = Table(
    "Hovering", "The craft of Craft at rest in the air on this motor, at the volts of the bench readings.",
    spare=g.SUMMARY.spare, per=(r.group_first,),
)  # fmt: skip
_hover = TableMaker(HOVERING, "hover", _interpolated)
_place = _hover.helps("place", "Place", Aggregate("row", (Column(HOVERING.name, "hover_place"),)), "Summary row.",
                      definition())  # fmt: skip


def _of_point(make: TableMaker, name: str, label: str, unit: str, column: Column, place: Column) -> Column:
    operation = "text at" if column.text else "at"
    return make.shows(
        name, label, "", unit, 0, Aggregate(operation, (column,), (), place), "As measured.", definition(),
        helper=column is p.first_row,
    )  # fmt: skip


_hover_group = _of_point(_hover, "group", "First row", "", p.first_row, _place)
hover_prop = _of_point(_hover, "prop", "Prop", "", p.prop, _place)
hover_cells = _of_point(_hover, "cells", "Cells", "", p.cells, _place)
hover_kind = _hover.shows(
    "kind", "Kind at full throttle", "", "", 0, Aggregate("text at", (p.kind,), (), _place), "As measured.",
    definition(), helper=True,
)  # fmt: skip
hover_thrust = _hover.shows(
    "thrust", "Thrust a motor", "T_h", "g", 0, hover_cells.present().where(all_up_mass / motor_count, BLANK),
    "All-up mass over the number of motors.", definition(),
)  # fmt: skip
_AMMETER, _VOLTMETER = relative(taken_current_accuracy), relative(taken_voltage_accuracy)
_sweep = Sweep(_hover, _hover_group, hover_thrust)
_throttle = _sweep.read_off("throttle", "Hover throttle", "", "%", 0, throttle_taken)
hover_throttle = _throttle.value
_sweep.read_off("current", "Current a motor", "I_h", "A", 1, r.current, [_AMMETER], ["current"])
_power = _sweep.read_off(
    "power", "Power a motor", "P_h", "W", 0, r.power, [_VOLTMETER, _AMMETER], ["voltage", "current"]
)
hover_efficiency = _hover.shows(
    "grams_per_watt", "Thrust per power", "e_P", "g/W", 2, hover_thrust / _power.value, "At that thrust.", definition()
)
_hover.shows(
    "grams_per_watt_expanded", "Thrust per power, ±", "", "g/W", 2, hover_efficiency * _power.expanded / _power.value,
    "Expanded; the thrust is given, so its doubt is that of the power.", GUM_FREEDOM,
)  # fmt: skip
hover_total = _hover.shows(
    "total", "Power of the craft", "P_c", "W", 0, craft_power(_power.value),
    "All motors, and everything else as on Settings.", practice("everything else 5 W"),
)  # fmt: skip
_hover.shows(
    "total_expanded", "Power of the craft, ±", "", "W", 0, motor_count * _power.expanded,
    "Expanded, of the motors; everything else is taken as on Settings.", GUM_FREEDOM,
)  # fmt: skip
_time = _hover.shows(
    "time", "Hover time", "t_h", "min", 1, minutes_at(hover_total, hover_cells),
    "Usable energy of the pack at its nominal volts, over the power; only for the pack's cell count.",
    worked_out("60·E·usable share / P"),
)  # fmt: skip
_of_motors = motor_count * _power.value * _power.uncertainty / hover_total
_sweep.sure(
    "time", "Hover time", "min", 1, _time, [_of_motors, flight_time_range * (LIMIT_TO_DEVIATION / 100)],
    [(_of_motors, _power.freedom)],
)  # fmt: skip


def _no_sweep() -> Node:
    return hover_kind.equals(r.PEAK).where(
        "peaks only: hovering takes steady readings at part throttle", "no unflagged steady reading"
    )


def _say_hover() -> Node:
    most = Aggregate("largest", (g.sweep_clean,), (Condition(r.group, "=", _hover_group),), Constant(1.0))
    top = greater(most, Aggregate("at", (p.thrust,), (), _place)).otherwise(most)
    near = (most > 0).where("no steady readings close enough to that thrust", _no_sweep())
    beyond = (hover_thrust > top).where(join("out of reach: at most ", top.fixed(0), " g a motor"), near)
    found = hover_throttle.present().where("between steady readings", (top > 0).where(beyond, _no_sweep()))
    return hover_thrust.present().where(found, "Craft names no all-up mass, or no number of motors")


hover_note = _hover.shows(
    "note", "Found", "", "", 0, hover_cells.present().where(_say_hover(), ""), "Where the figures come from.",
    definition(),
)  # fmt: skip


def _full_throttle_doubt(place: Column) -> Node:
    """Return the expanded uncertainty, in percent, of the mean thrust of a measured point."""
    thrust, rows = (Aggregate("at", (column,), (), place) for column in (p.thrust, p.rows))
    scatter = enough_repeats.where(thrust_scatter, default_scatter) / rows.sqrt()
    u = sum_of_squares([scatter, 100 * LIMIT_TO_DEVIATION * taken_thrust_accuracy / thrust]).sqrt()
    return expanded(u, effective_freedom(u, [(scatter, scatter_freedom)]))


# --- what it lifts ---------------------------------------------------------------------------------------------

_codes = tuple(
    p.derive(
        f"lift_code_{place}", f"Thrust over weight, class {place}", "", "", 0,
        (p.code > 0).where(p.place * _CODES + float(place), BLANK), "Summary row times 10, and class.", definition(),
        helper=True,
    )
    for place in range(1, len(lift_ratios) + 1)
)  # fmt: skip
LIFT = Table(
    "Lift", "All-up mass at which the static thrust at full throttle gives each thrust over weight of Settings.",
    spare=2 * len(lift_ratios), per=_codes,
)  # fmt: skip
_make = TableMaker(LIFT, "lift", _interpolated)
_row = _make.helps("row", "Row", Aggregate("row", (Column(LIFT.name, "lift_row"),)), "Place.", definition())
_code = _make.helps("code", "Row and class", Aggregate("smallest", _codes, (), _row), "Row times 10, and class.",
                    definition())  # fmt: skip
_point = _make.helps("point", "Summary row", (_code / _CODES).whole_part(), "Which.", definition())
_group = _of_point(_make, "group", "First row", "", p.first_row, _point)
lift_prop = _of_point(_make, "prop", "Prop", "", p.prop, _point)
lift_cells = _of_point(_make, "cells", "Cells", "", p.cells, _point)
lift_ratio = _make.shows(
    "ratio", "Thrust over weight", "", "", 1, call("choose", _code - _point * _CODES, *lift_ratios), "From Settings.",
    definition(),
)  # fmt: skip
lift_thrust = _make.shows(
    "thrust", "All-up mass, 1 motor", "T_h", "g", 0, Aggregate("at", (p.thrust,), (), _point) / lift_ratio,
    "What each motor carries, which is its thrust in hover.", _lift,
)  # fmt: skip
for _motors in MOTOR_NUMBERS[1:]:
    _make.shows(f"mass_{_motors}", f"All-up mass, {_motors} motors", "", "g", 0, _motors * lift_thrust,
                "So many times as much.", _lift)  # fmt: skip
lift_sure = _make.shows(
    "mass_expanded", "All-up mass, ±", "", "%", 1, _full_throttle_doubt(_point), "Of the thrust at full throttle.",
    GUM_FREEDOM,
)  # fmt: skip
_lift_sweep = Sweep(_make, _group, lift_thrust)
lift_throttle = _lift_sweep.read_off("throttle", "Hover throttle", "", "%", 0, throttle_taken).value
lift_power = _lift_sweep.read_off(
    "power", "Hover power a motor", "P_h", "W", 0, r.power, [_VOLTMETER, _AMMETER], ["voltage", "current"]
)
lift_efficiency = _make.shows(
    "grams_per_watt", "Thrust per power in hover", "e_P", "g/W", 2, lift_thrust / lift_power.value, "At that thrust.",
)  # fmt: skip
_make.shows(
    "grams_per_watt_expanded", "Thrust per power in hover, ±", "", "g/W", 2,
    lift_efficiency * lift_power.expanded / lift_power.value, "Expanded, by that of the power.", GUM_FREEDOM,
)  # fmt: skip


def _conditions(place: Column) -> Node:
    thrust, volts = (Aggregate("at", (column,), (), place) for column in (p.thrust, p.voltage))
    of_kind = Aggregate("at", (p.kind_code,), (), place).equals(r.AT_PEAK).where("peak, less when held: ", "steady: ")
    return join(of_kind, thrust.fixed(0), " g at ", volts.fixed(1), " V")


lift_note = _make.shows(
    "note", "Full throttle; hover figures", "", "", 0,
    join(_conditions(_point), lift_throttle.present().where(
        "; between steady readings", "; no unflagged steady readings near hover"
    )).otherwise(""),
    "What the masses and the hover figures go by.", definition(),
)  # fmt: skip

WINGS = Table(
    "FixedWing", "All-up mass of a fixed wing on one motor, by static thrust over weight, classes of Settings.",
    spare=g.SUMMARY.spare, per=(r.group_first,),
)  # fmt: skip
_wing = TableMaker(WINGS, "wing", _lift)
_wing_place = _wing.helps("place", "Place", Aggregate("row", (Column(WINGS.name, "wing_place"),)), "Summary row.",
                          definition())  # fmt: skip
wing_prop = _of_point(_wing, "prop", "Prop", "", p.prop, _wing_place)
wing_cells = _of_point(_wing, "cells", "Cells", "", p.cells, _wing_place)
wing_note = _wing.shows(
    "note", "Full throttle", "", "", 0,
    wing_prop.present().where(_conditions(_wing_place).otherwise("no unflagged full-throttle reading"), ""),
    "What the masses go by.", definition(),
)  # fmt: skip
wing_sure = _wing.shows(
    "mass_expanded", "All-up mass, ±", "", "%", 1, _full_throttle_doubt(_wing_place), "Of the thrust at full throttle.",
    GUM_FREEDOM,
)  # fmt: skip
wing_masses = tuple(
    _wing.shows(
        f"mass_{place}", f"All-up mass, class {place}", "", "g", 0,
        Aggregate("at", (p.thrust,), (), _wing_place) / ratio, "Static thrust over the ratio of that class.", _lift,
    )
    for place, ratio in enumerate(wing_ratios, start=1)
)  # fmt: skip
