"""The motor's constants: Kv by each method, the line through loaded readings, and what the model goes by."""

from __future__ import annotations

from xlsengine.bench import speed_rows as t
from xlsengine.bench.accuracies import LIMIT_TO_DEVIATION, by_voltmeter_and_tachometer
from xlsengine.bench.declare import Figures, Quantity
from xlsengine.bench.motor import label_kv
from xlsengine.bench.no_load import (
    COPPER_PER_K,
    driven_kv,
    measured_kv,
    winding_resistance,
)
from xlsengine.bench.readings import AT_STEADY
from xlsengine.bench.settings import kv_tolerance, line_load_range, line_residual_limit, line_warmth, pole_tolerance
from xlsengine.bench.spin_uncertainty import driven_uncertainty, free_uncertainty
from xlsengine.bench.uncertainty import sum_of_squares
from xlsengine.expression import BLANK, Aggregate, Column, Constant, Named, Node, call, flag
from xlsengine.sources import FIRST_ORDER_MOTOR, GUM_PROPAGATION, IACS, Source, definition, practice, worked_out

MOTOR_MODEL = Figures("Motor model", "Kv and resistance from loaded readings, and what the losses are computed with.")
LEAST_ROWS = 4
TWELVE_FOR_FOURTEEN = 7 / 6

_kept = t.sound.equals(1) & t.point.equals(AT_STEADY) & (t.speed > 0)
line_load = t.helps(
    "line_load", "Load", t.masked(_kept, t.current / t.voltage),
    "Amps over volts of sound steady rows at full throttle.", FIRST_ORDER_MOTOR, "I/V",
)  # fmt: skip
line_speed = t.helps(
    "line_speed", "Speed per volt", t.masked(_kept, t.speed / t.voltage), "Of the same rows.", FIRST_ORDER_MOTOR, "n/V"
)


def _figure(
    name: str, label: str, symbol: str, unit: str, shown: int, expression: Node, meaning: str,
    source: Source = FIRST_ORDER_MOTOR,
) -> Named:  # fmt: skip
    return MOTOR_MODEL.derive(Quantity(name, label, expression, meaning, source, symbol, unit, shown))


def _say(name: str, label: str, expression: Node, meaning: str) -> Named:
    return _figure(name, label, "", "", 0, expression, meaning, definition())


def _of(operation: str, column: Column) -> Node:
    return Aggregate(operation, (column,), (), Constant(1.0) if operation in ("largest", "smallest") else None)


def _of_line(operation: str) -> Node:
    return _enough.where(Aggregate(operation, (line_speed, line_load)), BLANK)


