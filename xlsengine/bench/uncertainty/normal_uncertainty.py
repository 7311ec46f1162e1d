"""Uncertainty of the figures at reference volts and air: the readings', and what bringing them there adds."""

from xlsengine.bench.groups import normalising as n
from xlsengine.bench.groups import summary as g
from xlsengine.bench.groups.normalising import NORMALISED
from xlsengine.bench.groups.repeatability import scatter_freedom
from xlsengine.bench.physics.motor_model import best_kv, best_kv_uncertainty
from xlsengine.bench.propagation import accuracies as a
from xlsengine.bench.propagation.terms import expanded_by, sum_of_squares
from xlsengine.bench.uncertainty import group_uncertainty as u
from xlsengine.expression import Column, Node
from xlsengine.sources import GUM_FREEDOM, GUM_PROPAGATION

__all__ = ["NORMALISED", "current_expanded", "efficiency_expanded", "power_expanded", "thrust_expanded"]

ASSUMED_RATIO_LIMIT = 0.125
"""Loaded motors run at 0.60 to 0.85 of Kv times volts: common practice, no source."""

_measured = (
    n.measured_ratio
    * sum_of_squares(
        [
            a.relative(a.taken_speed_accuracy),
            a.relative(a.taken_voltage_accuracy),
            (best_kv_uncertainty / best_kv).otherwise(0.0),
        ]
    ).sqrt()
)
_ratio_u = n.measured_ratio.present().where(_measured, ASSUMED_RATIO_LIMIT * a.LIMIT_TO_DEVIATION)
_adds = NORMALISED.column("normal_moved", "Bringing there adds, u", "%").derive(
    100
    * sum_of_squares(
        [
            n.volts_exponent * a.relative(a.taken_voltage_accuracy),
            n.density_exponent * a.relative(a.taken_density_accuracy),
            n.volts_exponent / (2 - n.speed_ratio) * (n.volts_share.ln() + n.density_share.ln()) * _ratio_u,
        ]
    ).sqrt(),
    "Of the volts read, of the air's density, and of the speed ratio that the exponents come from: measured, or "
    "anywhere within 0.125 of the assumed one.",
    GUM_PROPAGATION,
)


def _expanded(name: str, figure: Column, read: str, added: list[Node]) -> Column:
    """Add the expanded uncertainty of a normalised figure, from that of the figure read and what is added to it."""
    declared = NORMALISED.quantities[figure.name]
    share = NORMALISED.helper(f"{name}_u", f"u({declared.symbol})", decimals=4).derive(
        sum_of_squares([u.UNCERTAINTIES[read].share.at(n.summary_row), *added]).sqrt(), source=GUM_PROPAGATION
    )
    scatter = u.scatter_share(read, g.full["count"].at(n.summary_row))
    return NORMALISED.column(f"{name}_expanded", f"{declared.label}, ±", declared.unit, decimals=declared.shown).derive(
        figure * expanded_by(share, (scatter, scatter_freedom)),
        "Expanded uncertainty; thrust per power is that of thrust per current at the reference volts.",
        GUM_FREEDOM,
    )


thrust_expanded = _expanded("normal_thrust", n.normal_thrust, "thrust", [_adds / 100])
current_expanded = _expanded("normal_current", n.normal_current, "current", [_adds / 100])
power_expanded = _expanded("normal_power", n.normal_power, "current", [_adds / 100])
efficiency_expanded = _expanded("normal_efficiency", n.normal_efficiency, "thrust per current", [])

NORMALISED.keep(
    normal_thrust_uncertainty=thrust_expanded,
    normal_current_uncertainty=current_expanded,
    normal_power_uncertainty=power_expanded,
    normal_efficiency_uncertainty=efficiency_expanded,
)
