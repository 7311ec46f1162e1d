"""One row for each propeller and cell count: full-throttle figures, equal-thrust efficiency, flight and ESC."""

from __future__ import annotations

from xlsengine.bench import readings as r
from xlsengine.bench.craft import craft_propeller, pack_cells
from xlsengine.bench.declare import Quantity, Table
from xlsengine.bench.motor import trimmed_mass
from xlsengine.bench.row_checks import flagged
from xlsengine.bench.settings import (
    ROUND_THRUSTS,
    esc_burst_ratio,
    esc_size,
    esc_steady_share,
    flight_share_high,
    flight_share_low,
    headline_thrust,
    round_thrust,
    widest_gap,
)
from xlsengine.expression import BLANK, Aggregate, Column, Condition, Constant, Node, as_node, greater, join
from xlsengine.sources import definition, practice, worked_out

SUMMARY = Table(
    "Summary",
    "One row for each propeller and cell count, in the order of the readings.",
    spare=8,
    per=(r.group_first,),
)

_of_group = definition("mean over the group's full-throttle rows")
_estimate = practice("estimate for forward flight")
_esc = practice("steady within a share of continuous, peak within burst")


def _derive(
    name: str, label: str, unit: str, shown: int, expression: Node, meaning: str, source: object = _of_group,
    symbol: str = "", helper: bool = False,
) -> Column:  # fmt: skip
    return SUMMARY.derive(
        Quantity(name, label, expression, meaning, source, symbol, unit, shown, helper)  # type: ignore[arg-type]
    )


summary_row = _derive(
    "summary_row", "Summary row", "", 0, Aggregate("row", (Column("Summary", "summary_prop", True),)), "Place here.",
    helper=True,
)  # fmt: skip
first_row = _derive(
    "first_row", "First row", "", 0, Aggregate("smallest", (r.group_first,), (), summary_row),
    "Row of Readings where the group begins.", helper=True,
)  # fmt: skip


def _fetch(column: Column) -> Node:
    return Aggregate("text at" if column.text else "at", (column,), (), first_row)


prop = _derive("summary_prop", "Prop", "", 0, _fetch(r.prop), "The propeller.")
cells = _derive("summary_cells", "Cells", "", 0, _fetch(r.cells), "Cell count.", symbol="cells")
diameter = _derive("summary_diameter", "Diameter", "in", 2, _fetch(r.diameter), "As on its first row.", helper=True)
pitch_ratio = _derive(
    "summary_pitch_ratio", "Pitch over diameter", "", 2, _fetch(r.pitch_ratio), "Geometry.", helper=True
)
label = _derive(
    "summary_label", "Propeller and cells", "", 0, join(prop, " on ", cells.fixed(0), "S"), "As it is spoken of.",
    helper=True,
)  # fmt: skip


def _in_group(*more: Condition) -> tuple[Condition, ...]:
    return (Condition(r.group, "=", first_row), *more)


def _at(point: float) -> Condition:
    return Condition(r.point, "=", Constant(point))


_UNFLAGGED = Condition(flagged, "=", Constant(0.0))
_FLAGGED = Condition(flagged, "=", Constant(1.0))


def _mean(column: Column, *conditions: Condition) -> Node:
    return Aggregate("mean", (column,), _in_group(*conditions))


def _count(*conditions: Condition) -> Node:
    return Aggregate("count", (r.group,), _in_group(*conditions))


def _highest(column: Column, *conditions: Condition) -> Node:
    """Highest of the group's rows; blank where there is none."""
    found = Aggregate("largest", (column,), _in_group(*conditions), Constant(1.0))
    return (_count(*conditions) > 0).where(found, BLANK)


_Block = dict[str, Column]


def _block(word: str, point: float) -> _Block:
    """Derive the full-throttle figures of one kind of reading."""

    def derive(part: str, name: str, unit: str, shown: int, expression: Node, meaning: str) -> Column:
        return _derive(f"{word}_{part}", f"{name}, {word}", unit, shown, expression, meaning)

    at = _at(point)
    block = {
        "count": derive("count", "Readings", "", 0, _count(at), "How many readings the means are of."),
        "voltage": derive("voltage", "Voltage", "V", 2, _mean(r.voltage, at), "Mean, under load."),
        "current": derive("current", "Current", "A", 1, _mean(r.current, at), "Mean."),
        "power": derive("power", "Power", "W", 0, _mean(r.power, at), "Mean."),
        "thrust": derive("thrust", "Thrust", "g", 0, _mean(r.thrust, at), "Mean."),
    }
    thrust, power, current = block["thrust"], block["power"], block["current"]
    block["grams_per_watt"] = derive("grams_per_watt", "Thrust per power", "g/W", 2, thrust / power, "Of the means.")
    block["grams_per_amp"] = derive("grams_per_amp", "Thrust per current", "g/A", 1, thrust / current, "Of the means.")
    block["top_current"] = derive(
        "top_current", "Highest current", "A", 1, _highest(r.current, at), "Highest single reading."
    )
    return block


