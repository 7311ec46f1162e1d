"""What each propeller and cell count lifts: all-up mass by thrust over weight, and hovering the craft of Craft."""

from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.groups import measured_points as p
from xlsengine.bench.groups import summary as g
from xlsengine.bench.groups.repeatability import enough_repeats, scatter_freedom, thrust_scatter
from xlsengine.bench.groups.throttle_sweep import Sweep
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.inputs.craft import all_up_mass, motor_count, pack_capacity, pack_cells
from xlsengine.bench.propagation import accuracies as a
from xlsengine.bench.propagation.terms import effective_freedom, expanded, sum_of_squares
from xlsengine.expression import Aggregate, Column, Condition, Node, call, greater, join, say
from xlsengine.sources import GUM_FREEDOM, definition, practice, worked_out

MOTOR_NUMBERS = (1, 4, 6, 8)
_CODES = 10
_interpolated = worked_out("between neighbouring unflagged steady readings, straight in logarithms")
_lift = worked_out("static thrust at full throttle, steady or else peak, over thrust-to-weight")

throttle_taken = r.READINGS.helper("throttle_taken", "Throttle taken", "%", decimals=0).derive(
    r.throttle.otherwise(100.0), "100 where none was read."
)


def craft_power(of_motor: Node) -> Node:
    """Return the watts of the craft of Craft at a power per motor, with everything else as on Settings."""
    return motor_count * of_motor + s.avionics_power


def minutes_at(watts: Node, cells: Node) -> Node:
    """Return how long the pack of Craft lasts at a power of the craft; blank for another cell count than the pack's."""
    energy = pack_capacity / 1000 * cells * s.reference_cell_voltage * s.usable_capacity / 100
    return pack_cells.otherwise(cells).equals(cells).where(60 * energy / watts)


# --- hovering the craft ----------------------------------------------------------------------------------------

HOVERING = Table.beside(
    g.SUMMARY,
    "Hovering",
    "The craft of Craft at rest in the air on this motor, at the volts of the bench readings.",
    row="place",
    source=_interpolated,
    prefix="hover_",
)
_place = HOVERING.row
_hover_group = HOVERING.take(p.first_row, "group", helper=True)
hover_prop = HOVERING.take(p.prop, "prop")
hover_cells = HOVERING.take(p.cells, "cells")
hover_kind = HOVERING.take(p.kind, "kind", "Kind at full throttle", helper=True)
hover_thrust = HOVERING.column("thrust", "Thrust per motor", "g", symbol="T_h").derive(
    hover_cells.present().where(all_up_mass / motor_count), "All-up mass over the number of motors.", definition()
)
_AMMETER, _VOLTMETER = a.relative(a.taken_current_accuracy), a.relative(a.taken_voltage_accuracy)
_sweep = Sweep(HOVERING, _hover_group, hover_thrust)
_throttle = _sweep.read_off(HOVERING.column("throttle", "Hover throttle", "%", decimals=0), throttle_taken)
hover_throttle = _throttle.value
_sweep.read_off(HOVERING.column("current", "Current per motor", "A", symbol="I_h"), r.current, [_AMMETER], ["current"])
_of_power = [_VOLTMETER, _AMMETER], ["voltage", "current"]
_power = _sweep.read_off(HOVERING.column("power", "Power per motor", "W", symbol="P_h"), r.power, *_of_power)
hover_efficiency = HOVERING.column("grams_per_watt", "Thrust per power", "g/W", symbol="e_P").derive(
    hover_thrust / _power.value, "At that thrust.", definition()
)
HOVERING.column("grams_per_watt_expanded", "Thrust per power, ±", "g/W").derive(
    hover_efficiency * _power.expanded / _power.value,
    "Expanded; the thrust is given, so its uncertainty is that of the power.",
    GUM_FREEDOM,
)
hover_total = HOVERING.column("total", "Power of the craft", "W", symbol="P_c").derive(
    craft_power(_power.value),
    "All motors, and everything else as on Settings.",
    practice("everything else 5 W"),
)
HOVERING.column("total_expanded", "Power of the craft, ±", "W").derive(
    motor_count * _power.expanded, "Expanded, of the motors; everything else is taken as on Settings.", GUM_FREEDOM
)
_hover_time = HOVERING.column("time", "Hover time", "min", symbol="t_h", decimals=1)
_time = _hover_time.derive(
    minutes_at(hover_total, hover_cells),
    "Usable energy of the pack at its nominal volts, over the power; only for the pack's cell count.",
    worked_out("60·E·usable share / P"),
)
_of_motors = motor_count * _power.value * _power.uncertainty / hover_total
_sweep.expand(
    _hover_time, _time, [_of_motors, s.flight_time_range * (a.LIMIT_TO_DEVIATION / 100)], [(_of_motors, _power.freedom)]
)


def _no_sweep() -> Node:
    return hover_kind.equals(r.PEAK).where(
        "peaks only: hovering takes steady readings at part throttle", "no unflagged steady reading"
    )


def _say_hover() -> Node:
    most = g.sweep_clean.largest(Condition(r.group, "=", _hover_group))
    top = greater(most, p.thrust.at(_place)).otherwise(most)
    near = (most > 0).where("no steady readings close enough to that thrust", _no_sweep())
    beyond = (hover_thrust > top).where(say("out of reach: at most {:.0f} g a motor", top), near)
    found = hover_throttle.present().where("between steady readings", (top > 0).where(beyond, _no_sweep()))
    return hover_thrust.present().where(found, "Craft names no all-up mass, or no number of motors")


