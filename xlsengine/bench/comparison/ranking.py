"""Which differences between motors count, the ranks that motors share within them, and what nothing beats.

The smallest difference that counts rests on the scatter of a reading: between single readings 2.8 times its standard
deviation, the repeatability limit of ISO 5725, and between means of n each t·s·√(2/n). With one motor held against
several, the level is divided by their number, so that all of them together are called different by chance no more often
than one would be.
"""

from __future__ import annotations

from xlsengine.bench.comparison import compared as c
from xlsengine.bench.comparison import peers as p
from xlsengine.bench.comparison.class_scatter import SCATTERS, Scatter
from xlsengine.bench.inputs.settings import coverage
from xlsengine.bench.propagation.terms import sum_of_squares
from xlsengine.expression import BLANK, Column, Condition, Constant, Node, call, flag, join
from xlsengine.sources import Source, definition, practice, published, worked_out

MOST_BANDS = 10
REPEATABILITY_LIMIT = published("ISO 5725-6, 4.1: two single results differ by more than r = 2.8·s_r in 5 % of cases")
MANY_PAIRS = published("Bonferroni's inequality: the level divided by the number of comparisons")
SAME = "no difference that counts"
_ONE = Constant(1.0)
_HERE = Condition(p.group, "=", c.place)
_TIES = practice("ties go to the leader of the band; the next band begins with the first motor beyond it")


def _of_group(
    name: str,
    figure: str,
    words: str,
    unit: str,
    shown: int,
    expression: Node,
    meaning: str,
    source: Source | None = None,
    helper: bool = True,
) -> Column:
    return c.derive(
        f"{figure}_{name}",
        f"{c.TITLES[figure]}: {words}",
        unit,
        shown,
        expression,
        meaning,
        source or definition(),
        helper,
    )


def _count(key: Column, sign: str, value: Node | float, group: Condition, *more: Condition) -> Node:
    value = value if isinstance(value, Node) else Constant(value)
    return p.group.count(group, Condition(key, sign, value), *more)


def least_difference(scatter: Scatter, readings: Node, comparisons: Node, systematic: Node) -> Node:
    """Return the smallest difference that counts between means of so many `readings`, in percent.

    `systematic` is what the errors of two stands may add.
    """
    beyond = (1 - coverage / 100) / comparisons
    by_chance = call("t quantile", beyond, scatter.freedom) * scatter.value * (2 / readings).sqrt()
    return sum_of_squares([by_chance, systematic]).sqrt()


def within(band: Node) -> Node:
    """Return down to which share of a figure another differs from it by no more than so many percent, as a logarithm.

    So that of two motors neither way round is favoured, whichever is the higher.
    """
    return (band / -100).exp()


def _bands(figure: str) -> tuple[Column, Column]:
    """Add the number of motors ranked, and the smallest difference that counts among them."""
    key = p.KEYS[figure]
    motors = _of_group("motors", figure, "motors ranked", "", 0, _count(key, ">", 0.0, _HERE), "This one among them.")
    fewest = _of_group(
        "readings",
        figure,
        "fewest readings",
        "",
        0,
        1 / p.SPREADS[figure].largest(_HERE, place=_ONE),
        "Behind one of these motors' figures.",
    )
    doubt = _of_group(
        "doubt",
        figure,
        "± between stands",
        "%",
        2,
        p.DOUBTS[figure].largest(_HERE, place=_ONE),
        "The largest of the peers' that another stand read; 0 where one stand read them all.",
    )
    band = _of_group(
        "band",
        figure,
        "smallest difference that counts",
        "%",
        1,
        least_difference(SCATTERS[figure], fewest, motors - 1, doubt),
        "t·s·√(2/n), s the scatter of one reading and n the fewest readings, at the level of Settings divided by the "
        "number of peers; with the ± of both where stands differ.",
        REPEATABILITY_LIMIT,
        helper=False,
    )
    return motors, band


