"""Full-throttle figures brought to one voltage per cell and one air density, and the sag of the supply."""

from __future__ import annotations

from xlsengine.bench import readings as r
from xlsengine.bench import speed_rows as t
from xlsengine.bench import summary as g
from xlsengine.bench.accuracies import relative, taken_current_accuracy, taken_voltage_accuracy
from xlsengine.bench.conditions import air_density, moist_density
from xlsengine.bench.declare import Quantity, Table
from xlsengine.bench.grouped_line import GroupedLine, slope_deviation
from xlsengine.bench.motor import label_kv
from xlsengine.bench.motor_model import best_kv
from xlsengine.bench.settings import (
    assumed_speed_ratio,
    density_reach,
    reference_cell_voltage,
    reference_density,
    speed_ratio_high,
    speed_ratio_low,
    supply_resistance_high,
    volts_reach,
)
from xlsengine.bench.uncertainty import effective_freedom, expanded, sum_of_squares
from xlsengine.expression import BLANK, Aggregate, Column, Node, Operand, call, join
from xlsengine.sources import Source, definition, worked_out

NORMALISED = Table(
    "Normalised", "Full-throttle figures at the reference volts per cell and air density: estimates, the raw beside.",
    spare=g.SUMMARY.spare, per=(r.group_first,),
)  # fmt: skip
_exponents = worked_out("n = Kv·(V − I·R) with I as ρ·n²: n goes as V^(1/(2−x)), thrust and current as ρ^(x/(2−x))")
_read = definition("as on Summary")


def _derive(
    name: str, label: str, symbol: str, unit: str, shown: int, expression: Node, meaning: str,
    source: Source = _exponents, helper: bool = False,
) -> Column:  # fmt: skip
    return NORMALISED.derive(Quantity(name, label, expression, meaning, source, symbol, unit, shown, helper))


summary_row = _derive(
    "normal_row", "Summary row", "", "", 0, Aggregate("row", (Column(NORMALISED.name, "normal_row"),)), "Place there.",
    _read, helper=True,
)  # fmt: skip


def _fetch(column: Column) -> Node:
    return Aggregate("text at" if column.text else "at", (column,), (), summary_row)


prop = _derive("normal_prop", "Prop", "", "", 0, _fetch(g.prop), "The propeller.", _read)
cells = _derive("normal_cells", "Cells", "cells", "", 0, _fetch(g.cells), "Cell count.", _read)


def _raw(part: str, symbol: str, unit: str, shown: int, label: str) -> Column:
    """Steady mean where steady rows were read, else the mean of the peaks."""
    value = _fetch(g.full[part])
    meaning = "As read: mean of the steady rows, or of the peaks where none is steady."
    return _derive(f"raw_{part}", f"{label}, read", symbol, unit, shown, value, meaning, _read)


raw_voltage = _raw("voltage", "V", "V", 2, "Voltage")
raw_thrust = _raw("thrust", "T", "g", 0, "Thrust")
raw_current = _raw("current", "I", "A", 1, "Current")
raw_power = _raw("power", "P", "W", 0, "Power")
_steady_speed = _fetch(g.steady_speed)
_measured_ratio = _steady_speed / (best_kv.otherwise(label_kv) * _fetch(g.steady["voltage"]))
measured_ratio = _derive(
    "measured_ratio", "Speed ratio, measured", "", "", 3,
    ((_measured_ratio >= speed_ratio_low) & (_measured_ratio <= speed_ratio_high)).where(_measured_ratio, BLANK),
    "Steady speed over Kv times volts; blank where it is outside the plausible range on Settings.", _read, helper=True,
)  # fmt: skip
speed_ratio = _derive(
    "normal_ratio", "Speed ratio", "x", "", 3,
    raw_voltage.present().where(measured_ratio.otherwise(assumed_speed_ratio), BLANK),
    "Speed over Kv times volts, measured; else the one on Settings.", _read,
)  # fmt: skip
volts_exponent = _derive(
    "volts_exponent", "Thrust and current go with volts to the power", "a_V", "", 2, 2 / (2 - speed_ratio),
    "2/(2 − x); power one more.",
)  # fmt: skip
density_exponent = _derive(
    "density_exponent", "and with air density to the power", "a_ρ", "", 2, speed_ratio / (2 - speed_ratio),
    "x/(2 − x), for thrust, current and power.",
)  # fmt: skip
volts_share = _derive(
    "volts_share", "Reference over read, volts", "v", "", 4, reference_cell_voltage * cells / raw_voltage,
    "Of the volts.", definition(), helper=True,
)  # fmt: skip
density_share = _derive(
    "density_share", "Reference over day, air density", "d", "", 4, reference_density / air_density,
    "Of the air.", definition(), helper=True,
)  # fmt: skip


