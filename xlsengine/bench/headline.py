"""The figures people quote, each with where it was seen and what it would be without flagged rows."""

from __future__ import annotations

from dataclasses import dataclass

from xlsengine.bench import summary as g
from xlsengine.bench.declare import Figures, Quantity
from xlsengine.bench.settings import headline_thrust
from xlsengine.expression import Aggregate, Column, Constant, Named, Node, call, flag, join
from xlsengine.sources import definition

HEADLINES = Figures("Headlines", "The figures people quote; a figure that a flagged row decides says so.")
_source = definition("largest over the summary")


@dataclass(frozen=True)
class Headline:
    """One quoted figure: its value, where it was seen, the value without flagged rows, and the note on that."""

    label: Node
    unit: str
    shown: int
    value: Named
    place: Named
    clean: Named
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
    return join(reach.fixed(0), " of ", every.fixed(0), " combinations have readings near it.")


def _headline(
    name: str, label: Node | str, unit: str, shown: int, column: Column, clean: Column, at_thrust: bool = False
) -> Headline:
    title = label if isinstance(label, str) else SUMMARY_LABELS[name]

    def derive(part: str, words: str, expression: Node, unit: str = "") -> Named:
        return HEADLINES.derive(
            Quantity(f"{name}{part}", f"{title}{words}", expression, title, _source, "", unit, shown)
        )

    value = derive("", "", _largest(column), unit)
    row = derive("_row", ", summary row", Aggregate("position", (column,), (), value))
    place = derive("_place", ", seen with", Aggregate("text at", (g.label,), (), row))
    without = derive("_clean", ", without flagged rows", _largest(clean), unit)
    left = join(without.fixed(shown), f" {unit}").otherwise("nothing is left")
    decided = join("A flagged row decides this; without it ", left, ".")
    same = flag(value.equals(without)).otherwise(0.0)
    said: Node = same.equals(1).where("", decided)
    if at_thrust:
        said = call("trim", join(said, " ", _how_many_reach(column)))
    note = derive("_note", ", note", row.present().where(said, ""))
    node = Constant(label) if isinstance(label, str) else label
    return Headline(node, unit, shown, value, place, without, note)


SUMMARY_LABELS = {"best_efficiency_at_thrust": "Best thrust per power at the headline thrust"}

HEADLINE_LIST: tuple[Headline, ...] = (
    _headline("best_thrust", "Highest static thrust", "g", 0, g.full_thrust, g.full_thrust_clean),
    _headline("best_current", "Highest static current", "A", 1, g.static_current, g.static_current_clean),
    _headline(
        "best_efficiency_at_thrust", join("Best thrust per power at ", headline_thrust.fixed(0), " g"), "g/W", 2,
        g.headline_efficiency, g.headline_efficiency_clean, at_thrust=True,
    ),
    _headline(
        "best_efficiency_full", "Best thrust per power, full throttle", "g/W", 2, g.steady["grams_per_watt"],
        g.steady_efficiency_clean,
    ),
    _headline(
        "best_thrust_to_mass", "Highest thrust to motor mass", "g/g", 1, g.full_thrust_to_mass,
        g.full_thrust_to_mass_clean,
    ),
)  # fmt: skip
