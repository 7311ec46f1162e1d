"""Which differences between motors count, between which places each may stand, and what nothing beats.

The smallest difference that counts rests on the scatter of a reading: between single readings 2.8 times its standard
deviation, the repeatability limit of ISO 5725, and between means of n each t·s·√(2/n). One motor is held against each of
several, which is Dunnett's comparison with one control: of motors that are equal in truth, any is called different in no
more than 5 of 100 classes. Each motor gets an interval, and two motors differ where their intervals do not meet; behind how
many a motor surely is, and before how many, are the ends of its place.
"""

from dataclasses import replace

from xlsengine.bench.comparison import class_motors as k
from xlsengine.bench.comparison import peers as p
from xlsengine.bench.comparison.class_motors import SCATTERS, Scatter
from xlsengine.bench.declaring.declare import Figures, Heading
from xlsengine.bench.inputs.settings import coverage, least_for_percentile
from xlsengine.expression import BLANK, Column, Condition, Constant, Node, call, first_holding, flag, join, say
from xlsengine.sources import published

REPEATABILITY_LIMIT = published("ISO 5725-6, 4.1: two single results differ by more than r = 2.8·s_r in 5 % of cases")
ONE_CONTROL = published(
    "Dunnett, J. Am. Stat. Assoc. 50 (1955) 1096: several means against one; for an exponent found here by integrating its "
    "distribution, with which the level is kept at 95 %, and within a seventieth of it at 90 to 99.9 %"
)
SAME = "no difference that counts"
_HERE = Condition(p.group, "=", k.place)
_OWN, _PEER = Condition(p.own, "=", Constant(1.0)), Condition(p.own, "=", Constant(0.0))


# --- which differences count -----------------------------------------------------------------------------------


def one_control(beyond: Node, peers: Node, freedom: Node, likeness: Node) -> Node:
    """Return the level of each of so many comparisons with one motor, all of which err with probability `beyond` at most.

    `likeness` is the correlation of two of them: one half where all means are of as many readings, less where they are
    not. The number of peers is raised to a power below 1, for comparisons that share a motor and a scatter err together.
    """
    shared_motor = 0.105 * call("power", 20 * beyond, 0.4) * call("power", 2 * likeness, 1.75)
    return beyond / call("power", peers, 1 - shared_motor - 0.35 / freedom)


def half_interval(square: Node, mean_square: Node) -> Node:
    """Return half the interval of a motor, of the squares of what its mean and all means may be off by.

    Two halves come to the root of two squares where these are alike, and to a little more where not: √x ≤ (x/r + r)/2.
    """
    typical = (2 * mean_square).sqrt()
    return (square / (2 * typical) + typical / 4).otherwise(0.0)


def within(band: Node) -> Node:
    """Return down to which share of a figure another differs from it by no more than so many percent, as a logarithm.

    So that of two motors neither way round is favoured, whichever is the higher.
    """
    return (band / -100).exp()


