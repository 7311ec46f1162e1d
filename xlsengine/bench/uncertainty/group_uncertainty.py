"""One row for each propeller and cell count: its full-throttle figures, each with what “±” stands for."""

from typing import NamedTuple

from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.groups import repeatability as p
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.inputs.motor import trimmed_mass
from xlsengine.bench.judging import counting
from xlsengine.bench.judging.round_thrusts import compared_thrust
from xlsengine.bench.propagation import accuracies as a
from xlsengine.bench.propagation.terms import (
    contribution,
    effective_freedom,
    expanded,
    standard_uncertainty,
    sum_of_squares,
)
from xlsengine.bench.uncertainty import error_sources as e
from xlsengine.bench.uncertainty.motor_uncertainty import trimmed_mass_uncertainty
from xlsengine.expression import Column, Condition, Node
from xlsengine.sources import FIRST_ORDER_MOTOR, GUM_FREEDOM, GUM_PROPAGATION, MOMENTUM_THEORY, definition

_read = definition("mean over the group's full-throttle readings")

GROUP_UNCERTAINTY = Table.beside(
    g.SUMMARY,
    "Uncertainties",
    "Means of full-throttle readings: steady ones, or peaks where none is steady.",
    row="sure_row",
    source=_read,
)
row = GROUP_UNCERTAINTY.row

prop = GROUP_UNCERTAINTY.take(g.prop, "sure_prop")
cells = GROUP_UNCERTAINTY.take(g.cells, "sure_cells")
label = GROUP_UNCERTAINTY.take(g.label, "sure_label", helper=True)
_first = GROUP_UNCERTAINTY.take(g.first_row, "sure_first", helper=True)
point = GROUP_UNCERTAINTY.helper("sure_point", "Point").derive(
    (g.steady["count"].at(row) > 0).where(r.AT_STEADY, r.AT_PEAK), "2 steady, 1 peak."
)
_ROWS = (Condition(r.group, "=", _first), Condition(counting.point, "=", point))


def _mean(name: str, label: str, unit: str, shown: int, column: Column) -> Column:
    return GROUP_UNCERTAINTY.helper(name, label, unit, decimals=shown).derive(column.mean(*_ROWS), "Mean.")


_count = GROUP_UNCERTAINTY.column("sure_count", "Readings").derive(
    (r.group.count(*_ROWS) > 0).where(r.group.count(*_ROWS)), "How many the means are of."
)

MEANS = e.Means(
    thrust=_mean("sure_mean_thrust", "T", "g", 0, r.thrust),
    voltage=_mean("sure_mean_voltage", "V", "V", 2, r.voltage),
    current=_mean("sure_mean_current", "I", "A", 1, r.current),
    speed=_mean("sure_mean_speed", "n", "rpm", 0, r.speed),
    torque=_mean("sure_mean_torque", "Q", "N·m", 4, r.torque),
    diameter=GROUP_UNCERTAINTY.take(g.diameter, "sure_diameter", "D", helper=True),
    count=_count,
    ideal=Column(GROUP_UNCERTAINTY.name, "sure_ideal"),
    measured=Column(GROUP_UNCERTAINTY.name, "sure_measured"),
    modelled=Column(GROUP_UNCERTAINTY.name, "sure_modelled"),
)
MADE = MEANS.made()
GROUP_UNCERTAINTY.helper("sure_ideal", "P_id", "W", decimals=1).derive(
    MADE[MEANS.ideal], "Ideal power of the disk.", MOMENTUM_THEORY
)
GROUP_UNCERTAINTY.helper("sure_measured", "P_Q", "W", decimals=1).derive(MADE[MEANS.measured], "Shaft power by torque.")
GROUP_UNCERTAINTY.helper("sure_modelled", "P_m", "W", decimals=1).derive(
    MADE[MEANS.modelled], "Shaft power by the motor model.", FIRST_ORDER_MOTOR
)
BY_SCATTER = "√(ΣΣ r(xi, xj)·ci·cj·u(xi)·u(xj)) over thrust, volts and amps, c being the figure's derivatives"
ERRORS = (*e.instruments(MEANS), *e.FITTED)
SHOWN = {
    "thrust": ("T", "g", 0),
    "current": ("I", "A", 1),
    "power": ("P", "W", 0),
    "thrust per power": ("e_P", "g/W", 2),
    "thrust per current": ("e_I", "g/A", 1),
    "overall static efficiency": ("η_h", "", 3),
    e.BY_TORQUE: ("FM_Q", "", 3),
    e.BY_MODEL: ("FM_m", "", 3),
}


class FigureUncertainty(NamedTuple):
    """A figure of the group with its part of scatter, effective degrees of freedom and expanded uncertainty."""

    value: Column
    scatter: Column
    combined: Column
    freedom: Column
    expanded: Column


