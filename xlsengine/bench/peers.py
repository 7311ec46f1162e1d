"""This motor and others of its class with the same propeller and cell count: one row each.

Of the others stands what was read, typed once; this motor's own row is live. Each is brought to this motor's voltage and
air where that is near enough, and what was tested under other conditions says so.
"""

from __future__ import annotations

from typing import NamedTuple

from xlsengine.bench import compared as c
from xlsengine.bench.conditions import air_density, esc_used, moist_density
from xlsengine.bench.declare import Field, FieldKind, Quantity, Table
from xlsengine.bench.motor import tester, trimmed_mass
from xlsengine.bench.motor_uncertainty import trimmed_mass_expanded
from xlsengine.bench.normalising import brought, density_power, signed_percent, volts_power, within_reach
from xlsengine.bench.settings import assumed_speed_ratio
from xlsengine.bench.statements import motor_title
from xlsengine.expression import BLANK, Aggregate, Column, Condition, Constant, Node, call, flag, join
from xlsengine.sources import MOMENTUM_THEORY, Source, definition, worked_out

PEERS = Table(
    "Peers", "This motor and its peers by propeller and cell count: theirs as they were kept, its own live.",
)  # fmt: skip
_KEPT = definition("as kept in the library when this workbook was written")
_AS_KEPT = "Of a peer, as it was kept; of this motor, live."
_brought = worked_out("as for the reference volts and air on Propellers, with this motor's in their place")


def _typed(name: str, label: str, unit: str = "", decimals: int = 2, kind: FieldKind = "number") -> Column:
    declared = Field(
        f"kept_{name}", f"Kept: {label}", unit, "Typed once.", kind, decimals=decimals, helper=True, source=_KEPT
    )
    return PEERS.write_once(declared)


def derive(
    name: str, label: str, unit: str, shown: int, expression: Node, meaning: str, source: Source | None = None,
    helper: bool = True,
) -> Column:  # fmt: skip
    """Add a live column."""
    return PEERS.derive(
        Quantity(f"peer_{name}", label, expression, meaning, source or definition(), "", unit, shown, helper)
    )


group = _typed("group", "propeller and cell count, number", "", 0)
own = _typed("own", "1 this motor, 0 a peer", "", 0)
number = _typed("number", "motor, number", "", 0)
is_own = own.equals(1)
in_group = Condition(group, "=", group)


def _of_group(column: Column) -> Node:
    return Aggregate("text at" if column.text else "at", (column,), (), group)


def _taken(name: str, label: str, unit: str, shown: int, live: Node, helper: bool = True) -> Column:
    """Add a figure: of this motor live, of the others as kept."""
    kept = _typed(name, label, unit, shown, "text" if live.is_text else "number")
    return derive(name, label, unit, shown, is_own.where(live, kept), _AS_KEPT, helper=helper)


class Brought(NamedTuple):
    """A figure as it was read, and brought to this motor's conditions."""

    read: Column
    value: Column


label = derive("label", "Propeller and cells", "", 0, _of_group(c.label), "What was compared.", helper=False)
name = _taken("name", "Motor", "", 0, motor_title, helper=False)
test = _typed("test", "test id", kind="text")
readings = _taken("readings", "Readings", "", 0, _of_group(c.own_readings))
kind = _taken("kind", "Kind", "", 0, _of_group(c.own_kind))
what = derive(
    "what", "Readings at full throttle", "", 0, readings.present().where(join(readings.fixed(0), " ", kind), ""),
    "How many the means are of, and of which kind.", helper=False,
)  # fmt: skip
voltage = _taken("voltage", "Voltage", "V", 2, _of_group(c.own_voltage), helper=False)
density = _taken("density", "Air density", "kg/m³", 3, air_density)
air_read = _taken("air_read", "Air read", "", 0, moist_density.present().where(1.0, 0.0))
ratio = _taken("ratio", "Speed ratio", "", 3, assumed_speed_ratio)
stand = _taken("stand", "Tester", "", 0, join(tester))
esc = _taken("esc", "ESC", "", 0, join(esc_used))
mass = _taken("mass", "Trimmed mass", "g", 1, trimmed_mass, helper=False)
mass_margin = _taken("mass_margin", "Trimmed mass, ±", "g", 2, trimmed_mass_expanded)
mass_share = derive(
    "mass_share", "Trimmed mass, ± as a share", "%", 2, (mass_margin / mass * 100).otherwise(0.0),
    "0 where it is not known.",
)  # fmt: skip

# --- brought to this motor's conditions ------------------------------------------------------------------------

volts_share = derive(
    "volts_share", "Volts: this motor over the peer", "", 4, _of_group(c.own_voltage) / voltage, "Ratio."
)
density_share = derive("density_share", "Air: this motor over the peer", "", 4, air_density / density, "Ratio.")
reach = derive(
    "reach", "Near enough", "", 0, flag(within_reach(volts_share, density_share)).otherwise(0.0),
    "1 where volts and air lie within the limits of normalising on Settings.",
)  # fmt: skip


