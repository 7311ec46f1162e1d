"""Every factor and limit the engine uses, each a named cell that the reader may change: the rows of settings.csv.

A row that names a topic begins it. `settings.coverage` is the cell of the row of that name.
"""

from collections.abc import Callable

from xlsengine.bench.declaring.declare import Form, Table
from xlsengine.bench.inputs.typed import cells_of, field_of, filled, rows_of
from xlsengine.expression import Named

SETTINGS = Form("Settings", "Factors and limits used in every formula; change one and the workbook follows.")
TOPICS: dict[str, list[str]] = {}
"""Names of the settings by heading, in the order of the sheet."""
for _row in rows_of("settings.csv"):
    _topic = _row.get("topic") or next(reversed(TOPICS))
    TOPICS.setdefault(_topic, []).append(SETTINGS.input(field_of(_row)).name)
__getattr__: Callable[[str], Named] = cells_of(SETTINGS)

BUDGET_FIGURES = SETTINGS.fields["budget_figure"].choices
lift_ratios = tuple(Named(f"lift_ratio_{place}") for place in range(1, 6))
wing_ratios = tuple(Named(f"wing_ratio_{place}") for place in range(1, 5))
SETTINGS.keep(Named("reference_density"), Named("reference_cell_voltage"), Named("mass_accuracy"))


def _listed(name: str, meaning: str, column: str, numbers: str) -> Table:
    return filled(Table(name, meaning, rows=tuple({column: float(number)} for number in numbers.split())))


ESC_SIZES = _listed(
    "EscSizes",
    "Continuous ratings in which ESCs are sold.",
    "esc_size",
    "6 10 12 15 20 25 30 35 40 45 50 55 60 65 70 80 100 120 150",
)
ROUND_THRUSTS = _listed(
    "RoundThrusts",
    "Thrusts at which grams per watt may be compared: the six largest that the motor reaches are used.",
    "round_thrust",
    "5 10 15 20 30 50 75 100 150 200 300 500 750 1000 1500 2000 3000 5000 7500 10000",
)
esc_size, round_thrust = ESC_SIZES.typed("esc_size"), ROUND_THRUSTS.typed("round_thrust")
