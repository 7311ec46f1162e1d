"""The figures people quote, each with where it was seen and what flagged rows and those left out do to it."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.declaring.spoken import in_thousands
from xlsengine.bench.groups import summary as g
from xlsengine.bench.groups.by_propeller import rowless
from xlsengine.bench.inputs import motor as m
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.judging.round_thrusts import compared_thrust
from xlsengine.expression import Column, Constant, Named, Node, call, flag, join, say
from xlsengine.sources import definition

HEADLINES = Figures(
    "Headlines",
    "The figures people quote; a figure that a flagged reading decides says so.",
    source=definition("largest over the summary"),
)


ABSURD = 2.0
"""Times the figure from which on nobody takes what a reading that is left out would make of it for true."""
AS_QUOTED = {"g/g": ": 1"}
"""Thrust to weight is quoted as a ratio, 60 : 1."""


@dataclass(frozen=True)
class Headline:
    """One quoted figure: its value, where it was seen, and what it would be over other rows, with the note on that.

    `row` is the row of Summary that it was seen in, `clean` the value without flagged readings.
    """

    label: Node
    unit: str
    shown: int
    value: Named
    place: Named
    clean: Named
    row: Named
    note: Named

    @property
    def shown_value(self) -> Node:
        """The value with its unit, as it is quoted; says where nothing was measured."""
        return _quoted(self.value, self.unit, self.shown).otherwise("not measured")


def _quoted(figure: Named, unit: str, decimals: int) -> Node:
    """Write a figure with its unit; grams of a small motor with a tenth."""
    whole = (figure < 99.5).where(figure.fixed(1), in_thousands(figure))
    return join(whole if decimals == 0 else figure.fixed(decimals), f" {AS_QUOTED.get(unit, unit)}")


def _how_many_reach(column: Column) -> Node:
    """Say of how many propellers and cell counts the figure is the best: the others were not read near enough."""
    reach, every = (each.count() for each in (column, g.first_row))
    said = say("Best of the {:.0f} (of {:.0f}) propellers and cell counts read near it.", reach, every)
    return (reach < every).where(said, "")


def _kind(row: Named) -> Node:
    return say(", {}", g.spoken_kind(row))


def _headline(
    name: str,
    title: tuple[str, str, int],
    column: Column,
    part: str,
    seen: Callable[[Named], Node] = _kind,
    label: Node | None = None,
    near: Node | None = None,
) -> Headline:
    """Declare a headline by label, unit and decimals; `seen` says more of the row that it is from, `near` of the others."""
    words, unit, decimals = title
    heading = HEADLINES.figure(f"best_{name}", words, unit, decimals=decimals)

    def derive(part: str, more: str, expression: Node, unit: str = "") -> Named:
        one = replace(heading, name=f"{heading.name}_{part}", label=f"{words}, {more}", unit=unit, helper=True)
        return one.derive(expression, words)

    value = heading.derive(column.largest())
    row = derive("row", "summary row", column.position(value))
    place = derive("place", "seen with", row.present().where(join(g.label.at(row), seen(row)), ""))
    without = derive("clean", "without flagged readings", g.clean[part], unit)
    whole = derive("all", "with readings left out", g.everything[part], unit)
    said = _what_rows_do(value, without, whole, g.of_everything(part, whole), unit, decimals)
    beside = join("") if near is None else near
    note = derive("note", "note", call("trim", say("{} {}", said, row.present().where(beside, ""))))
    return Headline(Constant(words) if label is None else label, unit, decimals, value, place, without, row, note)


def _what_rows_do(value: Named, without: Named, whole: Named, whose: Node, unit: str, decimals: int) -> Node:
    """Say what a flagged row that counts decides, and what a row left out would make of the figure, and of `whose`."""

    def same(other: Named) -> Node:
        both = flag(value.equals(other)).otherwise(0.0)
        return value.present().where(both, other.present().where(0.0, 1.0))

    left = _quoted(without, unit, decimals).otherwise("nothing is left")
    decided = same(without).equals(1).where("", say("A doubtful reading decides this; without it {}.", left))
    told = flag(whole > value.otherwise(0.0)) - flag(whole > ABSURD * value).otherwise(0.0)
    changed = told.equals(1).where(say("Counting what is left out: {}, {}.", _quoted(whole, unit, decimals), whose), "")
    return (rowless > 0).where("", say("{} {}", decided, changed.otherwise("")))


def _peak_beside(row: Named) -> Node:
    """Name the peak's thrust where it is more than the steady one that is quoted."""
    peak = g.peak["thrust"].at(row)
    return (peak > g.full["thrust"].at(row)).where(say(" (peak {} g)", in_thousands(peak)), "").otherwise("")


def _kind_of_highest(row: Named) -> Node:
    is_peak = g.peak["top_current"].at(row).equals(g.static_current.at(row))
    peak = g.kind_unsaid.where(", peak or steady", f", {r.PEAK}")
    return is_peak.where(peak, f", {r.STEADY}").otherwise(f", {r.STEADY}")


_MASS_IS = (m.trimmed_mass_measured.present() | m.lead_mass_removed.present()).where("trimmed", "as supplied")
_AT_THRUST = compared_thrust.present().where(say("{} g", in_thousands(compared_thrust)), "equal thrust")
HEADLINE_LIST: tuple[Headline, ...] = (
    _headline(
        *("thrust", ("Highest static thrust", "g", 0), g.full["thrust"], "full_thrust"),
        seen=lambda row: join(_kind(row), _peak_beside(row)),
    ),
    _headline(
        *("current", ("Highest static current", "A", 1), g.static_current, "static_current"), seen=_kind_of_highest
    ),
    _headline(
        *("efficiency_at_thrust", ("Best efficiency at the headline thrust", "g/W", 2)),
        *(g.headline_efficiency, "headline_efficiency"),
        seen=lambda _: join(""),
        label=say("Best efficiency at {}", _AT_THRUST),
        near=_how_many_reach(g.headline_efficiency),
    ),
    _headline(
        *("efficiency_full", ("Best efficiency at full throttle", "g/W", 2)),
        *(g.full["grams_per_watt"], "full_efficiency"),
    ),
    _headline(
        *("thrust_to_mass", ("Highest thrust to motor weight", "g/g", 1)),
        *(g.full_thrust_to_mass, "full_thrust_to_mass"),
        seen=lambda row: join(_kind(row), say("; {:.1f} g {}", m.trimmed_mass, _MASS_IS)),
    ),
)

HEADLINES.keep(*(headline.value for headline in HEADLINE_LIST))