hover_note = HOVERING.column("note", "Found").derive(
    hover_cells.present().where(_say_hover(), ""), "Where the figures come from.", definition()
)


def _full_throttle_expanded(place: Column) -> Node:
    """Return the expanded uncertainty, in percent, of the mean thrust of a measured point."""
    thrust, rows = (column.at(place) for column in (p.thrust, p.rows))
    scatter = enough_repeats.where(thrust_scatter, s.default_scatter) / rows.sqrt()
    u = sum_of_squares([scatter, 100 * a.LIMIT_TO_DEVIATION * a.taken_thrust_accuracy / thrust]).sqrt()
    return expanded(u, effective_freedom(u, [(scatter, scatter_freedom)]))


# --- what it lifts ---------------------------------------------------------------------------------------------

_codes = tuple(
    p.MEASURED.helper(f"lift_code_{place}", f"Thrust over weight, class {place}").derive(
        (p.code > 0).where(p.place * _CODES + float(place)), "Summary row times 10, and class.", definition()
    )
    for place in range(1, len(s.lift_ratios) + 1)
)
LIFT = Table(
    "Lift",
    "All-up mass at which the static thrust at full throttle gives each thrust over weight of Settings.",
    per=_codes,
    prefix="lift_",
    source=_interpolated,
)
_row = LIFT.helper("row", "Row").derive(Aggregate("row", (Column(LIFT.name, "lift_row"),)), "Place.", definition())
_code = LIFT.helper("code", "Row and class").derive(
    Aggregate("smallest", _codes, (), _row), "Row times 10, and class.", definition()
)
_point = LIFT.helper("point", "Summary row").derive((_code / _CODES).whole_part(), "Which.", definition())
LIFT.row = _point
_group = LIFT.take(p.first_row, "group", helper=True)
lift_prop = LIFT.take(p.prop, "prop")
lift_cells = LIFT.take(p.cells, "cells")
lift_ratio = LIFT.column("ratio", "Thrust over weight", decimals=1).derive(
    call("choose", _code - _point * _CODES, *s.lift_ratios), "From Settings.", definition()
)
lift_thrust = LIFT.column("thrust", "All-up mass, 1 motor", "g", symbol="T_h").derive(
    p.thrust.at(_point) / lift_ratio, "What each motor carries, which is its thrust in hover.", _lift
)
for _motors in MOTOR_NUMBERS[1:]:
    LIFT.column(f"mass_{_motors}", f"All-up mass, {_motors} motors", "g").derive(
        _motors * lift_thrust, "So many times as much.", _lift
    )
lift_expanded = LIFT.column("mass_expanded", "All-up mass, ±", "%").derive(
    _full_throttle_expanded(_point), "Of the thrust at full throttle.", GUM_FREEDOM
)
_lift_sweep = Sweep(LIFT, _group, lift_thrust)
lift_throttle = _lift_sweep.read_off(LIFT.column("throttle", "Hover throttle", "%", decimals=0), throttle_taken).value
lift_power = _lift_sweep.read_off(LIFT.column("power", "Hover power per motor", "W", symbol="P_h"), r.power, *_of_power)
lift_efficiency = LIFT.column("grams_per_watt", "Thrust per power in hover", "g/W", symbol="e_P").derive(
    lift_thrust / lift_power.value, "At that thrust."
)
LIFT.column("grams_per_watt_expanded", "Thrust per power in hover, ±", "g/W").derive(
    lift_efficiency * lift_power.expanded / lift_power.value, "Expanded, by that of the power.", GUM_FREEDOM
)


def _conditions(place: Column) -> Node:
    thrust, volts = (column.at(place) for column in (p.thrust, p.voltage))
    of_kind = p.kind_code.at(place).equals(r.AT_PEAK).where("peak, less when held: ", "steady: ")
    return say("{}{:.0f} g at {:.1f} V", of_kind, thrust, volts)


lift_note = LIFT.column("note", "Full throttle; hover figures").derive(
    join(
        _conditions(_point),
        lift_throttle.present().where("; between steady readings", "; no unflagged steady readings near hover"),
    ).otherwise(""),
    "What the masses and the hover figures go by.",
    definition(),
)

WINGS = Table.beside(
    g.SUMMARY,
    "FixedWing",
    "All-up mass of a fixed wing on one motor, by static thrust over weight, classes of Settings.",
    row="place",
    source=_lift,
    prefix="wing_",
)
_wing_place = WINGS.row
wing_prop = WINGS.take(p.prop, "prop")
wing_cells = WINGS.take(p.cells, "cells")
wing_note = WINGS.column("note", "Full throttle").derive(
    wing_prop.present().where(_conditions(_wing_place).otherwise("no unflagged full-throttle reading"), ""),
    "What the masses go by.",
    definition(),
)
wing_expanded = WINGS.column("mass_expanded", "All-up mass, ±", "%").derive(
    _full_throttle_expanded(_wing_place), "Of the thrust at full throttle.", GUM_FREEDOM
)
wing_masses = tuple(
    WINGS.column(f"mass_{place}", f"All-up mass, class {place}", "g").derive(
        p.thrust.at(_wing_place) / ratio, "Static thrust over the ratio of that class."
    )
    for place, ratio in enumerate(s.wing_ratios, start=1)
)
