"""What each propeller and cell count lifts, hovering the craft of Craft, and what that asks of motor and pack.

The last are expressions of a row of the summary: `of_row` asks them of the row that Craft answers for, or of one after
the other, and `pairs` of kept figures.
"""

from xlsengine.bench.advice import esc_needs as n
from xlsengine.bench.advice import in_flight as f
from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.declaring.spoken import in_thousands
from xlsengine.bench.groups import measured_points as p
from xlsengine.bench.groups import summary as g
from xlsengine.bench.groups import throttle_sweep as t
from xlsengine.bench.groups.lines import CURRENT_EXPONENT, CURRENT_EXPONENT_EXPANDED
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.inputs.craft import all_up_mass, motor_count, pack_capacity, pack_cells
from xlsengine.bench.propagation import accuracies as a
from xlsengine.expression import BLANK, Column, Named, Node, Operand, call, first_holding, flag, greater, replaced, say
from xlsengine.sources import GUM_FREEDOM, definition, practice, worked_out


def craft_power(of_motor: Node) -> Node:
    """Return the watts of the craft of Craft at a power per motor, with everything else as on Settings."""
    return motor_count * of_motor + s.avionics_power


def minutes_at(watts: Node, cells: Node) -> Node:
    """Return how long the pack of Craft lasts at a power of the craft; blank for another cell count than the pack's."""
    energy = pack_capacity / 1000 * cells * s.reference_cell_voltage * s.usable_capacity / 100
    return pack_cells.otherwise(cells).equals(cells).where(60 * energy / watts)


# --- hovering the craft ----------------------------------------------------------------------------------------

_THROTTLE = t.Kind(r.throttle, unread=100.0)
HOVERING = Table.beside(
    g.SUMMARY,
    "Hovering",
    "The craft of Craft at rest in the air on this motor, at the volts of the bench readings.",
    row="place",
    source=worked_out("between neighbouring unflagged steady readings, straight in logarithms"),
    prefix="hover_",
)
_place = HOVERING.row
_hover_group = HOVERING.take(p.first_row, "group", helper=True)
hover_cells = HOVERING.take(p.cells, "cells")
hover_thrust = HOVERING.column("thrust", "Thrust per motor", "g", symbol="T_h").derive(
    hover_cells.present().where(all_up_mass / motor_count), "All-up mass over the number of motors.", definition()
)
_sweep = t.Sweep(HOVERING, _hover_group, hover_thrust)
HOVER = {
    "throttle": _sweep.read_off(HOVERING.column("throttle", "Hover throttle", "%", decimals=0), _THROTTLE),
    "current": _sweep.read_off(HOVERING.column("current", "Current per motor", "A", "I_h"), t.CURRENT),
    "power": _sweep.read_off(HOVERING.column("power", "Power per motor", "W", "P_h"), t.POWER),
}
"""What is read off at the thrust of hovering."""
hover_throttle, _power = HOVER["throttle"].value, HOVER["power"]
hover_total = HOVERING.column("total", "Power of the craft", "W", "P_c").derive(
    craft_power(_power.value), "All motors, and everything else as on Settings.", practice("everything else 5 W")
)
_time = HOVERING.column("time", "Hover time", "min", "t_h", decimals=1)
_minutes = _time.derive(
    minutes_at(hover_total, hover_cells),
    "Usable energy of the pack at its nominal volts, over the power; only for the pack's cell count.",
    worked_out("60·E·usable share / P"),
)
# the power of the motors is one part of the whole, and going by a static table another
_share = (motor_count * _power.value / hover_total) ** 2
_off = _share * _power.variance + a.relative(s.flight_time_range) ** 2
HOVER["time"] = t.with_doubt(_time, _minutes, _off, _share * _power.scatter)
HOVERING.column("total_expanded", "Power of the craft, ±", "W").derive(
    motor_count * _power.expanded, "Expanded, of the motors; everything else is taken as on Settings.", GUM_FREEDOM
)
_highest = greater(_sweep.nearest, p.thrust.at(_place)).otherwise(_sweep.nearest)
"""A peak may lie above all steady readings."""
_found = (
    (~hover_thrust.present(), "Craft names no all-up mass, or no number of motors"),
    (hover_throttle.present(), "between steady readings"),
    ((_highest > 0) & (hover_thrust > _highest), say("out of reach: at most {} g a motor", in_thousands(_highest))),
    (_sweep.nearest > 0, "no steady readings close enough to that thrust"),
    (p.kind.at(_place).equals(r.PEAK), "peaks only: hovering takes steady readings at part throttle"),
)
hover_note = HOVERING.helper("note", "Found").derive(
    hover_cells.present().where(first_holding(_found, "no unflagged steady reading"), "")
)

# --- what it lifts ---------------------------------------------------------------------------------------------


def thrust_doubt(thrust: Node, rows: Node) -> Node:
    """Return the expanded uncertainty, in percent, of the mean thrust of so many readings."""
    scatter, stand = t.single_variance / rows, a.taken_thrust_accuracy * a.LIMIT_TO_DEVIATION / thrust
    return 100 * t.expanded_share(scatter + stand**2, scatter)


LIFT = Table.beside(
    g.SUMMARY,
    "Lift",
    "All-up mass for each motor at which the static thrust at full throttle gives each thrust over weight of Settings.",
    row="place",
    source=worked_out("static thrust at full throttle, steady or else peak, over thrust-to-weight"),
    prefix="lift_",
)
_point = LIFT.row
_group = LIFT.take(p.first_row, "group", helper=True)
lift_prop = LIFT.take(p.prop, "prop")
lift_cells = LIFT.take(p.cells, "cells")
lift_thrust = LIFT.take(p.thrust, "thrust", "Thrust at full throttle")


