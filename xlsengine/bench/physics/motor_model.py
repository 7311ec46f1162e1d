"""The motor's constants: Kv by each method, the line through loaded readings, and what the model goes by."""

from typing import NamedTuple

from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.inputs import no_load as n
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.inputs.motor import label_kv
from xlsengine.bench.inputs.readings import AT_STEADY
from xlsengine.bench.physics import speed_rows as t
from xlsengine.bench.propagation import spin_uncertainty as p
from xlsengine.bench.propagation.accuracies import LIMIT_TO_DEVIATION, TACHOMETER, VOLTMETER
from xlsengine.bench.propagation.terms import sum_of_squares
from xlsengine.expression import Aggregate, Named, Node, call, flag
from xlsengine.sources import FIRST_ORDER_MOTOR, GUM_PROPAGATION, IACS, definition, practice, worked_out

MOTOR_MODEL = Figures(
    "Motor model",
    "Kv and resistance from loaded readings, and what the losses are computed with.",
    source=FIRST_ORDER_MOTOR,
)
LEAST_ROWS = 4
TWELVE_FOR_FOURTEEN = 7 / 6

_kept = t.SOUND & t.point.equals(AT_STEADY) & (t.speed > 0)
line_load = t.SPEED_FIGURES.helper("line_load", "Load", symbol="I/V").derive(_kept.where(t.current / t.voltage))
line_speed = t.SPEED_FIGURES.helper("line_speed", "Speed per volt", symbol="n/V").derive(
    _kept.where(t.speed / t.voltage)
)


def _of_line(operation: str) -> Node:
    return _enough.where(Aggregate(operation, (line_speed, line_load)))


