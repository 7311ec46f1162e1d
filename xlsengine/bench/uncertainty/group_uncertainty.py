"""One row for each propeller and cell count: its full-throttle figures, each with what “±” stands for.

Here are the errors behind every ±, and what each acts on. Errors of instruments are shared by all readings of the bench,
so averaging does not make them smaller; the scatter of repeats is divided by √number.
"""

import math
from dataclasses import dataclass
from typing import NamedTuple

from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.groups import normalising as n
from xlsengine.bench.groups import repeatability as p
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.inputs.conditions import air_density
from xlsengine.bench.inputs.motor import trimmed_mass
from xlsengine.bench.inputs.no_load import no_load_at, no_load_at_rest, no_load_slope
from xlsengine.bench.judging.round_thrusts import compared_thrust
from xlsengine.bench.physics.motor_model import best_kv, best_kv_uncertainty
from xlsengine.bench.physics.speed_rows import SPEED_FIGURES, angular
from xlsengine.bench.propagation import accuracies as a
from xlsengine.bench.propagation.terms import (
    NOTHING,
    Input,
    effective_freedom,
    expanded,
    expanded_by,
    relative_change,
    shares,
    sum_of_squares,
)
from xlsengine.bench.uncertainty import motor_uncertainty as v
from xlsengine.expression import Column, Constant, Node
from xlsengine.sources import GUM_FREEDOM, GUM_PROPAGATION, definition
from xlsengine.units import GRAM_FORCE, INCH

IDEAL_POWER = GRAM_FORCE**1.5 / (INCH * math.sqrt(math.pi / 2))
"""Ideal power is this times T^1.5/(√ρ·D), in W for T in g, ρ in kg/m³ and D in inches: momentum theory."""

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


@dataclass(frozen=True)
class Means:
    """The cells of one group's means, of how many readings they are, and what is made of them.

    The shaft power is that by torque, or where no torque was read the one by the motor's constants.
    """

    count: Column
    voltage: Column
    speed: Column
    torque: Column
    diameter: Column
    thrust: Column
    current: Column
    ideal: Column
    shaft: Column


def _made(part: str) -> Column:
    return Column(GROUP_UNCERTAINTY.name, f"sure_{part}")


MEANS = Means(
    count=GROUP_UNCERTAINTY.column("sure_count", "Readings").derive(
        (g.full["count"].at(row) > 0).where(g.full["count"].at(row)), "How many the means are of."
    ),
    voltage=GROUP_UNCERTAINTY.take(g.full["voltage"], "sure_voltage", "Voltage"),
    speed=GROUP_UNCERTAINTY.take(g.full_speed, "sure_speed", helper=True),
    torque=GROUP_UNCERTAINTY.take(g.full_torque, "sure_torque", helper=True),
    diameter=GROUP_UNCERTAINTY.take(g.diameter, "sure_diameter", helper=True),
    thrust=_made("thrust"),
    current=_made("current"),
    ideal=_made("ideal"),
    shaft=_made("shaft"),
)
_POWER = MEANS.voltage * MEANS.current
MADE: dict[Node, Node] = {
    MEANS.ideal: IDEAL_POWER * MEANS.thrust**1.5 / (air_density.sqrt() * MEANS.diameter),
    MEANS.shaft: MEANS.torque.present().where(
        MEANS.torque * angular(MEANS.speed), (MEANS.current - no_load_at(MEANS.speed)) * MEANS.speed / best_kv
    ),
}
GROUP_UNCERTAINTY.helper("sure_ideal", "P_id", "W", decimals=1).derive(MADE[MEANS.ideal])
GROUP_UNCERTAINTY.helper("sure_shaft", "P_s", "W", decimals=1).derive(MADE[MEANS.shaft])
FIGURES: dict[str, tuple[Node, str, str, int]] = {
    "thrust": (MEANS.thrust, "T", "g", 0),
    "current": (MEANS.current, "I", "A", 1),
    "power": (_POWER, "P", "W", 0),
    "thrust per power": (MEANS.thrust / _POWER, "e_P", "g/W", 2),
    "thrust per current": (MEANS.thrust / MEANS.current, "e_I", "g/A", 1),
    "overall static efficiency": (MEANS.ideal / _POWER, "η_h", "", 3),
    "figure of merit": (MEANS.ideal / MEANS.shaft, "FM", "", 3),
}
"""What each figure of the group is, over its cells; its symbol, unit and decimals."""