def _off(share: Node) -> Node:
    """Percent from the figure read to the reference."""
    return call("absolute", share - 1) * 100


_in_reach = (_off(volts_share) <= volts_reach) & (_off(density_share) <= density_reach)


def _normal(name: str, label: str, symbol: str, unit: str, shown: int, raw: Column, more: float) -> Column:
    log = (volts_exponent + more) * volts_share.ln() + density_exponent * density_share.ln()
    return _derive(
        name, f"{label}, estimated", symbol, unit, shown, _in_reach.where(raw * log.exp(), BLANK),
        "At the reference volts per cell and air density; blank beyond the reach on Settings.",
    )  # fmt: skip


normal_thrust = _normal("normal_thrust", "Thrust", "T_n", "g", 0, raw_thrust, 0.0)
normal_current = _normal("normal_current", "Current", "I_n", "A", 1, raw_current, 0.0)
normal_power = _normal("normal_power", "Power", "P_n", "W", 0, raw_power, 1.0)
normal_efficiency = _derive(
    "normal_efficiency", "Thrust per power, estimated", "e_Pn", "g/W", 2, normal_thrust / normal_power, "Of the two.",
    definition(),
)  # fmt: skip


def _signed_percent(share: Node) -> Node:
    percent = (share - 1) * 100
    return join((percent >= 0).where("+", ""), percent.fixed(1), " %")


normal_note = _derive(
    "normal_note", "How far", "", "", 0,
    raw_voltage.present().where(
        join(
            _in_reach.where("estimated: volts ", "too far for an estimate: volts "), _signed_percent(volts_share),
            moist_density.present().where(
                join(", air ", _signed_percent(density_share)), ", air not read and left as it was"
            ),
            measured_ratio.present().where("", "; speed ratio assumed"),
        ),
        "",
    ),
    "From what was read to the reference.", definition(),
)  # fmt: skip

# --- the supply's sag --------------------------------------------------------------------------------------

sag_cells = t.helps(
    "sag_cells", "Cells, sound steady rows",
    t.masked(t.STEADY_AND_SOUND.equals(1) & (t.current > 0) & (t.voltage > 0), t.cells),
    "Blank in other rows.",
)  # fmt: skip
sag_first = t.helps(
    "sag_first", "First of cell count",
    Aggregate("position", (sag_cells,), (), sag_cells).equals(t.row).where(t.row, BLANK),
    "Set in the first row of a cell count.",
)  # fmt: skip
SAG = Table("SagLines", "Volts against amps over the steady rows of each cell count.", spare=2, per=(sag_first,))


def _sag(
    name: str, label: str, symbol: str, unit: str, shown: int, expression: Node, meaning: str, helper: bool = False
) -> Column:
    source = worked_out("V = V0 − I·R")
    return SAG.derive(Quantity(name, label, expression, meaning, source, symbol, unit, shown, helper))


