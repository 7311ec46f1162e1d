"""Uncertainty of the motor's constants: Kv by each method, resistances, no-load current and mass; and what that
lets one say of the methods and the label.

Of each, what the readings of Readings do not share (scatter, a fit, another meter) is kept apart from the bench's
instruments: it is one source of error more for what is computed with the constant.
"""

from itertools import combinations

from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.inputs import motor as o
from xlsengine.bench.inputs import no_load as n
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.inputs.conditions import winding_temperature
from xlsengine.bench.physics import motor_model as m
from xlsengine.bench.propagation import spin_uncertainty as p
from xlsengine.bench.propagation.accuracies import AMMETER, LIMIT_TO_DEVIATION, VOLTMETER, relative
from xlsengine.bench.propagation.terms import effective_freedom, expanded, expanded_by, sum_of_squares
from xlsengine.expression import Node, call, flag, join, say
from xlsengine.sources import GUM_FREEDOM, GUM_LIMITS, GUM_PROPAGATION, IACS, definition

MOTOR_UNCERTAINTY = Figures(
    "Uncertainty of the motor's constants",
    "U is the expanded uncertainty, shown as ±, at the level of confidence on Settings.",
    source=GUM_PROPAGATION,
)
THERMOMETER_LIMIT, AIR_FOR_WINDING_LIMIT = 1.0, 3.0
"""K. How far a reading of the winding's temperature may be off, and how far the air's, taken for it: from memory."""
LEAST_PAIRS = 3
"""Pairs of leads that replace the default scatter: two alike by chance would pass for sure."""


def _of_few(combined: Node, scatter: Node, freedom: Node) -> Node:
    """Expand an uncertainty that rests on few spins or pairs.

    By chance these agree and pass for sure, so that the Welch-Satterthwaite formula holds the truth in 92.6 of 100 at
    two degrees of freedom. So 1/ν² of the square is what the parts give, each expanded by itself, which is too wide.
    """
    at_once = expanded_by(combined, (scatter, freedom)) ** 2
    limits = expanded_by(call("greater", combined**2 - scatter**2, 0.0).sqrt())
    apart = sum_of_squares([expanded(scatter, freedom), limits])
    return (at_once + (apart - at_once) / freedom**2).sqrt()


# --- Kv --------------------------------------------------------------------------------------------------

for _each in m.METHODS:
    MOTOR_UNCERTAINTY.figure(
        _each.expanded.name, f"Kv by {_each.name}: ±", "rpm/V", symbol=f"U_{_each.name[0]}"
    ).derive(
        _of_few(_each.combined, _each.scatter, _each.freedom),
        "Expanded uncertainty; with few spins wider than by Welch-Satterthwaite alone, which is then short.",
        GUM_FREEDOM,
    )


best_kv_part = MOTOR_UNCERTAINTY.figure("best_kv_part", "Kv measured: own part", "rpm/V", decimals=1).derive(
    sum_of_squares([m.of_method("scatter"), m.of_method("own")]).sqrt(),
    "Standard uncertainty without that of the instruments that Readings was read with.",
)
best_kv_freedom = MOTOR_UNCERTAINTY.figure("best_kv_freedom", "Kv measured: degrees of freedom of that").derive(
    best_kv_part.present().where(effective_freedom(best_kv_part, [(m.of_method("scatter"), m.of_method("freedom"))])),
    "Of the scatter: spins less one, or readings of the line less two; limits have infinite ones.",
    GUM_FREEDOM,
)
best_kv_expanded = MOTOR_UNCERTAINTY.figure("best_kv_expanded", "Kv measured: ±", "rpm/V", symbol="U(Kv)").derive(
    m.of_method("expanded"), "Of the method taken.", GUM_FREEDOM
)
kv_share_of_voltmeter = MOTOR_UNCERTAINTY.figure(
    "kv_share_of_voltmeter", "Kv measured: by the voltmeter of Readings"
).derive(
    m.kv_choice.equals(1).where(0.0, 1.0), "0 by driven spin, whose volts another meter reads; else 1.", definition()
)

# --- what the methods say of each other and of the label -------------------------------------------------


def _compared(one: m.Method, other: m.Method) -> tuple[Node, Node]:
    """Say how two methods compare, each of which is sure to within the label tolerance, and count 1 where they differ."""
    names = f"{one.name.capitalize()} and {other.name}"
    off = call("absolute", one.kv / other.kv - 1) * 100
    sure = (one.expanded / one.kv * 100 <= s.kv_tolerance) & (other.expanded / other.kv * 100 <= s.kv_tolerance)
    differ = off > s.kv_tolerance
    said = differ.where(
        say("{} differ by {:.1f} %. ", names, off), say("{} agree within {:.0f} %. ", names, s.kv_tolerance)
    )
    return sure.where(said, "").otherwise(""), sure.where(flag(differ), 0.0).otherwise(0.0)


