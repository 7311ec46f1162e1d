"""One row for each propeller and cell count: its full-throttle figures, each with what “±” stands for."""

from __future__ import annotations

from typing import NamedTuple

from xlsengine.bench import counting
from xlsengine.bench import readings as r
from xlsengine.bench import repeatability as p
from xlsengine.bench import settings as s
from xlsengine.bench import summary as g
from xlsengine.bench.accuracies import (
    LIMIT_TO_DEVIATION,
    relative,
    taken_current_accuracy,
    taken_thrust_accuracy,
    taken_voltage_accuracy,
)
from xlsengine.bench.declare import Quantity, Table
from xlsengine.bench.error_sources import (
    BY_MODEL,
    BY_PROPAGATION,
    BY_TORQUE,
    BY_WELCH,
    FITTED,
    Means,
    instruments,
    scatter_freedom_of,
    scatter_of,
)
from xlsengine.bench.motor import trimmed_mass
from xlsengine.bench.motor_uncertainty import trimmed_mass_uncertainty
from xlsengine.bench.round_thrusts import compared_thrust
from xlsengine.bench.uncertainty import (
    contribution,
    effective_freedom,
    expanded,
    standard_uncertainty,
    sum_of_squares,
)
from xlsengine.expression import BLANK, Aggregate, Column, Condition, Node
from xlsengine.sources import FIRST_ORDER_MOTOR, GUM_FREEDOM, GUM_PROPAGATION, MOMENTUM_THEORY, Source, definition

GROUP_UNCERTAINTY = Table(
    "Uncertainties", "Means of full-throttle rows: steady ones, or peaks where none is steady.", spare=g.SUMMARY.spare,
    per=(r.group_first,),
)  # fmt: skip
_read = definition("mean over the group's full-throttle rows")


def _derive(
    name: str, label: str, unit: str, shown: int, expression: Node, meaning: str, source: Source = _read,
    helper: bool = False, symbol: str = "", equation: str = "",
) -> Column:  # fmt: skip
    return GROUP_UNCERTAINTY.derive(
        Quantity(name, label, expression, meaning, source, symbol, unit, shown, helper, equation)
    )


row = _derive(
    "sure_row", "Summary row", "", 0, Aggregate("row", (Column(GROUP_UNCERTAINTY.name, "sure_row"),)), "Place there.",
    helper=True,
)  # fmt: skip


def _fetch(column: Column) -> Node:
    return Aggregate("text at" if column.text else "at", (column,), (), row)


prop = _derive("sure_prop", "Prop", "", 0, _fetch(g.prop), "The propeller.")
cells = _derive("sure_cells", "Cells", "", 0, _fetch(g.cells), "Cell count.")
label = _derive("sure_label", "Propeller and cells", "", 0, _fetch(g.label), "As it is spoken of.", helper=True)
kind_label = _derive(
    "sure_kind_label", "Propeller, cells and kind", "", 0, _fetch(g.full_label), "As it is spoken of.", helper=True
)
_first = _derive("sure_first", "First row", "", 0, _fetch(g.first_row), "Of Readings.", helper=True)
point = _derive(
    "sure_point", "Point", "", 0, (_fetch(g.steady["count"]) > 0).where(r.AT_STEADY, r.AT_PEAK),
    "2 steady, 1 peak.", helper=True,
)  # fmt: skip
_ROWS = (Condition(r.group, "=", _first), Condition(counting.point, "=", point))


def _mean(name: str, label: str, unit: str, shown: int, column: Column) -> Column:
    return _derive(name, label, unit, shown, Aggregate("mean", (column,), _ROWS), "Mean.", helper=True)


_count = _derive(
    "sure_count", "Readings", "", 0, (Aggregate("count", (r.group,), _ROWS) > 0).where(
        Aggregate("count", (r.group,), _ROWS), BLANK
    ), "How many the means are of.",
)  # fmt: skip

