"""Which differences between motors count, between which places each may stand, and what nothing beats.

The smallest difference that counts rests on the scatter of a reading: between single readings 2.8 times its standard
deviation, the repeatability limit of ISO 5725, and between means of n each t·s·√(2/n). One motor is held against each of
several, which is Dunnett's comparison with one control: of motors that are equal in truth, any is called different in no
more than 5 of 100 classes. Each motor gets an interval, and two motors differ where their intervals do not meet; behind how
many a motor surely is, and before how many, are the ends of its place.
"""

from dataclasses import replace

from xlsengine.bench.comparison import compared as c
from xlsengine.bench.comparison import peers as p
from xlsengine.bench.comparison.class_motors import SCATTERS
from xlsengine.bench.declaring.declare import Heading
from xlsengine.bench.inputs.settings import coverage
from xlsengine.expression import BLANK, Column, Condition, Constant, Node, call, flag, join
from xlsengine.sources import practice, published

REPEATABILITY_LIMIT = published("ISO 5725-6, 4.1: two single results differ by more than r = 2.8·s_r in 5 % of cases")
ONE_CONTROL = published(
    "Dunnett, J. Am. Stat. Assoc. 50 (1955) 1096: several means against one; for an exponent found here by integrating its "
    "distribution, with which the level is kept at 95 %, and within a seventieth of it at 90 to 99.9 %"
)
SAME = "no difference that counts"
_HERE = Condition(p.group, "=", c.place)
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
    """What is said of one figure: columns of the peers, and of the propeller and cell count."""

    def __init__(self, figure: str) -> None:
        self.figure, self.key = figure, p.KEYS[figure]
        self.motors = self._of_group("motors", "motors ranked").derive(self._count(_HERE))
        self._intervals()
        self._against_this_motor()
        self._places()
        self._own_standing()

    def _of_group(self, name: str, words: str, unit: str = "", decimals: int | None = None) -> Heading[Column]:
        return c.COMPARED.helper(f"{self.figure}_{name}", f"{c.TITLES[self.figure]}: {words}", unit, "", decimals)

    def _of_motor(self, name: str, words: str, unit: str = "", decimals: int | None = None) -> Heading[Column]:
        return p.PEERS.helper(f"{self.figure}_{name}", f"{c.TITLES[self.figure]}: {words}", unit, "", decimals)

    def _count(self, *where: Condition) -> Node:
        return p.group.count(Condition(self.key, ">", Constant(0.0)), *where)

    def _chance(self) -> Column:
        """Add what one reading may be off by, as often as all peers together may be called different by chance."""
        scatter = SCATTERS[self.figure]
        fewest = self._of_group("fewest", "fewest readings").derive(1 / p.SPREADS[self.figure].largest(_HERE))
        most = self._of_group("most", "most readings").derive(p.COUNTS[self.figure].largest(_HERE))
        level = one_control(1 - coverage / 100, self.motors - 1, scatter.freedom, fewest / (fewest + most))
        return self._of_group("chance", "t·s", "%", 3).derive(
            call("t quantile", level, scatter.freedom) * scatter.value,
            "What one reading may be off by, as often as the confidence on Settings allows for all peers together.",
            ONE_CONTROL,
        )

    def _intervals(self) -> None:
        """Add the interval of each motor."""
        square = self._of_motor("square", "square of what the mean may be off by", decimals=3).derive(
            (self._chance().at(p.group) ** 2 * p.SPREADS[self.figure] + p.DOUBTS[self.figure] ** 2).otherwise(0.0),
            "By chance, and what another stand may add; 0 where it takes no part.",
        )
        mean = self._of_group("mean_square", "mean of these squares", decimals=3).derive(
            square.sum(_HERE) / self.motors
        )
        self.share = self._of_motor("share", "low end of its interval, as a share", decimals=5).derive(
            (self.key > 0).where(within(half_interval(square, mean.at(p.group))), 0.0).otherwise(0.0),
            "0 where it takes no part.",
        )
        self.low, self.high = (
            self._of_motor(name, f"{name} end of its interval", decimals=3).derive(
                end.otherwise(0.0), "0 where it has no part."
            )
            for name, end in (("low", self.key * self.share), ("high", self.key / self.share))
        )
        self._band()

    def _band(self) -> None:
        """Add the smallest difference that counts: of the two intervals, this motor's and that of the peer read best."""
        self.band = replace(self._of_group("band", "smallest difference that counts", "%"), helper=False).derive(
            (self.share.sum(_HERE, _OWN) * self.share.largest(_HERE, _PEER)).ln() * -100,
            "Against the peer that was read best: t·s·√(1/n + 1/n'), s the scatter of one reading; t so that all peers "
            "together are called different by chance as often as Settings allow; with the ± of both where stands differ.",
            REPEATABILITY_LIMIT,
        )

    def _against_this_motor(self) -> None:
        """Add the verdict on each peer."""
        own, low, high = (column.sum(p.in_group, _OWN) for column in (self.key, self.low, self.high))
        self.difference = self._of_motor("difference", "difference", "%").derive(
            p.is_own.where(BLANK, (self.key > 0).where((self.key / own - 1) * 100, BLANK)),
            "Blank where it takes no part.",
        )
        words = (self.low > high).where("higher", (self.high < low).where("lower", SAME))
        self.verdict = self._of_motor("verdict", "verdict").derive(
            p.is_own.where("", ((self.key > 0) & (own > 0)).where(words.otherwise(""), "")), source=ONE_CONTROL
        )
        said = self.verdict.equals(SAME).where("noise", self.verdict)
        amount = (self.difference >= 0).where(
            join("+", self.difference.fixed(1)), join("−", (-self.difference).fixed(1))
        )
        self.against = replace(self._of_motor("against", "against this motor"), helper=False).derive(
            self.verdict.present().where(join(amount, " %, ", said).otherwise(""), ""),
            "Noise: less than the smallest difference that counts.",
            ONE_CONTROL,
        )

    def _places(self) -> None:
        """Add the place of each motor: behind those that surely stand better, before those that surely stand worse."""
        better = self._count(p.in_group, Condition(self.low, ">", self.high))
        worse = self._count(p.in_group, Condition(self.high, "<", self.low))
        self.best, self.worst = (
            self._of_motor(word, f"place at {word}").derive(
                (self.key > 0).where(place, 0.0).otherwise(0.0), "0 where it takes no part.", ONE_CONTROL
            )
            for word, place in (("best", 1 + better), ("worst", self.motors.at(p.group) - worse))
        )
        alone, shared = self.best.fixed(0), join(self.best.fixed(0), "–", self.worst.fixed(0))
        self.place = replace(self._of_motor("place", "place"), helper=False).derive(
            (self.best > 0).where(self.best.equals(self.worst).where(alone, shared), ""),
            "From the best it may have to the worst; each by itself holds with the confidence on Settings.",
            ONE_CONTROL,
        )

    def _own_standing(self) -> None:
        """Add this motor's place, and its percentile."""
        self.own_best, self.own_worst = (
            self._of_group(f"own_{word}", f"place of this motor at {word}").derive(place.sum(_HERE, _OWN), "0: none.")
            for word, place in (("best", self.best), ("worst", self.worst))
        )
        behind, sharing = self.motors - self.own_worst, self.own_worst - self.own_best
        self.percentile = self._of_group("percentile", "percentile of this motor").derive(
            (self.own_best > 0).where(100 * (behind + sharing / 2) / (self.motors - 1), BLANK),
            "Share of the peers behind it; half of those within noise count.",
        )


