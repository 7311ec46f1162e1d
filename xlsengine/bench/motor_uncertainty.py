"""How sure the motor's constants are: Kv by each method, resistances, no-load current, leads and mass; and what that
lets one say of the methods and the label.

Of each, what the readings of Readings do not share (scatter, a fit, another meter) is kept apart from the bench's
instruments: it is one source of error more for what is computed with the constant.
"""

from __future__ import annotations

from itertools import combinations
from typing import NamedTuple

from xlsengine.bench import motor as o
from xlsengine.bench import motor_model as m
from xlsengine.bench import no_load as n
from xlsengine.bench import spin_uncertainty as p
from xlsengine.bench.accuracies import LIMIT_TO_DEVIATION, relative, taken_current_accuracy, taken_voltage_accuracy
from xlsengine.bench.conditions import winding_temperature
from xlsengine.bench.declare import Figures, Quantity
from xlsengine.bench.settings import default_freedom, default_scatter, kv_tolerance, mass_accuracy, resistance_accuracy
from xlsengine.bench.uncertainty import ENDLESS, Input, effective_freedom, expanded, sum_of_squares
from xlsengine.expression import BLANK, Aggregate, Column, Constant, Named, Node, call, flag, join
from xlsengine.sources import FROM_MEMORY, GUM_FREEDOM, GUM_LIMITS, GUM_PROPAGATION, IACS, Source, definition

MOTOR_UNCERTAINTY = Figures(
    "Uncertainty of the motor's constants", "U is what stands behind “±”, at the level of confidence on Settings."
)
THERMOMETER_LIMIT, AIR_FOR_WINDING_LIMIT = 1.0, 3.0
"""K. How far a reading of the winding's temperature may be off, and how far the air's, taken for it: from memory."""
LEAST_PAIRS = 3
"""Pairs of leads that replace the default scatter: two alike by chance would pass for sure."""
WIRE_LIMIT, LENGTH_LIMIT = 0.03, 2.0
"""Stranded wire of one gauge differs by 2 to 3 % in resistance; leads are measured to 2 mm: from memory."""
_VOLTS, _AMPS = relative(taken_voltage_accuracy), relative(taken_current_accuracy)


def _figure(
    name: str, label: str, symbol: str, unit: str, shown: int, expression: Node, meaning: str,
    source: Source = GUM_PROPAGATION,
) -> Named:  # fmt: skip
    return MOTOR_UNCERTAINTY.derive(Quantity(name, label, expression, meaning, source, symbol, unit, shown))


def _count(column: Column) -> Node:
    return Aggregate("count", (column,))


def _of_few(combined: Node, scatter: Node, freedom: Node) -> Node:
    """Expand an uncertainty that rests on few spins or pairs.

    By chance these agree and pass for sure, so that the Welch-Satterthwaite formula holds the truth in 92.6 of 100 at
    two degrees of freedom. So 1/ν² of the square is what the parts give, each expanded by itself, which is too wide.
    """
    at_once = expanded(combined, effective_freedom(combined, [(scatter, freedom)])) ** 2
    limits = expanded(call("greater", combined**2 - scatter**2, 0.0).sqrt(), Constant(ENDLESS))
    apart = sum_of_squares([expanded(scatter, freedom), limits])
    return (at_once + (apart - at_once) / freedom**2).sqrt()


# --- Kv --------------------------------------------------------------------------------------------------


class _Method(NamedTuple):
    """Kv by one method: its own part (scatter, and what the bench's instruments do not share), and its margin."""

    name: str
    kv: Named
    part: Named
    freedom: Named
    margin: Named


