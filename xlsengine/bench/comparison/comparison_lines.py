"""What a comparison says in words: a line for the Report, and one for each propeller and cell count."""

from __future__ import annotations

from xlsengine.bench.comparison import class_motors as k
from xlsengine.bench.comparison import compared as c
from xlsengine.bench.comparison.ranking import RANKED, Ranked
from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.inputs.settings import least_for_percentile
from xlsengine.expression import Column, Constant, Node, join
from xlsengine.sources import definition

COMPARISON = Figures("Comparison", "What the comparison says in words.")
ORDINALS = {1: "1st", 2: "2nd", 3: "3rd"}
ONE_SAMPLE = (
    "One sample of each motor was tested: motors of one batch differ by 1 to 3 % in thrust, and another sample may "
    "stand elsewhere."
)
"""Scatter of a batch from memory."""


def _ordinal(place: Node) -> Node:
    """Write 1st, 2nd, 3rd, 4th ... 21st and so on."""
    tens = (place / 10).whole_part()
    last, teen = place - 10 * tens, (tens - 10 * (tens / 10).whole_part()).equals(1)
    ending: Node = join("th")
    for digit, word in ORDINALS.items():
        ending = last.equals(digit).where(word[1:], ending)
    return join(place.fixed(0), teen.where("th", ending))


def _standing(ranked: Ranked) -> Column:
    """Say this motor's place in a figure: ``shared 2nd of 5``, from eight peers up as a percentile too."""
    place, motors = ranked.own_rank, ranked.motors
    of = join((ranked.sharing > 1).where("shared ", ""), _ordinal(place), " of ", motors.fixed(0))
    percentile = (motors - 1 >= least_for_percentile).where(join(", percentile ", ranked.percentile.fixed(0)), "")
    words = join(of, percentile.otherwise(""))
    return c.derive(
        f"{ranked.figure}_standing",
        c.TITLES[ranked.figure],
        "",
        0,
        (place > 0).where((motors > 1).where(words, "no peer to compare with"), "not read").otherwise(""),
        "This motor's place; shared within the smallest difference that counts.",
        definition(),
        helper=False,
    )


STANDING = {figure: _standing(ranked) for figure, ranked in RANKED.items()}


def _range(ranked: Ranked) -> Column:
    low, high = ranked.highest, ranked.lowest
    words = low.equals(high).where(_ordinal(low), join(_ordinal(low), " to ", _ordinal(high)))
    return c.derive(
        f"{ranked.figure}_range",
        f"{c.TITLES[ranked.figure]}: the true place lies between",
        "",
        0,
        (ranked.motors > 1).where(words, "").otherwise(""),
        "With the confidence on Settings.",
        definition(),
        helper=False,
    )


RANGES = {figure: _range(ranked) for figure, ranked in RANKED.items()}


def _first(column: Column) -> Node:
    """Fetch from the first propeller and cell count, which has most peers."""
    return column.at(Constant(1.0))


_lightest = join("the lightest of ", k.motors_weighed.fixed(0))
_above = join(k.above_lightest.fixed(1), " g above the lightest of ", k.motors_weighed.fixed(0))
mass_standing = COMPARISON.figure("comparison_mass", "Mass within the class").derive(
    (k.motors_weighed > 1)
    .where(
        (k.above_lightest > k.mass_band).where(
            _above, (k.above_lightest > 0).where(join(_above, ", within noise"), _lightest)
        ),
        "",
    )
    .otherwise("")
)


def _standing_in(title: Node | str, figure: str) -> Node:
    return join(title, " ", _first(STANDING[figure]))


def _noise(ranked: Ranked) -> Node:
    return _first(ranked.band).fixed(1).otherwise("–")


_noises = [_noise(ranked) for ranked in RANKED.values()]
_peers = (_first(RANKED["thrust"].motors) > 1) | (_first(RANKED["at_thrust"].motors) > 1)
comparison_line = COMPARISON.figure("comparison_line", "Against its class").derive(
    join(
        "Against its class: ",
        mass_standing,
        mass_standing.equals("").where("", ". "),
        _peers.where(
            join(
                _first(c.label),
                ": ",
                _standing_in("thrust", "thrust"),
                ", ",
                _standing_in("g/W at full throttle", "efficiency"),
                ", ",
                _standing_in(
                    join("g/W at ", _first(c.at).fixed(0), " g").otherwise("g/W at equal thrust"), "at_thrust"
                ),
                "; differences below ",
                _noises[0],
                ", ",
                _noises[1],
                " and ",
                _noises[2],
                " % are noise.",
            ),
            "No propeller and cell count of this motor was read with another of its class.",
        ),
        " One sample of each.",
    )
)
