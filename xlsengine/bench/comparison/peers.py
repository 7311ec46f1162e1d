"""This motor and others of its class with the same propeller and cell count: one row each.

Of the others stands what was read, typed once; this motor's own row is live. Each is brought to this motor's voltage and
air where that is near enough, and what was tested under other conditions says so.
"""

from __future__ import annotations

from typing import NamedTuple

from xlsengine.bench.advice.statements import motor_title
from xlsengine.bench.comparison import compared as c
from xlsengine.bench.declaring.declare import Field, FieldKind, Quantity, Table
from xlsengine.bench.groups.normalising import brought, density_power, signed_percent, volts_power, within_reach
from xlsengine.bench.inputs.conditions import air_density, esc_used, moist_density
from xlsengine.bench.inputs.motor import tester, trimmed_mass
from xlsengine.bench.inputs.settings import assumed_speed_ratio
from xlsengine.bench.uncertainty.motor_uncertainty import trimmed_mass_expanded
from xlsengine.expression import BLANK, Column, Condition, Constant, Node, call, flag, join
from xlsengine.sources import MOMENTUM_THEORY, Source, definition, worked_out

PEERS = Table(
    "Peers",
    "This motor and its peers by propeller and cell count: theirs as they were kept, its own live.",
)
_KEPT = definition("as kept in the library when this workbook was written")
_AS_KEPT = "Of a peer, as it was kept; of this motor, live."
_brought = worked_out("as for the reference volts and air on Propellers, with this motor's in their place")


def _typed(name: str, label: str, unit: str = "", decimals: int = 2, kind: FieldKind = "number") -> Column:
    declared = Field(
        f"kept_{name}", f"Kept: {label}", unit, "Typed once.", kind, decimals=decimals, helper=True, source=_KEPT
    )
    return PEERS.write_once(declared)


def derive(
    name: str,
    label: str,
    unit: str,
    shown: int,
    expression: Node,
    meaning: str,
    source: Source | None = None,
    helper: bool = True,
) -> Column:
    """Add a live column."""
    return PEERS.add(
        Quantity(f"peer_{name}", label, expression, meaning, source or definition(), "", unit, shown, helper)
    )


group = _typed("group", "propeller and cell count, number", "", 0)
own = _typed("own", "1 this motor, 0 a peer", "", 0)
number = _typed("number", "motor, number", "", 0)
is_own = own.equals(1)
in_group = Condition(group, "=", group)


def _taken(name: str, label: str, unit: str, shown: int, live: Node, helper: bool = True) -> Column:
    """Add a figure: of this motor live, of the others as kept."""
    kept = _typed(name, label, unit, shown, "text" if live.is_text else "number")
    return PEERS.column(f"peer_{name}", label, unit, decimals=shown, helper=helper).derive(
        is_own.where(live, kept), _AS_KEPT
    )


class Brought(NamedTuple):
    """A figure as it was read, and brought to this motor's conditions."""

    read: Column
    value: Column


label = PEERS.column("peer_label", "Propeller and cells").derive(c.label.at(group), "What was compared.")
name = _taken("name", "Motor", "", 0, motor_title, helper=False)
test = _typed("test", "test id", kind="text")
readings = _taken("readings", "Readings", "", 0, c.own_readings.at(group))
kind = _taken("kind", "Kind", "", 0, c.own_kind.at(group))
what = PEERS.column("peer_what", "Readings at full throttle").derive(
    readings.present().where(join(readings.fixed(0), " ", kind), ""), "How many the means are of, and of which kind."
)
voltage = _taken("voltage", "Voltage", "V", 2, c.own_voltage.at(group), helper=False)
density = _taken("density", "Air density", "kg/m³", 3, air_density)
air_read = _taken("air_read", "Air read", "", 0, moist_density.present().where(1.0, 0.0))
ratio = _taken("ratio", "Speed ratio", "", 3, assumed_speed_ratio)
stand = _taken("stand", "Tester", "", 0, join(tester))
esc = _taken("esc", "ESC", "", 0, join(esc_used))
mass = _taken("mass", "Trimmed mass", "g", 1, trimmed_mass, helper=False)
mass_margin = _taken("mass_margin", "Trimmed mass, ±", "g", 2, trimmed_mass_expanded)
mass_share = PEERS.helper("peer_mass_share", "Trimmed mass, ± as a share", "%", decimals=2).derive(
    (mass_margin / mass * 100).otherwise(0.0), "0 where it is not known."
)

# --- brought to this motor's conditions ------------------------------------------------------------------------

volts_share = PEERS.helper("peer_volts_share", "Volts: this motor over the peer", decimals=4).derive(
    c.own_voltage.at(group) / voltage, "Ratio."
)
density_share = PEERS.helper("peer_density_share", "Air: this motor over the peer", decimals=4).derive(
    air_density / density, "Ratio."
)
reach = PEERS.helper("peer_reach", "Near enough").derive(
    flag(within_reach(volts_share, density_share)).otherwise(0.0),
    "1 where volts and air lie within the limits of normalising on Settings.",
)