_PAIRS = [_compared(one, other) for one, other in combinations(m.METHODS, 2)]
kv_methods_differ = (_PAIRS[0][1] + _PAIRS[1][1] + _PAIRS[2][1]) > 0
kv_agreement = m.MOTOR_MODEL.figure("kv_agreement", "Kv by different methods").derive(
    call("trim", join(*(said for said, _ in _PAIRS))),
    "By the label tolerance, of methods that are as sure. Timing of the ESC raises Kv by free spin and by loaded "
    "readings, a driven spin knows none.",
    definition(),
)
_tolerance = say("±{:.0f} % of the label", s.kv_tolerance)
_outside = call("absolute", m.kv_deviation) > s.kv_tolerance
_judged = _outside.where(
    say(
        "outside {}{}",
        _tolerance,
        m.near_pole_slip(m.best_kv / o.label_kv).where("; near 7/6 or 6/7: was the pole count right?", ""),
    ),
    say("within {}", _tolerance),
)
_label_expanded = best_kv_expanded / m.best_kv * 100
_too_uncertain = _label_expanded > s.kv_tolerance
label_doubtful = _too_uncertain.where(0.0, flag(_outside)).otherwise(flag(_outside)).equals(1)
kv_verdict = m.MOTOR_MODEL.figure("kv_verdict", "Label verdict").derive(
    _too_uncertain.where(
        say("too uncertain to compare with the label: ±{:.1f} %", _label_expanded).otherwise(""), _judged
    ).otherwise(_judged),
    "Against the tolerance on Settings, where Kv is known to within it.",
    definition(),
)
_slip = m.near_pole_slip(m.line_kv / m.best_kv)
_line_uncertain = m.LINE.expanded / m.line_kv * 100 > s.kv_tolerance
pole_doubtful = (m.kv_choice <= 2) & _slip & ~_line_uncertain
# --- resistance ------------------------------------------------------------------------------------------

hot_resistance = MOTOR_UNCERTAINTY.figure("hot_resistance", "Resistance under load", "mΩ", symbol="R_h").derive(
    m.loaded_resistance.otherwise(m.line_resistance),
    "With Kv from spins where there were any, else from the Kv line.",
    definition(),
)
_per_volt = 1000 / m.line_mean
_over_kv = (_per_volt - m.loaded_resistance) * best_kv_part / m.best_kv
hot_part = MOTOR_UNCERTAINTY.figure("hot_part", "Resistance under load: own part", "mΩ", decimals=2).derive(
    m.loaded_resistance.present().where(
        sum_of_squares([m.loaded_resistance_uncertainty, _over_kv]).sqrt(),
        sum_of_squares([m.line_resistance_uncertainty, m.line_resistance_warmth]).sqrt(),
    ),
    "Scatter of the readings and what Kv, which divides their speeds, has of its own; or the fit's and that of warmth.",
)
hot_freedom = MOTOR_UNCERTAINTY.figure("hot_freedom", "Resistance under load: degrees of freedom of that").derive(
    m.loaded_resistance.present().where(
        effective_freedom(
            hot_part, [(m.loaded_resistance_uncertainty, m.row_resistance.count() - 1), (_over_kv, best_kv_freedom)]
        ),
        effective_freedom(hot_part, [(m.line_resistance_uncertainty, m.line_rows - 2)]),
    ),
    "Readings less one and those of Kv, or readings of the line less two; warmth is a limit.",
    GUM_FREEDOM,
)
hot_by_voltmeter = MOTOR_UNCERTAINTY.figure(
    "hot_by_voltmeter", "Resistance under load: change with the voltmeter's error", "mΩ"
).derive(
    (m.loaded_resistance.present() & kv_share_of_voltmeter.equals(0)).where(_per_volt, hot_resistance),
    "For a relative error of one: the resistance itself, or V/I where a driven spin gave Kv by another meter.",
)
hot_expanded = MOTOR_UNCERTAINTY.figure("hot_expanded", "Resistance under load: ±", "mΩ", symbol="U(R_h)").derive(
    expanded_by(
        sum_of_squares([hot_part, hot_by_voltmeter * VOLTMETER, hot_resistance * AMMETER]).sqrt(),
        (hot_part, hot_freedom),
    ),
    "With the accuracies of volts and amps; that of speed drops out, since Kv was read by the same instrument.",
    GUM_FREEDOM,
)
_number = n.resistance.count()
_enough = _number >= LEAST_PAIRS
_pairs = _enough.where(n.resistance_uncertainty, n.winding_resistance * s.default_scatter / 100 / _number.sqrt())
_pairs_freedom = _enough.where(_number - 1, s.default_freedom)
winding_uncertainty = MOTOR_UNCERTAINTY.figure(
    "winding_uncertainty", "Winding resistance: standard uncertainty", "mΩ", symbol="u_w", decimals=2
).derive(
    sum_of_squares([_pairs, n.winding_resistance * relative(s.resistance_accuracy)]).sqrt(),
    "Of the mean of the pairs, or that of Settings below three pairs, with the meter's accuracy.",
)
winding_expanded = MOTOR_UNCERTAINTY.figure("winding_expanded", "Winding resistance: ±", "mΩ", symbol="U(R)").derive(
    _of_few(winding_uncertainty, _pairs, _pairs_freedom), "Expanded uncertainty.", GUM_FREEDOM
)
_to_20 = n.resistance_at_20 / n.winding_resistance
_kelvin = winding_temperature.present().where(THERMOMETER_LIMIT, AIR_FOR_WINDING_LIMIT) * LIMIT_TO_DEVIATION
_at_20 = sum_of_squares([winding_uncertainty * _to_20, n.resistance_at_20 * _to_20 * n.COPPER_PER_K * _kelvin]).sqrt()
at_20_expanded = MOTOR_UNCERTAINTY.figure(
    "at_20_expanded", "Winding resistance at 20 °C: ±", "mΩ", symbol="U(R20)"
).derive(
    _of_few(_at_20, _pairs * _to_20, _pairs_freedom),
    "With 1 K of the winding's temperature, or 3 K where the air's was taken, as half-widths over √3.",
    IACS,
)

