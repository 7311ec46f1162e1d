"""The uncertainty budget of one figure, chosen on Settings: what each source of error adds to it, live."""

from collections.abc import Callable

from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.groups import summary as g
from xlsengine.bench.groups.repeatability import scatter_freedom
from xlsengine.bench.inputs.settings import BUDGET_FIGURES, budget_figure, budget_row
from xlsengine.bench.physics.motor_model import best_kv
from xlsengine.bench.propagation import terms as gum
from xlsengine.bench.propagation.accuracies import STAND
from xlsengine.bench.uncertainty import group_uncertainty as u
from xlsengine.bench.uncertainty.motor_uncertainty import best_kv_expanded, hot_resistance
from xlsengine.bench.uncertainty.row_uncertainty import ERRORS, FITTED, by_way
from xlsengine.expression import BLANK, ZERO, Named, Node, call, first_holding
from xlsengine.sources import GUM_FREEDOM, GUM_PROPAGATION

BUDGET = Figures("Budget", "What each source of error adds to the figure chosen on Settings.", source=GUM_PROPAGATION)
_OF_MOTOR = {"Kv": best_kv, "resistance under load": hot_resistance}
SURE_FIGURES = BUDGET_FIGURES[: -len(_OF_MOTOR)]


budget_number = BUDGET.figure("budget_number", "Figure chosen, by number").derive(
    first_holding(((budget_figure.equals(each), float(at)) for at, each in enumerate(BUDGET_FIGURES, 1)), BLANK)
)


def _choose(of_group: Callable[[str], Node], of_motor: Callable[[Named], Node]) -> Node:
    """Take what belongs to the chosen figure."""
    parts = (*map(of_group, SURE_FIGURES), *map(of_motor, _OF_MOTOR.values()))
    return call("choose", budget_number, *parts)


budget_label = BUDGET.figure("budget_label", "Row chosen").derive(
    g.label.at(budget_row).otherwise("no such row on Summary")
)
budget_value = BUDGET.figure("budget_value", "Value", symbol="y", decimals=3).derive(
    _choose(lambda figure: u.UNCERTAINTIES[figure].value.at(budget_row), lambda figure: figure)
)
budget_unit = BUDGET.figure("budget_unit", "Unit").derive(
    call("choose", budget_number, *(each.unit for each in u.FIGURES.values()), "rpm/V", "mΩ")
)
_torque = BUDGET.figure("chosen_torque", "Chosen row: torque", "N·m", decimals=4).derive(u.torque.at(budget_row))
_stand = STAND / u.thrust.at(budget_row)


def _part(source: gum.Input) -> Named:
    """Derive what a source of error adds; the list that shows it says how, so that it has no line on Method."""

    def of_group(figure: str) -> Node:
        return by_way(u.FIGURES[figure].read, _torque, lambda one: dict(one.felt(_stand)).get(source, gum.NOTHING))

    def of_motor(figure: Named) -> Node:
        moved = gum.relative_change(figure, source)
        return moved if moved == gum.NOTHING else moved * source.uncertainty

    return BUDGET.helper(f"budget_{source.name}", f"Budget: {source.label}", decimals=5).derive(
        budget_value * _choose(of_group, of_motor)
    )


PARTS: dict[str, Named] = {source.name: _part(source) for source in ERRORS}
budget_scatter = BUDGET.helper("budget_scatter", "Budget: scatter of the readings", decimals=5).derive(
    budget_value * _choose(lambda figure: u.scatter_share(figure, u.count.at(budget_row)), lambda _: ZERO)
)
budget_combined = BUDGET.figure("budget_combined", "Combined standard uncertainty", symbol="u", decimals=5).derive(
    gum.sum_of_squares([*PARTS.values(), budget_scatter]).sqrt()
)
budget_freedom = BUDGET.figure("budget_freedom", "Effective degrees of freedom", symbol="ν", decimals=1).derive(
    gum.effective_freedom(
        budget_combined,
        [
            (budget_scatter, scatter_freedom),
            *((PARTS[each.name], each.freedom.otherwise(1.0)) for each in FITTED if each.freedom is not None),
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
