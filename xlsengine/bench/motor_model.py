"""The motor's constants: Kv by each method, the line through loaded readings, and what the model goes by."""

from __future__ import annotations

from xlsengine.bench import speed_rows as t
from xlsengine.bench.declare import Figures, Quantity
from xlsengine.bench.motor import label_kv
from xlsengine.bench.no_load import (
    COPPER_PER_K,
    driven_kv,
    driven_uncertainty,
    free_uncertainty,
    measured_kv,
    standard_uncertainty,
    winding_resistance,
)
from xlsengine.bench.readings import AT_STEADY
from xlsengine.bench.settings import kv_tolerance, line_load_range, line_residual_limit, line_warmth, pole_tolerance
from xlsengine.expression import BLANK, Aggregate, Column, Constant, Named, Node, Operand, call, join
from xlsengine.sources import FIRST_ORDER_MOTOR, Source, definition, practice, worked_out

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
_least, _most = _of("smallest", line_load), _of("largest", line_load)
_warmer_resistance = winding_resistance.otherwise(0.0) / 1000 * COPPER_PER_K * line_warmth
_warm = line_kv * _warmer_resistance * _least * _most / (_most - _least)
line_kv_fit = (line_scatter**2 / line_rows + line_mean**2 * line_slope_uncertainty**2 + _warm**2 / 3).sqrt()
line_kv_uncertainty = _figure(
    "line_kv_uncertainty", "Standard uncertainty of Kv from loaded readings", "u(Kv_load)", "rpm/V", 1,
    standard_uncertainty(line_kv, line_kv_fit),
    "That of the intercept; with warmth after Settings, and the accuracies of volts and speed, as half-widths over √3.",
)  # fmt: skip
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
line_residual = _figure(
    "line_residual", "Loaded line: scatter", "s_l/Kv", "%", 2, line_scatter / line_kv * 100,
    "Residual standard deviation over Kv.",
)  # fmt: skip
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
    ).otherwise("not drawn: no speed was read"),
    "Its scatter against the limit on Settings.",
)  # fmt: skip

# --- methods against each other and against the label ------------------------------------------------------

_METHODS = {
    "driven spin": (driven_kv, driven_uncertainty),
    "free spin": (measured_kv, free_uncertainty),
    "loaded readings": (line_kv, line_kv_uncertainty),
}


def _percent(one: Node, other: Node) -> Node:
    return call("absolute", one / other - 1) * 100


def _compared(one: str, other: str) -> Node:
    """Say how two methods compare: they differ only beyond twice their combined uncertainty; blank without both."""
    (kv, u), (kv_other, u_other) = _METHODS[one], _METHODS[other]
    beyond = call("absolute", kv - kv_other) > 2 * (u**2 + u_other**2).sqrt()
    names = f"{one.capitalize()} and {other}"
    return beyond.where(
        join(names, " differ by ", _percent(kv, kv_other).fixed(1), " %, beyond their uncertainty. "),
        join(names, " agree within their uncertainty. "),
    ).otherwise("")


def _first(*options: tuple[Node, Operand]) -> Node:
    """Return the value beside the first cell that is filled, blank where none is."""
    result: Node = BLANK
    for cell, value in reversed(options):
        result = cell.present().where(value, result)
    return result


def _first_words(otherwise: str, *options: tuple[Node, str]) -> Node:
    result: Node = Constant(otherwise)
    for cell, text in reversed(options):
        result = cell.present().where(text, result)
    return result


kv_agreement = _say(
    "kv_agreement", "Kv by different methods",
    call(
        "trim",
        join(
            _compared("driven spin", "free spin"), _compared("driven spin", "loaded readings"),
            _compared("free spin", "loaded readings"),
        ),
    ),
    "Timing of the ESC raises Kv by free spin and by loaded readings, a driven spin knows none.",
)  # fmt: skip
best_kv = _figure(
    "best_kv", "Kv measured", "Kv", "rpm/V", 0, _first(*((kv, kv) for kv, _ in _METHODS.values())),
    "By driven spin where done, else by free spin, else from loaded readings.", definition(),
)  # fmt: skip
best_kv_basis = _say(
    "best_kv_basis", "Kv was measured by",
    _first_words("no method", *((kv, name) for name, (kv, _) in _METHODS.items())),
    "Which of the methods the label is held against.",
)  # fmt: skip
best_kv_uncertainty = _figure(
    "best_kv_uncertainty", "Standard uncertainty of Kv", "u(Kv)", "rpm/V", 1,
    _first(*_METHODS.values()), "That of the method.", definition(),
)  # fmt: skip
kv_deviation = _figure(
    "kv_deviation", "Measured Kv against label", "ΔKv", "%", 1, (best_kv / label_kv - 1) * 100,
    "Measured less labelled, over labelled.", practice(),
)  # fmt: skip


def near_pole_slip(ratio: Node) -> Node:
    """Ask whether a ratio of speeds is what comes of taking 12 magnets for 14, or 14 for 12."""
    near = call("absolute", ratio * TWELVE_FOR_FOURTEEN - 1) <= pole_tolerance / 100
    return near | (call("absolute", ratio / TWELVE_FOR_FOURTEEN - 1) <= pole_tolerance / 100)


_outside = call("absolute", kv_deviation) > kv_tolerance
kv_verdict = _say(
    "kv_verdict", "Label verdict",
    _outside.where(
        join(
            "outside ±", kv_tolerance.fixed(0), " % of the label",
            near_pole_slip(best_kv / label_kv).where("; near 7/6 or 6/7: was the pole count right?", ""),
        ),
        join("within ±", kv_tolerance.fixed(0), " % of the label"),
    ),
    "Against the tolerance on Settings.",
)  # fmt: skip
_spun = driven_kv.otherwise(measured_kv)
_spun_present = driven_kv.present() | measured_kv.present()
pole_verdict = _say(
    "pole_verdict", "Pole count behind the speeds of Readings",
    (near_pole_slip(line_kv / _spun)).where(
        "doubtful: Kv from loaded readings is near 7/6 or 6/7 of the one from spins", "no sign of a wrong one"
    ).otherwise("not known: it takes a loaded line and a spin"),
    "12 and 14 magnets taken for each other give speeds in a ratio of 7/6.",
)  # fmt: skip

# --- what the losses are computed with ---------------------------------------------------------------------

row_resistance = t.helps(
    "row_resistance", "Resistance of the row",
    t.masked(_kept & _spun_present, (t.voltage - t.speed / best_kv) / t.current * 1000),
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
    _first(*((cell, cell) for cell in (loaded_resistance, line_resistance, winding_resistance))),
    "Under load where a spin gave Kv and a speed was read, else from the line, else the winding's as read, which knows "
    "no ESC and no warmth.", worked_out("first of the methods"),
)  # fmt: skip