line_rows = MOTOR_MODEL.figure("line_rows", "Kv line: readings", symbol="n_l").derive(
    line_speed.count(), "Unflagged steady readings at full throttle with a speed; at least four.", definition()
)
line_range = MOTOR_MODEL.figure("line_range", "Kv line: largest load over smallest", decimals=2).derive(
    line_load.largest() / line_load.smallest(), "Load is amps over volts.", definition()
)
_enough = (line_rows >= LEAST_ROWS) & (line_range >= s.line_load_range)
line_slope = MOTOR_MODEL.figure("line_slope", "Kv line: slope", symbol="b_l", decimals=1).derive(
    _of_line("slope"), "Of rpm/V on A/V, by least squares; −Kv·R."
)
line_intercept = MOTOR_MODEL.figure("line_intercept", "Kv line: intercept", "rpm/V", symbol="a_l", decimals=1).derive(
    _of_line("intercept"), "Speed per volt at no load."
)
line_kv = MOTOR_MODEL.figure("line_kv", "Kv from loaded readings", "rpm/V", symbol="Kv_load").derive(
    (line_slope < 0).where(line_intercept),
    "Intercept of the line; a few % high where the copper warms with load. Blank without four readings of differing "
    "load, or when the line does not fall.",
)
line_mean = MOTOR_MODEL.figure("line_mean", "Kv line: mean load", symbol="x̄", decimals=3).derive(
    line_load.mean(), "A/V."
)
line_spread = MOTOR_MODEL.figure(
    "line_spread", "Kv line: sum of squares of the load about its mean", symbol="Σ(x − x̄)²", decimals=4
).derive(line_load.deviation() ** 2 * (line_rows - 1), "(A/V)².")
line_scatter = MOTOR_MODEL.figure(
    "line_scatter", "Kv line: residual standard deviation", "rpm/V", symbol="s_l", decimals=1
).derive(_of_line("residual deviation"), "How far the readings lie off the line.")
line_slope_uncertainty = MOTOR_MODEL.figure(
    "line_slope_uncertainty", "Kv line: standard uncertainty of the slope", symbol="u(b_l)", decimals=2
).derive(line_scatter / line_spread.sqrt(), "s / √Σ(x − x̄)².")
line_kv_fit = (line_scatter**2 / line_rows + line_mean**2 * line_slope_uncertainty**2).sqrt()
"""Standard uncertainty of the intercept, with two degrees of freedom less than there are rows."""
line_resistance = MOTOR_MODEL.figure(
    "line_resistance", "Resistance from loaded readings", "mΩ", symbol="R_load"
).derive(
    (line_slope < 0).where(-1000.0 * line_slope / line_intercept),
    "ESC, leads behind the place where volts were read, and the winding, high where the copper warms with load.",
)
line_resistance_uncertainty = MOTOR_MODEL.figure(
    "line_resistance_uncertainty", "Standard uncertainty of resistance from loaded readings", "mΩ", symbol="u(R_load)"
).derive(
    line_resistance
    * (
        (line_slope_uncertainty / line_slope) ** 2
        + (line_scatter**2 / line_rows + line_mean**2 * line_slope_uncertainty**2) / line_intercept**2
        + 2 * line_mean * line_slope_uncertainty**2 / (line_intercept * line_slope)
    ).sqrt(),
    "Of the ratio of slope and intercept, which the same readings gave; without warmth.",
)
_least, _most = line_load.smallest(), line_load.largest()
_warming = n.winding_resistance.otherwise(line_resistance) * n.COPPER_PER_K * s.line_warmth * LIMIT_TO_DEVIATION
line_kv_warmth = MOTOR_MODEL.figure(
    "line_kv_warmth", "Kv line: standard uncertainty of Kv for warm copper", "rpm/V", decimals=1
).derive(
    line_kv * _warming / 1000 * _least * _most / (_most - _least),
    "The winding, or all of the line's resistance where it was not read, grows from the smallest load x1 to the "
    "largest x2 by up to ΔR, after the warmth on Settings: Kv·ΔR·x1·x2/(x2 − x1), as a half-width over √3.",
    IACS,
)
line_resistance_warmth = MOTOR_MODEL.figure(
    "line_resistance_warmth", "Kv line: standard uncertainty of the resistance for warm copper", "mΩ"
).derive(
    _warming * (_most + _least - line_mean) / (_most - _least),
    "What the same growth adds to the line's resistance over that at the mean load: ΔR·(x1 + x2 − x̄)/(x2 − x1), as a "
    "half-width over √3.",
    IACS,
)
line_kv_uncertainty = MOTOR_MODEL.figure(
    "line_kv_uncertainty", "Standard uncertainty of Kv from loaded readings", "rpm/V", symbol="u(Kv_load)", decimals=1
).derive(
    sum_of_squares([line_kv_fit, line_kv_warmth, line_kv * VOLTMETER, line_kv * TACHOMETER]).sqrt(),
    "That of the intercept and of warmth, with the accuracies of volts and speed as half-widths over √3.",
    GUM_PROPAGATION,
)
line_residual = MOTOR_MODEL.figure("line_residual", "Kv line: scatter", "%", symbol="s_l/Kv", decimals=2).derive(
    line_scatter / line_kv * 100, "Residual standard deviation over Kv."
)
line_doubtful: Node = (line_slope >= 0).where(1.0, flag(line_residual > s.line_residual_limit).otherwise(0.0)).equals(1)
"""Ask whether there is a line, and it scatters or does not fall."""
line_verdict = MOTOR_MODEL.figure("line_verdict", "Kv line is").derive(
    _enough.where(
        (line_slope < 0).where(
            (line_residual > s.line_residual_limit).where(
                "scattered: look for a wrong speed, a wrong voltage or a slipping propeller", "straight"
            ),
            "not falling with load: look for wrong speeds or volts",
        ),
        "not drawn: it takes four unflagged steady readings at full throttle with speed, of differing load",
    ).otherwise("not drawn: too few unflagged steady readings at full throttle with a speed"),
    "Its scatter against the limit on Settings.",
    definition(),
)

# --- the methods, and the label ----------------------------------------------------------------------------


class Method(NamedTuple):
    """Kv by one method, and its standard uncertainty: scatter, and what else the instruments of Readings do not share."""

    key: str
    name: str
    kv: Named
    combined: Named
    scatter: Node
    freedom: Node
    own: Node

    @property
    def expanded(self) -> Named:
        """Return the cell of its expanded uncertainty."""
        return Named(f"{self.key}_expanded")