line_rows = _figure(
    "line_rows", "Loaded line: readings", "n_l", "", 0, _of("count", line_speed),
    "Sound steady rows at full throttle with a speed; at least four.", definition(),
)  # fmt: skip
line_range = _figure(
    "line_range", "Loaded line: largest load over smallest", "", "", 2,
    _of("largest", line_load) / _of("smallest", line_load), "Load is amps over volts.", definition(),
)  # fmt: skip
_enough = (line_rows >= LEAST_ROWS) & (line_range >= line_load_range)
line_slope = _figure(
    "line_slope", "Loaded line: slope", "b_l", "", 1, _of_line("slope"),
    "Of rpm/V on A/V, by least squares; −Kv·R.",
)  # fmt: skip
line_intercept = _figure(
    "line_intercept", "Loaded line: intercept", "a_l", "rpm/V", 1, _of_line("intercept"), "Speed per volt at no load."
)
line_kv = _figure(
    "line_kv", "Kv from loaded readings", "Kv_load", "rpm/V", 0, (line_slope < 0).where(line_intercept, BLANK),
    "Intercept of the line; a few percent high where the copper warms with load. Blank without four readings of "
    "differing load, or when the line does not fall.",
)  # fmt: skip
line_mean = _figure("line_mean", "Loaded line: mean load", "x̄", "", 3, _of("mean", line_load), "A/V.")
line_spread = _figure(
    "line_spread", "Loaded line: sum of squares of the load about its mean", "Σ(x − x̄)²", "", 4,
    _of("standard deviation", line_load) ** 2 * (line_rows - 1), "(A/V)².",
)  # fmt: skip
line_scatter = _figure(
    "line_scatter", "Loaded line: residual standard deviation", "s_l", "rpm/V", 1, _of_line("residual deviation"),
    "How far the readings lie off the line.",
)  # fmt: skip
line_slope_uncertainty = _figure(
    "line_slope_uncertainty", "Loaded line: standard uncertainty of the slope", "u(b_l)", "", 2,
    line_scatter / line_spread.sqrt(), "s / √Σ(x − x̄)².",
)  # fmt: skip
line_kv_fit = (line_scatter**2 / line_rows + line_mean**2 * line_slope_uncertainty**2).sqrt()
"""Standard uncertainty of the intercept, with two degrees of freedom less than there are rows."""
line_resistance = _figure(
    "line_resistance", "Resistance from loaded readings", "R_load", "mΩ", 1,
    (line_slope < 0).where(-1000.0 * line_slope / line_intercept, BLANK),
    "ESC, leads behind the place where volts were read, and the winding, high where the copper warms with load.",
)  # fmt: skip
line_resistance_uncertainty = _figure(
    "line_resistance_uncertainty", "Standard uncertainty of resistance from loaded readings", "u(R_load)", "mΩ", 1,
    line_resistance
    * (
        (line_slope_uncertainty / line_slope) ** 2
        + (line_scatter**2 / line_rows + line_mean**2 * line_slope_uncertainty**2) / line_intercept**2
        + 2 * line_mean * line_slope_uncertainty**2 / (line_intercept * line_slope)
    ).sqrt(),
    "Of the ratio of slope and intercept, which the same readings gave; without warmth.",
)  # fmt: skip
_least, _most = _of("smallest", line_load), _of("largest", line_load)
_warming = winding_resistance.otherwise(line_resistance) * COPPER_PER_K * line_warmth * LIMIT_TO_DEVIATION
line_kv_warmth = _figure(
    "line_kv_warmth", "Loaded line: standard uncertainty of Kv for warm copper", "", "rpm/V", 1,
    line_kv * _warming / 1000 * _least * _most / (_most - _least),
    "The winding, or all of the line's resistance where it was not read, grows from the smallest load x1 to the "
    "largest x2 by up to ΔR, after the warmth on Settings: Kv·ΔR·x1·x2/(x2 − x1), as a half-width over √3.", IACS,
)  # fmt: skip
line_resistance_warmth = _figure(
    "line_resistance_warmth", "Loaded line: standard uncertainty of the resistance for warm copper", "", "mΩ", 1,
    _warming * (_most + _least - line_mean) / (_most - _least),
    "What the same growth adds to the line's resistance over that at the mean load: ΔR·(x1 + x2 − x̄)/(x2 − x1), as a "
    "half-width over √3.", IACS,
)  # fmt: skip
line_kv_uncertainty = _figure(
    "line_kv_uncertainty", "Standard uncertainty of Kv from loaded readings", "u(Kv_load)", "rpm/V", 1,
    sum_of_squares([line_kv_fit, line_kv_warmth, *by_voltmeter_and_tachometer(line_kv)]).sqrt(),
    "That of the intercept and of warmth, with the accuracies of volts and speed as half-widths over √3.",
    GUM_PROPAGATION,
)  # fmt: skip
line_residual = _figure(
    "line_residual", "Loaded line: scatter", "s_l/Kv", "%", 2, line_scatter / line_kv * 100,
    "Residual standard deviation over Kv.",
)  # fmt: skip
line_doubtful: Node = (line_slope >= 0).where(1.0, flag(line_residual > line_residual_limit).otherwise(0.0)).equals(1)
"""Ask whether there is a line, and it scatters or does not fall."""
line_verdict = _say(
    "line_verdict", "Loaded line is",
    _enough.where(
        (line_slope < 0).where(
            (line_residual > line_residual_limit).where(
                "scattered: look for a wrong speed, a wrong voltage or a slipping propeller", "straight"
            ),
            "not falling with load: look for wrong speeds or volts",
        ),
        "not drawn: it takes four sound steady readings at full throttle with speed, of differing load",
    ).otherwise("not drawn: too few sound steady readings at full throttle with a speed"),
    "Its scatter against the limit on Settings.",
)  # fmt: skip