MEANS = Means(
    thrust=_mean("sure_mean_thrust", "T", "g", 0, r.thrust),
    voltage=_mean("sure_mean_voltage", "V", "V", 2, r.voltage),
    current=_mean("sure_mean_current", "I", "A", 1, r.current),
    speed=_mean("sure_mean_speed", "n", "rpm", 0, r.speed),
    torque=_mean("sure_mean_torque", "Q", "N·m", 4, r.torque),
    diameter=_derive("sure_diameter", "D", "in", 2, _fetch(g.diameter), "As named.", helper=True),
    count=_count,
    ideal=Column(GROUP_UNCERTAINTY.name, "sure_ideal"),
    measured=Column(GROUP_UNCERTAINTY.name, "sure_measured"),
    modelled=Column(GROUP_UNCERTAINTY.name, "sure_modelled"),
)
MADE = MEANS.made()
_derive("sure_ideal", "P_id", "W", 1, MADE[MEANS.ideal], "Ideal power of the disk.", MOMENTUM_THEORY, helper=True)
_derive("sure_measured", "P_Q", "W", 1, MADE[MEANS.measured], "Shaft power by torque.", helper=True)
_derive("sure_modelled", "P_m", "W", 1, MADE[MEANS.modelled], "Shaft power by the motor model.", FIRST_ORDER_MOTOR,
        helper=True)  # fmt: skip
BY_SCATTER = "√(ΣΣ r(xi, xj)·ci·cj·u(xi)·u(xj)) over thrust, volts and amps, c being the figure's derivatives"
ERRORS = (*instruments(MEANS), *FITTED)
SHOWN = {
    "thrust": ("T", "g", 0), "current": ("I", "A", 1), "power": ("P", "W", 0), "thrust per power": ("e_P", "g/W", 2),
    "thrust per current": ("e_I", "g/A", 1), "hover efficiency": ("η_h", "", 3), BY_TORQUE: ("FM_Q", "", 3),
    BY_MODEL: ("FM_m", "", 3),
}  # fmt: skip


class Sure(NamedTuple):
    """A figure of the group with its part of scatter, effective degrees of freedom and expanded uncertainty."""

    value: Column
    scatter: Column
    combined: Column
    freedom: Column
    expanded: Column


def _sure(figure: str, expression: Node) -> Sure:
    """Derive a figure and its uncertainties; the two figures of merit are for formulas only."""
    symbol, unit, shown = SHOWN[figure]
    name, title, aside = "sure_" + figure.replace(" ", "_"), figure.capitalize(), figure in (BY_TORQUE, BY_MODEL)
    more = shown + 1 if shown else 0

    def helps(part: str, words: str, node: Node, meaning: str, equation: str) -> Column:
        label = words.format(title)
        return _derive(f"{name}_{part}", label, unit, more, node, meaning, GUM_PROPAGATION, True, "", equation)

    value = _derive(name, title, unit, shown, expression, "Of the means.", symbol=symbol, helper=aside)
    scatter = helps(
        "scatter", "{}: part of scatter", scatter_of(figure, expression, MEANS), "Scatter alone.", BY_SCATTER
    )
    combined = helps(
        "u",
        "u({})",
        standard_uncertainty(expression, ERRORS, scatter, MADE),
        "Combined standard uncertainty.",
        BY_PROPAGATION,
    )
    parts: list[tuple[Node, Node]] = [(scatter, scatter_freedom_of(figure))]
    parts += [(contribution(expression, each, MADE), each.freedom) for each in FITTED if each.freedom is not None]
    freedom = _derive(
        f"{name}_freedom", f"ν({title})", "", 0, effective_freedom(combined, parts), "Effective degrees of freedom.",
        GUM_FREEDOM, helper=True, equation=BY_WELCH,
    )  # fmt: skip
    whole = _derive(
        f"{name}_expanded", f"± {title}", unit, more, expanded(combined, freedom),
        "Expanded uncertainty at the level of confidence on Settings.", GUM_FREEDOM, helper=aside,
    )  # fmt: skip
    return Sure(value, scatter, combined, freedom, whole)