def _kv(name: str, method: str, kv: Named, combined: Named, scatter: Node, freedom: Node, own: Node) -> _Method:
    part = _figure(
        f"{name}_part", f"Kv by {method}: own part", "", "rpm/V", 1,
        combined.present().where(sum_of_squares([scatter, own]).sqrt(), BLANK),
        "Standard uncertainty without that of the instruments that Readings was read with.",
    )  # fmt: skip
    own_freedom = _figure(
        f"{name}_own_freedom", f"Kv by {method}: degrees of freedom of that", "", "", 0,
        combined.present().where(effective_freedom(part, [(scatter, freedom)]), BLANK),
        "Of the scatter, spins less one or rows of the line less two; limits have infinite ones.", GUM_FREEDOM,
    )  # fmt: skip
    whole = _figure(
        f"{name}_expanded", f"Kv by {method}: ±", "U", "rpm/V", 0, _of_few(combined, scatter, freedom),
        "Expanded uncertainty; with few spins wider than by Welch-Satterthwaite alone, which is then short.",
        GUM_FREEDOM,
    )  # fmt: skip
    return _Method(method, kv, part, own_freedom, whole)


_DRIVEN, _FREE, _LINE = "driven spin", "free spin", "loaded readings"
_METHODS = (
    _kv("driven_kv", _DRIVEN, n.driven_kv, p.driven_uncertainty, p.driven_scatter, p.spin_freedom, p.driven_meter),
    _kv("free_kv", _FREE, n.measured_kv, p.free_uncertainty, p.free_scatter, p.spin_freedom, p.free_unread),
    _kv("line_kv", _LINE, m.line_kv, m.line_kv_uncertainty, m.line_kv_fit, m.line_rows - 2, m.line_kv_warmth),
)


def _best(part: str) -> Node:
    return call("choose", m.kv_choice, *(getattr(each, part) for each in _METHODS))


best_kv_part = _figure("best_kv_part", "Kv measured: own part", "", "rpm/V", 1, _best("part"), "Of the method taken.")
best_kv_freedom = _figure(
    "best_kv_freedom", "Kv measured: degrees of freedom of that", "", "", 0, _best("freedom"), "Of the method taken."
)
best_kv_expanded = _figure(
    "best_kv_expanded", "Kv measured: ±", "U(Kv)", "rpm/V", 0, _best("margin"), "Of the method taken.", GUM_FREEDOM
)
kv_share_of_voltmeter = _figure(
    "kv_share_of_voltmeter", "Kv measured: by the voltmeter of Readings", "", "", 0,
    m.kv_choice.equals(1).where(0.0, 1.0), "0 by driven spin, whose volts another meter reads; else 1.", definition(),
)  # fmt: skip

# --- what the methods say of each other and of the label -------------------------------------------------


def _compared(one: _Method, other: _Method) -> tuple[Node, Node]:
    """Say how two methods compare, and count 1 where they differ; errors of instruments that both share drop out."""
    names = f"{one.name.capitalize()} and {other.name}"
    key = f"{one.kv.name}_{other.kv.name}"
    meters = one.kv * _VOLTS if one.name == _DRIVEN else Constant(0.0)
    apart = _figure(
        f"{key}_u", f"{names}: standard uncertainty of the difference", "", "rpm/V", 1,
        sum_of_squares([one.part, other.part, meters]).sqrt(), "Of what they do not share.",
    )  # fmt: skip
    freedom = effective_freedom(apart, [(one.part, one.freedom), (other.part, other.freedom)])
    margin = _figure(
        f"{key}_expanded", f"{names}: difference, ±", "", "%", 1, expanded(apart, freedom) / one.kv * 100,
        "Expanded uncertainty.", GUM_FREEDOM,
    )  # fmt: skip
    found, within = call("absolute", one.kv / other.kv - 1) * 100, margin.fixed(1)
    differ = found > margin
    known = differ.where(
        join(names, " differ by ", found.fixed(1), " %, beyond their ±", within, " %. "),
        join(names, " agree within ±", within, " %. "),
    )  # fmt: skip
    unsure = margin > kv_tolerance
    said = unsure.where(join(names, " are too uncertain to compare: ±", within, " %. "), known).otherwise("")
    return said, unsure.where(0.0, flag(differ)).otherwise(0.0)


def _say(name: str, label: str, expression: Node, meaning: str) -> Named:
    return m.MOTOR_MODEL.derive(Quantity(name, label, expression, meaning, definition(), "", "", 0))