def _leaders(figure: str, band: Column) -> list[Column]:
    """Add the leaders of the bands, from the best down: each is the first that is beyond the band of the one before."""
    key, leaders = p.KEYS[figure], list[Column]()
    for number in range(1, MOST_BANDS + 1):
        below = (Condition(key, "<", leaders[-1] * within(band)),) if leaders else ()
        found = key.largest(_HERE, *below, place=_ONE)
        leaders.append(
            _of_group(
                f"leader_{number}",
                figure,
                f"leader {number}",
                "",
                3,
                (found > 0).where(found, 0.0).otherwise(0.0),
                "0 where there is none.",
                _TIES,
            )
        )
    return leaders


def _own_leader(figure: str, leaders: list[Column]) -> Column:
    """Add the leader of each motor's band: the lowest that is not below it."""
    key = p.KEYS[figure]
    lead: Node = leaders[0].at(p.group)
    for leader in leaders[1:]:
        lead = (leader.at(p.group) >= key).where(leader.at(p.group), lead)
    return p.derive(
        f"{figure}_leader",
        f"{c.TITLES[figure]}: leader of its band",
        "",
        3,
        (key > 0).where(lead, 0.0).otherwise(0.0),
        "0 where it takes no part.",
        _TIES,
    )


class Ranked:
    """The ranks of one figure: columns of the peers, and of the propeller and cell count."""

    def __init__(self, figure: str) -> None:
        self.figure, self.key = figure, p.KEYS[figure]
        self.motors, self.band = _bands(figure)
        self.leader = _own_leader(figure, _leaders(figure, self.band))
        self.difference = p.derive(
            f"{figure}_difference",
            f"{c.TITLES[figure]}: difference",
            "%",
            1,
            p.is_own.where(BLANK, (self.key > 0).where((self.key / self._own() - 1) * 100, BLANK)),
            "Blank where it takes no part.",
        )
        self.verdict = self._verdict()
        self.against = self._against()
        self.rank = p.derive(
            f"{figure}_rank",
            f"{c.TITLES[figure]}: place as a number",
            "",
            0,
            (self.key > 0).where(1 + _count(self.key, ">", self.leader, p.in_group), 0.0).otherwise(0.0),
            "Shared within the smallest difference that counts: 1, 2, 2, 4. 0 where it takes no part.",
            _TIES,
        )
        self.place = p.derive(
            f"{figure}_place",
            f"{c.TITLES[figure]}: place",
            "",
            0,
            (self.rank > 0).where(
                join((self._sharing(p.in_group, self.rank) > 1).where("shared ", ""), self.rank.fixed(0)), ""
            ),
            "Shared within the smallest difference that counts.",
            _TIES,
            helper=False,
        )
        self._own_standing()

    def _own(self) -> Node:
        """Return this motor's own value, on a row of the peers."""
        return self.key.sum(p.in_group, Condition(p.own, "=", _ONE))

    def _share(self) -> Node:
        return within(self.band.at(p.group))

    def _verdict(self) -> Column:
        own, beaten = self._own(), (self.key < self._own() * self._share()).where("lower", SAME)
        words = (own < self.key * self._share()).where("higher", beaten)
        return p.derive(
            f"{self.figure}_verdict",
            f"{c.TITLES[self.figure]}: verdict",
            "",
            0,
            p.is_own.where("", ((self.key > 0) & (own > 0)).where(words.otherwise(""), "")),
            "A peer against this motor.",
            REPEATABILITY_LIMIT,
        )

    def _against(self) -> Column:
        said = (self.verdict.equals(SAME)).where("noise", self.verdict)
        amount = (self.difference >= 0).where(
            join("+", self.difference.fixed(1)), join("−", (-self.difference).fixed(1))
        )
        return p.derive(
            f"{self.figure}_against",
            f"{c.TITLES[self.figure]}: against this motor",
            "",
            0,
            self.verdict.present().where(join(amount, " %, ", said).otherwise(""), ""),
            "Noise: less than the smallest difference that counts.",
            REPEATABILITY_LIMIT,
            helper=False,
        )

    def _sharing(self, group: Condition, rank: Node) -> Node:
        return _count(self.rank, "=", rank, group)

    def _own_standing(self) -> None:
        """Add this motor's place, with how many share it, and between which ranks the truth lies."""
        own = (_HERE, Condition(p.own, "=", _ONE))

        def add(name: str, words: str, expression: Node, meaning: str, source: Source | None = None) -> Column:
            return _of_group(name, self.figure, words, "", 0, expression, meaning, source)

        value = add("own", "this motor", self.key.sum(*own), "0 where it takes no part.")
        self.own_rank = add("own_rank", "place of this motor", self.rank.sum(*own), "0: no part.")
        self.sharing = add("sharing", "motors on that place", self._sharing(_HERE, self.own_rank), "This one too.")
        share = within(self.band)
        self.highest = add(
            "highest",
            "place of this motor at best",
            (value > 0).where(1 + _count(self.key, ">", value / share, _HERE), BLANK),
            "Behind those alone that are better by more than the smallest difference that counts.",
            MANY_PAIRS,
        )
        self.lowest = add(
            "lowest",
            "place of this motor at worst",
            (value > 0).where(
                self.motors - _count(self.key, "<", value * share, _HERE, Condition(self.key, ">", Constant(0.0))),
                BLANK,
            ),
            "Before those alone that are worse by more than that.",
            MANY_PAIRS,
        )
        self.percentile = add(
            "percentile",
            "percentile of this motor",
            (self.own_rank > 0).where(
                100 * (_count(self.rank, ">", self.own_rank, _HERE) + (self.sharing - 1) / 2) / (self.motors - 1), BLANK
            ),
            "Share of the peers behind it; half of those that share its place.",
            worked_out("midrank percentile"),
        )


