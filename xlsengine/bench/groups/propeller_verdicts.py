"""One propeller across voltages: its grams per amp, the uncertainty of its figures, and the verdict on them."""

import math

from xlsengine.bench.groups import repeatability as p
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs.settings import (
    diameter_accuracy,
    grams_per_amp_limit,
    thrust_coefficient_limit,
)
from xlsengine.bench.physics import propeller_figures as w
from xlsengine.bench.physics import speed_figures as f
from xlsengine.bench.physics import speed_rows as t
from xlsengine.bench.physics.group_rows import own_place
from xlsengine.bench.physics.propeller_figures import PROPELLERS
from xlsengine.bench.propagation import accuracies as a
from xlsengine.bench.propagation.terms import expanded_by, sum_of_squares
from xlsengine.expression import Column, Condition, Constant, Node, call, join
from xlsengine.sources import GUM_FREEDOM, GUM_PROPAGATION, worked_out
from xlsengine.units import GRAM_FORCE

__all__ = ["PROPELLERS", "grams_spread", "propeller_verdict"]

_amp = worked_out("T/I = 2π·Kt·CT/(CP·D) at full throttle")

told_grams = g.SUMMARY.helper("told_grams", "Thrust per current, 0 where none", "g/A").derive(
    g.full["grams_per_amp"].otherwise(0.0), "Never blank."
)
_OF_PROPELLER = Condition(own_place, "=", w.first_row)
_WITH_GRAMS = (_OF_PROPELLER, Condition(told_grams, ">", Constant(0.0)))
amp_groups = PROPELLERS.column("amp_groups", "Cell counts").derive(
    own_place.count(*_WITH_GRAMS), "With a full-throttle reading."
)


def _nth(place: Node) -> Node:
    grams = told_grams.largest(_OF_PROPELLER, place=place)
    return (amp_groups > 0).where(grams)


most_grams = PROPELLERS.column("most_grams", "Thrust per current, most", "g/A").derive(
    _nth(Constant(1.0)), "Of the cell counts.", _amp
)
least_grams = PROPELLERS.column("least_grams", "Thrust per current, least", "g/A").derive(
    _nth(amp_groups), "Of the cell counts.", _amp
)
grams_spread = PROPELLERS.column("grams_spread", "Thrust per current, most over least, less one", "%").derive(
    (amp_groups > 1).where((most_grams / least_grams - 1) * 100), "Blank with one cell count.", _amp
)

# --- their uncertainty -----------------------------------------------------------------------------------------


def _uncertainty(
    name: str, label: str, unit: str, shown: int, value: Column, meters: list[Node], scatter: Node
) -> Column:
    """Derive the ± of a figure from relative parts, of which the scatter has the degrees of freedom of the repeats."""
    u = PROPELLERS.helper(f"{name}_u", f"{label}, u", decimals=5).derive(
        sum_of_squares([scatter, *meters]).sqrt(), source=GUM_PROPAGATION
    )
    return PROPELLERS.column(f"{name}_expanded", f"{label}, ±", unit, decimals=shown).derive(
        value * expanded_by(u, (scatter, p.scatter_freedom)),
        "Expanded uncertainty: scatter, and instruments.",
        GUM_FREEDOM,
    )


def _stand(column: Column, *rows: Condition) -> Node:
    """Return what the thrust stand adds at the mean of a column of thrusts, in g."""
    return a.taken_thrust_accuracy * a.LIMIT_TO_DEVIATION / column.mean(*rows)


_speedy = (Condition(f.prop_number, "=", w.first_row), Condition(f.full_coefficient, ">", Constant(0.0)))
_single = p.SCATTER_TAKEN["thrust"] / 100
_of_median = _single * (w.coefficient_rows > 2).where(math.sqrt(math.pi / 2), 1.0) / w.coefficient_rows.sqrt()
coefficient_expanded = _uncertainty(
    "coefficient",
    "Thrust coefficient, median",
    "",
    4,
    w.median_coefficient,
    [
        _stand(t.force, *_speedy) * GRAM_FORCE,
        2 * a.relative(a.taken_speed_accuracy),
        4 * a.relative(diameter_accuracy),
        a.relative(a.taken_density_accuracy),
    ],
    _of_median,
)
grams_expanded = _uncertainty(
    "most_grams",
    "Thrust per current, most",
    "g/A",
    1,
    most_grams,
    [_stand(g.full["thrust"], *_WITH_GRAMS), a.relative(a.taken_current_accuracy)],
    p.SCATTER_TAKEN["thrust per current"] / 100,
)

# --- the verdict -----------------------------------------------------------------------------------------------

_amps_apart = (grams_spread > grams_per_amp_limit).where(
    "Grams per amp differ across cell counts: a thrust or current reading, the cell count, the volts or the tare. ", ""
)
_coefficients_apart = (w.coefficient_spread > thrust_coefficient_limit).where(
    "Thrust coefficients differ: a speed or thrust reading, or the pole count. ", ""
)
_found = call("trim", join(_amps_apart.otherwise(""), _coefficients_apart.otherwise("")))
_nothing = (grams_spread.present() | w.coefficient_spread.present()).where(
    "consistent", "read once only: nothing to compare"
)
propeller_verdict = PROPELLERS.column("propeller_verdict", "Verdict").derive(
    w.first_row.present().where(_found.otherwise(_nothing), "")
)
