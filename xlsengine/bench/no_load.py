"""Readings without a propeller: free spins, driven spins and winding resistance."""

from __future__ import annotations

import math

from xlsengine.bench.conditions import air_temperature, winding_temperature
from xlsengine.bench.declare import Field, Figures, Quantity, Table
from xlsengine.bench.settings import diode_drop, resistance_spread_limit
from xlsengine.expression import BLANK, Aggregate, Column, Constant, Named, Node
from xlsengine.sources import IACS, Source, definition, practice, worked_out

FREE_SPINS = Table("FreeSpins", "Full throttle without a propeller, after 10 to 30 s.", spare=6)
DRIVEN_SPINS = Table("DrivenSpins", "Shaft driven by a drill or lathe, terminals open.", spare=6)
WINDING = Table(
    "WindingResistances", "Between each pair of leads, four-wire, inside the current clips.", spare=3,
    rows=tuple({"pair": pair} for pair in ("1-2", "2-3", "3-1")),
)  # fmt: skip
TRUE_RMS, PEAK_TO_PEAK, BRIDGE = "line to line true rms", "line to line peak to peak", "bridge rectified mean"
DRIVEN_READINGS = (TRUE_RMS, PEAK_TO_PEAK, BRIDGE)
COPPER_PER_K = 0.00393
SPINS_APART = 1.1
"""Free spins this far apart in speed give the no-load current a slope."""


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


def _figure(
    name: str, label: str, symbol: str, unit: str, shown: int, expression: Node, meaning: str,
    source: Source | None = None,
) -> Named:  # fmt: skip
    return NO_LOAD.derive(Quantity(name, label, expression, meaning, source or practice(), symbol, unit, shown))


def _of(operation: str, column: Column) -> Node:
    return Aggregate(operation, (column,), (), Constant(1.0) if operation in ("largest", "smallest") else None)


def _of_the_mean(column: Column) -> Node:
    return _of("standard deviation", column) / _of("count", column).sqrt()


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
_COLD = winding_temperature.otherwise(air_temperature)
resistance_at_20 = _figure(
    "resistance_at_20", "Winding resistance at 20 °C", "R20", "mΩ", 1,
    winding_resistance / (1 + COPPER_PER_K * (_COLD - 20)),
    "Copper has 0.393 % more a kelvin; from the winding's temperature, or the air's where it was not read.", IACS,
)  # fmt: skip
resistance_uncertainty = _figure(
    "resistance_uncertainty", "Standard uncertainty of the resistance, from the pairs", "u(R)", "mΩ", 2,
    _of_the_mean(resistance), "Standard deviation of the pairs over √number.", definition(),
)  # fmt: skip
kv_free = FREE_SPINS.derive(
    Quantity(
        "kv_free", "Kv from free spin",
        free_speed / (free_voltage - free_current * winding_resistance.otherwise(0.0) / 1000),
        "Speed over the volts left after the winding's drop.", definition("Kv = n / (V − I0·R)"), "Kv", "rpm/V", 0,
    )
)  # fmt: skip
measured_kv = _figure(
    "measured_kv", "Kv measured by free spin", "Kv_free", "rpm/V", 0, _of("mean", kv_free),
    "Mean of the free spins; the ESC's timing raises it.",
)  # fmt: skip
_BY_READING: dict[str, Node] = {
    TRUE_RMS: driven_voltage * math.sqrt(2),
    PEAK_TO_PEAK: driven_voltage / 2,
    BRIDGE: (driven_voltage + 2 * diode_drop) * (math.pi / 3),
}


def _peak_volts() -> Node:
    found: Node = BLANK
    for words, volts in _BY_READING.items():
        found = driven_as.equals(words).where(volts, found)
    return found


driven_peak = DRIVEN_SPINS.derive(
    Quantity(
        "driven_peak", "Peak, line to line", _peak_volts(),
        "True rms times √2; half of peak to peak; behind a bridge the mean and two diodes, times π/3: a sine is taken.",
        worked_out("sine; mean of the rectified three-phase peak is 3/π of it"), "V_peak", "V", 3,
    )
)  # fmt: skip
kv_driven = DRIVEN_SPINS.derive(
    Quantity(
        "kv_driven", "Kv from driven spin", driven_speed / driven_peak, "Speed over peak volts, line to line.",
        definition("Kv is speed over the peak of the back-EMF"), "Kv_i", "rpm/V", 0,
    )
)  # fmt: skip
driven_kv = _figure(
    "driven_kv", "Kv measured by driven spin", "Kv_driven", "rpm/V", 0, _of("mean", kv_driven),
    "Mean of the driven spins, by the peak of the volts; knows no ESC and no timing.", definition(),
)  # fmt: skip
no_load_current = _figure(
    "no_load_current", "No-load current", "I0", "A", 2, _of("mean", free_current), "Mean of the free spins."
)
no_load_voltage = _figure(
    "no_load_voltage", "No-load current read at", "V0", "V", 1, _of("mean", free_voltage), "Mean of the free spins."
)
_APART = _of("largest", free_speed) >= _of("smallest", free_speed) * SPINS_APART
no_load_slope = _figure(
    "no_load_slope", "No-load current, growth with speed", "b0", "mA/rpm", 4,
    _APART.where(Aggregate("slope", (free_current, free_speed)) * 1000, BLANK).otherwise(
        no_load_current.present().where(0.0, BLANK)
    ),
    "Straight line through free spins at least 10 % apart in speed; else 0: the mean stands for every speed.",
    worked_out("iron loss grows with speed"),
)  # fmt: skip
no_load_at_rest = _figure(
    "no_load_at_rest", "No-load current, line's value at no speed", "a0", "A", 3,
    _APART.where(Aggregate("intercept", (free_current, free_speed)), BLANK).otherwise(no_load_current),
    "I0 = a0 + b0·n.", worked_out("iron loss grows with speed"),
)  # fmt: skip


def no_load_at(speed: Node) -> Node:
    """Return the no-load current, A, at a speed in rpm."""
    return no_load_at_rest + no_load_slope * speed / 1000


NO_LOAD.keep(
    winding_resistance, resistance_at_20, no_load_current, no_load_voltage, no_load_at_rest, no_load_slope, driven_kv,
    free_kv=measured_kv,
)  # fmt: skip