DRIVEN, FREE, LINE = METHODS = (
    Method(
        "driven_kv", "driven spin", n.driven_kv, p.driven_uncertainty, p.driven_scatter, p.spin_freedom, p.driven_meter
    ),
    Method("free_kv", "free spin", n.measured_kv, p.free_uncertainty, p.free_scatter, p.spin_freedom, p.free_unread),
    Method("line_kv", "loaded readings", line_kv, line_kv_uncertainty, line_kv_fit, line_rows - 2, line_kv_warmth),
)
_by_driven = n.driven_kv.present().where(1.0)
_by_other = n.measured_kv.present().where(2.0, line_kv.present().where(3.0, _by_driven))
# A driven spin has to be sure to within the label tolerance.
_sure = (2 * p.driven_uncertainty <= s.kv_tolerance / 100 * n.driven_kv).where(1.0)
kv_choice = MOTOR_MODEL.figure("kv_choice", "Kv measured: method taken").derive(
    _sure.otherwise(_by_other), "1 = driven spin (if sure enough), 2 = free spin, 3 = loaded readings.", definition()
)


def of_method(part: str) -> Node:
    """Return a part of the method taken."""
    return call("choose", kv_choice, *(getattr(each, part) for each in METHODS))


best_kv = MOTOR_MODEL.figure("best_kv", "Kv measured", "rpm/V", symbol="Kv").derive(
    of_method("kv"), "By the method taken; ESC timing plays no part in a driven spin.", definition()
)
best_kv_basis = MOTOR_MODEL.figure("best_kv_basis", "Kv was measured by").derive(
    of_method("name").otherwise("no method"), "Which of the methods the label is held against.", definition()
)
best_kv_uncertainty = MOTOR_MODEL.figure(
    "best_kv_uncertainty", "Standard uncertainty of Kv", "rpm/V", symbol="u(Kv)", decimals=1
).derive(of_method("combined"), "That of the method.", definition())
kv_deviation = MOTOR_MODEL.figure("kv_deviation", "Measured Kv against label", "%", symbol="ΔKv").derive(
    (best_kv / label_kv - 1) * 100, "Measured less labelled, over labelled.", practice()
)


def near_pole_slip(ratio: Node) -> Node:
    """Ask whether a ratio of speeds is what comes of taking 12 magnets for 14, or 14 for 12."""
    near = call("absolute", ratio * TWELVE_FOR_FOURTEEN - 1) <= s.pole_tolerance / 100
    return near | (call("absolute", ratio / TWELVE_FOR_FOURTEEN - 1) <= s.pole_tolerance / 100)


# --- what the losses are computed with ---------------------------------------------------------------------

row_resistance = t.SPEED_FIGURES.helper("row_resistance", "Resistance of the row", symbol="R_i").derive(
    (_kept & (kv_choice <= 2)).where((t.voltage - t.speed / best_kv) / t.current * 1000)
)
loaded_resistance = MOTOR_MODEL.figure(
    "loaded_resistance", "Resistance under load, with Kv from spins", "mΩ", symbol="R_w"
).derive(
    row_resistance.mean(),
    "Mean of (V − n/Kv)/I over unflagged steady readings at full throttle: warm winding, ESC and leads together.",
)
loaded_resistance_uncertainty = MOTOR_MODEL.figure(
    "loaded_resistance_uncertainty", "Standard uncertainty of that, from the scatter", "mΩ", symbol="u(R_w)"
).derive(
    row_resistance.deviation() / row_resistance.count().sqrt(),
    "Standard deviation of the readings over √number; the uncertainty of Kv comes on top.",
    definition(),
)
LEAST_OF_WINDING = 0.9
"""Share of the winding's own resistance, as read, below which that under load cannot lie, whatever both scatter."""
under_load = loaded_resistance.otherwise(line_resistance)
below_winding = under_load < n.winding_resistance * LEAST_OF_WINDING
model_resistance = MOTOR_MODEL.figure(
    "model_resistance", "Resistance that the losses are computed with", "mΩ", symbol="R_m"
).derive(
    below_winding.where(n.winding_resistance, under_load).otherwise(under_load).otherwise(n.winding_resistance),
    "Under load where a spin gave Kv and a speed was read, else from the line; the winding's as read, in which neither ESC "
    "nor warmth plays a part, where there is neither or it lies below nine tenths of that.",
    worked_out("first of the methods"),
)

MOTOR_MODEL.keep(best_kv, best_kv_basis, kv_deviation, line_kv, model_resistance)
