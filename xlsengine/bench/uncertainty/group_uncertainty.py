"""One row for each propeller and cell count: its full-throttle figures, each with what “±” stands for."""

from typing import NamedTuple

from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.groups import repeatability as p
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs.motor import trimmed_mass
from xlsengine.bench.judging.round_thrusts import compared_thrust
from xlsengine.bench.propagation import accuracies as a
from xlsengine.bench.propagation.terms import (
    NOTHING,
    effective_freedom,
    expanded,
    expanded_by,
    relative_change,
    sum_of_squares,
)
from xlsengine.bench.uncertainty import error_sources as e
from xlsengine.bench.uncertainty.motor_uncertainty import trimmed_mass_uncertainty
from xlsengine.expression import Column, Constant, Node
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
first = GROUP_UNCERTAINTY.take(g.first_row, "sure_first", helper=True)


def _means(part: str) -> Column:
    return Column(GROUP_UNCERTAINTY.name, f"sure_{part}")


_count = GROUP_UNCERTAINTY.column("sure_count", "Readings").derive(
    (g.full["count"].at(row) > 0).where(g.full["count"].at(row)), "How many the means are of."
)
MEANS = e.Means(
    thrust=_means("thrust"),
    voltage=GROUP_UNCERTAINTY.take(g.full["voltage"], "sure_voltage", "Voltage"),
    current=_means("current"),
    speed=GROUP_UNCERTAINTY.take(g.full_speed, "sure_speed", helper=True),
    torque=GROUP_UNCERTAINTY.take(g.full_torque, "sure_torque", helper=True),
    diameter=GROUP_UNCERTAINTY.take(g.diameter, "sure_diameter", helper=True),
    count=_count,
    ideal=_means("ideal"),
    measured=_means("measured"),
    modelled=_means("modelled"),
)
_READ: dict[Node, Node] = {MEANS.thrust: g.full["thrust"].at(row), MEANS.current: g.full["current"].at(row)}
MADE = MEANS.made()
GROUP_UNCERTAINTY.helper("sure_ideal", "P_id", "W", decimals=1).derive(MADE[MEANS.ideal], source=MOMENTUM_THEORY)
GROUP_UNCERTAINTY.helper("sure_measured", "P_Q", "W", decimals=1).derive(MADE[MEANS.measured])
GROUP_UNCERTAINTY.helper("sure_modelled", "P_m", "W", decimals=1).derive(MADE[MEANS.modelled], source=FIRST_ORDER_MOTOR)
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
    """A figure of the group, its standard uncertainty as a share, part of scatter, degrees of freedom and expanded."""

    value: Column
    share: Column
    scatter: Node
    freedom: Column
    expanded: Column


def scatter_share(figure: str, count: Node) -> Node:
    """Return the relative standard uncertainty of a mean of so many readings by their scatter."""
    return e.scatter_of(figure)[0] / 100 / count.sqrt()


def _shares_of(figure: str, expression: Node) -> tuple[list[Node], list[tuple[Node, Node]]]:
    """Return the relative parts of a figure's uncertainty, and those of finite degrees of freedom with these."""
    scatter, scatter_freedom = scatter_share(figure, MEANS.count), e.scatter_of(figure)[1]
    moved = [(each, relative_change(expression, each, MADE)) for each in (*e.instruments(MEANS), *e.FITTED)]
    parts = [(by * each.uncertainty, each.freedom) for each, by in moved if by != NOTHING]
    finite = [(scatter, scatter_freedom), *((part, freedom) for part, freedom in parts if freedom is not None)]
    return [*(part for part, _ in parts), scatter], finite


