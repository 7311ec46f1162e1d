"""One row for each propeller and cell count: its full-throttle figures, each with what “±” stands for.

Errors of instruments are shared by all readings of the bench, so averaging does not make them smaller; the scatter of
repeats is divided by √number.
"""

from typing import NamedTuple

from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.groups import normalising as n
from xlsengine.bench.groups import repeatability as p
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.conditions import air_density
from xlsengine.bench.inputs.motor import trimmed_mass
from xlsengine.bench.inputs.no_load import no_load_at
from xlsengine.bench.judging.round_thrusts import compared_thrust
from xlsengine.bench.physics import speed_figures as f
from xlsengine.bench.physics.motor_model import best_kv, best_kv_uncertainty
from xlsengine.bench.physics.speed_rows import angular
from xlsengine.bench.propagation import accuracies as a
from xlsengine.bench.propagation.terms import effective_freedom, expanded, expanded_by, sum_of_squares
from xlsengine.bench.uncertainty import motor_uncertainty as v
from xlsengine.bench.uncertainty.row_uncertainty import IDEAL_POWER, by_way
from xlsengine.expression import Column, Constant, Node
from xlsengine.sources import GUM_FREEDOM, GUM_PROPAGATION, definition

GROUP_UNCERTAINTY = Table.beside(
    g.SUMMARY,
    "Uncertainties",
    "Means of full-throttle readings: steady ones, or peaks where none is steady.",
    row="sure_row",
    source=definition("mean over the group's full-throttle readings"),
)
row = GROUP_UNCERTAINTY.row

prop = GROUP_UNCERTAINTY.take(g.prop, "sure_prop")
cells = GROUP_UNCERTAINTY.take(g.cells, "sure_cells")
GROUP_UNCERTAINTY.take(g.first_row, "sure_first", helper=True)


count = GROUP_UNCERTAINTY.column("sure_count", "Readings").derive(
    (g.full["count"].at(row) > 0).where(g.full["count"].at(row)), "How many the means are of."
)
voltage = GROUP_UNCERTAINTY.take(g.full["voltage"], "sure_voltage", "Voltage")
speed = GROUP_UNCERTAINTY.take(g.full_speed, "sure_speed", helper=True)
torque = GROUP_UNCERTAINTY.take(g.full_torque, "sure_torque", helper=True)
diameter = GROUP_UNCERTAINTY.take(g.diameter, "sure_diameter", helper=True)
thrust, current = (Column(GROUP_UNCERTAINTY.name, f"sure_{part}") for part in ("thrust", "current"))
_power = voltage * current
_ideal = GROUP_UNCERTAINTY.helper("sure_ideal", "P_id", "W", decimals=1).derive(
    IDEAL_POWER * thrust**1.5 / (air_density.sqrt() * diameter)
)
_modelled = (current - no_load_at(speed)) * speed / best_kv
_shaft = GROUP_UNCERTAINTY.helper("sure_shaft", "P_s", "W", decimals=1).derive(
    torque.present().where(torque * angular(speed), _modelled)
)


class _Figure(NamedTuple):
    """What a figure of the group is over its means, the figure of a reading that goes as it does, and how it is shown."""

    mean: Node
    read: Column
    symbol: str
    unit: str
    shown: int


FIGURES = {
    "thrust": _Figure(g.full["thrust"].at(row), r.thrust, "T", "g", 0),
    "current": _Figure(g.full["current"].at(row), r.current, "I", "A", 1),
    "power": _Figure(_power, r.power, "P", "W", 0),
    "thrust per power": _Figure(thrust / _power, r.grams_per_watt, "e_P", "g/W", 2),
    "thrust per current": _Figure(thrust / current, r.grams_per_amp, "e_I", "g/A", 1),
    "overall static efficiency": _Figure(_ideal / _power, r.hover_efficiency, "η_h", "", 3),
    "figure of merit": _Figure(_ideal / _shaft, f.figure_of_merit, "FM", "", 3),
}

# --- the figures with their ± --------------------------------------------------------------------------------------


class FigureUncertainty(NamedTuple):
    """A figure of the group, its standard uncertainty as a share, part of scatter, degrees of freedom and expanded."""

    value: Column
    share: Column
    scatter: Node
    freedom: Column
    expanded: Column


def scatter_share(figure: str, count: Node) -> Node:
    """Return the relative standard uncertainty of a mean of so many readings by their scatter."""
    return p.SCATTER_TAKEN[figure] / 100 / count.sqrt()


