"""The scatter of one reading that differences are judged by: pooled over the repeats of all motors on this stand."""

from typing import NamedTuple

from xlsengine.bench.comparison import class_motors as k
from xlsengine.bench.comparison.class_motors import CLASS_MOTORS
from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.groups import repeatability as p
from xlsengine.bench.inputs.motor import tester
from xlsengine.bench.inputs.settings import default_freedom, default_scatter, least_repeats
from xlsengine.bench.propagation.terms import sum_of_squares
from xlsengine.expression import Named, Node, join, say
from xlsengine.sources import GUM_REPEATS

CLASS_SCATTER = Figures(
    "Scatter within the class",
    "Standard deviation of one reading, pooled over the repeats of all motors on this stand.",
)
_this_stand = k.stand.equals(join(tester))


class Scatter(NamedTuple):
    """A standard deviation of one reading in percent, and its degrees of freedom."""

    value: Named
    freedom: Named


def _pooled(name: str, title: str, own: Node) -> Scatter:
    """Pool one figure's scatter; `own` is this motor's."""
    scatter = CLASS_MOTORS.taken(f"{name}_scatter", f"{title}: scatter of one reading", own, "%", 2, helper=True)
    counted = CLASS_MOTORS.helper(f"{name}_freedom", f"{title}: repeats counted").derive(
        scatter.present().where(_this_stand.where(k.repeats.otherwise(0.0), 0.0), 0.0), "0 from another stand."
    )
    squares = CLASS_MOTORS.helper(f"{name}_squares", f"{title}: squares of the repeats", decimals=2).derive(
        (counted * scatter**2).otherwise(0.0), "Repeats times the squared scatter."
    )
    total = counted.sum()
    enough = total >= least_repeats
    found = (squares.sum() / total).sqrt()
    return Scatter(
        CLASS_SCATTER.figure(f"class_{name}_scatter", f"{title}: scatter of one reading", "%", decimals=2).derive(
            enough.where(found, default_scatter),
            "Pooled over the motors, each with its repeats; the one on Settings until there are enough.",
            GUM_REPEATS,
        ),
        CLASS_SCATTER.figure(f"class_{name}_freedom", f"{title}: degrees of freedom of that").derive(
            enough.where(total, default_freedom), "Repeats in all, or as on Settings.", GUM_REPEATS
        ),
    )


_thrust = _pooled("thrust", "Thrust", p.thrust_scatter)
_efficiency = _pooled("efficiency", "g/W", sum_of_squares([p.thrust_scatter, p.current_scatter]).sqrt())
"""Of thrust and of current together, as if they scattered apart; as they go up together, this is rather too much."""
SCATTERS = {"thrust": _thrust, "efficiency": _efficiency, "at_thrust": _efficiency}
scatter_told = CLASS_SCATTER.figure("class_scatter_told", "What noise rests on", decimals=2).derive(
    say(
        "Scatter of one reading: thrust {:.1f} %, g/W {:.1f} % ({}",
        _thrust.value,
        _efficiency.value,
        (_thrust.freedom.equals(_efficiency.freedom) & (k.repeats_known.sum() >= least_repeats)).where(
            join("from ", _thrust.freedom.fixed(0), " repeats of the motors on this stand)."),
            "as on Settings, until there are enough repeats on this stand).",
        ),
    ).otherwise(""),
    "In words.",
)