_PAIRS = [_compared(one, other) for one, other in combinations(_METHODS, 2)]
kv_methods_differ = (_PAIRS[0][1] + _PAIRS[1][1] + _PAIRS[2][1]) > 0
kv_agreement = _say(
    "kv_agreement", "Kv by different methods",
    call("trim", join(*(said for said, _ in _PAIRS))),
    "Beyond the expanded uncertainty of their difference, which may not exceed the label tolerance. Timing of the ESC "
    "raises Kv by free spin and by loaded readings, a driven spin knows none.",
)  # fmt: skip
_tolerance = join("±", kv_tolerance.fixed(0), " % of the label")
_outside = call("absolute", m.kv_deviation) > kv_tolerance
_judged = _outside.where(
    join(
        "outside ", _tolerance,
        m.near_pole_slip(m.best_kv / o.label_kv).where("; near 7/6 or 6/7: was the pole count right?", ""),
    ),
    join("within ", _tolerance),
)  # fmt: skip
_doubt = best_kv_expanded / m.best_kv * 100
_too_unsure = _doubt > kv_tolerance
label_doubtful = _too_unsure.where(0.0, flag(_outside)).otherwise(flag(_outside)).equals(1)
kv_verdict = _say(
    "kv_verdict", "Label verdict",
    _too_unsure.where(
        join("too uncertain to compare with the label: ±", _doubt.fixed(1), " %").otherwise(""), _judged
    ).otherwise(_judged),
    "Against the tolerance on Settings, where Kv is known to within it.",
)  # fmt: skip
_line = _METHODS[2]
_UNKNOWN = "not known: it takes a loaded line and a spin"
_slip = m.near_pole_slip(m.line_kv / m.best_kv)
_line_unsure = _line.margin / m.line_kv * 100 > kv_tolerance
pole_doubtful = (m.kv_choice <= 2) & _slip & ~_line_unsure
_by_spin = _slip.where(
    "doubtful: Kv from loaded readings is near 7/6 or 6/7 of the one from spins", "no sign of a wrong one"
)
pole_verdict = _say(
    "pole_verdict", "Pole count behind the speeds of Readings",
    _line_unsure.where(
        "not known: Kv from loaded readings is too uncertain to compare",
        (m.kv_choice <= 2).where(_by_spin, _UNKNOWN),
    ).otherwise(_UNKNOWN),
    "12 and 14 magnets taken for each other give speeds in a ratio of 7/6.",
)  # fmt: skip

# --- resistance ------------------------------------------------------------------------------------------

