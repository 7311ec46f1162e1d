"""How sure the figures at reference volts and air are: the readings', and what bringing them there adds."""

from __future__ import annotations

from xlsengine.bench import group_uncertainty as u
from xlsengine.bench import normalising as n
from xlsengine.bench.accuracies import (
    LIMIT_TO_DEVIATION,
    relative,
    taken_density_accuracy,
    taken_speed_accuracy,
    taken_voltage_accuracy,
)
from xlsengine.bench.declare import Quantity
from xlsengine.bench.motor_model import best_kv, best_kv_uncertainty
from xlsengine.bench.normalising import NORMALISED
from xlsengine.bench.uncertainty import effective_freedom, expanded, sum_of_squares
from xlsengine.expression import Aggregate, Column, Node
from xlsengine.sources import GUM_FREEDOM, GUM_PROPAGATION

__all__ = ["NORMALISED", "current_expanded", "efficiency_expanded", "power_expanded", "thrust_expanded"]

ASSUMED_RATIO_LIMIT = 0.125
"""Loaded motors run at 0.60 to 0.85 of Kv times volts: common practice, no source."""


def _fetch(column: Column) -> Node:
    return Aggregate("at", (column,), (), n.summary_row)


def _helps(name: str, label: str, expression: Node, meaning: str) -> Column:
    return NORMALISED.derive(Quantity(name, label, expression, meaning, GUM_PROPAGATION, "", "", 4, helper=True))


_measured = (
    n.measured_ratio
    * sum_of_squares(
        [
            relative(taken_speed_accuracy),
            relative(taken_voltage_accuracy),
            (best_kv_uncertainty / best_kv).otherwise(0.0),
        ]
    ).sqrt()
)
_ratio_u = n.measured_ratio.present().where(_measured, ASSUMED_RATIO_LIMIT * LIMIT_TO_DEVIATION)
_moved = _helps(
    "normal_moved", "Bringing there: relative standard uncertainty",
    sum_of_squares(
        [
            n.volts_exponent * relative(taken_voltage_accuracy), n.density_exponent * relative(taken_density_accuracy),
            n.volts_exponent / (2 - n.speed_ratio) * (n.volts_share.ln() + n.density_share.ln()) * _ratio_u,
        ]
    ).sqrt(),
    "Of the volts read, of the air's density, and of the speed ratio that the exponents come from: measured, or "
    "anywhere within 0.125 of the assumed one.",
)  # fmt: skip


def _margin(name: str, figure: Column, read: u.Sure, added: list[Node]) -> Column:
    """Add the margin of a normalised figure, from that of the figure read and what is added to it."""
    declared = NORMALISED.quantities[figure.name]
    own = _fetch(read.combined) / _fetch(read.value)
    share = _helps(f"{name}_u", f"u({declared.symbol})", sum_of_squares([own, *added]).sqrt(), "Relative.")
    freedom = effective_freedom(share, [(own, _fetch(read.freedom))])
    return NORMALISED.derive(
        Quantity(
            f"{name}_expanded", f"{declared.label}, ±", figure * expanded(share, freedom),
            "Expanded uncertainty; thrust per power is that of thrust per current at the reference volts.",
            GUM_FREEDOM, "", declared.unit, declared.shown,
        )
    )  # fmt: skip


thrust_expanded = _margin("normal_thrust", n.normal_thrust, u.SURE["thrust"], [_moved])
current_expanded = _margin("normal_current", n.normal_current, u.SURE["current"], [_moved])
power_expanded = _margin("normal_power", n.normal_power, u.SURE["current"], [_moved])
efficiency_expanded = _margin("normal_efficiency", n.normal_efficiency, u.SURE["thrust per current"], [])

NORMALISED.keep(
    normal_thrust_uncertainty=thrust_expanded, normal_current_uncertainty=current_expanded,
    normal_power_uncertainty=power_expanded, normal_efficiency_uncertainty=efficiency_expanded,
)  # fmt: skip
