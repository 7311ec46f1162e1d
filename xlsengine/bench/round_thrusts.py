"""The thrusts at which grams per watt are compared: they follow the motor's own range unless Settings says otherwise."""

from __future__ import annotations

from xlsengine.bench import counting
from xlsengine.bench import readings as r
from xlsengine.bench.declare import Figures, Quantity
from xlsengine.bench.settings import headline_thrust, round_thrust
from xlsengine.expression import Aggregate, Condition, Constant, Named, Node, lesser
from xlsengine.sources import definition, practice

PLACES = 6
HEADLINE_SHARE = 3.0
ROUND = Figures("Thrusts compared", "Round thrusts within the motor's own range.")

counted_thrust = r.READINGS.derive(
    Quantity("counted_thrust", "Thrust that counts", counting.counts.equals(1).where(r.thrust, 0.0),
             "0 in rows that are left out.", definition(), shown=0, helper=True)
)  # fmt: skip


def _figure(name: str, label: str, expression: Node, meaning: str) -> Named:
    return ROUND.derive(Quantity(name, label, expression, meaning, practice(), "", "g", 0))


highest_thrust = _figure(
    "highest_thrust", "Highest thrust that counts", Aggregate("largest", (counted_thrust,), (), Constant(1.0)),
    "Of every reading that counts.",
)  # fmt: skip


def _within(limit: Node) -> tuple[Condition, ...]:
    return (Condition(round_thrust, "<=", limit),)


def _nth_largest(place: Node, limit: Node) -> Node:
    return Aggregate("largest", (round_thrust,), _within(limit), place)


_how_many = lesser(Aggregate("count", (round_thrust,), _within(highest_thrust)), float(PLACES))
round_thrusts = tuple(
    _figure(
        f"round_thrust_{place}", f"Round thrust {place}",
        _nth_largest(_how_many + (1.0 - place), highest_thrust),
        "The six largest of the list on Settings that the motor reaches, in rising order.",
    )
    for place in range(1, PLACES + 1)
)  # fmt: skip
compared_thrust = _figure(
    "compared_thrust", "Thrust for the efficiency headline",
    headline_thrust.otherwise(_nth_largest(Constant(1.0), highest_thrust / HEADLINE_SHARE)),
    "As on Settings; where that is blank, the largest of the list within a third of the highest thrust.",
)  # fmt: skip

ROUND.keep(highest_thrust, compared_thrust)
