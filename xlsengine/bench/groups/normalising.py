"""Full-throttle figures brought to one voltage per cell and one air density."""

from xlsengine.bench.declaring.declare import Heading, Table
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.inputs.conditions import air_density, moist_density
from xlsengine.bench.inputs.motor import label_kv
from xlsengine.bench.physics.motor_model import best_kv
from xlsengine.expression import Column, Node, call, join, say
from xlsengine.sources import definition, worked_out

_read = definition("as on Summary")

NORMALISED = Table.beside(
    g.SUMMARY,
    "Normalised",
    "Full-throttle figures at the reference volts per cell and air density: estimates, beside the measured ones.",
    row="normal_row",
    source=_read,
)
summary_row = NORMALISED.row
_exponents = worked_out("n = Kv·(V − I·R) with I as ρ·n²: n goes as V^(1/(2−x)), thrust and current as ρ^(x/(2−x))")

prop = NORMALISED.take(g.prop, "normal_prop")
cells = NORMALISED.take(g.cells, "normal_cells")


def _raw(part: str, symbol: str) -> Column:
    """Take over the steady mean where steady readings were read, else the mean of the peaks."""
    declared = g.SUMMARY.quantities[g.full[part].name]
    label = f"{part.capitalize()}, read"
    return NORMALISED.column(f"raw_{part}", label, declared.unit, symbol=symbol, decimals=declared.shown).derive(
        g.full[part].at(summary_row)
    )


raw_voltage, raw_thrust = _raw("voltage", "V"), _raw("thrust", "T")
raw_current, raw_power = _raw("current", "I"), _raw("power", "P")
_steady_speed = g.steady_speed.at(summary_row)
_measured_ratio = _steady_speed / (best_kv.otherwise(label_kv) * g.steady["voltage"].at(summary_row))
measured_ratio = NORMALISED.helper("measured_ratio", "Speed ratio, measured", decimals=3).derive(
    ((_measured_ratio >= s.speed_ratio_low) & (_measured_ratio <= s.speed_ratio_high)).where(_measured_ratio)
)
speed_ratio = NORMALISED.column("normal_ratio", "Speed ratio", symbol="x_p", decimals=3).derive(
    raw_voltage.present().where(measured_ratio.otherwise(s.assumed_speed_ratio)),
    "Speed over Kv times volts, measured; else the one on Settings.",
)


def volts_power(ratio: Node) -> Node:
    """Return the power of the volts that thrust and current go with, by the speed ratio; electrical power one more."""
    return 2 / (2 - ratio)


def density_power(ratio: Node) -> Node:
    """Return the power of the air's density that thrust, current and power go with, by the speed ratio."""
    return ratio / (2 - ratio)


volts_exponent = NORMALISED.column(
    "volts_exponent", "Thrust and current go with volts to the power", symbol="a_V", decimals=2
).derive(volts_power(speed_ratio), "2/(2 − x); power one more.", _exponents)
density_exponent = NORMALISED.column(
    "density_exponent", "and with air density to the power", symbol="a_ρ", decimals=2
).derive(density_power(speed_ratio), "x/(2 − x), for thrust, current and power.", _exponents)
volts_share = NORMALISED.helper("volts_share", "Reference over read, volts", symbol="v", decimals=4).derive(
    s.reference_cell_voltage * cells / raw_voltage
)
density_share = NORMALISED.helper("density_share", "Reference over day, air density", symbol="d", decimals=4).derive(
    s.reference_density / air_density
)


def _off(share: Node) -> Node:
    """Percent from the figure read to the reference."""
    return call("absolute", share - 1) * 100


def within_reach(volts: Node, density: Node) -> Node:
    """Ask whether a figure may be brought over these ratios of volts and of air density: the limits on Settings."""
    return (_off(volts) <= s.volts_reach) & (_off(density) <= s.density_reach)


def brought(raw: Node, volts: Node, volts_to: Node, density: Node, density_to: Node) -> Node:
    """Bring a figure over ratios of volts and of air density, each to its power."""
    return raw * (volts_to * volts.ln() + density_to * density.ln()).exp()


_in_reach = within_reach(volts_share, density_share)


def _normal(heading: Heading[Column], raw: Column, more: float = 0.0) -> Column:
    there = brought(raw, volts_share, volts_exponent + more, density_share, density_exponent)
    return heading.derive(
        _in_reach.where(there),
        "At the reference volts per cell and air density; blank beyond the reach on Settings.",
        _exponents,
    )


normal_thrust = _normal(NORMALISED.column("normal_thrust", "Thrust, estimated", "g", symbol="T_n"), raw_thrust)
normal_current = _normal(NORMALISED.column("normal_current", "Current, estimated", "A", symbol="I_n"), raw_current)
normal_power = _normal(NORMALISED.column("normal_power", "Power, estimated", "W", symbol="P_n"), raw_power, more=1.0)
normal_efficiency = NORMALISED.column("normal_efficiency", "Thrust per power, estimated", "g/W", symbol="e_Pn").derive(
    normal_thrust / normal_power, "Of the two.", definition()
)


def signed_percent(share: Node) -> Node:
    """Write a ratio as the percent by which it is off 1, with its sign."""
    percent = (share - 1) * 100
    return (percent >= 0).where(say("+{:.1f} %", percent), say("−{:.1f} %", -percent))


normal_note = NORMALISED.column("normal_note", "How far").derive(
    raw_voltage.present().where(
        join(
            _in_reach.where("estimated: volts ", "too far for an estimate: volts "),
            signed_percent(volts_share),
            moist_density.present().where(
                say(", air {}", signed_percent(density_share)), ", air not read and left as it was"
            ),
            measured_ratio.present().where("", "; speed ratio assumed"),
        ),
        "",
    )
)

NORMALISED.keep(normal_thrust, normal_current, normal_power, normal_efficiency, volts_exponent, density_exponent)