hot_resistance = _figure(
    "hot_resistance", "Resistance under load", "R_h", "mΩ", 1, m.loaded_resistance.otherwise(m.line_resistance),
    "With Kv from spins where there were any, else from the loaded line.", definition(),
)  # fmt: skip
_per_volt = 1000 / m.line_mean
_over_kv = (_per_volt - m.loaded_resistance) * best_kv_part / m.best_kv
hot_part = _figure(
    "hot_part", "Resistance under load: own part", "", "mΩ", 2,
    m.loaded_resistance.present().where(
        sum_of_squares([m.loaded_resistance_uncertainty, _over_kv]).sqrt(),
        sum_of_squares([m.line_resistance_uncertainty, m.line_resistance_warmth]).sqrt(),
    ),
    "Scatter of the rows and what Kv, which divides their speeds, has of its own; or the fit's and that of warmth.",
)  # fmt: skip
hot_freedom = _figure(
    "hot_freedom", "Resistance under load: degrees of freedom of that", "", "", 0,
    m.loaded_resistance.present().where(
        effective_freedom(
            hot_part, [(m.loaded_resistance_uncertainty, _count(m.row_resistance) - 1), (_over_kv, best_kv_freedom)]
        ),
        effective_freedom(hot_part, [(m.line_resistance_uncertainty, m.line_rows - 2)]),
    ),
    "Rows less one and those of Kv, or rows of the line less two; warmth is a limit.", GUM_FREEDOM,
)  # fmt: skip
hot_by_voltmeter = _figure(
    "hot_by_voltmeter", "Resistance under load: change with the voltmeter's error", "", "mΩ", 1,
    (m.loaded_resistance.present() & kv_share_of_voltmeter.equals(0)).where(_per_volt, hot_resistance),
    "For a relative error of one: the resistance itself, or V/I where a driven spin gave Kv by another meter.",
)  # fmt: skip
hot_uncertainty = _figure(
    "hot_uncertainty", "Resistance under load: standard uncertainty", "u(R_h)", "mΩ", 2,
    sum_of_squares([hot_part, hot_by_voltmeter * _VOLTS, hot_resistance * _AMPS]).sqrt(),
    "With the accuracies of volts and amps; that of speed drops out, since Kv was read by the same instrument.",
)  # fmt: skip
hot_expanded = _figure(
    "hot_expanded", "Resistance under load: ±", "U(R_h)", "mΩ", 1,
    expanded(hot_uncertainty, effective_freedom(hot_uncertainty, [(hot_part, hot_freedom)])), "Expanded uncertainty.",
    GUM_FREEDOM,
)  # fmt: skip
_number = _count(n.resistance)
_enough = _number >= LEAST_PAIRS
_pairs = _enough.where(n.resistance_uncertainty, n.winding_resistance * default_scatter / 100 / _number.sqrt())
_pairs_freedom = _enough.where(_number - 1, default_freedom)
winding_uncertainty = _figure(
    "winding_uncertainty", "Winding resistance: standard uncertainty", "u(R)", "mΩ", 2,
    sum_of_squares([_pairs, n.winding_resistance * relative(resistance_accuracy)]).sqrt(),
    "Of the mean of the pairs, or that of Settings below three pairs, with the meter's accuracy.",
)  # fmt: skip
winding_expanded = _figure(
    "winding_expanded", "Winding resistance: ±", "U(R)", "mΩ", 1, _of_few(winding_uncertainty, _pairs, _pairs_freedom),
    "Expanded uncertainty.", GUM_FREEDOM,
)  # fmt: skip
_to_20 = n.resistance_at_20 / n.winding_resistance
_kelvin = winding_temperature.present().where(THERMOMETER_LIMIT, AIR_FOR_WINDING_LIMIT) * LIMIT_TO_DEVIATION
at_20_uncertainty = _figure(
    "at_20_uncertainty", "Winding resistance at 20 °C: standard uncertainty", "u(R20)", "mΩ", 2,
    sum_of_squares([winding_uncertainty * _to_20, n.resistance_at_20 * _to_20 * n.COPPER_PER_K * _kelvin]).sqrt(),
    "With 1 K of the winding's temperature, or 3 K where the air's was taken, as half-widths over √3.", IACS,
)  # fmt: skip
at_20_expanded = _figure(
    "at_20_expanded", "Winding resistance at 20 °C: ±", "U(R20)", "mΩ", 1,
    _of_few(at_20_uncertainty, _pairs * _to_20, _pairs_freedom), "Expanded uncertainty.", GUM_FREEDOM,
)  # fmt: skip

# --- no-load current -------------------------------------------------------------------------------------

_MILLI = Constant(0.001)
NO_LOAD_PARTS = (
    Input("no_load_level", "No-load current: scatter", 1000 * p.no_load_level, ((n.no_load_at_rest, _MILLI),),
          p.no_load_freedom, "mA"),
    Input("no_load_growth", "No-load current: scatter of its growth", 1000 * p.no_load_growth,
          ((n.no_load_slope, _MILLI), (n.no_load_at_rest, -p.no_load_mean_speed * 1e-6)), p.no_load_freedom, "μA/rpm"),
)  # fmt: skip
"""The line's scatter as two independent errors: of its height at the spins' mean speed, and of its slope about it."""


def _no_load(name: str, label: str, unit: str, shown: int, value: Named, scatter: Node, meaning: str) -> Named:
    """Derive the expanded uncertainty of one figure of the no-load current; the ammeter's accuracy comes on top."""
    whole = _of_few(sum_of_squares([scatter, value * _AMPS]).sqrt(), scatter, p.no_load_freedom)
    return _figure(name, f"{label}: ±", "", unit, shown, whole, meaning, GUM_FREEDOM)


