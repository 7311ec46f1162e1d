"""What each propeller and cell count lifts: all-up mass by thrust over weight, and hovering the craft of Craft."""

from __future__ import annotations

from xlsengine.bench import measured_points as p
from xlsengine.bench import readings as r
from xlsengine.bench import summary as g
from xlsengine.bench.craft import all_up_mass, motor_count, pack_capacity, pack_cells
from xlsengine.bench.declare import Quantity, Table
from xlsengine.bench.settings import (
    avionics_power,
    flight_time_range,
    hover_gap,
    hover_range,
    lift_ratios,
    reference_cell_voltage,
    usable_capacity,
    wing_ratios,
)
from xlsengine.bench.table_maker import TableMaker
from xlsengine.expression import BLANK, Aggregate, Column, Condition, Constant, Named, Node, call, join
from xlsengine.sources import Source, definition, practice, worked_out

MOTOR_NUMBERS = (1, 4, 6, 8)
_CODES = 10
_interpolated = worked_out("between neighbouring unflagged steady readings, straight in logarithms")
_lift = worked_out("static steady thrust at full throttle over thrust-to-weight")

throttle_taken = r.READINGS.derive(
    Quantity("throttle_taken", "Throttle taken", r.throttle.otherwise(100.0), "100 where none was read.", definition(),
             unit="%", shown=0, helper=True)
)  # fmt: skip


class _Sweep:
    """Reads throttle, current and power at a thrust off one group's steady readings."""

    def __init__(self, make: TableMaker, group: Column, thrust: Column) -> None:
        self._group, self._thrust = group, thrust
        above = Aggregate("count", (g.sweep_clean,), self._where(">=", thrust))
        self._upper = make.helps("upper", "Next thrust up", self._nth(above), "g.")
        self._lower = make.helps("lower", "Next thrust down", self._nth(above + 1), "g.")
        close = (self._upper <= self._lower * hover_gap).where(
            (thrust / self._lower).ln() / (self._upper / self._lower).ln(), BLANK
        )
        self._share = make.helps(
            "share", "Place between the two", self._upper.equals(thrust).where(1.0, close),
            "In logarithms; blank outside the readings and across gaps wider than Settings allows.",
        )  # fmt: skip

    def at(self, column: Column) -> Node:
        """Return `column` at the thrust."""
        up, down = self._mean(column, self._upper), self._mean(column, self._lower)
        between = (down.ln() + self._share * (up / down).ln()).exp()
        return self._share.equals(1).where(up, between)

    def _where(self, sign: str, value: Node) -> tuple[Condition, ...]:
        return Condition(r.group, "=", self._group), Condition(g.sweep_clean, sign, value)

    def _nth(self, place: Node) -> Node:
        return Aggregate("largest", (g.sweep_clean,), (Condition(r.group, "=", self._group),), place)

    def _mean(self, column: Column, thrust: Node) -> Node:
        return Aggregate("mean", (column,), self._where("=", thrust))


# --- hovering the craft ----------------------------------------------------------------------------------------

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
hover_thrust = _hover.shows(
    "thrust", "Thrust a motor", "T_h", "g", 0, hover_cells.present().where(all_up_mass / motor_count, BLANK),
    "All-up mass over the number of motors.", definition(),
)  # fmt: skip
_sweep = _Sweep(_hover, _hover_group, hover_thrust)
hover_throttle = _hover.shows(
    "throttle", "Hover throttle", "", "%", 0, _sweep.at(throttle_taken), "Blank where the readings do not reach."
)
hover_current = _hover.shows("current", "Current a motor", "I_h", "A", 1, _sweep.at(r.current), "At that thrust.")


def _ends(name: str, label: str, unit: str, shown: int, value: Node, half: Named, source: Source) -> None:
    """Add the two ends of a value's range, `half` in percent."""
    for end, sign in (("least", -1), ("most", 1)):
        _hover.shows(f"{name}_{end}", f"{label}, {end}", "", unit, shown, value * (1 + sign * half / 100),
                     "With the range on Settings.", source)  # fmt: skip


