"""Readings without a propeller: free spins, driven spins and winding resistance."""

import math

from xlsengine.bench.declaring.declare import Figures, Table
from xlsengine.bench.inputs.conditions import air_temperature, winding_temperature
from xlsengine.bench.inputs.settings import diode_drop, resistance_spread_limit
from xlsengine.bench.inputs.typed import filled
from xlsengine.expression import BLANK, Aggregate, Node, first_holding
from xlsengine.sources import IACS, SIX_STEPS, definition, practice, worked_out

FREE_SPINS = filled(Table("FreeSpins", "Full throttle without a propeller, after 10 to 30 s.", spare=3))
DRIVEN_SPINS = filled(Table("DrivenSpins", "Shaft driven by a drill or lathe, terminals open.", spare=3))
WINDING = filled(
    Table(
        "WindingResistances",
        "Between each pair of leads, four-wire, sense clips inside the current clips.",
        spare=3,
        rows=tuple({"pair": pair} for pair in ("1-2", "2-3", "3-1")),
    )
)
TRUE_RMS, PEAK_TO_PEAK, BRIDGE = DRIVEN_SPINS.fields["driven_as"].choices
COPPER_PER_K = 0.00393
SPINS_APART = 1.1
"""Free spins this far apart in speed give the no-load current a slope."""

free_voltage, free_current, free_speed = map(FREE_SPINS.typed, ("free_voltage", "free_current", "free_speed"))
driven_speed, driven_voltage, driven_as = map(DRIVEN_SPINS.typed, ("driven_speed", "driven_voltage", "driven_as"))
resistance = WINDING.typed("resistance")

free_ratio = FREE_SPINS.column("free_ratio", "Speed per volt", "rpm/V", symbol="n/V").derive(
    free_speed / free_voltage, "Lower than Kv by the drop in the winding."
)

NO_LOAD = Figures("No load", "What the motor showed without a propeller.", source=practice())


winding_resistance = NO_LOAD.figure("winding_resistance", "Winding resistance, line to line", "mΩ", symbol="R").derive(
    resistance.mean(), "Mean of the pairs, as read."
)
resistance_spread = NO_LOAD.figure("resistance_spread", "Spread between pairs", "%", symbol="ΔR/R").derive(
    (resistance.largest() - resistance.smallest()) / winding_resistance * 100, "Largest less smallest, over the mean."
)
resistance_verdict = NO_LOAD.figure("resistance_verdict", "Winding verdict").derive(
    (resistance_spread > resistance_spread_limit).where(
        "uneven: look for a bad joint or a lost strand", "even between the pairs"
    ),
    "Against the limit on Settings.",
)
_COLD = winding_temperature.otherwise(air_temperature)
resistance_at_20 = NO_LOAD.figure("resistance_at_20", "Winding resistance at 20 °C", "mΩ", symbol="R20").derive(
    winding_resistance / (1 + COPPER_PER_K * (_COLD - 20)),
    "Copper has 0.393 % more a kelvin; from the winding's temperature, or the air's where it was not read.",
    IACS,
)
resistance_uncertainty = NO_LOAD.figure(
    "resistance_uncertainty", "Standard uncertainty of the resistance, from the pairs", "mΩ", symbol="u(R)", decimals=2
).derive(
    resistance.deviation() / resistance.count().sqrt(), "Standard deviation of the pairs over √number.", definition()
)
kv_free = FREE_SPINS.column("kv_free", "Kv from free spin", "rpm/V", symbol="Kv_s").derive(
    free_speed / (free_voltage - free_current * winding_resistance.otherwise(0.0) / 1000),
    "Speed over the volts left after the winding's drop.",
    definition("Kv = n / (V − I0·R)"),
)
measured_kv = NO_LOAD.figure("measured_kv", "Kv from free spin", "rpm/V", symbol="Kv_free").derive(
    kv_free.mean(), "Mean of the free spins; the ESC's timing raises it."
)
_MEAN_OF_PEAK = 3 / math.pi
"""Of a sine of three phases, the mean of the highest over its peak: an ESC of six steps, like a bridge, has each pair of
leads for the 60 degrees in which it is the highest."""
_BY_READING: dict[str, Node] = {
    TRUE_RMS: driven_voltage * (math.sqrt(2) * _MEAN_OF_PEAK),
    PEAK_TO_PEAK: driven_voltage / 2 * _MEAN_OF_PEAK,
    BRIDGE: driven_voltage + 2 * diode_drop,
}
_mean_volts = first_holding(((driven_as.equals(words), volts) for words, volts in reversed(_BY_READING.items())), BLANK)
driven_mean = DRIVEN_SPINS.column(
    "driven_mean", "Mean of the rectified volts", "V", symbol="V_mean", decimals=3
).derive(
    _mean_volts,
    "The volts that an ESC of six steps works against: 3/π of the peak, which is √2 of true rms or half of peak to peak; "
    "behind a bridge what is read and two diodes. A sine is taken.",
    SIX_STEPS,
)
kv_driven = DRIVEN_SPINS.column("kv_driven", "Kv from driven spin", "rpm/V", symbol="Kv_i").derive(
    driven_speed / driven_mean,
    "Speed over the mean of the rectified volts, as battery volts count at an ESC; over the peak it would be 4.5 % less.",
    SIX_STEPS,
)
driven_kv = NO_LOAD.figure("driven_kv", "Kv from driven spin", "rpm/V", symbol="Kv_driven").derive(
    kv_driven.mean(), "Mean of the driven spins; ESC and timing play no part.", definition()
)
no_load_current = NO_LOAD.figure("no_load_current", "No-load current", "A", symbol="I0", decimals=2).derive(
    free_current.mean(), "Mean of the free spins."
)
no_load_voltage = NO_LOAD.figure("no_load_voltage", "No-load current read at", "V", symbol="V0", decimals=1).derive(
    free_voltage.mean(), "Mean of the free spins."
)
_APART = free_speed.largest() >= free_speed.smallest() * SPINS_APART
no_load_slope = NO_LOAD.figure(
    "no_load_slope", "No-load current, growth with speed", "mA/rpm", symbol="b0", decimals=4
).derive(
    _APART.where(Aggregate("slope", (free_current, free_speed)) * 1000).otherwise(no_load_current.present().where(0.0)),
    "Straight line through free spins at least 10 % apart in speed; else 0: the mean stands for every speed.",
    worked_out("iron loss grows with speed"),
)
no_load_at_rest = NO_LOAD.figure(
    "no_load_at_rest", "No-load current, line's value at no speed", "A", symbol="a0", decimals=3
).derive(
    _APART.where(Aggregate("intercept", (free_current, free_speed))).otherwise(no_load_current),
    "I0 = a0 + b0·n.",
    worked_out("iron loss grows with speed"),
)


def no_load_at(speed: Node) -> Node:
    """Return the no-load current, A, at a speed in rpm."""
    return no_load_at_rest + no_load_slope * speed / 1000


NO_LOAD.keep(
    winding_resistance,
    resistance_at_20,
    no_load_current,
    no_load_voltage,
    no_load_at_rest,
    no_load_slope,
    driven_kv,
    free_kv=measured_kv,
)