class Ranked:
    """What is said of one figure: columns of the peers, 0 where one takes no part, and of the propeller and cell count."""

    def __init__(self, figure: str, takes_part: Node, readings: Node, scatter: Scatter, doubt: Column | None) -> None:
        self._figure, self._scatter = figure, scatter
        self.key = self._of_motor("key", "ranked by", decimals=3).derive(
            takes_part.equals(1).where(p.VALUES[figure].otherwise(0.0), 0.0)
        )
        self.count = self._of_motor("count", "readings", decimals=0).derive(
            (self.key > 0).where(readings, 0.0).otherwise(0.0)
        )
        self.doubt = self._doubt() if doubt is None else doubt
        self.motors = self._of_group("motors", "motors ranked").derive(self._count(_HERE))
        self._intervals()
        self._against_this_motor()
        self._places()
        self._own_standing()

    def _of_group(self, name: str, words: str, unit: str = "", decimals: int | None = None) -> Heading[Column]:
        title = k.TITLES[self._figure]
        return k.COMPARED.helper(f"{self._figure}_{name}", f"{title}: {words}", unit, "", decimals)

    def _of_motor(self, name: str, words: str, unit: str = "", decimals: int | None = None) -> Heading[Column]:
        return p.PEERS.helper(f"{self._figure}_{name}", f"{k.TITLES[self._figure]}: {words}", unit, "", decimals)

    def _count(self, *where: Condition) -> Node:
        return p.group.count(Condition(self.key, ">", Constant(0.0)), *where)

    def _doubt(self) -> Column:
        """Add the expanded uncertainties of both in percent; 0 on one stand, whose errors both share."""
        kept = p.PEERS.kept(f"{self._figure}_sure", f"{k.TITLES[self._figure]}, ±", "%", 2)
        both = (call("power", kept.otherwise(0.0), 2.0) + k.OWN_EXPANDED[self._figure].at(p.group) ** 2).sqrt()
        return self._of_motor("doubt", "± of both stands", "%", 2).derive(
            (self.key > 0).where(p.other_stand.equals(1).where(both, 0.0), 0.0).otherwise(0.0)
        )

    def _intervals(self) -> None:
        """Add the interval of each motor, and the smallest difference that counts.

        It is of two intervals: this motor's, and that of the peer read best.
        """
        spread = self._of_motor("spread", "1 over readings", decimals=3).derive((1 / self.count).otherwise(0.0))
        square = self._of_motor("square", "square of what the mean may be off by", decimals=3).derive(
            (self._chance(spread).at(p.group) ** 2 * spread + self.doubt**2).otherwise(0.0)
        )
        mean = self._of_group("mean_square", "mean of these squares", decimals=3).derive(
            square.sum(_HERE) / self.motors
        )
        share = self._of_motor("share", "low end of its interval, as a share", decimals=5).derive(
            (self.key > 0).where(within(half_interval(square, mean.at(p.group))), 0.0).otherwise(0.0)
        )
        self.low, self.high = (
            self._of_motor(name, f"{name} end of its interval", decimals=3).derive(end.otherwise(0.0))
            for name, end in (("low", self.key * share), ("high", self.key / share))
        )
        self.band = replace(self._of_group("band", "smallest difference that counts", "%"), helper=False).derive(
            (share.sum(_HERE, _OWN) * share.largest(_HERE, _PEER)).ln() * -100,
            "Against the peer that was read best: t·s·√(1/n + 1/n'), s the scatter of one reading; t so that all peers "
            "together are called different by chance as often as Settings allow; with the ± of both where stands differ.",
            REPEATABILITY_LIMIT,
        )

    def _chance(self, spread: Column) -> Column:
        """Add what one reading may be off by, as often as all peers together may be called different by chance."""
        freedom = self._scatter.freedom
        fewest, most = 1 / spread.largest(_HERE), self.count.largest(_HERE)
        level = one_control(1 - coverage / 100, self.motors - 1, freedom, fewest / (fewest + most))
        return self._of_group("chance", "t·s", "%", 3).derive(call("t quantile", level, freedom) * self._scatter.value)

    def _against_this_motor(self) -> None:
        """Add the verdict on each peer."""
        own, low, high = (column.sum(p.in_group, _OWN) for column in (self.key, self.low, self.high))
        self.difference = self._of_motor("difference", "difference", "%").derive(
            p.is_own.where(BLANK, (self.key > 0).where((self.key / own - 1) * 100))
        )
        words = (self.low > high).where("higher", (self.high < low).where("lower", SAME))
        self.verdict = self._of_motor("verdict", "verdict").derive(
            p.is_own.where("", ((self.key > 0) & (own > 0)).where(words.otherwise(""), ""))
        )
        said = self.verdict.equals(SAME).where("noise", self.verdict)
        sign = (self.difference >= 0).where("+", "−")
        against = say("{}{:.1f} %, {}", sign, call("absolute", self.difference), said)
        self.against = replace(self._of_motor("against", "against this motor"), helper=False).derive(
            self.verdict.present().where(against.otherwise(""), "")
        )

    def _places(self) -> None:
        """Add the place of each motor: behind those that surely stand better, before those that surely stand worse."""
        better = self._count(p.in_group, Condition(self.low, ">", self.high))
        worse = self._count(p.in_group, Condition(self.high, "<", self.low))
        self.best, self.worst = (
            self._of_motor(word, f"place at {word}").derive((self.key > 0).where(place, 0.0).otherwise(0.0))
            for word, place in (("best", 1 + better), ("worst", self.motors.at(p.group) - worse))
        )
        alone, shared = self.best.fixed(0), say("{:.0f}–{:.0f}", self.best, self.worst)
        self.place = replace(self._of_motor("place", "place"), helper=False).derive(
            (self.best > 0).where(self.best.equals(self.worst).where(alone, shared), "")
        )

    def _own_standing(self) -> None:
        """Add this motor's place in words: ``2nd of 5``, ``2nd or 3rd of 5``, from eight peers up with its percentile."""
        best, worst = (
            self._of_group(f"own_{word}", f"place of this motor at {word}").derive(place.sum(_HERE, _OWN))
            for word, place in (("best", self.best), ("worst", self.worst))
        )
        behind, sharing, peers = self.motors - worst, worst - best, self.motors - 1
        percentile = self.percentile = self._of_group("percentile", "percentile of this motor").derive(
            (best > 0).where(100 * (behind + sharing / 2) / peers)
        )
        between = (worst - best).equals(1).where(" or ", " to ")
        place = best.equals(worst).where(_ordinal(best), join(_ordinal(best), between, _ordinal(worst)))
        words = say("{} of {:.0f}", place, self.motors).otherwise("")
        self.own_place = self._of_group("told_place", "place in words").derive(
            (best > 0).where((self.motors > 1).where(words, "no peer to compare with"), "not read").otherwise("")
        )
        many = ((best > 0) & (peers >= least_for_percentile)).where(say(", percentile {:.0f}", percentile), "")
        k.COMPARED.column(f"{self._figure}_standing", k.TITLES[self._figure]).derive(
            join(self.own_place, many.otherwise("")),
            "From the best place that it may have to the worst, with the confidence on Settings.",
            ONE_CONTROL,
        )