peak = _block(r.PEAK, r.AT_PEAK)
steady = _block(r.STEADY, r.AT_STEADY)
steady_speed = _derive("steady_speed", "Speed, steady", "rpm", 0, _mean(r.speed, _at(r.AT_STEADY)), "Mean.")
full_thrust = _derive(
    "full_thrust", "Thrust, full throttle", "g", 0, peak["thrust"].otherwise(steady["thrust"]),
    "Peak where read, else steady.", helper=True,
)  # fmt: skip
full_thrust_to_mass = _derive(
    "full_thrust_to_mass", "Thrust to motor mass", "g/g", 1, full_thrust / trimmed_mass, "Leads trimmed.",
)  # fmt: skip
static_current = _derive(
    "static_current", "Static current", "A", 1, peak["top_current"].otherwise(steady["top_current"]),
    "Highest peak reading, or steady where no peak was read: what in-flight current is estimated from.", helper=True,
)  # fmt: skip
reduced = _derive(
    "reduced", "In-flight reduction", "", 0, Aggregate("at", (r.flight_reduced,), (), first_row),
    "1 where forward flight is expected to lower the current.", _estimate, helper=True,
)  # fmt: skip
flight_low = _derive(
    "flight_low", "In-flight current, low", "A", 1, r.in_flight(static_current, flight_share_high, reduced),
    "Estimate from the static current.", _estimate,
)  # fmt: skip
flight_high = _derive(
    "flight_high", "In-flight current, high", "A", 1, r.in_flight(static_current, flight_share_low, reduced),
    "Estimate from the static current.", _estimate,
)  # fmt: skip

# --- equal thrust ----------------------------------------------------------------------------------------

sweep_clean = r.READINGS.derive(
    Quantity(
        "sweep_clean", "Sweep thrust, unflagged", flagged.equals(0).where(r.sweep_thrust, 0.0),
        "As the sweep thrust, without flagged rows.", definition(), shown=0, helper=True,
    )
)  # fmt: skip


def _equal_thrust(name: str, label: str, thrust: Node, sweep: Column, helper: bool = False) -> Column:
    """Interpolate power at `thrust` on a straight line in logarithms between the neighbouring steady readings."""

    def neighbour(place: str, words: str, nth: Node) -> Column:
        expression = Aggregate("largest", (sweep,), _in_group(), nth)
        return _derive(f"{name}_{place}", f"{label}, {words}", "g", 0, expression, "Neighbouring reading.", helper=True)

    above = Aggregate("count", (sweep,), _in_group(Condition(sweep, ">=", thrust)))
    upper = neighbour("upper", "next thrust up", above)
    lower = neighbour("lower", "next thrust down", above + 1)
    power_up = Aggregate("mean", (r.power,), _in_group(Condition(sweep, "=", upper)))
    power_down = Aggregate("mean", (r.power,), _in_group(Condition(sweep, "=", lower)))
    share = (thrust / lower).ln() / (upper / lower).ln()
    between = thrust / (power_down * (share * (power_up / power_down).ln()).exp())
    inside = (upper <= lower * widest_gap).where(between, BLANK)
    return _derive(
        name, label, "g/W", 2, (upper.equals(thrust)).where(thrust / power_up, inside),
        "Interpolated between steady readings, straight in logarithms; blank outside them and across wide gaps.",
        worked_out("power goes nearly as thrust to the power 1.5"), helper=helper,
    )  # fmt: skip


headline_efficiency = _equal_thrust(
    "headline_efficiency", "Thrust per power at headline thrust", headline_thrust, r.sweep_thrust
)
round_efficiency = tuple(
    _equal_thrust(
        f"round_efficiency_{place}", f"Thrust per power at round thrust {place}",
        Aggregate("at", (round_thrust,), (), Constant(float(place))), r.sweep_thrust,
    )
    for place in range(1, len(ROUND_THRUSTS.rows) + 1)
)  # fmt: skip

# --- what flagged rows decide ----------------------------------------------------------------------------

