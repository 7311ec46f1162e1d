"""What “±” says in words: the quoted figures with theirs, and whether the two best groups can be told apart.

Groups of one bench share its instruments. So an error of the voltmeter moves both and hardly their ratio: what is
left to tell them apart by is mostly the scatter.
"""

from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.groups import repeatability as p
from xlsengine.bench.groups import summary as g
from xlsengine.bench.groups.headline import HEADLINE_LIST, Headline
from xlsengine.bench.propagation.accuracies import AMMETER, STAND, VOLTMETER
from xlsengine.bench.propagation.terms import expanded_by, sum_of_squares
from xlsengine.bench.uncertainty import group_uncertainty as u
from xlsengine.expression import BLANK, Column, Condition, Named, Node, join, say
from xlsengine.sources import GUM_FREEDOM, GUM_PROPAGATION

SURE_HEADLINES = Figures("Certainty of the headlines", "What “±” says of the quoted figures.", source=GUM_FREEDOM)
current_share = SURE_HEADLINES.figure("current_share", "Current of one reading: ± over it", decimals=4).derive(
    u.CURRENT_SHARE
)


def _scatter(figure: str, row: Named) -> Node:
    """Return the relative standard uncertainty of a group's mean by the scatter of its readings."""
    return u.scatter_share(figure, g.full["count"].at(row))


def _called(row: Named, other: Named) -> Node:
    """Name a group's propeller, and the kind of its readings where the other's are of another kind."""
    kind = g.full_kind.at(row)
    return join(g.prop.at(row), kind.equals(g.full_kind.at(other)).where("", say(" ({})", kind)))


def _more_within(name: str, best: Node, rivals: Column, within: Node) -> Node:
    """Say how many rivals beside the next lie as near to the best; nothing where none does."""
    least = best / (within / 100 + 1)
    more = SURE_HEADLINES.figure(f"{name}_more_within", f"By {name}: others within ± beside the next").derive(
        rivals.count(Condition(rivals, ">=", least)) - 1, "Whose own lead over it is within the ± of the two best."
    )
    told = more.equals(1).where(", and 1 more is within it", say(", and {:.0f} more are within it", more))
    return (more > 0).where(told, "")


def _lead_expanded(name: str, figure: str, ratio: Node, best: Named, next_best: Named) -> Named:
    """Return the expanded uncertainty of the lead, in percent.

    Errors that are a share of every reading drop out of a ratio; that of the thrust stand is so many grams in both.
    """
    both = sum_of_squares([_scatter(figure, row) for row in (best, next_best)]).sqrt() * 100
    thrust, other = (g.full["thrust"].at(row) for row in (best, next_best))
    stand = 100 * ratio * (1 / thrust - 1 / other) * STAND
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


def _told_apart(name: str, title: str, figure: str, headline: Headline, value: Column) -> tuple[Named, Named]:
    """Say whether the best and the next on the same cell count can be told apart; return that, and the ± of the lead."""
    best = headline.row
    same_cells = g.cells.equals(g.cells.at(best)).where(value)
    rivals = g.SUMMARY.helper(f"{name}_rivals", f"By {name}: rivals of the best", decimals=2).derive(
        g.summary_row.equals(best).where(BLANK, same_cells)
    )
    next_best = SURE_HEADLINES.figure(f"{name}_row_2", f"By {name}, place 2: row").derive(
        rivals.position(rivals.largest())
    )
    ratio = headline.value / value.at(next_best)
    lead = SURE_HEADLINES.figure(f"{name}_lead", f"By {name}: lead of the best", "%").derive((ratio - 1) * 100)
    within = _lead_expanded(name, figure, ratio, best, next_best)
    on_cells, other = say("{} on {:.0f}S: ", title, g.cells.at(best)), _called(next_best, best)
    where = join(on_cells, _called(best, next_best))
    real = say(
        "{}, {:.1f} % above the next, {}; the difference is real (uncertainty ±{:.1f} %).", where, lead, other, within
    )
    tie = say("{} and {}, a tie: {:.1f} % is within ±{:.1f} %", where, other, lead, within)
    alone = join(on_cells, g.prop.at(best), ", with no other to compare with.")
    told = (lead > within).where(real, join(tie, _more_within(name, headline.value, rivals, within), "."))
    apart = SURE_HEADLINES.figure(f"{name}_apart", f"By {name}: the two best").derive(
        told.otherwise(alone.otherwise(f"{title}: nothing to compare."))
    )
    return apart, within


_THRUST, _, _, _EFFICIENCY, _TO_MASS = HEADLINE_LIST
thrust_apart, THRUST_LEAD = _told_apart("thrust", "Highest thrust", "thrust", _THRUST, g.full["thrust"])
efficiency_apart, EFFICIENCY_LEAD = _told_apart(
    "efficiency", "Best g/W at full throttle", "thrust per power", _EFFICIENCY, g.full["grams_per_watt"]
)


def _mean_share(figure: str, row: Named, *meters: Node) -> Node:
    """Return the expanded uncertainty of a figure of a group's means over the figure."""
    return u.quoted_share([STAND / g.full["thrust"].at(row), *meters], _scatter(figure, row))


_SHARES = (
    _mean_share("thrust", _THRUST.row),
    current_share,
    u.AT_THRUST_SHARE,
    _mean_share("thrust per power", _EFFICIENCY.row, VOLTMETER, AMMETER),
    u.to_mass_share(g.full["thrust"].at(_TO_MASS.row), g.full["count"].at(_TO_MASS.row)),
)
HEADLINE_EXPANDED: dict[str, Named] = {
    headline.value.name: SURE_HEADLINES.figure(
        f"{headline.value.name}_expanded",
        f"{headline.value.name.replace('_', ' ').capitalize()}, ±",
        headline.unit,
        decimals=headline.shown,
    ).derive(headline.value * share, "Expanded uncertainty of the row that it was seen in.")
    for headline, share in zip(HEADLINE_LIST, _SHARES, strict=True)
}