SURE: dict[str, Sure] = {figure: _sure(figure, expression) for figure, expression in MEANS.figures().items()}


def _either(part: str) -> Node:
    """Take the figure of merit by torque where torque was read, else the one by the motor model."""
    one, other = getattr(SURE[BY_TORQUE], part), getattr(SURE[BY_MODEL], part)
    return MEANS.torque.present().where(one, other)


figure_of_merit = _derive(
    "sure_figure_of_merit", "Figure of merit", "", 3, _either("value"),
    "Of the means; by torque, else by the motor model.", MOMENTUM_THEORY, symbol="FM",
)  # fmt: skip
merit_expanded = _derive(
    "sure_figure_of_merit_expanded", "± Figure of merit", "", 3, _either("expanded"),
    "Expanded uncertainty at the level of confidence on Settings.", GUM_FREEDOM,
)  # fmt: skip

# --- the headline figures, which are of other rows -------------------------------------------------------

_THRUST_ERROR = taken_thrust_accuracy * LIMIT_TO_DEVIATION


def _scatter_share(scatter: Node) -> Node:
    return p.enough_repeats.where(scatter, s.default_scatter) / 100


def _of_headline(
    name: str, label: str, unit: str, shown: int, value: Node, errors: list[Node], scatter: Node
) -> Column:
    """Derive the expanded uncertainty of a quoted figure from relative parts, scatter being the last."""
    combined = _derive(
        f"{name}_u", f"u({label})", unit, shown, value * sum_of_squares([*errors, scatter]).sqrt(),
        "Combined standard uncertainty.", GUM_PROPAGATION, helper=True,
    )  # fmt: skip
    freedom = effective_freedom(combined, [(value * scatter, p.scatter_freedom)])
    return _derive(
        f"{name}_expanded", f"± {label}", unit, shown, expanded(combined, freedom), "Expanded uncertainty.",
        GUM_FREEDOM, helper=True,
    )  # fmt: skip


_thrust_scatter = _scatter_share(p.thrust_scatter) / _count.sqrt()
static_current_expanded = _of_headline(
    "sure_static_current", "Static current, quoted", "A", 1, _fetch(g.static_current),
    [relative(taken_current_accuracy)], _scatter_share(p.current_scatter),
)  # fmt: skip
_per_mass = _fetch(g.full_thrust_to_mass)
thrust_to_mass_expanded = _of_headline(
    "sure_thrust_to_mass", "Thrust per motor mass, quoted", "g/g", 1, _per_mass,
    [_THRUST_ERROR / SURE["thrust"].value, trimmed_mass_uncertainty / trimmed_mass], _thrust_scatter,
)  # fmt: skip
_at_thrust = _fetch(g.headline_efficiency)
_per_power = SURE["thrust per power"]
_single = _per_power.scatter * _count.sqrt() / _per_power.value
at_thrust_expanded = _of_headline(
    "sure_at_thrust", "Thrust per power at the headline thrust", "g/W", 2, _at_thrust,
    [
        1.5 * _THRUST_ERROR / compared_thrust, relative(taken_current_accuracy),
        relative(taken_voltage_accuracy),
    ],
    _single,
)  # fmt: skip

GROUP_UNCERTAINTY.keep(
    full_thrust_uncertainty=SURE["thrust"].expanded, full_thrust_scatter=SURE["thrust"].scatter,
    full_current_uncertainty=SURE["current"].expanded, full_power_uncertainty=SURE["power"].expanded,
    full_grams_per_watt_uncertainty=_per_power.expanded, full_grams_per_watt_scatter=_per_power.scatter,
    static_current_uncertainty=static_current_expanded, full_thrust_to_mass_uncertainty=thrust_to_mass_expanded,
    headline_efficiency_uncertainty=at_thrust_expanded,
)  # fmt: skip
