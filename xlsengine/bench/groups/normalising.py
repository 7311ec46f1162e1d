"""Full-throttle figures brought to one voltage per cell and one air density, and the sag of the supply."""

from xlsengine.bench.declaring.declare import Heading, Table
from xlsengine.bench.declaring.grouped_line import GroupedLine, slope_deviation
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.inputs.conditions import air_density, moist_density
from xlsengine.bench.inputs.motor import label_kv
from xlsengine.bench.judging.counting import SOUND_ROWS
from xlsengine.bench.physics.group_rows import cells_first
from xlsengine.bench.physics.motor_model import best_kv
from xlsengine.bench.propagation.accuracies import AMMETER, VOLTMETER
from xlsengine.bench.propagation.terms import expanded_by, sum_of_squares
from xlsengine.expression import Column, Condition, Constant, Node, call, first_holding, join, say
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
        g.full[part].at(summary_row), "As read: mean of the steady readings, or of the peaks where none is steady."
    )


raw_voltage, raw_thrust = _raw("voltage", "V"), _raw("thrust", "T")
raw_current, raw_power = _raw("current", "I"), _raw("power", "P")
_steady_speed = g.steady_speed.at(summary_row)
_measured_ratio = _steady_speed / (best_kv.otherwise(label_kv) * g.steady["voltage"].at(summary_row))
measured_ratio = NORMALISED.helper("measured_ratio", "Speed ratio, measured", decimals=3).derive(
    ((_measured_ratio >= s.speed_ratio_low) & (_measured_ratio <= s.speed_ratio_high)).where(_measured_ratio),
    "Steady speed over Kv times volts; blank where it is outside the plausible range on Settings.",
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

# --- the supply's sag --------------------------------------------------------------------------------------

SAG = Table(
    "SagLines",
    "Volts against amps over the unflagged steady readings of each cell count.",
    spare=1,
    per=(cells_first,),
    source=worked_out("V = V0 − I·R"),
)
SAG.starts(cells_first, "sag")
sag_count_of = SAG.take(g.cells, "sag_line_cells")
_line = GroupedLine(
    r.current,
    r.voltage,
    (Condition(r.cells, "=", sag_count_of), SOUND_ROWS, Condition(r.kind_taken, "=", Constant(r.STEADY))),
)
LEAST_SAG_ROWS = 4
sag_rows = SAG.column("sag_rows", "Readings").derive(sag_count_of.present().where(_line.count), "In the line.")
volts_per_amp = SAG.helper("volts_per_amp", "Slope, of however few readings", decimals=5).derive(
    (_line.spread > 1).where(_line.slope), "V/A; blank when their currents lie within an ampere."
)
sag_slope = SAG.helper("sag_slope", "Slope", symbol="ΔV/ΔI", decimals=5).derive(
    (sag_rows >= LEAST_SAG_ROWS).where(volts_per_amp), "V/A; blank with fewer than four readings."
)
rest_voltage = SAG.column("sag_rest", "Voltage at no current", "V", symbol="V_r").derive(
    _line.intercept(sag_slope), "Of the line, midway through the runs."
)
sag_explained = SAG.helper("sag_explained", "r²", symbol="r²", decimals=4).derive(_line.explained(sag_slope))
SAG.column("sag_rest_cell", "Voltage at no current per cell", "V", symbol="V0_c", decimals=3).derive(
    rest_voltage / sag_count_of, "Per cell."
)
_supply = SAG.column("supply_resistance", "Resistance of pack and leads", "mΩ", symbol="R_sup")
supply_resistance = _supply.derive(
    -1000.0 * sag_slope, "Everything between the cells and the place where volts were read."
)
SAG.column("resistance_per_cell", "Resistance of pack and leads per cell", "mΩ", symbol="R_c", decimals=2).derive(
    supply_resistance / sag_count_of, "Per cell."
)
_fitted = 1000 * slope_deviation(sag_slope, sag_explained, sag_rows)
supply_expanded = _supply.expanded.derive(
    expanded_by(
        sum_of_squares([_fitted, supply_resistance * VOLTMETER, supply_resistance * AMMETER]).sqrt(),
        (_fitted, sag_rows - 2),
    ),
    "Expanded uncertainty: scatter about the line, and the instruments.",
)
sag_verdict = SAG.column("sag_verdict", "Verdict").derive(
    sag_count_of.present().where(
        sag_slope.present().where(
            first_holding(
                (
                    (supply_resistance < 0, "volts rise with current: another pack, a supply's limit, or a wrong sign"),
                    (supply_resistance > s.supply_resistance_high, "soft: a weak or cold pack, or thin leads"),
                ),
                "normal",
            ),
            "no line: it takes four steady readings of differing current",
        ),
        "",
    ),
    "Against the limit on Settings; a line that rises is never right.",
)

NORMALISED.keep(normal_thrust, normal_current, normal_power, normal_efficiency, volts_exponent, density_exponent)