# --- the methods, and the label ----------------------------------------------------------------------------

_METHODS = {
    "driven spin": (driven_kv, driven_uncertainty),
    "free spin": (measured_kv, free_uncertainty),
    "loaded readings": (line_kv, line_kv_uncertainty),
}


def _taken() -> Node:
    """Return the number of the method that is taken: a driven spin must be sure to within the label tolerance."""
    by_driven = driven_kv.present().where(1.0, BLANK)
    other = measured_kv.present().where(2.0, line_kv.present().where(3.0, by_driven))
    sure = (2 * driven_uncertainty <= kv_tolerance / 100 * driven_kv).where(1.0, BLANK)
    return sure.otherwise(other)


kv_choice = _figure(
    "kv_choice", "Kv measured: method taken", "", "", 0, _taken(),
    "1 by driven spin, where twice its standard uncertainty is within the label tolerance; else 2 by free spin, "
    "3 from loaded readings, and 1 where there is nothing else.", definition(),
)  # fmt: skip


def _of_method(place: int) -> Node:
    return call("choose", kv_choice, *(parts[place] for parts in _METHODS.values()))


best_kv = _figure(
    "best_kv", "Kv measured", "Kv", "rpm/V", 0, _of_method(0), "By the method taken; a driven spin knows no timing.",
    definition(),
)  # fmt: skip
best_kv_basis = _say(
    "best_kv_basis", "Kv was measured by", call("choose", kv_choice, *_METHODS).otherwise("no method"),
    "Which of the methods the label is held against.",
)  # fmt: skip
best_kv_uncertainty = _figure(
    "best_kv_uncertainty", "Standard uncertainty of Kv", "u(Kv)", "rpm/V", 1, _of_method(1), "That of the method.",
    definition(),
)  # fmt: skip
kv_deviation = _figure(
    "kv_deviation", "Measured Kv against label", "ΔKv", "%", 1, (best_kv / label_kv - 1) * 100,
    "Measured less labelled, over labelled.", practice(),
)  # fmt: skip


def near_pole_slip(ratio: Node) -> Node:
    """Ask whether a ratio of speeds is what comes of taking 12 magnets for 14, or 14 for 12."""
    near = call("absolute", ratio * TWELVE_FOR_FOURTEEN - 1) <= pole_tolerance / 100
    return near | (call("absolute", ratio / TWELVE_FOR_FOURTEEN - 1) <= pole_tolerance / 100)


# --- what the losses are computed with ---------------------------------------------------------------------

row_resistance = t.helps(
    "row_resistance", "Resistance of the row",
    t.masked(_kept & (kv_choice <= 2), (t.voltage - t.speed / best_kv) / t.current * 1000),
    "Volts that Kv does not explain, over the current, in mΩ; of sound steady rows at full throttle.",
    FIRST_ORDER_MOTOR, "R_i",
)  # fmt: skip
loaded_resistance = _figure(
    "loaded_resistance", "Resistance under load, with Kv from spins", "R_w", "mΩ", 1, _of("mean", row_resistance),
    "Mean of (V − n/Kv)/I over sound steady rows at full throttle: warm winding, ESC and leads together.",
)  # fmt: skip
loaded_resistance_uncertainty = _figure(
    "loaded_resistance_uncertainty", "Standard uncertainty of that, from the scatter", "u(R_w)", "mΩ", 1,
    _of("standard deviation", row_resistance) / _of("count", row_resistance).sqrt(),
    "Standard deviation of the rows over √number; the uncertainty of Kv comes on top.", definition(),
)  # fmt: skip
model_resistance = _figure(
    "model_resistance", "Resistance that the losses are computed with", "R_m", "mΩ", 1,
    loaded_resistance.otherwise(line_resistance).otherwise(winding_resistance),
    "Under load where a spin gave Kv and a speed was read, else from the line, else the winding's as read, which knows "
    "no ESC and no warmth.", worked_out("first of the methods"),
)  # fmt: skip

MOTOR_MODEL.keep(best_kv, best_kv_basis, kv_deviation, line_kv, model_resistance)
