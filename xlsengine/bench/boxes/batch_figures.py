"""What a box of motors comes to: means, spreads, capability with its interval, run charts, and how many to test.

The spread is the standard deviation over all motors of the box, so the index says how the box stands, whatever its
order; the limits of the run chart come from the ranges between neighbours in time.
"""

from dataclasses import dataclass, field, replace

from xlsengine.bench.boxes import batch as b
from xlsengine.bench.boxes.batch import CHARACTERISTICS, SERIALS, Characteristic
from xlsengine.bench.declaring.declare import NO_COLUMN, Figures, Heading, Table
from xlsengine.bench.propagation.terms import INFINITE
from xlsengine.expression import (
    BLANK,
    Column,
    Condition,
    Constant,
    Named,
    Node,
    call,
    flag,
    join,
    lesser,
    say,
)
from xlsengine.sources import Source, Standing, definition

LEAST_FOR_INDEX = 3
"""Motors from which an index is given with its interval."""
FEW = 30
_TRIED = 10
FAR = 1e12
D2, D4 = 1.128, 3.267
INDIVIDUALS = Source(
    Standing.FROM_MEMORY,
    "NIST/SEMATECH e-Handbook 6.3.2.2, individuals control charts: mean ± 3·(mean moving range)/1.128, that is 2.66 "
    "times it; range below 3.267 times it",
)
CAPABILITY = Source(Standing.FROM_MEMORY, "NIST/SEMATECH e-Handbook 6.1.6: Cp, Cpk; interval of Cp by chi-square")
BISSELL = Source(
    Standing.FROM_MEMORY, "Bissell 1990, as in NIST/SEMATECH e-Handbook 6.1.6: Cpk ± z·√(1/(9n) + Cpk²/(2(n − 1)))"
)
SPREAD = Source(
    Standing.FROM_MEMORY,
    "NIST/SEMATECH e-Handbook 7.2.2 and 7.2.3: mean by Student's t, standard deviation by chi-square",
)

# --- in the order of the tests ---------------------------------------------------------------------------------

RUN = Table("RunChart", "The motors in the order in which they were tested.", spare=SERIALS.spare, per=(b.turn,))


run_place = RUN.numbered("run_place")
run_row = RUN.helper("run_row", "Row of Serials").derive(b.turn.position(b.turn.smallest(run_place)), "From 1.")
run_serial = RUN.column("run_serial", "Serial").derive(b.serial.at(run_row), "Which.")

RUN.column("run_turn", "Tested as").derive(run_serial.present().where(run_place, BLANK), "From 1.")

CAPABLE, NOT_CAPABLE, OPEN = "capable", "not capable", "cannot be told"
BATCH_FIGURES = Figures("Batch figures", "What the box comes to.", source=SPREAD)
_beyond = 1 - b.batch_confidence / 100
z = BATCH_FIGURES.figure("batch_z", "Normal quantile", symbol="z", decimals=3).derive(
    call("t quantile", _beyond, INFINITE), "At the level of confidence."
)


@dataclass
class Outcome:
    """All figures of one characteristic, by name; columns are of the run chart."""

    of: Characteristic
    figures: dict[str, Named] = field(default_factory=dict)
    value: Column = NO_COLUMN
    moved: Column = NO_COLUMN
    outside: Column = NO_COLUMN
    beyond: Column = NO_COLUMN

    def __getattr__(self, name: str) -> Named:
        try:
            return self.figures[name]
        except KeyError:
            raise AttributeError(name) from None

    def head(self, name: str, label: str, unit: str = "", decimals: int = 2, symbol: str = "") -> Heading[Named]:
        """Head a figure of the characteristic."""
        return BATCH_FIGURES.figure(f"{self.of.name}_{name}", f"{self.of.label}: {label}", unit, symbol, decimals)

    def in_unit(self, name: str, label: str, more: int = 1, symbol: str = "") -> Heading[Named]:
        """Head a figure in the unit of the characteristic, with so many decimals more than a reading has."""
        return self.head(name, label, self.of.unit, self.of.shown + more, symbol)


def _limits(o: Outcome) -> None:
    for name, words, share, symbol in (
        ("low", "least allowed", 1 - o.of.below / 100, "LSL"),
        ("high", "most allowed", 1 + o.of.above / 100, "USL"),
    ):
        heading = replace(o.in_unit(name, words, 0, symbol), label=f"{o.of.label}, {words}")
        o.figures[name] = heading.derive(o.of.promised * share, "By the label.", definition())


def ceiling(node: Node) -> Node:
    """Return the next whole number that is not below a positive number, a rounding error allowed for."""
    return (node - 1e-7).whole_part() + 1


def _enough_for(o: Outcome, width: Node) -> Node:
    """Return how many motors bring t·s/√n down to a width: from the normal quantile on, some are tried."""
    goal = o.in_unit("goal", "wanted ± of the mean").derive(width, "In its unit.")
    first = ceiling((z * o.s / goal) ** 2)
    least = o.head("tried_from", "motors tried from", decimals=0).derive((first < 2).where(2.0, first), "By z.")
    found: Node = least
    for more in range(_TRIED):
        n = least + float(more)
        found = found + flag(call("t quantile", _beyond, n - 1) * o.s / n.sqrt() > goal)
    return found


