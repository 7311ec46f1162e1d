"""Speed figures: what each reading with a speed gives, and where its watts went."""

from xlsengine.bench.inputs.readings import speed
from xlsengine.bench.physics import speed_figures as f
from xlsengine.bench.physics import speed_rows as t
from xlsengine.bench.physics.motor_model import best_kv, line_verdict, model_resistance
from xlsengine.bench.uncertainty.row_uncertainty import MARGIN_OF
from xlsengine.expression import Aggregate, Column, Condition, Constant, Node, join, say
from xlsengine.workbook.sheets.parts import Kind, Sentences, SheetPlan, TablePart, any_of


def _order() -> tuple[str, ...]:
    """Return the columns that readers want, each ± right after its figure."""
    margins = {figure.name: margin.name for figure, margin in MARGIN_OF.items()}
    after = set(margins.values())
    wanted = [n for n, declared in t.SPEED_FIGURES.columns.items() if not declared.helper and n not in after]
    return tuple(name for each in wanted for name in (each, margins.get(each)) if name)


def _number_of(column: Column, words: str = "") -> Node:
    """Count the rows of a column that hold a number, or these words."""
    return Aggregate("count", (column,), (Condition(column, "=", Constant(words)),) if words else ()).fixed(0)


_COUNTS = say(
    "Speed was read in {} of {} readings. Shaft power is measured in {} and modelled, an estimate good to 5 or 10 %, in {}.",
    _number_of(t.speed),
    _number_of(t.cells),
    _number_of(f.shaft_basis, f.MEASURED),
    _number_of(f.shaft_basis, f.MODELLED),
)
_CONSTANTS = join("Losses go by Kv ", best_kv.fixed(0), " rpm/V and ", model_resistance.fixed(1), " mΩ")
_MODEL = join(
    _CONSTANTS.otherwise("No losses: it takes a measured Kv and a resistance"),
    "; the line through loaded readings is ",
    line_verdict,
    ".",
)
SHEET = SheetPlan(
    "Speed figures",
    Kind.WORKING,
    "figure of merit, motor efficiency, where the watts went",
    heading="Row by row as on Readings, blank where no speed was read; shaft power is measured by torque or modelled.",
    parts=(
        Sentences((_COUNTS, _MODEL)),
        TablePart(t.SPEED_FIGURES, "Each reading with a speed", _order(), header_height=72),
    ),
    widths=(8, 17),
    others=9.5,
    measured=any_of(speed),
    more="Read the speed to see figures of merit, and where the watts went",
)