def _uncertainty(figure: str, expression: Node) -> FigureUncertainty:
    """Derive a figure and its uncertainties; the two figures of merit are for formulas only."""
    symbol, unit, shown = SHOWN[figure]
    name = "sure_" + figure.replace("overall static", "hover").replace(" ", "_")
    title, aside = figure.capitalize(), figure in (e.BY_TORQUE, e.BY_MODEL)
    more = shown + 1 if shown else 0
    value = GROUP_UNCERTAINTY.column(name, title, unit, symbol=symbol, decimals=shown, helper=aside).derive(
        _READ.get(expression, expression), "Of the means."
    )
    parts, finite = _shares_of(figure, expression)
    share = GROUP_UNCERTAINTY.helper(f"{name}_share", f"u({title}), share", decimals=5).derive(
        sum_of_squares(parts).sqrt(),
        "Combined standard uncertainty over the figure.",
        GUM_PROPAGATION,
        equation=e.BY_PROPAGATION,
    )
    freedom = GROUP_UNCERTAINTY.helper(f"{name}_freedom", f"ν({title})").derive(
        effective_freedom(share, finite), source=GUM_FREEDOM
    )
    whole = GROUP_UNCERTAINTY.column(f"{name}_expanded", f"± {title}", unit, decimals=more, helper=aside).derive(
        value * expanded(share, freedom),
        "Expanded uncertainty at the level of confidence on Settings.",
        GUM_FREEDOM,
    )
    return FigureUncertainty(value, share, value * scatter_share(figure, MEANS.count), freedom, whole)


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


def quoted_share(errors: list[Node], scatter: Node) -> Node:
    """Return the expanded uncertainty of a quoted figure over the figure, from relative parts."""
    share = sum_of_squares([*errors, scatter]).sqrt()
    return expanded_by(share, (scatter, p.scatter_freedom))


STAND = a.taken_thrust_accuracy * a.LIMIT_TO_DEVIATION
"""Standard uncertainty of the thrust stand, g."""
METERS = [a.relative(a.taken_voltage_accuracy), a.relative(a.taken_current_accuracy)]
"""Relative standard uncertainties by voltmeter and ammeter."""
CURRENT_SHARE = quoted_share(METERS[1:], scatter_share("current", Constant(1.0)))
"""± of the current of one reading, over it."""
AT_THRUST_SHARE = quoted_share(
    [1.5 * STAND / compared_thrust, *METERS], scatter_share("thrust per power", Constant(1.0))
)
"""± of the thrust per power at the headline thrust, which lies between two readings, over it."""


def to_mass_share(thrust: Node, count: Node) -> Node:
    """Return ± of the thrust per motor mass over it, of a mean of so many readings."""
    return quoted_share([STAND / thrust, trimmed_mass_uncertainty / trimmed_mass], scatter_share("thrust", count))


def _quoted(name: str, label: str, unit: str, expression: Node) -> Column:
    return GROUP_UNCERTAINTY.helper(f"sure_{name}", label, unit).derive(expression, source=GUM_FREEDOM)


_per_power = UNCERTAINTIES["thrust per power"]
GROUP_UNCERTAINTY.keep(
    full_thrust_uncertainty=UNCERTAINTIES["thrust"].expanded,
    full_thrust_scatter=_quoted("thrust_scatter", "Thrust: part of scatter", "g", UNCERTAINTIES["thrust"].scatter),
    full_current_uncertainty=UNCERTAINTIES["current"].expanded,
    full_power_uncertainty=UNCERTAINTIES["power"].expanded,
    full_grams_per_watt_uncertainty=_per_power.expanded,
    full_grams_per_watt_scatter=_quoted(
        "per_power_scatter", "Thrust per power: part of scatter", "g/W", _per_power.scatter
    ),
    static_current_uncertainty=_quoted(
        "static_current_expanded", "± Static current, quoted", "A", g.static_current.at(row) * CURRENT_SHARE
    ),
    full_thrust_to_mass_uncertainty=_quoted(
        "thrust_to_mass_expanded",
        "± Thrust per motor mass, quoted",
        "g/g",
        g.full_thrust_to_mass.at(row) * to_mass_share(MEANS.thrust, MEANS.count),
    ),
    headline_efficiency_uncertainty=_quoted(
        "at_thrust_expanded",
        "± Thrust per power at the headline thrust",
        "g/W",
        g.headline_efficiency.at(row) * AT_THRUST_SHARE,
    ),
)
