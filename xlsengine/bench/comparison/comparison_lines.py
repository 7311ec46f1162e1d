"""What a comparison says in words: a line for the Report, and one for each propeller and cell count."""

from xlsengine.bench.comparison import class_motors as k
from xlsengine.bench.comparison import compared as c
from xlsengine.bench.comparison.ranking import ONE_CONTROL, RANKED, Ranked
from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.inputs.settings import least_for_percentile
from xlsengine.expression import Column, Constant, Node, first_holding, join, say

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
    ending = first_holding(((last.equals(digit), word[1:]) for digit, word in reversed(ORDINALS.items())), "th")
    return join(place.fixed(0), teen.where("th", ending))


def _place(ranked: Ranked) -> Column:
    """Say this motor's place in a figure: ``2nd of 5``, ``2nd or 3rd of 5``, ``2nd to 4th of 5``."""
    best, worst, motors = ranked.own_best, ranked.own_worst, ranked.motors
    between = (worst - best).equals(1).where(" or ", " to ")
    place = best.equals(worst).where(_ordinal(best), join(_ordinal(best), between, _ordinal(worst)))
    words = join(place, " of ", motors.fixed(0)).otherwise("")
    title = f"{c.TITLES[ranked.figure]}: place in words"
    return c.COMPARED.helper(f"{ranked.figure}_told_place", title).derive(
        (best > 0).where((motors > 1).where(words, "no peer to compare with"), "not read").otherwise(""),
        "From the best place that it may have to the worst, with the confidence on Settings.",
        ONE_CONTROL,
    )


PLACES = {figure: _place(ranked) for figure, ranked in RANKED.items()}


def _standing(ranked: Ranked) -> Column:
    """Say this motor's place, from eight peers up with its percentile."""
    many = (ranked.own_best > 0) & (ranked.motors - 1 >= least_for_percentile)
    percentile = many.where(join(", percentile ", ranked.percentile.fixed(0)), "").otherwise("")
    return c.COMPARED.column(f"{ranked.figure}_standing", c.TITLES[ranked.figure]).derive(
        join(PLACES[ranked.figure], percentile),
        "From the best place that it may have to the worst, with the confidence on Settings.",
        ONE_CONTROL,
    )


STANDING = {figure: _standing(ranked) for figure, ranked in RANKED.items()}


def _first(column: Column) -> Node:
    """Fetch from the first propeller and cell count, which has most peers."""
    return column.at(Constant(1.0))


_lightest = join((k.as_light > 1).where("among ", ""), "the lightest of ", k.motors_weighed.fixed(0))
_above = join(k.above_lightest.fixed(1), " g above the lightest of ", k.motors_weighed.fixed(0))
mass_standing = COMPARISON.figure("comparison_mass", "Mass within the class").derive(
    (k.motors_weighed > 1)
    .where(
        (k.above_lightest > k.mass_band).where(
            _above, (k.above_lightest >= 0.05).where(join(_above, ", within noise"), _lightest)
        ),
        "",
    )
    .otherwise("")
)


def _standing_in(title: Node | str, figure: str) -> Node:
    return join(title, " ", _first(PLACES[figure]))


_noises = (_first(ranked.band).fixed(1).otherwise("–") for ranked in RANKED.values())
_peers = (_first(RANKED["thrust"].motors) > 1) | (_first(RANKED["at_thrust"].motors) > 1)
comparison_line = COMPARISON.figure("comparison_line", "Against its class").derive(
    say(
        "Against its class: {}{}{} One sample of each.",
        mass_standing,
        mass_standing.equals("").where("", ". "),
        _peers.where(
            say(
                "{}: {}, {}, {}; differences below {}, {} and {} % are noise.",
                _first(c.label),
                _standing_in("thrust", "thrust"),
                _standing_in("g/W at full throttle", "efficiency"),
                _standing_in(
                    join("g/W at ", _first(c.at).fixed(0), " g").otherwise("g/W at equal thrust"), "at_thrust"
                ),
                *_noises,
            ),
            "No propeller and cell count of this motor was read with another of its class.",
        ),
    )
)