def _moved(name: str, label: str, unit: str, shown: int, live: Node, more: float) -> Brought:
    read = _taken(f"{name}_read", f"{label}, read", unit, shown, live, helper=name != "thrust")
    there = brought(read, volts_share, volts_power(ratio) + more, density_share, density_power(ratio))
    return Brought(
        read,
        PEERS.column(f"peer_{name}", label, unit, decimals=shown, helper=name == "power").derive(
            reach.equals(1).where(there, BLANK),
            "At this motor's voltage and air; blank beyond the limits of normalising.",
            _brought or definition(),
        ),
    )


thrust = _moved("thrust", "Thrust", "g", 0, c.own_thrust.at(group), 0.0)
power = _moved("power", "Power", "W", 0, c.own_power.at(group), 1.0)
current = _moved("current", "Highest current", "A", 1, c.own_current.at(group), 0.0)
efficiency = PEERS.column("peer_efficiency", "g/W at full throttle", "g/W").derive(
    thrust.value / power.value, "Of the two.", _brought or definition()
)
at_read = _taken("at_read", "g/W at equal thrust, read", "g/W", 2, c.own_at.at(group))
air_near = PEERS.helper("peer_air_near", "Air near enough").derive(
    flag(within_reach(Constant(1.0), density_share)).otherwise(0.0),
    "1 where the air lies within the limit of normalising: at one thrust the volts do not matter.",
)
at_thrust = PEERS.column("peer_at_thrust", "g/W at equal thrust", "g/W").derive(
    air_near.equals(1).where(at_read * density_share.sqrt(), BLANK),
    "In this motor's air: at one thrust power goes as 1/√ρ.",
    MOMENTUM_THEORY or definition(),
)
VALUES = {"thrust": thrust.value, "efficiency": efficiency, "at_thrust": at_thrust}

# --- under which conditions -----------------------------------------------------------------------------------

same_kind = PEERS.helper("peer_same_kind", "Same kind of reading").derive(
    is_own.where(1.0, flag(kind.equals(c.own_kind.at(group)))), "1 where both are steady, or both peaks."
)
other_stand = PEERS.helper("peer_other_stand", "Another stand").derive(
    is_own.where(0.0, stand.equals(join(tester)).where(0.0, 1.0)),
    "1 where another tester is named: one tester counts as one stand.",
)
_other_esc = is_own.where(0.0, esc.equals(join(esc_used)).where(0.0, 1.0))


def _if(condition: Node, *words: Node | str) -> Node:
    return condition.where(join(*words).otherwise(""), "")


_conditions = join(
    _if(same_kind.equals(0), kind, " against ", c.own_kind.at(group), ": not ranked. "),
    _if(
        reach.equals(0),
        "Too far (volts ",
        signed_percent(1 / volts_share),
        ", air ",
        signed_percent(1 / density_share),
        "): not ranked. ",
    ),
    _if(other_stand.equals(1), "Another stand. "),
    _if(_other_esc, "Another ESC, or not stated. "),
    _if(air_read.equals(0), "Air not read. "),
)
conditions = PEERS.column("peer_conditions", "Different conditions").derive(
    is_own.where("This motor.", call("trim", _conditions)), "What differs from this motor's test."
)
"""Where nothing differs it is empty."""

# --- what is ranked -------------------------------------------------------------------------------------------

_ranked = {"thrust": same_kind * reach, "efficiency": same_kind * reach, "at_thrust": air_near}


def _key(figure: str) -> Column:
    value = VALUES[figure]
    return PEERS.helper(f"peer_{figure}_key", f"{c.TITLES[figure]}: ranked by", decimals=3).derive(
        _ranked[figure].equals(1).where(value.otherwise(0.0), 0.0), "0 where it takes no part."
    )


KEYS = {figure: _key(figure) for figure in c.FIGURES}
"""What each figure is ranked by; never blank."""


def _spread(figure: str) -> Column:
    """Return 1 over the readings behind a figure; what is read off at a thrust counts as one reading."""
    counted = Constant(1.0) if figure == "at_thrust" else 1 / readings
    return PEERS.helper(f"peer_{figure}_spread", f"{c.TITLES[figure]}: 1 over readings", decimals=3).derive(
        (KEYS[figure] > 0).where(counted, 0.0).otherwise(0.0), "0 where it takes no part."
    )


SPREADS = {figure: _spread(figure) for figure in c.FIGURES}


def _doubt(figure: str) -> Column:
    """Return the expanded uncertainties of both in percent, where another stand read it."""
    kept = _typed(f"{figure}_sure", f"{c.TITLES[figure]}, ±", "%", 2)
    both = (call("power", kept.otherwise(0.0), 2.0) + c.OWN_EXPANDED[figure].at(group) ** 2).sqrt()
    return PEERS.helper(f"peer_{figure}_doubt", f"{c.TITLES[figure]}: ± of both stands", "%", decimals=2).derive(
        (KEYS[figure] > 0).where(other_stand.equals(1).where(both, 0.0), 0.0).otherwise(0.0),
        "Expanded uncertainties of both tests; 0 on one stand, whose errors both share.",
        worked_out("root of the squares") or definition(),
    )


DOUBTS = {figure: _doubt(figure) for figure in ("thrust", "efficiency")}
DOUBTS["at_thrust"] = DOUBTS["efficiency"]