def _masses(name: str, label: str, ratios: tuple[Named, ...]) -> dict[Column, Named]:
    """Add the mass at each thrust over weight."""
    return {
        LIFT.column(f"{name}_{place}", f"All-up mass, {label} {place}", "g").derive(
            lift_thrust / ratio, "Static thrust over the ratio of that class; so many motors, so many times as much."
        ): ratio
        for place, ratio in enumerate(ratios, start=1)
    }


lift_masses = _masses("wing", "fixed wing class", s.wing_ratios) | _masses("hovering", "hovering class", s.lift_ratios)
"""The masses, and the thrust over weight of each."""
LIFT.column("mass_expanded", "All-up mass, ±", "%").derive(
    thrust_doubt(lift_thrust, p.rows.at(_point)), "Of the thrust at full throttle.", GUM_FREEDOM
)
_calm = list(lift_masses)[len(s.wing_ratios)]
_lift_sweep = t.Sweep(LIFT, _group, _calm)
lift_throttle = _lift_sweep.read_off(LIFT.column("throttle", "Hover throttle", "%", decimals=0), _THROTTLE).value
lift_power = _lift_sweep.read_off(LIFT.column("power", "Hover power per motor", "W", symbol="P_h"), t.POWER)
lift_efficiency = LIFT.column("grams_per_watt", "Thrust per power in hover", "g/W", symbol="e_h").derive(
    _calm / lift_power.value, "At the mass of the first hovering class."
)
LIFT.column("grams_per_watt_expanded", "Thrust per power in hover, ±", "g/W").derive(
    lift_efficiency * lift_power.expanded / lift_power.value, "Expanded, by that of the power.", GUM_FREEDOM
)
_lift_words = say(
    "{} at {:.1f} V{}{}",
    p.kind.at(_point),
    p.voltage.at(_point),
    p.kind.at(_point).equals(r.PEAK).where(", less when held", ""),
    lift_throttle.present().where("", "; no steady readings near hover"),
)
LIFT.column("note", "Full throttle").derive(
    lift_cells.present().where(_lift_words.otherwise("no unflagged full-throttle reading"), "")
)

# --- of any row ----------------------------------------------------------------------------------------------------


def of_row(node: Node, row: Operand) -> Node:
    """Return what an expression of a row of the summary comes to in the row with a number.

    Columns of the table that names the row stay as they are.
    """
    here = row.table if isinstance(row, Column) else ""
    return replaced(node, lambda part: part.at(row) if isinstance(part, Column) and part.table != here else None)


# --- hovering: between steady readings, or else estimated from full throttle ---------------------------------------

READ_OFF, ESTIMATED = 2.0, 1.0
BY_STEPS, ESTIMATE, OUT_OF_REACH = "steps", "estimate", "out of reach"
_aloft, _least, _most = all_up_mass / motor_count, s.current_exponent_low, s.current_exponent_high
_depth = (g.full["thrust"] >= _aloft).where((g.full["thrust"] / _aloft).ln(), BLANK)
estimated = g.full["current"] * (-1.0 * CURRENT_EXPONENT.otherwise((_least + _most) / 2) * _depth).exp()
estimated_off = CURRENT_EXPONENT_EXPANDED.otherwise((_most - _least) / 2) * _depth
"""Current from full throttle, and its relative ±; blank where the mass is out of reach. It goes with a power of thrust, the
measured one or the middle of the usual range on Settings."""
_read, _reached = (flag(amps > 0).otherwise(0.0) for amps in (HOVER["current"].value, estimated))
hover_by = READ_OFF * _read + ESTIMATED * (1 - _read) * _reached
"""Where the amps come from; 0 where they are out of reach."""
hover_basis = call("choose", hover_by + 1, OUT_OF_REACH, ESTIMATE, BY_STEPS)
hover_current = HOVER["current"].value.otherwise(estimated)
hover_current_doubt = HOVER["current"].expanded.otherwise(estimated * estimated_off)
estimated_watts = craft_power(estimated * g.full["voltage"])
hover_watts = hover_total.otherwise(estimated_watts)
"""Of the craft."""


def watts_off(watts: Node) -> Node:
    """Return the relative ± of the power of the craft, where it is estimated."""
    return motor_count * estimated * g.full["voltage"] * estimated_off / watts


def minutes_doubt(minutes: Node, watts_off: Node) -> Node:
    """Return the ± of the minutes: of the power, and of going by a static table."""
    by_estimate = minutes * (watts_off * watts_off + (s.flight_time_range / 100) ** 2).sqrt()
    return HOVER["time"].expanded.otherwise(by_estimate)


# --- at full throttle ----------------------------------------------------------------------------------------------

on_stand = greater(n.launch, g.static_current)
"""Amps of one motor that were read, or that stand in for a peak not read."""
wiring = greater(on_stand, f.flight_high.otherwise(0.0))
"""Amps of one motor that the wiring must carry: those of the stand, or more in flight by estimate."""


def rate(amps: Node) -> Node:
    """Return how many times the pack's capacity in Ah the amps of the craft are: its C."""
    return 1000 * amps / pack_capacity


def full_minutes(amps: Node) -> Node:
    """Return how long the usable charge of the pack lasts at these amps of each motor."""
    return pack_capacity / 1000 * s.usable_capacity / 100 * 60 / motor_count / amps


least_minutes = full_minutes(greater(f.flight_high, g.static_current))
"""By what is certain: the highest static current, or more in flight."""
most_minutes = full_minutes(f.flight_low)
minutes_said = (most_minutes > least_minutes).where(
    say("{:.1f}–{:.1f}", least_minutes, most_minutes), say("{:.1f}", least_minutes)
)
"""On the stand to in flight, as one number where they are the same."""