# --- no-load current -------------------------------------------------------------------------------------

no_load_expanded = MOTOR_UNCERTAINTY.figure("no_load_expanded", "No-load current: ±", "A", decimals=2).derive(
    _of_few(sum_of_squares([p.no_load_level, n.no_load_current * AMMETER]).sqrt(), p.no_load_level, p.no_load_freedom),
    "Expanded uncertainty: scatter of the spins, and the ammeter's accuracy.",
    GUM_FREEDOM,
)

# --- mass ------------------------------------------------------------------------------------------------

_wire = o.trimmed_mass_measured.present().where(0.0, o.lead_mass_uncertain.otherwise(0.0))
trimmed_mass_uncertainty = MOTOR_UNCERTAINTY.figure(
    "trimmed_mass_uncertainty", "Trimmed mass: standard uncertainty", "g", symbol="u(m)", decimals=2
).derive(
    o.trimmed_mass.present().where(sum_of_squares([s.mass_accuracy, _wire]).sqrt() * LIMIT_TO_DEVIATION),
    "The scale's accuracy, and the estimate's where the mass was not weighed trimmed, as half-widths over √3.",
    GUM_LIMITS,
)
trimmed_mass_expanded = MOTOR_UNCERTAINTY.figure(
    "trimmed_mass_expanded", "Trimmed mass: ±", "g", symbol="U(m)", decimals=1
).derive(expanded_by(trimmed_mass_uncertainty), "Expanded uncertainty.")
supplied_mass_expanded = MOTOR_UNCERTAINTY.figure(
    "supplied_mass_expanded", "Mass as supplied: ±", "g", symbol="U(m_full)", decimals=1
).derive(
    o.mass_as_supplied.present().where(expanded_by(s.mass_accuracy * LIMIT_TO_DEVIATION)),
    "Expanded uncertainty: the scale's accuracy, as a half-width over √3.",
    GUM_LIMITS,
)

m.MOTOR_MODEL.keep(kv_verdict)
MOTOR_UNCERTAINTY.keep(
    hot_resistance,
    hot_resistance_uncertainty=hot_expanded,
    best_kv_uncertainty=best_kv_expanded,
    winding_resistance_uncertainty=winding_expanded,
    resistance_at_20_uncertainty=at_20_expanded,
    no_load_current_uncertainty=no_load_expanded,
    mass_as_supplied_uncertainty=supplied_mass_expanded,
    trimmed_mass_uncertainty=trimmed_mass_expanded,
    driven_kv_uncertainty=m.DRIVEN.expanded,
    free_kv_uncertainty=m.FREE.expanded,
    line_kv_uncertainty=m.LINE.expanded,
)