_ends("throttle", "Hover throttle", "%", 0, hover_throttle, hover_range, _interpolated)
_ends("current", "Current a motor", "A", 1, hover_current, hover_range, _interpolated)
hover_power = _hover.shows("power", "Power a motor", "P_h", "W", 0, _sweep.at(r.power), "At that thrust.")
hover_efficiency = _hover.shows(
    "grams_per_watt", "Thrust per power", "T/P", "g/W", 2, hover_thrust / hover_power, "At that thrust.", definition()
)
hover_total = _hover.shows(
    "total", "Power of the craft", "P_c", "W", 0, motor_count * hover_power + avionics_power,
    "All motors, and everything else as on Settings.", practice("everything else 5 W"),
)  # fmt: skip
_energy = pack_capacity / 1000 * hover_cells * reference_cell_voltage * usable_capacity / 100
_time = _hover.shows(
    "time", "Hover time", "t_h", "min", 1,
    pack_cells.otherwise(hover_cells).equals(hover_cells).where(60 * _energy / hover_total, BLANK),
    "Usable energy of the pack at its nominal volts, over the power; only for the pack's cell count.",
    worked_out("60·E·usable share / P"),
)  # fmt: skip
_ends("time", "Hover time", "min", 1, _time, flight_time_range, worked_out("range on Settings"))


def _say_hover() -> Node:
    most = Aggregate("largest", (g.sweep_clean,), (Condition(r.group, "=", _hover_group),), Constant(1.0))
    beyond = (hover_thrust > most).where(
        join("out of reach: at most ", most.fixed(0), " g a motor"), "no steady readings close enough to that thrust"
    )
    found = hover_throttle.present().where(
        "between steady readings", (most > 0).where(beyond, "no unflagged steady reading")
    )
    return hover_thrust.present().where(found, "Craft names no all-up mass, or no number of motors")


hover_note = _hover.shows(
    "note", "Found", "", "", 0, hover_cells.present().where(_say_hover(), ""), "Where the figures come from.",
    definition(),
)  # fmt: skip

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
    "Lift", "All-up mass at which the static steady thrust at full throttle gives each thrust over weight of Settings.",
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
_lift_sweep = _Sweep(_make, _group, lift_thrust)
lift_throttle = _make.shows(
    "throttle", "Hover throttle", "", "%", 0, _lift_sweep.at(throttle_taken), "Blank where the readings do not reach."
)
lift_power = _make.helps("power", "Hover power a motor", _lift_sweep.at(r.power), "W.")
lift_efficiency = _make.shows(
    "grams_per_watt", "Thrust per power in hover", "T/P", "g/W", 2, lift_thrust / lift_power, "At that thrust.",
)  # fmt: skip


def _conditions(place: Column) -> Node:
    thrust, volts = (Aggregate("at", (column,), (), place) for column in (p.thrust, p.voltage))
    return join(thrust.fixed(0), " g at ", volts.fixed(1), " V")


lift_note = _make.shows(
    "note", "Full throttle, steady; hover figures", "", "", 0,
    join(_conditions(_point), lift_throttle.present().where(
        "; between steady readings", "; no unflagged steady readings near hover"
    )).otherwise(""),
    "What the masses and the hover figures go by.", definition(),
)  # fmt: skip

WINGS = Table(
    "FixedWing", "All-up mass of a fixed wing on one motor, by static steady thrust over weight, classes of Settings.",
    spare=g.SUMMARY.spare, per=(r.group_first,),
)  # fmt: skip
_wing = TableMaker(WINGS, "wing", _lift)
_wing_place = _wing.helps("place", "Place", Aggregate("row", (Column(WINGS.name, "wing_place"),)), "Summary row.",
                          definition())  # fmt: skip
wing_prop = _of_point(_wing, "prop", "Prop", "", p.prop, _wing_place)
wing_cells = _of_point(_wing, "cells", "Cells", "", p.cells, _wing_place)
wing_note = _wing.shows(
    "note", "Full throttle, steady", "", "", 0,
    wing_prop.present().where(_conditions(_wing_place).otherwise("no unflagged steady reading"), ""),
    "What the masses go by.", definition(),
)  # fmt: skip
wing_masses = tuple(
    _wing.shows(
        f"mass_{place}", f"All-up mass, class {place}", "", "g", 0,
        Aggregate("at", (p.thrust,), (), _wing_place) / ratio, "Static thrust over the ratio of that class.", _lift,
    )
    for place, ratio in enumerate(wing_ratios, start=1)
)  # fmt: skip