RANKED = {figure: Ranked(figure) for figure in c.FIGURES}

drawn_name = p.PEERS.helper("drawn_name", "Motor, as drawn").derive(
    (RANKED["thrust"].key > 0).where(p.name, join(p.name, " (not ranked)"))
)

# --- what nothing beats ---------------------------------------------------------------------------------------

_lightness = p.PEERS.helper("lightness", "1 over mass", decimals=5).derive(
    (1 / p.mass).otherwise(0.0), "0 where the mass is not known: the lighter the better."
)
mass_band = c.COMPARED.helper("mass_band", "Mass: smallest difference that counts", "%").derive(
    p.mass_share.largest(_HERE) * 2**0.5,
    "√2 times the largest ± of a mass, which is known by scale, or by gauge and length.",
)
_half_mass = within(mass_band.at(p.group) / 2)
_light_low, _light_high = (
    p.PEERS.helper(f"lightness_{name}", f"1 over mass: {name} end", decimals=5).derive(end)
    for name, end in (("low", _lightness * _half_mass), ("high", _lightness / _half_mass))
)
_thrust, _at_thrust = RANKED["thrust"], RANKED["at_thrust"]
_all_known = (_thrust.key > 0) & (_at_thrust.key > 0) & (_lightness > 0)
three_known = p.PEERS.helper("three_known", "Thrust, mass and g/W known").derive(
    flag(_all_known).otherwise(0.0), "1 where all three are."
)
_AXES = ((_thrust.low, _thrust.high), (_at_thrust.low, _at_thrust.high), (_light_low, _light_high))
_WITH_ALL = (p.in_group, Condition(three_known, "=", Constant(1.0)))
_no_worse = tuple(Condition(high, ">=", low) for low, high in _AXES)
_no_better = tuple(Condition(low, "<=", high) for low, high in _AXES)
beaten_by = p.PEERS.helper("beaten_by", "Motors that beat it").derive(
    three_known.equals(1).where(
        p.group.count(*_WITH_ALL, *_no_worse) - p.group.count(*_WITH_ALL, *_no_worse, *_no_better), BLANK
    ),
    "No worse in thrust, in mass and in g/W at equal thrust, and better in one by more than the smallest difference.",
    practice("Pareto's order; what lies within noise counts as equal"),
)
p.PEERS.column("unbeaten", "Nothing beats it").derive(
    beaten_by.present().where(beaten_by.equals(0).where("yes", join("no: ", beaten_by.fixed(0), " better")), ""),
    "In thrust, mass and g/W at equal thrust together; within noise counts as equal.",
    practice("Pareto's order"),
)