def _uncertainty(figure: str, expression: Node) -> FigureUncertainty:
    """Derive a figure and its uncertainties; the two figures of merit are for formulas only."""
    symbol, unit, shown = SHOWN[figure]
    name = "sure_" + figure.replace("overall static", "hover").replace(" ", "_")
    title, aside = figure.capitalize(), figure in (e.BY_TORQUE, e.BY_MODEL)
    more = shown + 1 if shown else 0

    def helps(part: str, words: str, node: Node, meaning: str, equation: str) -> Column:
        label = words.format(title)
        return GROUP_UNCERTAINTY.helper(f"{name}_{part}", label, unit, decimals=more).derive(
            node, meaning, GUM_PROPAGATION, equation=equation
        )

    value = GROUP_UNCERTAINTY.column(name, title, unit, symbol=symbol, decimals=shown, helper=aside).derive(
        expression, "Of the means."
    )
    scatter = helps(
        "scatter", "{}: part of scatter", e.scatter_of(figure, expression, MEANS), "Scatter alone.", BY_SCATTER
    )
    combined = helps(
        "u",
        "u({})",
        standard_uncertainty(expression, ERRORS, scatter, MADE),
        "Combined standard uncertainty.",
        e.BY_PROPAGATION,
    )
    parts: list[tuple[Node, Node]] = [(scatter, e.scatter_freedom_of(figure))]
    parts += [(contribution(expression, each, MADE), each.freedom) for each in e.FITTED if each.freedom is not None]
    freedom = GROUP_UNCERTAINTY.helper(f"{name}_freedom", f"ν({title})").derive(
        effective_freedom(combined, parts), "Effective degrees of freedom.", GUM_FREEDOM, equation=e.BY_WELCH
    )
    whole = GROUP_UNCERTAINTY.column(f"{name}_expanded", f"± {title}", unit, decimals=more, helper=aside).derive(
        expanded(combined, freedom), "Expanded uncertainty at the level of confidence on Settings.", GUM_FREEDOM
    )
    return FigureUncertainty(value, scatter, combined, freedom, whole)


UNCERTAINTIES: dict[str, FigureUncertainty] = {
    figure: _uncertainty(figure, expression) for figure, expression in MEANS.figures().items()
}


def _either(part: str) -> Node:
    """Take the figure of merit by torque where torque was read, else the one by the motor model."""
    one, other = getattr(UNCERTAINTIES[e.BY_TORQUE], part), getattr(UNCERTAINTIES[e.BY_MODEL], part)
    return MEANS.torque.present().where(one, other)


figure_of_merit = GROUP_UNCERTAINTY.column("sure_figure_of_merit", "Figure of merit", symbol="FM", decimals=3).derive(
    _either("value"), "Of the means; by torque, else by the motor model.", MOMENTUM_THEORY
)
merit_expanded = GROUP_UNCERTAINTY.column("sure_figure_of_merit_expanded", "± Figure of merit", decimals=3).derive(
    _either("expanded"), "Expanded uncertainty at the level of confidence on Settings.", GUM_FREEDOM
)

# --- the headline figures, which are of other rows -------------------------------------------------------

_THRUST_ERROR = a.taken_thrust_accuracy * a.LIMIT_TO_DEVIATION


def _scatter_share(scatter: Node) -> Node:
    return p.enough_repeats.where(scatter, s.default_scatter) / 100


def _of_headline(name: str, label: str, unit: str, value: Node, errors: list[Node], scatter: Node) -> Column:
    """Derive the expanded uncertainty of a quoted figure from relative parts, scatter being the last."""
    combined = GROUP_UNCERTAINTY.helper(f"{name}_u", f"u({label})", unit).derive(
        value * sum_of_squares([*errors, scatter]).sqrt(), "Combined standard uncertainty.", GUM_PROPAGATION
    )
    freedom = effective_freedom(combined, [(value * scatter, p.scatter_freedom)])
    return GROUP_UNCERTAINTY.helper(f"{name}_expanded", f"± {label}", unit).derive(
        expanded(combined, freedom), "Expanded uncertainty.", GUM_FREEDOM
    )


_thrust_scatter = _scatter_share(p.thrust_scatter) / _count.sqrt()
static_current_expanded = _of_headline(
    "sure_static_current",
    "Static current, quoted",
    "A",
    g.static_current.at(row),
    [a.relative(a.taken_current_accuracy)],
    _scatter_share(p.current_scatter),
)
_per_mass = g.full_thrust_to_mass.at(row)
thrust_to_mass_expanded = _of_headline(
    "sure_thrust_to_mass",
    "Thrust per motor mass, quoted",
    "g/g",
    _per_mass,
    [_THRUST_ERROR / UNCERTAINTIES["thrust"].value, trimmed_mass_uncertainty / trimmed_mass],
    _thrust_scatter,
)
_at_thrust = g.headline_efficiency.at(row)
_per_power = UNCERTAINTIES["thrust per power"]
_single = _per_power.scatter * _count.sqrt() / _per_power.value
at_thrust_expanded = _of_headline(
    "sure_at_thrust",
    "Thrust per power at the headline thrust",
    "g/W",
    _at_thrust,
    [1.5 * _THRUST_ERROR / compared_thrust, a.relative(a.taken_current_accuracy), a.relative(a.taken_voltage_accuracy)],
    _single,
)

GROUP_UNCERTAINTY.keep(
    full_thrust_uncertainty=UNCERTAINTIES["thrust"].expanded,
    full_thrust_scatter=UNCERTAINTIES["thrust"].scatter,
    full_current_uncertainty=UNCERTAINTIES["current"].expanded,
    full_power_uncertainty=UNCERTAINTIES["power"].expanded,
    full_grams_per_watt_uncertainty=_per_power.expanded,
    full_grams_per_watt_scatter=_per_power.scatter,
    static_current_uncertainty=static_current_expanded,
    full_thrust_to_mass_uncertainty=thrust_to_mass_expanded,
    headline_efficiency_uncertainty=at_thrust_expanded,
)