def _spread(o: Outcome) -> None:
    """Add number, mean and standard deviation with their intervals."""
    f, value, of_all, of_interval = o.figures, o.of.value, "Of all that were measured.", "Of its interval."

    def s_at(beyond: Node) -> Node:
        return s * (freedom / call("chi-square quantile", beyond, freedom)).sqrt()

    n = f["count"] = o.head("count", "motors", decimals=0, symbol="n").derive(value.count(), "That were measured.")
    f["mean"] = o.in_unit("mean", "mean", symbol="x̄").derive((n > 0).where(value.mean(), BLANK), of_all)
    s = f["s"] = o.in_unit("s", "standard deviation", symbol="s").derive(value.deviation(), of_all)
    freedom = n - 1
    width = call("t quantile", _beyond, freedom) * s / n.sqrt()
    f["mean_width"] = o.in_unit("mean_width", "mean, ±").derive(width, of_interval)
    f["s_low"] = o.in_unit("s_low", "s, least").derive(s_at(_beyond / 2), of_interval)
    f["s_high"] = o.in_unit("s_high", "s, most").derive(s_at(1 - _beyond / 2), of_interval)
    f["deviation"] = o.head("deviation", "mean against the label", "%", 1).derive(
        (f["mean"] / o.of.promised - 1) * 100, "Of the label's value."
    )
    f["s_share"] = o.head("s_share", "s, share of the mean", "%").derive(100 * s / f["mean"], "In percent.")
    f["least"] = o.in_unit("least", "least", 0).derive((n > 0).where(value.smallest(), BLANK), "Measured.")
    f["most"] = o.in_unit("most", "most", 0).derive((n > 0).where(value.largest(), BLANK), "Measured.")


def _index(o: Outcome) -> None:
    """Add Cp and Cpk with their intervals, from `LEAST_FOR_INDEX` motors on."""
    f, n, mean, s, of_interval = o.figures, o.count, o.mean, o.s, "Of its interval."
    enough = (n >= float(LEAST_FOR_INDEX)) & (s > 0)
    f["cp"] = o.head("cp", "Cp", symbol="Cp").derive(
        enough.where((o.high - o.low) / (6 * s), BLANK), "Blank where a limit is missing.", CAPABILITY
    )
    room = lesser((mean - o.low).otherwise(FAR), (o.high - mean).otherwise(FAR))
    f["cpk"] = o.head("cpk", "Cpk", symbol="Cpk").derive(
        enough.where((room < FAR / 2).where(room / (3 * s), BLANK), BLANK),
        "To the nearer limit, or the only one.",
        CAPABILITY,
        equation="the lesser of (USL − x̄) and (x̄ − LSL), over 3·s",
    )
    freedom = n - 1
    for name, word, beyond in (("cp_low", "least", 1 - _beyond / 2), ("cp_high", "most", _beyond / 2)):
        factor = (call("chi-square quantile", beyond, freedom) / freedom).sqrt()
        f[name] = o.head(name, f"Cp, {word}").derive(f["cp"] * factor, of_interval, CAPABILITY)
    width = f["cpk_width"] = o.head("cpk_width", "Cpk, ±").derive(
        z * (1 / (9 * n) + f["cpk"] ** 2 / (2 * freedom)).sqrt(), of_interval, BISSELL
    )
    f["cpk_low"] = o.head("cpk_low", "Cpk, least").derive(f["cpk"] - width, of_interval, BISSELL)
    f["cpk_high"] = o.head("cpk_high", "Cpk, most").derive(f["cpk"] + width, of_interval, BISSELL)


def _how_many(o: Outcome) -> None:
    width = b.wanted_mean_width / 100 * o.of.promised.otherwise(o.mean)
    o.figures["for_mean"] = o.head("for_mean", "motors for the wanted ± of the mean", decimals=0).derive(
        (o.s > 0).where(_enough_for(o, width), BLANK), "Were the spread the one found here."
    )
    goal = (b.wanted_index_width / z) ** 2
    total = goal + 1 / 9 + o.cpk**2 / 2
    o.figures["for_index"] = o.head("for_index", "motors for the wanted ± of Cpk", decimals=0).derive(
        ceiling((total + (total**2 - 4 * goal / 9).sqrt()) / (2 * goal)), "Were Cpk the one found here.", BISSELL
    )


