"""The thrusts at which grams per watt are compared: they follow the motor's own range unless Settings says otherwise."""

from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.settings import headline_thrust, round_thrust
from xlsengine.bench.judging.counting import COUNTING
from xlsengine.expression import Condition, Constant, Node, lesser
from xlsengine.sources import practice

PLACES = 6
HEADLINE_SHARE = 3.0
ROUND = Figures("Thrusts compared", "Round thrusts within the motor's own range.", source=practice())

highest_thrust = ROUND.figure("highest_thrust", "Highest thrust that counts", "g").derive(
    r.thrust_read.largest(COUNTING)
)


def _within(limit: Node) -> tuple[Condition, ...]:
    return (Condition(round_thrust, "<=", limit),)


def _nth_largest(place: Node, limit: Node) -> Node:
    return round_thrust.largest(*_within(limit), place=place)


_how_many = lesser(round_thrust.count(*_within(highest_thrust)), float(PLACES))
round_thrusts = tuple(
    ROUND.figure(f"round_thrust_{place}", f"Round thrust {place}", "g").derive(
        _nth_largest(_how_many + (1.0 - place), highest_thrust),
        "The six largest of the list on Settings that the motor reaches, in rising order.",
    )
    for place in range(1, PLACES + 1)
)
compared_thrust = ROUND.figure("compared_thrust", "Thrust for the efficiency headline", "g").derive(
    headline_thrust.otherwise(_nth_largest(Constant(1.0), highest_thrust / HEADLINE_SHARE)),
    "As on Settings; where that is blank, the largest of the list within a third of the highest thrust.",
)

ROUND.keep(highest_thrust, compared_thrust)
