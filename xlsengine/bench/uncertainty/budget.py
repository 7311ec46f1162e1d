"""The uncertainty budget of one figure, chosen on Settings: what each source of error adds to it, live."""

from dataclasses import fields

from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.groups import summary as g
from xlsengine.bench.groups.repeatability import scatter_freedom
from xlsengine.bench.inputs.settings import BUDGET_FIGURES, budget_figure, budget_row
from xlsengine.bench.physics.motor_model import best_kv
from xlsengine.bench.propagation import terms as gum
from xlsengine.bench.uncertainty import group_uncertainty as u
from xlsengine.bench.uncertainty.motor_uncertainty import best_kv_expanded, hot_resistance
from xlsengine.expression import BLANK, Named, Node, as_node, call, first_holding, replaced
from xlsengine.sources import GUM_FREEDOM, GUM_PROPAGATION

BUDGET = Figures("Budget", "What each source of error adds to the figure chosen on Settings.", source=GUM_PROPAGATION)
UNITS_SHOWN = ("g", "A", "W", "g/W", "g/A", "", "", "rpm/V", "mΩ")
_OF_MOTOR = {"Kv": best_kv, "resistance under load": hot_resistance}
SURE_FIGURES = BUDGET_FIGURES[: -len(_OF_MOTOR)]


def _chosen(part: str) -> Named:
    """Fetch a mean of the chosen row under a name of its own."""
    column = getattr(u.MEANS, part)
    taken = u.GROUP_UNCERTAINTY.quantities[column.name]
    return BUDGET.figure(f"chosen_{part}", f"Chosen row: {taken.label}", taken.unit, decimals=taken.shown + 2).derive(
        column.at(budget_row)
    )


_MEANS: dict[Node, Node] = {getattr(u.MEANS, each.name): _chosen(each.name) for each in fields(u.MEANS)}
count = _MEANS[u.MEANS.count]
_FIGURES: dict[str, Node] = {figure: expression for figure, (expression, *_) in u.FIGURES.items()} | _OF_MOTOR

budget_number = BUDGET.figure("budget_number", "Figure chosen, by number").derive(
    first_holding(((budget_figure.equals(each), float(at)) for at, each in enumerate(BUDGET_FIGURES, 1)), BLANK)
)


def _choose(by_figure: dict[str, Node]) -> Node:
    """Take what belongs to the chosen figure."""
    chosen = call("choose", budget_number, *(by_figure[figure] for figure in BUDGET_FIGURES))
    return replaced(chosen, _MEANS.get)


budget_label = BUDGET.figure("budget_label", "Row chosen").derive(
    g.label.at(budget_row).otherwise("no such row on Summary")
)
budget_value = BUDGET.figure("budget_value", "Value", symbol="y", decimals=3).derive(_choose(_FIGURES))
budget_unit = BUDGET.figure("budget_unit", "Unit").derive(call("choose", budget_number, *UNITS_SHOWN))


def _part(source: gum.Input) -> Named:
    parts = _choose({name: gum.contribution(figure, source, u.MADE) for name, figure in _FIGURES.items()})
    return BUDGET.figure(f"budget_{source.name}", f"Budget: {source.label}", symbol="c·u", decimals=5).derive(
        parts if source.freedom is None else parts.otherwise(0.0),
        "Contribution to the standard uncertainty, with its sign.",
        equation="c·u(x), c being by how much the figure moves with x",
    )


PARTS: dict[str, Named] = {source.name: _part(source) for source in u.ERRORS}
_no_scatter = dict.fromkeys(_OF_MOTOR, as_node(0.0))
budget_scatter = BUDGET.figure("budget_scatter", "Budget: scatter of the readings", decimals=5).derive(
    budget_value * _choose({name: u.scatter_share(name, count) for name in u.FIGURES} | _no_scatter),
    "From repeats, with their correlations, or by default; over √number.",
)
budget_combined = BUDGET.figure("budget_combined", "Combined standard uncertainty", symbol="u", decimals=5).derive(
    gum.sum_of_squares([*PARTS.values(), budget_scatter]).sqrt()
)
budget_freedom = BUDGET.figure("budget_freedom", "Effective degrees of freedom", symbol="ν", decimals=1).derive(
    gum.effective_freedom(
        budget_combined,
        [
            (budget_scatter, scatter_freedom),
            *((PARTS[each.name], each.freedom.otherwise(1.0)) for each in u.FITTED if each.freedom is not None),
        ],
    ),
    "Welch-Satterthwaite; 10,000 stands for infinite.",
    GUM_FREEDOM,
)
budget_factor = BUDGET.figure("budget_factor", "Coverage factor", symbol="k", decimals=2).derive(
    budget_figure.equals("Kv").where(best_kv_expanded / budget_combined, gum.coverage_factor(budget_freedom)),
    "Student's t at the level of confidence on Settings; somewhat more for Kv by few spins.",
    GUM_FREEDOM,
)
budget_expanded = BUDGET.figure("budget_expanded", "Expanded uncertainty, ±", symbol="U", decimals=4).derive(
    budget_factor * budget_combined, "k·u.", GUM_FREEDOM
)
