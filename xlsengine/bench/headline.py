"""The figures people quote, each with where it was seen and what flagged rows and those left out do to it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from xlsengine.bench import summary as g
from xlsengine.bench.declare import Figures, Quantity
from xlsengine.bench.round_thrusts import compared_thrust
from xlsengine.expression import Aggregate, Column, Constant, Named, Node, call, flag, join
from xlsengine.sources import definition

HEADLINES = Figures("Headlines", "The figures people quote; a figure that a flagged row decides says so.")
_source = definition("largest over the summary")


@dataclass(frozen=True)
class Headline:
    """One quoted figure: its value, where it was seen, and what it would be over other rows, with the note on that.

    `clean` is the value without flagged rows, `whole` the one with those that are left out.
    """

    label: Node
    unit: str
    shown: int
    value: Named
    place: Named
    clean: Named
    whole: Named
    note: Named

    @property
    def shown_value(self) -> Node:
        """The value with its unit, as it is quoted; says where nothing was measured."""
        return join(self.value.fixed(self.shown), f" {self.unit}").otherwise("not measured")


def _largest(column: Column) -> Node:
    return Aggregate("largest", (column,), (), Constant(1.0))


def _how_many_reach(column: Column) -> Node:
    """Say of how many propellers and cell counts the figure is the best: the others were not read near enough."""
    reach, every = (Aggregate("count", (each,)) for each in (column, g.first_row))
    said = join("Best of the ", reach.fixed(0), " (of ", every.fixed(0), ") propellers and cell counts read near it.")
    return (reach < every).where(said, "")


def _headline(
    name: str, label: Node | str, unit: str, shown: int, column: Column, part: str, place_label: Column,
    at_thrust: bool = False,
) -> Headline:  # fmt: skip
    title = label if isinstance(label, str) else SUMMARY_LABELS[name]

    def derive(part: str, words: str, expression: Node, unit: str = "") -> Named:
        return HEADLINES.derive(
            Quantity(f"{name}{part}", f"{title}{words}", expression, title, _source, "", unit, shown)
        )

    value = derive("", "", _largest(column), unit)
    row = derive("_row", ", summary row", Aggregate("position", (column,), (), value))
    place = derive("_place", ", seen with", Aggregate("text at", (place_label,), (), row))
    without = derive("_clean", ", without flagged rows", _largest(getattr(g.clean, part)), unit)
    whole = derive("_all", ", with rows left out", _largest(getattr(g.everything, part)), unit)
    near = _how_many_reach(column) if at_thrust else join("")
    said = _what_rows_do(value, without, whole, lambda figure: join(figure.fixed(shown), f" {unit}"))
    note = derive("_note", ", note", call("trim", join(said, " ", row.present().where(near, ""))))
    node = Constant(label) if isinstance(label, str) else label
    return Headline(node, unit, shown, value, place, without, whole, note)


def _what_rows_do(value: Named, without: Named, whole: Named, written: Callable[[Named], Node]) -> Node:
    """Say what a flagged row that counts decides, and what a row left out would make of the figure."""

    def same(other: Named) -> Node:
        both = flag(value.equals(other)).otherwise(0.0)
        return value.present().where(both, other.present().where(0.0, 1.0))

    left = written(without).otherwise("nothing is left")
    decided = same(without).equals(1).where("", join("A doubtful reading decides this; without it ", left, "."))
    changed = same(whole).equals(1).where("", join("With what is left out it would be ", written(whole), "."))
    return join(decided, " ", changed.otherwise(""))


SUMMARY_LABELS = {"best_efficiency_at_thrust": "Best thrust per power at the headline thrust"}

HEADLINE_LIST: tuple[Headline, ...] = (
    _headline("best_thrust", "Highest static thrust", "g", 0, g.full["thrust"], "full_thrust", g.full_label),
    _headline("best_current", "Highest static current", "A", 1, g.static_current, "static_current", g.label),
    _headline(
        "best_efficiency_at_thrust", join(
            "Best thrust per power at ", compared_thrust.present().where(join(compared_thrust.fixed(0), " g"), "equal thrust")
        ), "g/W", 2,
        g.headline_efficiency, "headline_efficiency", g.label, at_thrust=True,
    ),
    _headline(
        "best_efficiency_full", "Best thrust per power, full throttle", "g/W", 2, g.full["grams_per_watt"],
        "full_efficiency", g.full_label,
    ),
    _headline(
        "best_thrust_to_mass", "Highest thrust per motor mass", "g/g", 1, g.full_thrust_to_mass,
        "full_thrust_to_mass", g.full_label,
    ),
)  # fmt: skip

HEADLINES.keep(*(headline.value for headline in HEADLINE_LIST))