# --- which errors there are, and what each acts on -----------------------------------------------------------------

MODELLED = Column(SPEED_FIGURES.name, "modelled_shaft_power")
"""Stands for the shaft power of a single reading where it goes by the motor's constants."""
INSTRUMENTS = (
    Input(
        "thrust_error", "Thrust stand", a.STAND, ((r.thrust, Constant(1.0)), (MEANS.thrust, Constant(1.0))), unit="g"
    ),
    Input(
        "voltage_error",
        "Voltmeter",
        a.VOLTMETER,
        (
            *shares(r.voltage, MEANS.voltage),
            (best_kv, -best_kv * v.kv_share_of_voltmeter),
            (v.hot_resistance, v.hot_by_voltmeter),
        ),
    ),
    Input(
        "current_error",
        "Ammeter",
        a.AMMETER,
        (*shares(r.current, MEANS.current, no_load_at_rest, no_load_slope), (v.hot_resistance, -v.hot_resistance)),
    ),
    Input(
        "speed_error",
        "Speed reading",
        a.TACHOMETER,
        (*shares(r.speed, MEANS.speed, best_kv), (no_load_slope, -no_load_slope)),
    ),
    Input("torque_error", "Torque reading", a.relative(s.torque_accuracy), shares(r.torque, MEANS.torque)),
    Input("diameter_error", "Propeller diameter", a.relative(s.diameter_accuracy), shares(r.diameter, MEANS.diameter)),
    Input("density_error", "Air density", a.DENSITY, shares(air_density)),
    Input(
        "model_error",
        "Motor model",
        a.relative(s.model_accuracy),
        (*shares(MODELLED), (MEANS.shaft, MEANS.shaft * MEANS.torque.present().where(0.0, 1.0))),
    ),
)
"""The errors that all readings of the bench share, each with the cells of a reading and of means that it acts on."""
FITTED = (
    Input("kv_part", "Kv: scatter or fit", v.best_kv_part, ((best_kv, Constant(1.0)),), v.best_kv_freedom, "rpm/V"),
    Input(
        "hot_part", "Resistance: scatter or fit", v.hot_part, ((v.hot_resistance, Constant(1.0)),), v.hot_freedom, "mΩ"
    ),
)
"""What the motor's constants were read with, beside the instruments: few degrees of freedom.

The scatter of the no-load current, a small part of what the motor draws under load, is passed over.
"""
ERRORS = (*INSTRUMENTS, *FITTED)

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
    """Derive a figure and its uncertainties; what the motor's constants add is 0 where the figure goes without them."""
    expression, symbol, unit, shown = FIGURES[figure]
    name = "sure_" + figure.replace("overall static", "hover").replace(" ", "_")
    title = figure.capitalize()
    read: dict[Node, Node] = {MEANS.thrust: g.full["thrust"].at(row), MEANS.current: g.full["current"].at(row)}
    value = GROUP_UNCERTAINTY.column(name, title, unit, symbol, shown).derive(
        read.get(expression, expression), "Of the means."
    )
    scatter = scatter_share(figure, MEANS.count)
    moved = [(each, relative_change(expression, each, MADE)) for each in ERRORS]
    felt = [(each, by * each.uncertainty) for each, by in moved if by != NOTHING]
    finite = [(part.otherwise(0.0), each.freedom.otherwise(1.0)) for each, part in felt if each.freedom is not None]
    limits = [part for each, part in felt if each.freedom is None]
    share = GROUP_UNCERTAINTY.helper(f"{name}_share", f"u({title}), share", decimals=5).derive(
        sum_of_squares([*limits, *(part for part, _ in finite), scatter]).sqrt()
    )
    freedom = GROUP_UNCERTAINTY.helper(f"{name}_freedom", f"ν({title})").derive(
        effective_freedom(share, [*finite, (scatter, p.scatter_freedom)])
    )
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
        g.full_thrust_to_mass.at(row) * to_mass_share(MEANS.thrust, MEANS.count),
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
