"""What “±” says in words: the quoted figures with theirs, and whether the two best groups can be told apart.

Groups of one bench share its instruments. So an error of the voltmeter moves both and hardly their ratio: what is
left to tell them apart by is mostly the scatter.
"""

from __future__ import annotations

from collections.abc import Callable

from xlsengine.bench import group_uncertainty as u
from xlsengine.bench import readings as r
from xlsengine.bench import repeatability as p
from xlsengine.bench.declare import Figures, Quantity
from xlsengine.bench.error_sources import Means, instruments
from xlsengine.bench.headline import HEADLINE_LIST
from xlsengine.bench.uncertainty import effective_freedom, expanded, standard_uncertainty, sum_of_squares
from xlsengine.expression import BLANK, Aggregate, Column, Constant, Named, Node, join
from xlsengine.sources import GUM_FREEDOM, GUM_PROPAGATION, Source, definition

SURE_HEADLINES = Figures("Certainty of the headlines", "What “±” says of the quoted figures.")
_UNUSED = Named("not_of_the_figure")


def _figure(
    name: str, label: str, unit: str, shown: int, expression: Node, meaning: str, source: Source = GUM_FREEDOM,
    equation: str = "",
) -> Named:  # fmt: skip
    return SURE_HEADLINES.derive(Quantity(name, label, expression, meaning, source, "", unit, shown, equation=equation))


_BEHIND: tuple[Column, ...] = (
    u.SURE["thrust"].expanded, u.static_current_expanded, u.at_thrust_expanded, u.SURE["thrust per power"].expanded,
    u.thrust_to_mass_expanded,
)  # fmt: skip
HEADLINE_EXPANDED: dict[str, Named] = {
    headline.value.name: _figure(
        f"{headline.value.name}_expanded", f"{headline.value.name.replace('_', ' ').capitalize()}, ±", headline.unit,
        headline.shown, Aggregate("at", (column,), (), Named(f"{headline.value.name}_row")),
        "Expanded uncertainty of the row that it was seen in.",
    )
    for headline, column in zip(HEADLINE_LIST, _BEHIND, strict=True)
}  # fmt: skip


def _ranked(name: str, value: Column) -> tuple[tuple[Named, Column], ...]:
    """Return the row of the best and of the next on the same cell count, each with the column that it is largest in."""

    def row(place: int, among: Column) -> Named:
        largest = Aggregate("largest", (among,), (), Constant(1.0))
        return _figure(
            f"{name}_row_{place}", f"By {name}, place {place}: row", "", 0,
            Aggregate("position", (among,), (), largest), "In Uncertainties.", definition(),
        )  # fmt: skip

    best = row(1, value)
    same_cells = u.cells.equals(Aggregate("at", (u.cells,), (), best)).where(value, BLANK)
    rivals = u.GROUP_UNCERTAINTY.derive(
        Quantity(f"{name}_rivals", f"By {name}: rivals of the best", u.row.equals(best).where(BLANK, same_cells),
                 "On the same cell count; blank elsewhere.", definition(), helper=True)
    )  # fmt: skip
    return (best, value), (row(2, rivals), rivals)


def _group(name: str, place: int, row: Named, value: Column) -> tuple[Means, Node, dict[str, Named]]:
    """Fetch the group that is number `place` in a figure: its means, its relative scatter, and what it is called by."""

    def fetch(part: str, column: Column) -> Named:
        said = u.GROUP_UNCERTAINTY.quantities[column.name]
        expression = Aggregate("text at" if column.text else "at", (column,), (), row)
        return _figure(
            f"{name}_{part}_{place}", f"By {name}, place {place}: {said.label}", said.unit, said.shown, expression,
            "As in the table.", definition(),
        )  # fmt: skip

    thrust, voltage, current, count = (
        fetch(part, getattr(u.MEANS, part)) for part in ("thrust", "voltage", "current", "count")
    )
    means = Means(thrust, voltage, current, _UNUSED, _UNUSED, _UNUSED, _UNUSED, _UNUSED, _UNUSED, count)
    sure = next(each for each in u.SURE.values() if each.value == value)
    scatter = fetch("scatter", sure.scatter) / fetch("value", value)
    return means, scatter, {part: fetch(part, getattr(u, part)) for part in ("prop", "cells", "point")}


def _called(this: dict[str, Named], other: dict[str, Named]) -> Node:
    """Name a propeller, and the kind of its readings where the other's are of another kind."""
    kind = this["point"].equals(r.AT_PEAK).where(" (peak)", " (steady)")
    return join(this["prop"], this["point"].equals(other["point"]).where("", kind))


def _told_apart(name: str, title: str, value: Column, of: Callable[[Means], Node]) -> Named:
    (best, _), (next_best, _) = _ranked(name, value)
    first, scatter, this = _group(name, 1, best, value)
    second, other_scatter, other = _group(name, 2, next_best, value)
    ratio = of(first) / of(second)
    lead = _figure(
        f"{name}_lead", f"By {name}: lead of the best", "%", 1, (ratio - 1) * 100,
        "Over the next on the same cell count.", definition(),
    )  # fmt: skip
    both = _figure(
        f"{name}_lead_scatter", f"By {name}: scatter of the lead", "%", 2,
        sum_of_squares([scatter, other_scatter]).sqrt() * 100, "Of both groups.", GUM_PROPAGATION,
    )  # fmt: skip
    combined = _figure(
        f"{name}_lead_u", f"By {name}: standard uncertainty of the lead", "%", 2,
        standard_uncertainty(ratio * 100, instruments(first, second), both), "Errors that both share drop out.",
        GUM_PROPAGATION, "√(Σ (c·u(x))² + scatter²), c being the derivatives of the ratio",
    )  # fmt: skip
    margin = _figure(
        f"{name}_lead_expanded", f"By {name}: lead, ±", "%", 1,
        expanded(combined, effective_freedom(combined, [(both, p.scatter_freedom)])), "Expanded uncertainty.",
    )  # fmt: skip
    where = join(title, " on ", this["cells"].fixed(0), "S: ", _called(this, other))
    real = join(where, ", ", lead.fixed(1), " % above the next, ", _called(other, this),
                "; the difference is real (uncertainty ±", margin.fixed(1), " %).")  # fmt: skip
    tie = join(
        where, " and ", _called(other, this), ", a tie: ", lead.fixed(1), " % is within ±", margin.fixed(1), " %."
    )
    alone = join(title, " on ", this["cells"].fixed(0), "S: ", this["prop"], ", with no other to compare with.")
    return _figure(
        f"{name}_apart", f"By {name}: the two best",
        "", 0, (lead > margin).where(real, tie).otherwise(alone.otherwise(f"{title}: nothing to compare.")),
        "They differ only beyond the expanded uncertainty of their ratio; both are on the same cell count.",
    )  # fmt: skip


def _thrust(means: Means) -> Node:
    return means.figures()["thrust"]


def _per_power(means: Means) -> Node:
    return means.figures()["thrust per power"]


thrust_apart = _told_apart("thrust", "Highest thrust", u.SURE["thrust"].value, _thrust)
efficiency_apart = _told_apart("efficiency", "Best g/W at full throttle", u.SURE["thrust per power"].value, _per_power)
sure_statement = SURE_HEADLINES.derive(
    Quantity(
        "sure_statement", "The two best", join(thrust_apart, " ", efficiency_apart), "Both sentences.", definition()
    )
)