_place = _sag("sag_place", "Place", "", "", 0, Aggregate("row", (Column(SAG.name, "sag_place"),)), "Place.", True)
_first = Aggregate("at", (sag_cells,), (), Aggregate("smallest", (sag_first,), (), _place))
sag_count_of = _sag("sag_line_cells", "Cells", "cells", "", 0, _first, "Cell count.")
_line = GroupedLine(t.current, t.voltage, sag_cells, sag_count_of)
LEAST_SAG_ROWS = 4
sag_rows = _sag("sag_rows", "Readings", "", "", 0, sag_count_of.present().where(_line.count, BLANK), "In the line.")
_drawn = (sag_rows >= LEAST_SAG_ROWS) & (_line.spread > 1)
sag_slope = _sag(
    "sag_slope", "Slope", "ΔV/ΔI", "", 5, _drawn.where(_line.slope, BLANK),
    "V/A; blank with fewer than four readings, or when their currents lie within an ampere.", helper=True,
)  # fmt: skip
rest_voltage = _sag(
    "sag_rest", "Voltage at no current", "V0", "V", 2, _line.intercept(sag_slope), "Of the line, amid the runs."
)
sag_explained = _sag(
    "sag_explained", "r²", "r²", "", 4, _line.explained(sag_slope), "Share of the variance of the volts.", helper=True
)
_slope_u = slope_deviation(sag_slope, sag_explained, sag_rows)
_freedom = sag_rows - 2
_meter_volts, _meter_amps = relative(taken_voltage_accuracy), relative(taken_current_accuracy)


def _sag_margin(name: str, label: str, unit: str, shown: int, fitted: Node, meters: list[Node]) -> Column:
    """Add the expanded uncertainty of a figure of the line: its scatter, and the instruments."""
    combined = sum_of_squares([fitted, *meters]).sqrt()
    return _sag(
        f"{name}_expanded", f"{label}, ±", "", unit, shown,
        expanded(combined, effective_freedom(combined, [(fitted, _freedom)])),
        "Expanded uncertainty: scatter about the line, and the instruments.",
    )  # fmt: skip


rest_expanded = _sag_margin(
    "sag_rest", "Voltage at no current", "V", 2, _line.intercept_deviation(_slope_u), [rest_voltage * _meter_volts]
)
rest_per_cell = _sag("sag_rest_cell", "the same per cell", "V0_c", "V", 3, rest_voltage / sag_count_of, "Per cell.")
supply_resistance = _sag(
    "supply_resistance", "Resistance of pack and leads", "R_sup", "mΩ", 1, -1000.0 * sag_slope,
    "Everything between the cells and the place where volts were read.",
)  # fmt: skip
supply_expanded = _sag_margin(
    "supply_resistance", "Resistance of pack and leads", "mΩ", 1, 1000 * _slope_u,
    [supply_resistance * _meter_volts, supply_resistance * _meter_amps],
)  # fmt: skip
resistance_per_cell = _sag(
    "resistance_per_cell", "the same per cell", "R_c", "mΩ", 2, supply_resistance / sag_count_of, "Per cell."
)


def _words(*parts: tuple[Node, Operand], otherwise: str) -> Node:
    result: Operand = otherwise
    for condition, text in reversed(parts):
        result = condition.where(text, result)
    return result if isinstance(result, Node) else join(result)


sag_verdict = _sag(
    "sag_verdict", "Verdict", "", "", 0,
    sag_count_of.present().where(
        sag_slope.present().where(
            _words(
                (supply_resistance < 0, "volts rise with current: another pack, a supply's limit, or a wrong sign"),
                (supply_resistance > supply_resistance_high, "soft: a weak or cold pack, or thin leads"),
                otherwise="as packs and supplies are",
            ),
            "no line: it takes four readings of differing current",
        ),
        "",
    ),
    "Against the limit on Settings; a line that rises is never right.",
)  # fmt: skip

NORMALISED.keep(normal_thrust, normal_current, normal_power, normal_efficiency, volts_exponent, density_exponent)