def _moved(name: str, label: str, unit: str, shown: int, live: Node, more: float) -> Brought:
    read = _taken(f"{name}_read", f"{label}, read", unit, shown, live, helper=name != "thrust")
    there = brought(read, volts_share, volts_power(ratio) + more, density_share, density_power(ratio))
    return Brought(
        read,
        derive(name, label, unit, shown, reach.equals(1).where(there, BLANK),
               "At this motor's voltage and air; blank beyond the limits of normalising.", _brought,
               helper=name == "power"),
    )  # fmt: skip


thrust = _moved("thrust", "Thrust", "g", 0, _of_group(c.own_thrust), 0.0)
power = _moved("power", "Power", "W", 0, _of_group(c.own_power), 1.0)
current = _moved("current", "Highest current", "A", 1, _of_group(c.own_current), 0.0)
efficiency = derive(
    "efficiency", "g/W at full throttle", "g/W", 2, thrust.value / power.value, "Of the two.", _brought, helper=False
)
at_read = _taken("at_read", "g/W at equal thrust, read", "g/W", 2, _of_group(c.own_at))
air_near = derive(
    "air_near", "Air near enough", "", 0, flag(within_reach(Constant(1.0), density_share)).otherwise(0.0),
    "1 where the air lies within the limit of normalising: at one thrust the volts do not matter.",
)  # fmt: skip
at_thrust = derive(
    "at_thrust", "g/W at equal thrust", "g/W", 2,
    air_near.equals(1).where(at_read * density_share.sqrt(), BLANK),
    "In this motor's air: at one thrust power goes as 1/√ρ.", MOMENTUM_THEORY, helper=False,
)  # fmt: skip
VALUES = {"thrust": thrust.value, "efficiency": efficiency, "at_thrust": at_thrust}

# --- under which conditions -----------------------------------------------------------------------------------

same_kind = derive(
    "same_kind", "Same kind of reading", "", 0, is_own.where(1.0, flag(kind.equals(_of_group(c.own_kind)))),
    "1 where both are steady, or both peaks.",
)  # fmt: skip
other_stand = derive(
    "other_stand", "Another stand", "", 0, is_own.where(0.0, stand.equals(join(tester)).where(0.0, 1.0)),
    "1 where another tester is named: one tester counts as one stand.",
)  # fmt: skip
_other_esc = is_own.where(0.0, esc.equals(join(esc_used)).where(0.0, 1.0))


def _if(condition: Node, *words: Node | str) -> Node:
    return condition.where(join(*words).otherwise(""), "")


_conditions = join(
    _if(same_kind.equals(0), kind, " against ", _of_group(c.own_kind), ": not ranked. "),
    _if(reach.equals(0), "Too far (volts ", signed_percent(1 / volts_share), ", air ", signed_percent(1 / density_share),
        "): not ranked. "),
    _if(other_stand.equals(1), "Another stand. "), _if(_other_esc, "Another ESC, or not stated. "),
    _if(air_read.equals(0), "Air not read. "),
)  # fmt: skip
conditions = derive(
    "conditions", "Different conditions", "", 0, is_own.where("This motor.", call("trim", _conditions)),
    "What differs from this motor's test.", helper=False,
)  # fmt: skip
"""Where nothing differs it is empty."""

# --- what is ranked -------------------------------------------------------------------------------------------

_ranked = {"thrust": same_kind * reach, "efficiency": same_kind * reach, "at_thrust": air_near}


def _key(figure: str) -> Column:
    value = VALUES[figure]
    return derive(
        f"{figure}_key", f"{c.TITLES[figure]}: ranked by", "", 3, _ranked[figure].equals(1).where(value.otherwise(0.0), 0.0),
        "0 where it takes no part.",
    )  # fmt: skip


KEYS = {figure: _key(figure) for figure in c.FIGURES}
"""What each figure is ranked by; never blank."""


def _spread(figure: str) -> Column:
    """Return 1 over the readings behind a figure; what is read off at a thrust counts as one reading."""
    counted = Constant(1.0) if figure == "at_thrust" else 1 / readings
    return derive(
        f"{figure}_spread", f"{c.TITLES[figure]}: 1 over readings", "", 3,
        (KEYS[figure] > 0).where(counted, 0.0).otherwise(0.0), "0 where it takes no part.",
    )  # fmt: skip


SPREADS = {figure: _spread(figure) for figure in c.FIGURES}


def _doubt(figure: str) -> Column:
    """Return the expanded uncertainties of both in percent, where another stand read it."""
    kept = _typed(f"{figure}_sure", f"{c.TITLES[figure]}, ±", "%", 2)
    both = (call("power", kept.otherwise(0.0), 2.0) + _of_group(c.OWN_EXPANDED[figure]) ** 2).sqrt()
    return derive(
        f"{figure}_doubt", f"{c.TITLES[figure]}: ± of both stands", "%", 2,
        (KEYS[figure] > 0).where(other_stand.equals(1).where(both, 0.0), 0.0).otherwise(0.0),
        "Expanded uncertainties of both tests; 0 on one stand, whose errors both share.", worked_out("root of the squares"),
    )  # fmt: skip


DOUBTS = {figure: _doubt(figure) for figure in ("thrust", "efficiency")}
DOUBTS["at_thrust"] = DOUBTS["efficiency"]