flagged_points = _derive(
    "flagged_points", "Flagged readings", "", 0, _count(_FLAGGED),
    "Rows of the group with a doubtful or impossible flag.",
)  # fmt: skip
_peak_clean = _derive(
    "peak_thrust_clean", "Thrust, peak, unflagged", "g", 0, _mean(r.thrust, _at(r.AT_PEAK), _UNFLAGGED),
    "Without flagged rows.", helper=True,
)  # fmt: skip
_steady_clean = _derive(
    "steady_thrust_clean", "Thrust, steady, unflagged", "g", 0, _mean(r.thrust, _at(r.AT_STEADY), _UNFLAGGED),
    "Without flagged rows.", helper=True,
)  # fmt: skip
full_thrust_clean = _derive(
    "full_thrust_clean", "Thrust, full throttle, unflagged", "g", 0, _peak_clean.otherwise(_steady_clean),
    "Without flagged rows.", helper=True,
)  # fmt: skip
full_thrust_to_mass_clean = _derive(
    "full_thrust_to_mass_clean", "Thrust to motor mass, unflagged", "g/g", 1, full_thrust_clean / trimmed_mass,
    "Without flagged rows.", helper=True,
)  # fmt: skip
static_current_clean = _derive(
    "static_current_clean", "Static current, unflagged", "A", 1,
    _highest(r.current, _at(r.AT_PEAK), _UNFLAGGED).otherwise(_highest(r.current, _at(r.AT_STEADY), _UNFLAGGED)),
    "Without flagged rows.", helper=True,
)  # fmt: skip
steady_efficiency_clean = _derive(
    "steady_efficiency_clean", "Thrust per power, steady, unflagged", "g/W", 2,
    _steady_clean / _mean(r.power, _at(r.AT_STEADY), _UNFLAGGED), "Without flagged rows.", helper=True,
)  # fmt: skip
headline_efficiency_clean = _equal_thrust(
    "headline_efficiency_clean", "Thrust per power at headline thrust, unflagged", headline_thrust, sweep_clean,
    helper=True,
)  # fmt: skip

# --- ESC -------------------------------------------------------------------------------------------------


def _smallest_size(need: Node) -> Node:
    """Smallest size of the ladder that is not below `need`; blank where none is."""
    enough = Aggregate("count", (esc_size,), (Condition(esc_size, ">=", need),))
    return Aggregate("largest", (esc_size,), (), enough)


held_need = _derive(
    "held_need", "ESC need, full throttle held", "A", 1,
    static_current.present().where(
        greater(
            (steady["top_current"] / (esc_steady_share / 100)).otherwise(0.0),
            (peak["top_current"] / esc_burst_ratio).otherwise(0.0),
        ),
        BLANK,
    ),
    "Continuous rating that holds the measured currents.", _esc, helper=True,
)  # fmt: skip
held_size = _derive(
    "held_size", "ESC size, full throttle held", "A", 0, _smallest_size(held_need), "Smallest that covers.", _esc
)


def _by_fall(end: str) -> Node:
    """Return an end of the band in flight by the propeller's own fall, in A; nothing where it is not known."""
    return Aggregate("at", (Column("InFlight", f"flying_current_{end}"),), (), summary_row).otherwise(0.0)


flight_least = _derive(
    "flight_least", "In-flight current, low, higher of the two", "A", 1, greater(flight_low, _by_fall("low")),
    "By the rule of thumb, or by the propeller's own fall at the airspeed on Craft.", _estimate, helper=True,
)  # fmt: skip
flight_most = _derive(
    "flight_most", "In-flight current, high, higher of the two", "A", 1, greater(flight_high, _by_fall("high")),
    "By the rule of thumb, or by the propeller's own fall at the airspeed on Craft.", _estimate, helper=True,
)  # fmt: skip
flight_need = _derive(
    "flight_need", "ESC need, short bursts in flight", "A", 1, flight_most / esc_burst_ratio,
    "Continuous rating whose burst rating holds the estimated in-flight current.", _estimate, helper=True,
)  # fmt: skip
flight_size = _derive(
    "flight_size", "ESC size, short bursts in flight", "A", 0, _smallest_size(flight_need), "Smallest that covers.",
    _estimate,
)  # fmt: skip
on_craft = _derive(
    "on_craft", "On craft", "", 0,
    static_current.present().where(
        pack_cells.otherwise(cells).equals(cells).where(
            craft_propeller.present().where(
                r.propeller_key(craft_propeller).equals(r.propeller_key(prop)).where(1.0, 0.0), 1.0
            ),
            0.0,
        ),
        BLANK,
    ),
    "1 where cell count and propeller are those on Craft, or Craft leaves them open.", helper=True,
)  # fmt: skip


def on_craft_only(column: Column) -> Node:
    """Return a column's value where the group is one for the craft, blank elsewhere."""
    return on_craft.equals(1).where(as_node(column), BLANK)


held_need_craft = _derive(
    "held_need_craft", "ESC need held, on craft", "A", 1, on_craft_only(held_need), "As above.", _esc, helper=True
)
flight_high_craft = _derive(
    "flight_high_craft", "In-flight current, on craft", "A", 1, on_craft_only(flight_most), "As above.", _estimate,
    helper=True,
)  # fmt: skip
