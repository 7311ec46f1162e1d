"""A box of motors of one model: what its label promises, what each serial measured, and what the box comes to.

The spread is the standard deviation over all motors of the box, so the index says how the box stands, whatever its
order; the limits of the run chart come from the ranges between neighbours in time.
"""

from collections.abc import Callable

from xlsengine.bench.declaring.declare import Figures, Form, Table
from xlsengine.bench.inputs.typed import cells_of, filled
from xlsengine.bench.propagation.terms import INFINITE
from xlsengine.expression import Column, Condition, Constant, Named, Node, call, first_holding, flag, join, lesser, say
from xlsengine.sources import Source, Standing, definition

BATCH = filled(Form("Batch", "Which motors these are, what their label promises, and how sure the answers have to be."))
SERIALS = filled(Table("Serials", "One row a motor, in any order; what was not measured stays blank.", spare=20))
__getattr__: Callable[[str], Named] = cells_of(BATCH)
serial, tested, note = map(SERIALS.typed, ("serial", "tested", "batch_note"))
_confidence, _wanted_index = map(BATCH.typed, ("batch_confidence", "wanted_index"))
_wanted_mean_width, _wanted_index_width = map(BATCH.typed, ("wanted_mean_width", "wanted_index_width"))

LEAST_FOR_INDEX, FEW = 3.0, 30.0
"""Motors from which an index is given with its interval, and below which they are too few to see how they scatter."""
_TIE, _FAR, _TRIED = 1e-6, 1e12, 10
_D2, _D4 = 1.128, 3.267
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

# --- in the order of the tests -------------------------------------------------------------------------------------

_serial_row = SERIALS.numbered("serial_row", "Row")
_turn = SERIALS.helper("turn", "Turn", decimals=6).derive(
    serial.present().where(tested.otherwise(_serial_row) + _serial_row * _TIE)
)
RUN = Table("RunChart", "The motors in the order in which they were tested.", spare=SERIALS.spare, per=(_turn,))
run_place = RUN.numbered("run_place")
_run_row = RUN.helper("run_row", "Row of Serials").derive(_turn.position(_turn.smallest(run_place)))
run_serial = RUN.column("run_serial", "Serial").derive(serial.at(_run_row))
RUN.column("run_turn", "Tested as").derive(run_serial.present().where(run_place), "From 1.")

# --- what is measured of every motor -------------------------------------------------------------------------------

CAPABLE, NOT_CAPABLE, OPEN = "capable", "not capable", "cannot be told"
BATCH_FIGURES = Figures("Batch figures", "What the box comes to.", source=SPREAD)
_beyond = 1 - _confidence / 100
_z = BATCH_FIGURES.figure("batch_z", "Normal quantile", symbol="z", decimals=3).derive(
    call("t quantile", _beyond, INFINITE), "At the level of confidence."
)


def _ceiling(node: Node) -> Node:
    """Return the next whole number that is not below a positive number, a rounding error allowed for."""
    return (node - 1e-7).whole_part() + 1


