"""What “±” says in words: the quoted figures with theirs, and whether the two best groups can be told apart.

Groups of one bench share its instruments. So an error of the voltmeter moves both and hardly their ratio: what is
left to tell them apart by is mostly the scatter.
"""

from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.groups import repeatability as p
from xlsengine.bench.groups import summary as g
from xlsengine.bench.groups.headline import HEADLINE_LIST
from xlsengine.bench.propagation.terms import expanded_by, sum_of_squares
from xlsengine.bench.uncertainty import group_uncertainty as u
from xlsengine.expression import BLANK, Column, Condition, Named, Node, join, say
from xlsengine.sources import GUM_FREEDOM, GUM_PROPAGATION

SURE_HEADLINES = Figures("Certainty of the headlines", "What “±” says of the quoted figures.", source=GUM_FREEDOM)
current_share = SURE_HEADLINES.figure("current_share", "Current of one reading: ± over it", decimals=4).derive(
    u.CURRENT_SHARE
)


def _ranked(name: str, value: Column) -> tuple[Named, Named, Column]:
    """Return the rows of the best and of the next on the same cell count, and the column that the latter is largest in."""

    def row(place: int, among: Column) -> Named:
        largest = among.largest()
        return SURE_HEADLINES.figure(f"{name}_row_{place}", f"By {name}, place {place}: row").derive(
            among.position(largest)
        )

    best = row(1, value)
    same_cells = g.cells.equals(g.cells.at(best)).where(value)
    rivals = g.SUMMARY.helper(f"{name}_rivals", f"By {name}: rivals of the best", decimals=2).derive(
        g.summary_row.equals(best).where(BLANK, same_cells), "On the same cell count; blank elsewhere."
    )
    return best, row(2, rivals), rivals


def _fetched(name: str, place: int, row: Named) -> dict[str, Named]:
    """Fetch thrust, number of readings and names of the group that is number `place` in a figure."""

    def fetch(part: str, column: Column) -> Named:
        said = g.SUMMARY.quantities[column.name]
        heading = SURE_HEADLINES.figure(
            f"{name}_{part}_{place}", f"By {name}, place {place}: {said.label}", said.unit, decimals=said.shown
        )
        return heading.derive(column.at(row))

    parts = {
        "thrust": g.full["thrust"],
        "count": g.full["count"],
        "prop": g.prop,
        "cells": g.cells,
        "kind": g.full_kind,
    }
    return {part: fetch(part, column) for part, column in parts.items()}


def _called(this: dict[str, Named], other: dict[str, Named]) -> Node:
    """Name a propeller, and the kind of its readings where the other's are of another kind."""
    return join(this["prop"], this["kind"].equals(other["kind"]).where("", say(" ({})", this["kind"])))


def _more_within(name: str, best: Node, rivals: Column, within: Node) -> Node:
    """Say how many rivals beside the next lie as near to the best; nothing where none does."""
    least = best / (within / 100 + 1)
    more = SURE_HEADLINES.figure(f"{name}_more_within", f"By {name}: others within ± beside the next").derive(
        rivals.count(Condition(rivals, ">=", least)) - 1, "Whose own lead over it is within the ± of the two best."
    )
    told = more.equals(1).where(", and 1 more is within it", say(", and {:.0f} more are within it", more))
    return (more > 0).where(told, "")


def _lead_expanded(name: str, figure: str, ratio: Node, groups: tuple[dict[str, Named], dict[str, Named]]) -> Named:
    """Return the expanded uncertainty of the lead, in percent.

    Errors that are a share of every reading drop out of a ratio; that of the thrust stand is so many grams in both.
    """
    one, other = groups
    both = sum_of_squares([u.scatter_share(figure, group["count"]) for group in groups]).sqrt() * 100
    stand = 100 * ratio * (1 / one["thrust"] - 1 / other["thrust"]) * u.STAND
    combined = SURE_HEADLINES.figure(
        f"{name}_lead_u", f"By {name}: standard uncertainty of the lead", "%", decimals=2
    ).derive(
        sum_of_squares([stand, both]).sqrt(),
        "Scatter of both, and what the thrust stand's error adds.",
        GUM_PROPAGATION,
    )
    return SURE_HEADLINES.figure(f"{name}_lead_expanded", f"By {name}: lead, ±", "%").derive(
        expanded_by(combined, (both, p.scatter_freedom))
    )


def _told_apart(name: str, title: str, figure: str, value: Column) -> tuple[Named, dict[str, Named], Named]:
    """Say whether the two best can be told apart; return that with what was fetched of the best, and the ± of its lead."""
    best, next_best, rivals = _ranked(name, value)
    this, other = _fetched(name, 1, best), _fetched(name, 2, next_best)
    ratio = value.at(best) / value.at(next_best)
    lead = SURE_HEADLINES.figure(f"{name}_lead", f"By {name}: lead of the best", "%").derive((ratio - 1) * 100)
    within = _lead_expanded(name, figure, ratio, (this, other))
    where = say("{} on {:.0f}S: {}", title, this["cells"], _called(this, other))
    real = say(
        "{}, {:.1f} % above the next, {}; the difference is real (uncertainty ±{:.1f} %).",
        where,
        lead,
        _called(other, this),
        within,
    )
    tie = say("{} and {}, a tie: {:.1f} % is within ±{:.1f} %", where, _called(other, this), lead, within)
    alone = say("{} on {:.0f}S: {}, with no other to compare with.", title, this["cells"], this["prop"])
    told = (lead > within).where(real, join(tie, _more_within(name, value.largest(), rivals, within), "."))
    apart = SURE_HEADLINES.figure(f"{name}_apart", f"By {name}: the two best").derive(
        told.otherwise(alone.otherwise(f"{title}: nothing to compare.")),
        "They differ only beyond the expanded uncertainty of their ratio; both are on the same cell count.",
    )
    return apart, this, within


thrust_apart, _strongest, THRUST_LEAD = _told_apart("thrust", "Highest thrust", "thrust", g.full["thrust"])
efficiency_apart, _most_efficient, EFFICIENCY_LEAD = _told_apart(
    "efficiency", "Best g/W at full throttle", "thrust per power", g.full["grams_per_watt"]
)


def _mean_share(figure: str, group: dict[str, Named], *meters: Node) -> Node:
    """Return the expanded uncertainty of a figure of a group's means over the figure."""
    return u.quoted_share([u.STAND / group["thrust"], *meters], u.scatter_share(figure, group["count"]))


_BEHIND = (
    _mean_share("thrust", _strongest),
    current_share,
    u.AT_THRUST_SHARE,
    _mean_share("thrust per power", _most_efficient, *u.METERS),
    u.to_mass_share(_strongest["thrust"], _strongest["count"]),
)
HEADLINE_EXPANDED: dict[str, Named] = {
    headline.value.name: SURE_HEADLINES.figure(
        f"{headline.value.name}_expanded",
        f"{headline.value.name.replace('_', ' ').capitalize()}, ±",
        headline.unit,
        decimals=headline.shown,
    ).derive(headline.value * share, "Expanded uncertainty of the row that it was seen in.")
    for headline, share in zip(HEADLINE_LIST, _BEHIND, strict=True)
}
