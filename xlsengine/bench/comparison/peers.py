"""This motor and others of its class with the same propeller and cell count: one row each.

Of the others stands what was read, typed once; this motor's own row is live. Each is brought to this motor's voltage and
air where that is near enough, and what was tested under other conditions says so.
"""

from typing import NamedTuple

from xlsengine.bench.advice.statements import motor_title
from xlsengine.bench.comparison import class_motors as k
from xlsengine.bench.comparison.class_motors import OwnAndPeers
from xlsengine.bench.groups.normalising import brought, density_power, signed_percent, volts_power, within_reach
from xlsengine.bench.inputs.conditions import air_density, esc_used, moist_density
from xlsengine.bench.inputs.motor import tester, trimmed_mass
from xlsengine.bench.inputs.settings import assumed_speed_ratio
from xlsengine.bench.uncertainty.motor_uncertainty import trimmed_mass_expanded
from xlsengine.expression import BLANK, Column, Condition, Constant, Node, call, flag, join, say
from xlsengine.sources import MOMENTUM_THEORY, worked_out

PEERS = OwnAndPeers(
    "Peers",
    "This motor and its peers by propeller and cell count: theirs as they were kept, its own live.",
    prefix="peer_",
)
_brought = worked_out("as for the reference volts and air on Propellers, with this motor's in their place")


group = PEERS.kept("group", "propeller and cell count, number")
own = PEERS.kept("own", "1 this motor, 0 a peer")
number = PEERS.kept("number", "motor, number")
is_own = PEERS.is_own
in_group = Condition(group, "=", group)


class Brought(NamedTuple):
    """A figure as it was read, and brought to this motor's conditions."""

    read: Column
    value: Column


label = PEERS.column("label", "Propeller and cells").derive(k.label.at(group))
name = PEERS.taken("name", "Motor", motor_title)
test = PEERS.kept("test", "test id", text=True)
readings = PEERS.taken("readings", "Readings", k.own_readings.at(group), helper=True)
kind = PEERS.taken("kind", "Kind", k.own_kind.at(group), helper=True)
what = PEERS.column("what", "Readings at full throttle").derive(
    readings.present().where(join(readings.fixed(0), " ", kind), "")
)
voltage = PEERS.taken("voltage", "Voltage", k.own_voltage.at(group), "V", 2)
density = PEERS.taken("density", "Air density", air_density, "kg/m³", 3, helper=True)
air_read = PEERS.taken("air_read", "Air read", moist_density.present().where(1.0, 0.0), helper=True)
ratio = PEERS.taken("ratio", "Speed ratio", assumed_speed_ratio, decimals=3, helper=True)
stand = PEERS.taken("stand", "Tester", join(tester), helper=True)
esc = PEERS.taken("esc", "ESC", join(esc_used), helper=True)
mass = PEERS.taken("mass", "Trimmed mass", trimmed_mass, "g", 1)
mass_margin = PEERS.taken("mass_margin", "Trimmed mass, ±", trimmed_mass_expanded, "g", 2, helper=True)
mass_share = PEERS.helper("mass_share", "Trimmed mass, ± as a share", "%", decimals=2).derive(
    (mass_margin / mass * 100).otherwise(0.0)
)

# --- brought to this motor's conditions ------------------------------------------------------------------------

volts_share = PEERS.helper("volts_share", "Volts: this motor over the peer", decimals=4).derive(
    k.own_voltage.at(group) / voltage
)
density_share = PEERS.helper("density_share", "Air: this motor over the peer", decimals=4).derive(air_density / density)
reach = PEERS.helper("reach", "Near enough").derive(flag(within_reach(volts_share, density_share)).otherwise(0.0))


def _moved(name: str, label: str, unit: str, shown: int, live: Node, more: float) -> Brought:
    read = PEERS.taken(f"{name}_read", f"{label}, read", live, unit, shown, helper=name != "thrust")
    there = brought(read, volts_share, volts_power(ratio) + more, density_share, density_power(ratio))
    return Brought(
        read,
        PEERS.column(name, label, unit, decimals=shown, helper=name == "power").derive(
            reach.equals(1).where(there, BLANK),
            "At this motor's voltage and air; blank beyond the limits of normalising.",
            _brought,
        ),
    )


thrust = _moved("thrust", "Thrust", "g", 0, k.own_thrust.at(group), 0.0)
power = _moved("power", "Power", "W", 0, k.own_power.at(group), 1.0)
current = _moved("current", "Highest current", "A", 1, k.own_current.at(group), 0.0)
efficiency = PEERS.column("efficiency", "g/W at full throttle", "g/W").derive(
    thrust.value / power.value, "Of the two.", _brought
)
at_read = PEERS.taken("at_read", "g/W at equal thrust, read", k.own_at.at(group), "g/W", 2, helper=True)
air_near = PEERS.helper("air_near", "Air near enough").derive(
    flag(within_reach(Constant(1.0), density_share)).otherwise(0.0)
)
at_thrust = PEERS.column("at_thrust", "g/W at equal thrust", "g/W").derive(
    air_near.equals(1).where(at_read * density_share.sqrt(), BLANK),
    "In this motor's air: at one thrust power goes as 1/√ρ.",
    MOMENTUM_THEORY,
)
VALUES = {"thrust": thrust.value, "efficiency": efficiency, "at_thrust": at_thrust}
"""What is ranked, of each figure."""

# --- under which conditions -----------------------------------------------------------------------------------

same_kind = PEERS.helper("same_kind", "Same kind of reading").derive(
    is_own.where(1.0, flag(kind.equals(k.own_kind.at(group))))
)
other_stand = PEERS.helper("other_stand", "Another stand").derive(
    is_own.where(0.0, stand.equals(join(tester)).where(0.0, 1.0))
)
_other_esc = is_own.where(0.0, esc.equals(join(esc_used)).where(0.0, 1.0))


def _if(condition: Node, *words: Node | str) -> Node:
    return condition.where(join(*words).otherwise(""), "")


_kinds = kind.equals("").where(
    "No full-throttle reading that counts",
    k.own_kind.at(group)
    .equals("")
    .where("The other has none that counts", join(kind, " against ", k.own_kind.at(group))),
)
_apart = signed_percent(1 / volts_share), signed_percent(1 / density_share)
_conditions = join(
    _if(same_kind.equals(0), _kinds, ": not ranked. "),
    _if(reach.equals(0), say("Too far (volts {}, air {}): not ranked. ", *_apart)),
    _if(other_stand.equals(1), "Another stand. "),
    _if(_other_esc, "Another ESC, or not stated. "),
    _if(air_read.equals(0), "Air not read. "),
)
conditions = PEERS.column("conditions", "Different conditions").derive(
    is_own.where("This motor.", call("trim", _conditions))
)
"""Where nothing differs it is empty."""