def _chart(o: Outcome) -> None:
    """Add the run: each value, how far it moved from the one before, and whether it is outside of any limit."""
    c = o.of
    value = o.value = RUN.column(f"run_{c.name}", c.label, c.unit, decimals=c.shown).derive(
        c.value.at(run_row), "As measured."
    )
    o.moved = RUN.column(f"run_{c.name}_moved", f"{c.label}, moved", c.unit, decimals=c.shown).derive(
        call("absolute", value - value.at(run_place - 1)),
        "From the motor tested just before; blank where either was not measured.",
        INDIVIDUALS,
    )
    _run_limits(o)
    o.outside = _out(o, "outside", "outside the label's limits", o.low, o.high)
    apart = _out(o, "apart", "outside the chart's limits", o.chart_low, o.chart_high)
    jumped = (o.moved > o.moved_high).where(1.0, 0.0).otherwise(0.0)
    o.beyond = RUN.helper(f"run_{c.name}_beyond", f"{c.label}, beyond chance").derive(
        ((apart + jumped) > 0).where(1.0, 0.0), "Outside the chart's limits, or moved too far.", INDIVIDUALS
    )
    for name, words, column in (
        ("outside", "outside the label's limits", o.outside),
        ("beyond", "beyond chance", o.beyond),
    ):
        counted = run_place.count(Condition(column, "=", Constant(1.0)))
        o.figures[name] = o.head(name, f"motors {words}", decimals=0).derive(counted, "How many.", definition())


def _run_limits(o: Outcome) -> None:
    """Add the limits of the run chart, of values and of moving ranges."""
    f = o.figures
    f["moved"] = o.in_unit("moved", "mean moving range", symbol="MR̄").derive(o.moved.mean(), "MR.", INDIVIDUALS)
    reach = 3 / D2 * f["moved"]
    for name, word, node in (
        ("chart_low", "lower", o.mean - reach),
        ("chart_high", "upper", o.mean + reach),
        ("moved_high", "upper, of the range", D4 * f["moved"]),
    ):
        f[name] = o.in_unit(name, f"{word} limit of the run chart").derive(node, "Of chance alone.", INDIVIDUALS)


def _out(o: Outcome, name: str, words: str, lowest: Node, highest: Node) -> Column:
    below, above = ((beyond).where(1.0, 0.0).otherwise(0.0) for beyond in (o.value < lowest, o.value > highest))
    return RUN.helper(f"run_{o.of.name}_{name}", f"{o.of.label}, {words}").derive(
        o.value.present().where(below + above, 0.0), "1 where it is."
    )


def _why(o: Outcome) -> Node:
    n = o.count
    motors = join(n.fixed(0), (n > 1).where(" motors", " motor"))
    no_limit = (o.low.present() | o.high.present()).equals(0)
    cpk = o.cpk, o.cpk_low, o.cpk_high
    between = say(
        "Cpk {:.2f}, between {:.2f} and {:.2f} ({:.0f} %), wanted {:.2f}", *cpk, b.batch_confidence, b.wanted_index
    )
    more = (
        (o.cpk_width > b.wanted_index_width)
        .where(join("; ", o.for_index.fixed(0), " motors would bring its ± to ", b.wanted_index_width.fixed(2)), "")
        .otherwise("")
    )
    few = (n < float(FEW)).where(join("; too few to see whether they scatter normally"), "")
    apart = (o.figures["beyond"] > 0).where(
        join("; first find out why ", o.figures["beyond"].fixed(0), " lie beyond the run chart's limits"), ""
    )
    judged = join(between, more, few, apart)
    short = join(motors, (n > 1).where(": a spread, but no index below 3 motors", ": no spread from one motor"))
    alike = join(motors, ", all alike: the readings are too coarse to show a spread")
    return (n > 0).where(
        no_limit.where(
            join(motors, ": no label value or allowance on the sheet Label, so nothing to judge by"),
            (n < float(LEAST_FOR_INDEX)).where(short, (o.s > 0).where(judged, alike)),
        ),
        "not measured",
    )


def _outcome(c: Characteristic) -> Outcome:
    o = Outcome(c)
    for add in (_limits, _spread, _index, _how_many, _chart):
        add(o)
    capable = (o.cpk_low >= b.wanted_index).where(CAPABLE, (o.cpk_high < b.wanted_index).where(NOT_CAPABLE, OPEN))
    o.figures["verdict"] = o.head("verdict", "how it stands").derive(
        (o.count > 0).where(capable.otherwise(OPEN), ""), "By all of Cpk's interval.", CAPABILITY
    )
    o.figures["why"] = o.head("why", "why").derive(_why(o), "In words.", CAPABILITY)
    return o


OUTCOMES = tuple(map(_outcome, CHARACTERISTICS))
motors = BATCH_FIGURES.figure("batch_motors", "Motors").derive(b.serial.count(), "In the box.", definition())
_limits_passed = RUN.helper("run_out", "Limits passed").derive(
    sum((o.outside for o in OUTCOMES[1:]), start=OUTCOMES[0].outside + 0.0), "How many of the label's limits."
)
within = BATCH_FIGURES.figure("batch_out", "Motors outside a limit of the label").derive(
    run_place.count(Condition(_limits_passed, ">", Constant(0.0))), "Of all measured.", definition()
)
headline = BATCH_FIGURES.figure("batch_headline", "In one line").derive(
    say("{:.0f}{}: {:.0f} outside a limit of the label", motors, motors.equals(1).where(" motor", " motors"), within),
    "What was counted.",
    definition(),
)
