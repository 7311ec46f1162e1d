"""Readings without a propeller: free spins, driven spins and winding resistance."""

from __future__ import annotations

from xlsengine.bench.declare import Field, Figures, Quantity, Table
from xlsengine.bench.motor import label_kv
from xlsengine.bench.settings import kv_tolerance, resistance_spread_limit
from xlsengine.expression import Aggregate, Column, Constant, Named, Node, join
from xlsengine.sources import definition, practice

FREE_SPINS = Table("FreeSpins", "Full throttle without a propeller, after 10 to 30 s.", spare=6)
DRIVEN_SPINS = Table("DrivenSpins", "Shaft driven by a drill or lathe, terminals open.", spare=6)
WINDING = Table(
    "WindingResistances", "Between each pair of leads, four-wire, inside the current clips.", spare=3,
    rows=tuple({"pair": pair} for pair in ("1-2", "2-3", "3-1")),
)  # fmt: skip
DRIVEN_READINGS = ("line to line true rms", "line to line peak to peak", "bridge rectified mean")


def _in(table: Table, name: str, label: str, unit: str, high: float, meaning: str, required: bool = True) -> Column:
    return table.input(Field(name, label, unit, meaning, low=0, high=high, required=required))


free_voltage = _in(FREE_SPINS, "free_voltage", "Voltage", "V", 100, "At the ESC input.")
free_current = _in(FREE_SPINS, "free_current", "Current", "A", 100, "No-load current.")
free_speed = _in(FREE_SPINS, "free_speed", "Speed", "rpm", 150000, "Blank when not read.", required=False)
driven_speed = _in(DRIVEN_SPINS, "driven_speed", "Speed", "rpm", 50000, "Of the shaft.")
driven_voltage = _in(DRIVEN_SPINS, "driven_voltage", "Voltage", "V", 200, "As measured, see the next column.")
driven_as = DRIVEN_SPINS.input(
    Field("driven_as", "Measured as", "", "Each way has its own factor.", kind="choice", choices=DRIVEN_READINGS,
          required=True)
)  # fmt: skip
WINDING.input(Field("pair", "Pair", meaning="Leads measured between.", kind="text"))
resistance = _in(WINDING, "resistance", "Resistance", "mΩ", 100000, "Line to line.", required=False)

free_ratio = FREE_SPINS.derive(
    Quantity("free_ratio", "Speed per volt", free_speed / free_voltage,
             "Lower than Kv by the drop in the winding.", definition(), "n/V", "rpm/V", 0)
)  # fmt: skip

NO_LOAD = Figures("No load", "What the motor showed without a propeller.")


def _figure(name: str, label: str, symbol: str, unit: str, shown: int, expression: Node, meaning: str) -> Named:
    return NO_LOAD.derive(Quantity(name, label, expression, meaning, practice(), symbol, unit, shown))


def _of(operation: str, column: Column) -> Node:
    return Aggregate(operation, (column,), (), Constant(1.0) if operation != "mean" else None)


winding_resistance = _figure(
    "winding_resistance", "Winding resistance, line to line", "R", "mΩ", 1, _of("mean", resistance),
    "Mean of the pairs, as read.",
)  # fmt: skip
resistance_spread = _figure(
    "resistance_spread", "Spread between pairs", "ΔR/R", "%", 1,
    (_of("largest", resistance) - _of("smallest", resistance)) / winding_resistance * 100,
    "Largest less smallest, over the mean.",
)  # fmt: skip
resistance_verdict = _figure(
    "resistance_verdict", "Winding verdict", "", "", 0,
    (resistance_spread > resistance_spread_limit).where(
        "uneven: look for a bad joint or a lost strand", "even between the pairs"
    ),
    "Against the limit on Settings.",
)  # fmt: skip
kv_free = FREE_SPINS.derive(
    Quantity(
        "kv_free", "Kv from free spin",
        free_speed / (free_voltage - free_current * winding_resistance.otherwise(0.0) / 1000),
        "Speed over the volts left after the winding's drop.", definition("Kv = n / (V − I0·R)"), "Kv", "rpm/V", 0,
    )
)  # fmt: skip
measured_kv = _figure(
    "measured_kv", "Kv measured by free spin", "Kv", "rpm/V", 0, _of("mean", kv_free),
    "Mean of the free spins; the ESC's timing raises it.",
)  # fmt: skip
kv_deviation = _figure(
    "kv_deviation", "Measured Kv against label", "ΔKv", "%", 1, (measured_kv / label_kv - 1) * 100,
    "Measured less labelled, over labelled.",
)  # fmt: skip
kv_verdict = _figure(
    "kv_verdict", "Label verdict", "", "", 0,
    ((kv_deviation <= kv_tolerance) & (-kv_deviation <= kv_tolerance)).where(
        join("within ±", kv_tolerance.fixed(0), " % of the label"),
        join("outside ±", kv_tolerance.fixed(0), " % of the label"),
    ),
    "Against the tolerance on Settings.",
)  # fmt: skip
no_load_current = _figure(
    "no_load_current", "No-load current", "I0", "A", 2, _of("mean", free_current), "Mean of the free spins."
)
no_load_voltage = _figure(
    "no_load_voltage", "No-load current read at", "V0", "V", 1, _of("mean", free_voltage), "Mean of the free spins."
)