class Outcome:
    """What one characteristic comes to: its figures by name, and its columns of the run chart."""

    def __init__(self, name: str) -> None:
        declared = SERIALS.fields[name]
        self.name, self.label, self.unit, self.shown = name, declared.label, declared.unit, declared.decimals
        self.figures: dict[str, Named] = {}
        self._read = SERIALS.typed(name)
        self._promised, below, above = (BATCH.typed(f"{name}_{part}") for part in ("promised", "below", "above"))
        self._low, self._high = (
            self._add(end, words, self._promised * share, "By the label.", definition(), more=0, symbol=symbol)
            for end, words, share, symbol in (
                ("low", "least allowed", 1 - below / 100, "LSL"),
                ("high", "most allowed", 1 + above / 100, "USL"),
            )
        )
        self._spread()
        self._index()
        self._how_many()
        self._chart()
        self._verdict()

    def _add(
        self,
        name: str,
        words: str,
        node: Node,
        said: str = "",
        source: Source = SPREAD,
        *,
        more: int | None = None,
        shown: int = 2,
        unit: str = "",
        symbol: str = "",
        equation: str = "",
    ) -> Named:
        """Add a figure; one with `more` is in the unit of a reading, with so many decimals more than that has."""
        unit, shown = (unit, shown) if more is None else (self.unit, self.shown + more)
        heading = BATCH_FIGURES.figure(f"{self.name}_{name}", f"{self.label}: {words}", unit, symbol, shown)
        figure = self.figures[name] = heading.derive(node, said, source, equation)
        return figure

    def _spread(self) -> None:
        """Add number, mean and standard deviation with their intervals."""
        read, of_all, of_interval = self._read, "Of all that were measured.", "Of its interval."
        n = self.n = self._add("count", "motors", read.count(), "That were measured.", shown=0, symbol="n")
        self._mean = self._add("mean", "mean", (n > 0).where(read.mean()), of_all, more=1, symbol="x̄")
        s = self._s = self._add("s", "standard deviation", read.deviation(), of_all, more=1, symbol="s")
        width = call("t quantile", _beyond, n - 1) * s / n.sqrt()
        self._add("mean_width", "mean, ±", width, of_interval, more=1)
        for name, word, beyond in (("s_low", "least", _beyond / 2), ("s_high", "most", 1 - _beyond / 2)):
            at = s * ((n - 1) / call("chi-square quantile", beyond, n - 1)).sqrt()
            self._add(name, f"s, {word}", at, of_interval, more=1)
        off, share = (self._mean / self._promised - 1) * 100, 100 * s / self._mean
        self._add("deviation", "mean against the label", off, "Of the label's value.", unit="%", shown=1)
        self._add("s_share", "s, share of the mean", share, "In percent.", unit="%")
        for name, end in (("least", read.smallest()), ("most", read.largest())):
            self._add(name, name, (n > 0).where(end), "Measured.", more=0)

    def _index(self) -> None:
        """Add Cp and Cpk with their intervals, from `LEAST_FOR_INDEX` motors on."""
        n, s, of_interval = self.n, self._s, "Of its interval."
        enough = (n >= LEAST_FOR_INDEX) & (s > 0)
        index = enough.where((self._high - self._low) / (6 * s))
        cp = self._add("cp", "Cp", index, "Blank where a limit is missing.", CAPABILITY, symbol="Cp")
        room = lesser((self._mean - self._low).otherwise(_FAR), (self._high - self._mean).otherwise(_FAR))
        self._cpk = self._add(
            "cpk",
            "Cpk",
            enough.where((room < _FAR / 2).where(room / (3 * s))),
            "To the nearer limit, or the only one.",
            CAPABILITY,
            symbol="Cpk",
            equation="the lesser of (USL − x̄) and (x̄ − LSL), over 3·s",
        )
        for name, word, beyond in (("cp_low", "least", 1 - _beyond / 2), ("cp_high", "most", _beyond / 2)):
            factor = (call("chi-square quantile", beyond, n - 1) / (n - 1)).sqrt()
            self._add(name, f"Cp, {word}", cp * factor, of_interval, CAPABILITY)
        off = _z * (1 / (9 * n) + self._cpk**2 / (2 * (n - 1))).sqrt()
        width = self._width = self._add("cpk_width", "Cpk, ±", off, of_interval, BISSELL)
        self._cpk_low = self._add("cpk_low", "Cpk, least", self._cpk - width, of_interval, BISSELL)
        self._cpk_high = self._add("cpk_high", "Cpk, most", self._cpk + width, of_interval, BISSELL)

    def _how_many(self) -> None:
        """Add how many motors would give the ± that are wanted."""
        width = _wanted_mean_width / 100 * self._promised.otherwise(self._mean)
        for_mean = (self._s > 0).where(self._enough_for(width))
        said = "motors for the wanted ± of the mean"
        self._add("for_mean", said, for_mean, "Were the spread the one found here.", shown=0)
        goal = (_wanted_index_width / _z) ** 2
        total = goal + 1 / 9 + self._cpk**2 / 2
        needed = _ceiling((total + (total**2 - 4 * goal / 9).sqrt()) / (2 * goal))
        said = "motors for the wanted ± of Cpk"
        self._for_index = self._add("for_index", said, needed, "Were Cpk the one found here.", BISSELL, shown=0)

    def _enough_for(self, width: Node) -> Node:
        """Return how many motors bring t·s/√n down to a width: from the normal quantile on, some are tried."""
        goal = self._add("goal", "wanted ± of the mean", width, more=1)
        first = _ceiling((_z * self._s / goal) ** 2)
        least = self._add("tried_from", "motors tried from", (first < 2).where(2.0, first), shown=0)
        found: Node = least
        for more in range(_TRIED):
            n = least + float(more)
            found = found + flag(call("t quantile", _beyond, n - 1) * self._s / n.sqrt() > goal)
        return found

    def _run(self, name: str, words: str, node: Node, said: str = "", helper: bool = True) -> Column:
        """Add a column of the run chart; those that readers see are in the unit of a reading."""
        unit, shown = ("", None) if helper else (self.unit, self.shown)
        heading = RUN.column(f"run_{self.name}{name}", f"{self.label}{words}", unit, "", shown, helper)
        return heading.derive(node, said, definition() if helper or not name else INDIVIDUALS)

    def _chart(self) -> None:
        """Add the run: each value, how far it moved from the one before, and whether it is outside of any limit."""
        value = self.value = self._run("", "", self._read.at(_run_row), "As measured.", helper=False)
        moved = self.moved = self._run(
            "_moved",
            ", moved",
            call("absolute", value - value.at(run_place - 1)),
            "From the motor tested just before; blank where either was not measured.",
            helper=False,
        )
        mean_moved = self._add("moved", "mean moving range", moved.mean(), "MR.", INDIVIDUALS, more=1, symbol="MR̄")
        reach = 3 / _D2 * mean_moved
        low, high, most_moved = (
            self._add(name, f"{word} limit of the run chart", node, "Of chance alone.", INDIVIDUALS, more=1)
            for name, word, node in (
                ("chart_low", "lower", self._mean - reach),
                ("chart_high", "upper", self._mean + reach),
                ("moved_high", "upper, of the range", _D4 * mean_moved),
            )
        )
        self.outside = self._out("outside", "outside the label's limits", self._low, self._high)
        apart = self._out("apart", "outside the chart's limits", low, high)
        jumped = flag(moved > most_moved).otherwise(0.0)
        self.beyond = self._run("_beyond", ", beyond chance", flag((apart + jumped) > 0))
        for name, words, column in (
            ("outside", "outside the label's limits", self.outside),
            ("beyond", "beyond chance", self.beyond),
        ):
            counted = run_place.count(Condition(column, "=", Constant(1.0)))
            self._add(name, f"motors {words}", counted, "How many.", definition(), shown=0)

    def _out(self, name: str, words: str, lowest: Node, highest: Node) -> Column:
        below, above = (flag(beyond).otherwise(0.0) for beyond in (self.value < lowest, self.value > highest))
        return self._run(f"_{name}", f", {words}", self.value.present().where(below + above, 0.0))

    def _verdict(self) -> None:
        """Add how it stands, by all of Cpk's interval, and why in words."""
        capable = (self._cpk_low >= _wanted_index).where(
            CAPABLE, (self._cpk_high < _wanted_index).where(NOT_CAPABLE, OPEN)
        )
        verdict = (self.n > 0).where(capable.otherwise(OPEN), "")
        self._add("verdict", "how it stands", verdict)
        self._add("why", "why", self._why())

    def _why(self) -> Node:
        n, beyond = self.n, self.figures["beyond"]
        motors = join(n.fixed(0), (n > 1).where(" motors", " motor"))
        no_limit = (self._low.present() | self._high.present()).equals(0)
        more = say("; {:.0f} motors would bring its ± to {:.2f}", self._for_index, _wanted_index_width)
        judged = join(
            say(
                "Cpk {:.2f}, between {:.2f} and {:.2f} ({:.0f} %), wanted {:.2f}",
                *(self._cpk, self._cpk_low, self._cpk_high, _confidence, _wanted_index),
            ),
            (self._width > _wanted_index_width).where(more, "").otherwise(""),
            (n < FEW).where("; too few to see whether they scatter normally", ""),
            (beyond > 0).where(say("; first find out why {:.0f} lie beyond the run chart's limits", beyond), ""),
        )
        none = ": no label value or allowance on the sheet Label, so nothing to judge by"
        cases = (
            ((n > 0).equals(0), "not measured"),
            (no_limit, join(motors, none)),
            (n < 2, join(motors, ": no spread from one motor")),
            (n < LEAST_FOR_INDEX, join(motors, ": a spread, but no index below 3 motors")),
            (self._s > 0, judged),
        )
        return first_holding(cases, join(motors, ", all alike: the readings are too coarse to show a spread"))


OUTCOMES = tuple(map(Outcome, ("kv", "resistance", "no_load", "mass")))
motors = BATCH_FIGURES.figure("batch_motors", "Motors").derive(serial.count(), "In the box.", definition())
_limits_passed = RUN.helper("run_out", "Limits passed").derive(
    sum((o.outside for o in OUTCOMES[1:]), start=OUTCOMES[0].outside + 0.0)
)
_outside = BATCH_FIGURES.figure("batch_out", "Motors outside a limit of the label").derive(
    run_place.count(Condition(_limits_passed, ">", Constant(0.0))), "Of all measured.", definition()
)
headline = BATCH_FIGURES.figure("batch_headline", "In one line").derive(
    say("{:.0f}{}: {:.0f} outside a limit of the label", motors, motors.equals(1).where(" motor", " motors"), _outside)
)
