"""What a box of motors comes to: means, spreads, capability with its interval, run charts, and how many to test.

The spread is the standard deviation over all motors of the box, so the index says how the box stands, whatever its
order; the limits of the run chart come from the ranges between neighbours in time.
"""

from dataclasses import dataclass

from xlsengine.bench.boxes import batch as b
from xlsengine.bench.boxes.batch import CHARACTERISTICS, SERIALS, Characteristic
from xlsengine.bench.declaring.declare import Figures, Quantity, Table
from xlsengine.bench.propagation.terms import INFINITE
from xlsengine.expression import (
    BLANK,
    Aggregate,
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


run_place = RUN.helper("run_place", "Place").derive(Aggregate("row", (Column(RUN.name, "run_place"),)), "From 1.")
run_row = RUN.helper("run_row", "Row of Serials").derive(b.turn.position(b.turn.smallest(run_place)), "From 1.")
run_serial = RUN.column("run_serial", "Serial").derive(b.serial.at(run_row), "Which.")

RUN.column("run_turn", "Tested as").derive(run_serial.present().where(run_place, BLANK), "From 1.")

CAPABLE, NOT_CAPABLE, OPEN = "capable", "not capable", "cannot be told"
BATCH_FIGURES = Figures("Batch figures", "What the box comes to.")


def figure(
    name: str,
    label: str,
    node: Node,
    meaning: str,
    unit: str = "",
    shown: int = 2,
    symbol: str = "",
    source: Source = SPREAD,
    equation: str = "",
) -> Named:
    """Add a figure of the box."""
    quantity = Quantity(name, label, node, meaning, source, symbol, unit, shown, equation=equation)
    return BATCH_FIGURES.add(quantity)


_beyond = 1 - b.confidence / 100
z = figure(
    "batch_z", "Normal quantile", call("t quantile", _beyond, INFINITE), "At the level of confidence.", "", 3, "z"
)


@dataclass(frozen=True)
class Outcome:
    """All figures of one characteristic; columns are of the run chart."""

    of: Characteristic
    value: Column
    moved: Column
    outside: Column
    beyond: Column
    figures: dict[str, Named]

    def __getattr__(self, name: str) -> Named:
        try:
            return self.figures[name]
        except KeyError:
            raise AttributeError(name) from None


def _limits(c: Characteristic) -> tuple[Named, Named]:
    def limit(name: str, words: str, share: Node, symbol: str) -> Named:
        said = f"{c.name}_{name}", f"{c.label}, {words}", c.promised * share, "By the label.", c.unit, c.shown
        return figure(*said, symbol, definition())

    low = limit("low", "least allowed", 1 - c.below / 100, "LSL")
    return low, limit("high", "most allowed", 1 + c.above / 100, "USL")


def ceiling(node: Node) -> Node:
    """Return the next whole number that is not below a positive number, a rounding error allowed for."""
    return (node - 1e-7).whole_part() + 1


def _enough_for(c: Characteristic, width: Node, spread: Named) -> Node:
    """Return how many motors bring t·s/√n down to a width: from the normal quantile on, some are tried."""
    goal = figure(f"{c.name}_goal", f"{c.label}: wanted ± of the mean", width, "In its unit.", c.unit, c.shown + 1)
    first = ceiling((z * spread / goal) ** 2)
    least = figure(
        f"{c.name}_tried_from", f"{c.label}: motors tried from", (first < 2).where(2.0, first), "By z.", "", 0
    )
    found: Node = least
    for more in range(_TRIED):
        n = least + float(more)
        found = found + flag(call("t quantile", _beyond, n - 1) * spread / n.sqrt() > goal)
    return found


def _spread(c: Characteristic, f: dict[str, Named]) -> None:
    """Add number, mean and standard deviation with their intervals."""
    more = c.shown + 1

    def add(
        name: str, label: str, node: Node, meaning: str, decimals: int = more, own: str = c.unit, symbol: str = ""
    ) -> None:
        f[name] = figure(f"{c.name}_{name}", f"{c.label}: {label}", node, meaning, own, decimals, symbol)

    def s_at(beyond: Node) -> Node:
        return s * (freedom / call("chi-square quantile", beyond, freedom)).sqrt()

    add("count", "motors", c.value.count(), "That were measured.", 0, "", "n")
    n, of_all = f["count"], "Of all that were measured."
    add("mean", "mean", (n > 0).where(c.value.mean(), BLANK), of_all, symbol="x̄")
    add("s", "standard deviation", Aggregate("standard deviation", (c.value,)), of_all, symbol="s")
    s, freedom = f["s"], n - 1
    add("mean_width", "mean, ±", call("t quantile", _beyond, freedom) * s / n.sqrt(), "Of its interval.")
    add("s_low", "s, least", s_at(_beyond / 2), "Of its interval.")
    add("s_high", "s, most", s_at(1 - _beyond / 2), "Of its interval.")
    add("deviation", "mean against the label", (f["mean"] / c.promised - 1) * 100, "Of the label's value.", 1, "%")
    add("s_share", "s, share of the mean", 100 * s / f["mean"], "In percent.", 2, "%")
    add("least", "least", (n > 0).where(c.value.smallest(), BLANK), "Measured.", c.shown)
    add("most", "most", (n > 0).where(c.value.largest(), BLANK), "Measured.", c.shown)


def _index(c: Characteristic, f: dict[str, Named], low: Named, high: Named) -> None:
    """Add Cp and Cpk with their intervals, from `LEAST_FOR_INDEX` motors on."""

    def add(
        name: str,
        label: str,
        node: Node,
        meaning: str,
        symbol: str = "",
        source: Source = CAPABILITY,
        equation: str = "",
    ) -> None:
        f[name] = figure(f"{c.name}_{name}", f"{c.label}: {label}", node, meaning, "", 2, symbol, source, equation)

    n, mean, s = f["count"], f["mean"], f["s"]
    enough = (n >= float(LEAST_FOR_INDEX)) & (s > 0)
    add("cp", "Cp", enough.where((high - low) / (6 * s), BLANK), "Blank where a limit is missing.", "Cp")
    room = lesser((mean - low).otherwise(FAR), (high - mean).otherwise(FAR))
    add(
        "cpk",
        "Cpk",
        enough.where((room < FAR / 2).where(room / (3 * s), BLANK), BLANK),
        "To the nearer limit, or the only one.",
        "Cpk",
        equation="the lesser of (USL − x̄) and (x̄ − LSL), over 3·s",
    )
    freedom = n - 1
    for name, beyond in (("cp_low", 1 - _beyond / 2), ("cp_high", _beyond / 2)):
        factor = (call("chi-square quantile", beyond, freedom) / freedom).sqrt()
        add(name, f"Cp, {'least' if name == 'cp_low' else 'most'}", f["cp"] * factor, "Of its interval.")
    width = z * (1 / (9 * n) + f["cpk"] ** 2 / (2 * freedom)).sqrt()
    add("cpk_width", "Cpk, ±", width, "Of its interval.", source=BISSELL)
    add("cpk_low", "Cpk, least", f["cpk"] - f["cpk_width"], "Of its interval.", source=BISSELL)
    add("cpk_high", "Cpk, most", f["cpk"] + f["cpk_width"], "Of its interval.", source=BISSELL)


def _how_many(c: Characteristic, f: dict[str, Named]) -> None:
    base = c.promised.otherwise(f["mean"])
    width = b.wanted_mean_width / 100 * base
    f["for_mean"] = figure(
        f"{c.name}_for_mean",
        f"{c.label}: motors for the wanted ± of the mean",
        (f["s"] > 0).where(_enough_for(c, width, f["s"]), BLANK),
        "Were the spread the one found here.",
        "",
        0,
        "",
        SPREAD,
    )
    goal = (b.wanted_index_width / z) ** 2
    half = f["cpk"] ** 2 / 2
    total = goal + 1 / 9 + half
    f["for_index"] = figure(
        f"{c.name}_for_index",
        f"{c.label}: motors for the wanted ± of Cpk",
        ceiling((total + (total**2 - 4 * goal / 9).sqrt()) / (2 * goal)),
        "Were Cpk the one found here.",
        "",
        0,
        "",
        BISSELL,
    )


def _chart(c: Characteristic, f: dict[str, Named], low: Named, high: Named) -> tuple[Column, Column, Column, Column]:
    """Add the run: each value, how far it moved from the one before, and whether it is outside of any limit."""
    value = RUN.column(f"run_{c.name}", c.label, c.unit, decimals=c.shown).derive(c.value.at(run_row), "As measured.")
    moved = RUN.column(f"run_{c.name}_moved", f"{c.label}, moved", c.unit, decimals=c.shown).derive(
        call("absolute", value - value.at(run_place - 1)),
        "From the motor tested just before; blank where either was not measured.",
        INDIVIDUALS,
    )
    _run_limits(c, f, moved)
    outside = _out(c, "outside", "outside the label's limits", value, low, high)
    apart = _out(c, "apart", "outside the chart's limits", value, f["chart_low"], f["chart_high"])
    jumped = (moved > f["moved_high"]).where(1.0, 0.0).otherwise(0.0)
    beyond = RUN.helper(f"run_{c.name}_beyond", f"{c.label}, beyond chance").derive(
        ((apart + jumped) > 0).where(1.0, 0.0), "Outside the chart's limits, or moved too far.", INDIVIDUALS
    )
    for name, words, column in (
        ("outside", "outside the label's limits", outside),
        ("beyond", "beyond chance", beyond),
    ):
        counted, label = run_place.count(Condition(column, "=", Constant(1.0))), f"{c.label}: motors {words}"
        f[name] = figure(f"{c.name}_{name}", label, counted, "How many.", "", 0, "", definition())
    return value, moved, outside, beyond


def _run_limits(c: Characteristic, f: dict[str, Named], moved: Column) -> None:
    """Add the limits of the run chart, of values and of moving ranges."""
    more = c.shown + 1
    f["moved"] = figure(
        f"{c.name}_moved", f"{c.label}: mean moving range", moved.mean(), "MR.", c.unit, more, "MR̄", INDIVIDUALS
    )
    reach = 3 / D2 * f["moved"]
    for name, word, node in (
        ("chart_low", "lower", f["mean"] - reach),
        ("chart_high", "upper", f["mean"] + reach),
        ("moved_high", "upper, of the range", D4 * f["moved"]),
    ):
        label = f"{c.label}: {word} limit of the run chart"
        f[name] = figure(f"{c.name}_{name}", label, node, "Of chance alone.", c.unit, more, "", INDIVIDUALS)


def _out(c: Characteristic, name: str, words: str, value: Column, lowest: Node, highest: Node) -> Column:
    below, above = (value < lowest).where(1.0, 0.0).otherwise(0.0), (value > highest).where(1.0, 0.0).otherwise(0.0)
    return RUN.helper(f"run_{c.name}_{name}", f"{c.label}, {words}").derive(
        value.present().where(below + above, 0.0), "1 where it is."
    )


def _verdict(f: dict[str, Named]) -> Node:
    told = (f["cpk_low"] >= b.wanted_index).where(CAPABLE, (f["cpk_high"] < b.wanted_index).where(NOT_CAPABLE, OPEN))
    return told.otherwise(OPEN)


def _why(f: dict[str, Named], low: Named, high: Named) -> Node:
    n = f["count"]
    motors = join(n.fixed(0), (n > 1).where(" motors", " motor"))
    no_limit = (low.present() | high.present()).equals(0)
    cpk = f["cpk"], f["cpk_low"], f["cpk_high"]
    between = say("Cpk {:.2f}, between {:.2f} and {:.2f} ({:.0f} %), wanted {:.2f}", *cpk, b.confidence, b.wanted_index)
    more = (
        (f["cpk_width"] > b.wanted_index_width)
        .where(join("; ", f["for_index"].fixed(0), " motors would bring its ± to ", b.wanted_index_width.fixed(2)), "")
        .otherwise("")
    )
    few = (n < float(FEW)).where(join("; too few to see whether they scatter normally"), "")
    apart = (f["beyond"] > 0).where(
        join("; first find out why ", f["beyond"].fixed(0), " lie beyond the run chart's limits"), ""
    )
    judged = join(between, more, few, apart)
    short = join(motors, (n > 1).where(": a spread, but no index below 3 motors", ": no spread from one motor"))
    alike = join(motors, ", all alike: the readings are too coarse to show a spread")
    return (n > 0).where(
        no_limit.where(
            join(motors, ": no label value or allowance on the sheet Label, so nothing to judge by"),
            (n < float(LEAST_FOR_INDEX)).where(short, (f["s"] > 0).where(judged, alike)),
        ),
        "not measured",
    )


def _outcome(c: Characteristic) -> Outcome:
    f: dict[str, Named] = {}
    low, high = _limits(c)
    _spread(c, f)
    f |= {"low": low, "high": high}
    _index(c, f, low, high)
    _how_many(c, f)
    columns = _chart(c, f, low, high)
    stands = (f["count"] > 0).where(_verdict(f), "")
    f["verdict"] = figure(
        f"{c.name}_verdict", f"{c.label}: how it stands", stands, "By all of Cpk's interval.", source=CAPABILITY
    )
    f["why"] = figure(f"{c.name}_why", f"{c.label}: why", _why(f, low, high), "In words.", source=CAPABILITY)
    return Outcome(c, *columns, f)


OUTCOMES = tuple(_outcome(c) for c in CHARACTERISTICS)
motors = figure("batch_motors", "Motors", b.serial.count(), "In the box.", "", 0, "", definition())
within = figure(
    "batch_out",
    "Motors outside a limit of the label",
    run_place.count(
        Condition(
            RUN.helper("run_out", "Limits passed").derive(
                sum((o.outside for o in OUTCOMES[1:]), start=OUTCOMES[0].outside + 0.0),
                "How many of the label's limits.",
            ),
            ">",
            Constant(0.0),
        )
    ),
    "Of all measured.",
    "",
    0,
    "",
    definition(),
)
headline = figure(
    "batch_headline",
    "In one line",
    say("{:.0f}{}: {:.0f} outside a limit of the label", motors, motors.equals(1).where(" motor", " motors"), within),
    "What was counted.",
    source=definition(),
)