def _ordinal(place: Node) -> Node:
    """Write 1st, 2nd, 3rd, 4th ... 21st and so on."""
    tens = (place / 10).whole_part()
    last, teen = place - 10 * tens, (tens - 10 * (tens / 10).whole_part()).equals(1)
    endings = ((last.equals(digit), ending) for digit, ending in ((3, "rd"), (2, "nd"), (1, "st")))
    return join(place.fixed(0), teen.where("th", first_holding(endings, "th")))


_near = p.same_kind * p.reach
_thrust = Ranked("thrust", _near, p.readings, SCATTERS["thrust"], None)
_per_watt = Ranked("efficiency", _near, p.readings, SCATTERS["efficiency"], None)
_at_thrust = Ranked("at_thrust", p.air_near, Constant(1.0), SCATTERS["at_thrust"], _per_watt.doubt)
RANKED = {"thrust": _thrust, "efficiency": _per_watt, "at_thrust": _at_thrust}
"""What is read off at a thrust counts as one reading, and is as sure as grams per watt at full throttle."""

drawn_name = p.PEERS.helper("drawn_name", "Motor, as drawn").derive(
    (_thrust.key > 0).where(p.name, join(p.name, " (not ranked)"))
)

# --- what nothing beats ---------------------------------------------------------------------------------------

_lightness = p.PEERS.helper("lightness", "1 over mass", decimals=5).derive((1 / p.mass).otherwise(0.0))
mass_band = k.COMPARED.helper("mass_band", "Mass: smallest difference that counts", "%").derive(
    p.mass_share.largest(_HERE) * 2**0.5
)
_half_mass = within(mass_band.at(p.group) / 2)
_light_low, _light_high = (
    p.PEERS.helper(f"lightness_{name}", f"1 over mass: {name} end", decimals=5).derive(end)
    for name, end in (("low", _lightness * _half_mass), ("high", _lightness / _half_mass))
)
_all_known = (_thrust.key > 0) & (_at_thrust.key > 0) & (_lightness > 0)
three_known = p.PEERS.helper("three_known", "Thrust, mass and g/W known").derive(flag(_all_known).otherwise(0.0))
_AXES = ((_thrust.low, _thrust.high), (_at_thrust.low, _at_thrust.high), (_light_low, _light_high))
_WITH_ALL = (p.in_group, Condition(three_known, "=", Constant(1.0)))
_no_worse = tuple(Condition(high, ">=", low) for low, high in _AXES)
_no_better = tuple(Condition(low, "<=", high) for low, high in _AXES)
"""No worse in thrust, in mass and in g/W at equal thrust, and better in one by more than the smallest difference."""
beaten_by = p.PEERS.helper("beaten_by", "Motors that beat it").derive(
    three_known.equals(1).where(
        p.group.count(*_WITH_ALL, *_no_worse) - p.group.count(*_WITH_ALL, *_no_worse, *_no_better)
    )
)
p.PEERS.column("unbeaten", "Nothing beats it").derive(
    beaten_by.present().where(beaten_by.equals(0).where("yes", say("no: {:.0f} better", beaten_by)), "")
)

# --- in words, for the Report -----------------------------------------------------------------------------------

COMPARISON = Figures("Comparison", "What the comparison says in words.")
ONE_SAMPLE = (
    "One sample of each motor was tested: motors of one batch differ by 1 to 3 % in thrust, and another sample may "
    "stand elsewhere."
)
"""Scatter of a batch from memory."""


_SHOWN = 0.05
"""Grams from which on a mass is told to be more: what is told has one decimal."""
_above = say("{:.1f} g above the lightest of {:.0f}", k.above_lightest, k.motors_weighed)
_lightest = say("{}the lightest of {:.0f}", (k.as_light > 1).where("among ", ""), k.motors_weighed)
_masses = (
    ((k.motors_weighed > 1).equals(0), ""),
    (k.above_lightest > k.mass_band, _above),
    (k.above_lightest >= _SHOWN, join(_above, ", within noise")),
)
mass_standing = COMPARISON.figure("comparison_mass", "Mass within the class").derive(
    first_holding(_masses, _lightest).otherwise("")
)


def _first(column: Column) -> Node:
    """Fetch from the first propeller and cell count, which has most peers."""
    return column.at(Constant(1.0))


_of_first = say(
    "{}: thrust {}, g/W at full throttle {}, {} {}; differences below {}, {} and {} % are noise.",
    _first(k.label),
    _first(_thrust.own_place),
    _first(_per_watt.own_place),
    say("g/W at {:.0f} g", _first(k.at)).otherwise("g/W at equal thrust"),
    _first(_at_thrust.own_place),
    *(_first(ranked.band).fixed(1).otherwise("–") for ranked in RANKED.values()),
)
_peers = (_first(_thrust.motors) > 1) | (_first(_at_thrust.motors) > 1)
comparison_line = COMPARISON.figure("comparison_line", "Against its class").derive(
    say(
        "Against its class: {}{}{} One sample of each.",
        mass_standing,
        mass_standing.equals("").where("", ". "),
        _peers.where(_of_first, "No propeller and cell count of this motor was read with another of its class."),
    )
)
