"""The thrusts at which grams per watt are compared: they follow the motor's own range unless Settings says otherwise."""

from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.settings import headline_thrust, round_thrust
from xlsengine.bench.judging.counting import COUNTING
from xlsengine.expression import Condition, lesser
from xlsengine.sources import practice

PLACES = 6
HEADLINE_SHARE = 3.0
ROUND = Figures("Thrusts compared", "Round thrusts within the motor's own range.", source=practice())

highest_thrust = ROUND.figure("highest_thrust", "Highest thrust that counts", "g").derive(
    r.thrust_read.largest(COUNTING)
)


_reached = Condition(round_thrust, "<=", highest_thrust)
_compared = Condition(round_thrust, "<=", highest_thrust / HEADLINE_SHARE)
_how_many = lesser(round_thrust.count(_reached), float(PLACES))
round_thrusts = tuple(
    ROUND.figure(f"round_thrust_{place}", f"Round thrust {place}", "g").derive(
        round_thrust.largest(_reached, place=_how_many + (1.0 - place)),
        "The six largest of the list on Settings that the motor reaches, in rising order.",
    )
    for place in range(1, PLACES + 1)
)
compared_thrust = ROUND.figure("compared_thrust", "Thrust for the efficiency headline", "g").derive(
    headline_thrust.otherwise(round_thrust.largest(_compared)),
    "As on Settings; where that is blank, the largest of the list within a third of the highest thrust.",
)

ROUND.keep(highest_thrust, compared_thrust)