def _uncertainty(figure: str) -> FigureUncertainty:
    """Derive a figure and its uncertainties: the errors of a reading move a mean as they move it."""
    mean, read, symbol, unit, shown = FIGURES[figure]
    name = "sure_" + figure.replace("overall static", "hover").replace(" ", "_")
    title = figure.capitalize()
    value = GROUP_UNCERTAINTY.column(name, title, unit, symbol, shown).derive(mean, "Of the means.")
    scatter = scatter_share(figure, count)
    felt = by_way(read, torque, lambda one: sum_of_squares([*(by for _, by in one.felt(a.STAND / thrust)), scatter]))
    share = GROUP_UNCERTAINTY.helper(f"{name}_share", f"u({title}), share", decimals=5).derive(felt.sqrt())
    finite = by_way(read, torque, lambda one: effective_freedom(share, [*one.finite, (scatter, p.scatter_freedom)]))
    freedom = GROUP_UNCERTAINTY.helper(f"{name}_freedom", f"ν({title})").derive(finite)
    whole = GROUP_UNCERTAINTY.column(f"{name}_expanded", f"± {title}", unit, decimals=shown + 1 if shown else 0).derive(
        value * expanded(share, freedom), "Expanded uncertainty at the level of confidence on Settings.", GUM_FREEDOM
    )
    return FigureUncertainty(value, share, value * scatter, freedom, whole)


UNCERTAINTIES = {figure: _uncertainty(figure) for figure in FIGURES}


# --- the headline figures, which are of other rows -------------------------------------------------------


def quoted_share(errors: list[Node], scatter: Node) -> Node:
    """Return the expanded uncertainty of a quoted figure over the figure, from relative parts."""
    share = sum_of_squares([*errors, scatter]).sqrt()
    return expanded_by(share, (scatter, p.scatter_freedom))


CURRENT_SHARE = quoted_share([a.AMMETER], scatter_share("current", Constant(1.0)))
"""± of the current of one reading, over it."""
AT_THRUST_SHARE = quoted_share(
    [1.5 * a.STAND / compared_thrust, a.VOLTMETER, a.AMMETER], scatter_share("thrust per power", Constant(1.0))
)
"""± of the thrust per power at the headline thrust, which lies between two readings, over it."""


def to_mass_share(thrust: Node, count: Node) -> Node:
    """Return ± of the thrust per motor mass over it, of a mean of so many readings."""
    return quoted_share([a.STAND / thrust, v.trimmed_mass_uncertainty / trimmed_mass], scatter_share("thrust", count))


def _quoted(name: str, label: str, unit: str, expression: Node) -> Column:
    return GROUP_UNCERTAINTY.helper(f"sure_{name}", label, unit).derive(expression)


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
        g.full_thrust_to_mass.at(row) * to_mass_share(thrust, count),
    ),
    headline_efficiency_uncertainty=_quoted(
        "at_thrust_expanded",
        "± Thrust per power at the headline thrust",
        "g/W",
        g.headline_efficiency.at(row) * AT_THRUST_SHARE,
    ),
)

# --- at reference volts and air: what bringing the figures there adds ---------------------------------------------

ASSUMED_RATIO_LIMIT = 0.125
"""Loaded motors run at 0.60 to 0.85 of Kv times volts: common practice, no source."""

_measured = (
    n.measured_ratio
    * sum_of_squares([a.TACHOMETER, a.VOLTMETER, (best_kv_uncertainty / best_kv).otherwise(0.0)]).sqrt()
)
_ratio_u = n.measured_ratio.present().where(_measured, ASSUMED_RATIO_LIMIT * a.LIMIT_TO_DEVIATION)
_adds = n.NORMALISED.column("normal_moved", "Bringing there adds, u", "%").derive(
    100
    * sum_of_squares(
        [
            n.volts_exponent * a.VOLTMETER,
            n.density_exponent * a.DENSITY,
            n.volts_exponent / (2 - n.speed_ratio) * (n.volts_share.ln() + n.density_share.ln()) * _ratio_u,
        ]
    ).sqrt(),
    "Of the volts read, of the air's density, and of the speed ratio that the exponents come from: measured, or "
    "anywhere within 0.125 of the assumed one.",
    GUM_PROPAGATION,
)


def _expanded(figure: Column, read: str, added: list[Node]) -> Column:
    """Add the expanded uncertainty of a normalised figure, from that of the figure read and what is added to it."""
    name, declared = figure.name, n.NORMALISED.quantities[figure.name]
    share = n.NORMALISED.helper(f"{name}_u", f"u({declared.symbol})", decimals=4).derive(
        sum_of_squares([UNCERTAINTIES[read].share.at(n.summary_row), *added]).sqrt()
    )
    scatter = scatter_share(read, g.full["count"].at(n.summary_row))
    return n.NORMALISED.column(
        f"{name}_expanded", f"{declared.label}, ±", declared.unit, decimals=declared.shown
    ).derive(
        figure * expanded_by(share, (scatter, p.scatter_freedom)),
        "Expanded uncertainty; thrust per power is that of thrust per current at the reference volts.",
        GUM_FREEDOM,
    )


for _figure, _read_as, _added in (
    (n.normal_thrust, "thrust", [_adds / 100]),
    (n.normal_current, "current", [_adds / 100]),
    (n.normal_power, "current", [_adds / 100]),
    (n.normal_efficiency, "thrust per current", []),
):
    n.NORMALISED.keep(**{f"{_figure.name}_uncertainty": _expanded(_figure, _read_as, _added)})