_at_rest = sum_of_squares([p.no_load_level, p.no_load_growth * p.no_load_mean_speed / 1000]).sqrt()
_WITH_AMMETER = "Expanded uncertainty: scatter of the spins, and the ammeter's accuracy."
no_load_expanded = _no_load(
    "no_load_expanded", "No-load current", "A", 2, n.no_load_current, p.no_load_level, _WITH_AMMETER
)
at_rest_expanded = _no_load(
    "at_rest_expanded", "No-load current, line's value at no speed", "A", 3, n.no_load_at_rest, _at_rest, _WITH_AMMETER
)
growth_expanded = _no_load(
    "growth_expanded", "No-load current, growth with speed", "mA/rpm", 4, n.no_load_slope, p.no_load_growth,
    _WITH_AMMETER,
)  # fmt: skip

# --- leads and mass --------------------------------------------------------------------------------------


def _of_limits(name: str, label: str, unit: str, shown: int, limits: list[Node], meaning: str, source: Source) -> Named:
    """Derive the expanded uncertainty of independent errors that only have limits."""
    combined = sum_of_squares(limits).sqrt() * LIMIT_TO_DEVIATION
    return _figure(f"{name}_expanded", f"{label}: ±", "", unit, shown, expanded(combined, Constant(ENDLESS)), meaning,
                   source)  # fmt: skip


def _leads(name: str, label: str, resistance: Named) -> Named:
    doubts = [resistance * WIRE_LIMIT, resistance.present().where(2 * LENGTH_LIMIT, BLANK) / 1000 *
              o.lead_resistance_per_metre]  # fmt: skip
    return _of_limits(
        name, label, "mΩ", 2, doubts,
        "Expanded uncertainty: 3 % for strands and their lay, 2 mm of each of the two lengths.", FROM_MEMORY,
    )  # fmt: skip


leads_full_expanded = _leads("leads_full", "Lead resistance as supplied, line to line", o.leads_full_resistance)
leads_trimmed_expanded = _leads("leads_trimmed", "Lead resistance trimmed, line to line", o.leads_trimmed_resistance)
_wire = o.trimmed_mass_measured.present().where(0.0, o.lead_mass_uncertain.otherwise(0.0))
trimmed_mass_uncertainty = _figure(
    "trimmed_mass_uncertainty", "Trimmed mass: standard uncertainty", "u(m)", "g", 2,
    o.trimmed_mass.present().where(sum_of_squares([mass_accuracy, _wire]).sqrt() * LIMIT_TO_DEVIATION, BLANK),
    "The scale's accuracy, and the estimate's where the mass was not weighed trimmed, as half-widths over √3.",
    GUM_LIMITS,
)  # fmt: skip
trimmed_mass_expanded = _figure(
    "trimmed_mass_expanded", "Trimmed mass: ±", "U(m)", "g", 1,
    expanded(trimmed_mass_uncertainty, Constant(ENDLESS)), "Expanded uncertainty.", GUM_PROPAGATION,
)  # fmt: skip

supplied_mass_expanded = _figure(
    "supplied_mass_expanded", "Mass as supplied: ±", "U(m_full)", "g", 1,
    o.mass_as_supplied.present().where(expanded(mass_accuracy * LIMIT_TO_DEVIATION, Constant(ENDLESS)), BLANK),
    "Expanded uncertainty: the scale's accuracy, as a half-width over √3.", GUM_LIMITS,
)  # fmt: skip

m.MOTOR_MODEL.keep(kv_verdict)
MOTOR_UNCERTAINTY.keep(
    hot_resistance, hot_resistance_uncertainty=hot_expanded, best_kv_uncertainty=best_kv_expanded,
    winding_resistance_uncertainty=winding_expanded, resistance_at_20_uncertainty=at_20_expanded,
    no_load_current_uncertainty=no_load_expanded, mass_as_supplied_uncertainty=supplied_mass_expanded,
    trimmed_mass_uncertainty=trimmed_mass_expanded,
    driven_kv_uncertainty=_METHODS[0].margin, free_kv_uncertainty=_METHODS[1].margin,
    line_kv_uncertainty=_METHODS[2].margin,
)  # fmt: skip