RANKED = {figure: Ranked(figure) for figure in c.FIGURES}

drawn_name = p.derive(
    "drawn_name",
    "Motor, as drawn",
    "",
    0,
    (RANKED["thrust"].key > 0).where(p.name, join(p.name, " (not ranked)")),
    "With a word where its bar is missing.",
)

# --- what nothing beats ---------------------------------------------------------------------------------------

_lightness = p.derive(
    "lightness",
    "1 over mass",
    "",
    5,
    (1 / p.mass).otherwise(0.0),
    "0 where the mass is not known: the lighter the better.",
)
_all_known = (RANKED["thrust"].key > 0) & (RANKED["at_thrust"].key > 0) & (_lightness > 0)
three_known = p.derive(
    "three_known", "Thrust, mass and g/W known", "", 0, flag(_all_known).otherwise(0.0), "1 where all three are."
)
mass_band = c.derive(
    "mass_band",
    "Mass: smallest difference that counts",
    "%",
    1,
    p.mass_share.largest(_HERE, place=_ONE) * 2**0.5,
    "√2 times the largest ± of a mass, which is known by scale, or by gauge and length.",
    worked_out("root of two squares"),
)


def _better(column: Column, band: Column, sign: str, edge: float) -> Condition:
    """Ask for what is beyond the band above (edge 1) or below (edge -1) this row's value, or not."""
    share = within(band.at(p.group))
    return Condition(column, sign, column / share if edge > 0 else column * share)


_AXES = (
    (RANKED["thrust"].key, RANKED["thrust"].band),
    (RANKED["at_thrust"].key, RANKED["at_thrust"].band),
    (_lightness, mass_band),
)
_WITH_ALL = (p.in_group, Condition(three_known, "=", _ONE))
_no_worse = tuple(_better(column, band, ">=", -1) for column, band in _AXES)
_no_better = tuple(_better(column, band, "<=", 1) for column, band in _AXES)
beaten_by = p.derive(
    "beaten_by",
    "Motors that beat it",
    "",
    0,
    three_known.equals(1).where(
        p.group.count(*_WITH_ALL, *_no_worse) - p.group.count(*_WITH_ALL, *_no_worse, *_no_better),
        BLANK,
    ),
    "No worse in thrust, in mass and in g/W at equal thrust, and better in one by more than the smallest difference.",
    practice("Pareto's order; what lies within noise counts as equal"),
)
unbeaten = p.derive(
    "unbeaten",
    "Nothing beats it",
    "",
    0,
    beaten_by.present().where(beaten_by.equals(0).where("yes", join("no: ", beaten_by.fixed(0), " better")), ""),
    "In thrust, mass and g/W at equal thrust together; within noise counts as equal.",
    practice("Pareto's order"),
    helper=False,
)
