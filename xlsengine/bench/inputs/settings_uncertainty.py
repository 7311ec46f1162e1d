"""Accuracies and levels of uncertainty, and which budget is shown."""

from xlsengine.bench.inputs.topics import SETTINGS, Topic
from xlsengine.sources import FROM_MEMORY, definition, practice, published, worked_out

_UNCERTAINTY = Topic("Uncertainty")
assumed_thrust_accuracy = _UNCERTAINTY.setting(
    "assumed_thrust_accuracy", "Thrust accuracy where Bench leaves it blank, ±", "%", 0.5, (0, 20)
).means("Of the largest thrust that counts.", FROM_MEMORY)
assumed_voltage_accuracy = _UNCERTAINTY.setting(
    "assumed_voltage_accuracy", "Voltage accuracy where Bench leaves it blank, ±", "%", 0.5, (0, 20)
).means("Of reading.", FROM_MEMORY)
assumed_current_accuracy = _UNCERTAINTY.setting(
    "assumed_current_accuracy", "Current accuracy where Bench leaves it blank, ±", "%", 1.5, (0, 20)
).means("Of reading.", FROM_MEMORY)
assumed_speed_accuracy = _UNCERTAINTY.setting(
    "assumed_speed_accuracy", "Speed accuracy where Bench leaves it blank, ±", "%", 0.2, (0, 20)
).means("Of reading.", FROM_MEMORY)
torque_accuracy = _UNCERTAINTY.setting("torque_accuracy", "Torque accuracy, ±", "%", 2, (0, 50)).means(
    "Of reading, arm and cross-talk included.", FROM_MEMORY
)
resistance_accuracy = _UNCERTAINTY.setting("resistance_accuracy", "Resistance accuracy, ±", "%", 1, (0, 50)).means(
    "Of a four-wire reading.", FROM_MEMORY
)
diameter_accuracy = _UNCERTAINTY.setting("diameter_accuracy", "Propeller diameter, ±", "%", 0.5, (0, 20)).means(
    "Moulded against named.", FROM_MEMORY
)
mass_accuracy = _UNCERTAINTY.setting("mass_accuracy", "Motor mass accuracy, ±", "g", 0.2, (0, 20)).means(
    "Scale and leads.", FROM_MEMORY
)
density_accuracy = _UNCERTAINTY.setting(
    "density_accuracy", "Air density, ±, where the air was read", "%", 0.5, (0, 20)
).means("1 K, 1 hPa, 10 % humidity.", worked_out("1 K is 0.34 %, 1 hPa 0.1 %"))
assumed_density_accuracy = _UNCERTAINTY.setting(
    "assumed_density_accuracy", "Air density, ±, where the air was not read", "%", 8, (0, 50)
).means("Low places from cold to hot days; an altitude of 1000 m alone takes 9 %.", FROM_MEMORY)
model_accuracy = _UNCERTAINTY.setting("model_accuracy", "Shaft power from the motor model, ±", "%", 5, (0, 50)).means(
    "How far the model itself may be off, beside what its inputs are.", practice("5 to 10 % is spoken of")
)
default_scatter = _UNCERTAINTY.setting(
    "default_scatter", "Scatter of a repeat until enough were read", "%", 1.5, (0, 50)
).means(
    "Standard deviation of one reading, for every figure alike.", practice("0.5 to 1.5 % with the propeller remounted")
)
default_freedom = _UNCERTAINTY.setting("default_freedom", "Degrees of freedom of that scatter", "", 8, (1, 1000)).means(
    "8 = scatter known to about ±25 %.", published("GUM (JCGM 100:2008) G.4.2: ν = (Δu/u)^-2 / 2")
)
least_repeats = _UNCERTAINTY.setting(
    "least_repeats", "Repeats that replace that scatter, at least", "", 6, (1, 1000)
).means("A repeat is a reading beyond the first with the same propeller, cells, kind and throttle.", practice())
coverage = _UNCERTAINTY.setting("coverage", "Level of confidence of “±”", "%", 95, (50, 99.9), symbol="C").means(
    "Of expanded uncertainties and verdicts.",
    published("GUM (JCGM 100:2008) 6.2.2: as large a part of what could reasonably be attributed"),
)
zero_shift_limit = _UNCERTAINTY.setting(
    "zero_shift_limit", "Zero of the thrust stand: largest usual shift", "%", 0.2, (0.01, 10)
).means("Of the largest thrust that counts, since the range of the cell is not known.", FROM_MEMORY)

_BUDGET = Topic("Budget shown")
_SHOWN = definition("a choice of what is shown")
budget_row = _BUDGET.setting("budget_row", "Budget shown: row of Summary", "", 1, (1, 10000)).means(
    "Propeller and cell count whose budget the sheet Uncertainty shows.", _SHOWN
)
BUDGET_FIGURES = (
    "thrust",
    "current",
    "power",
    "thrust per power",
    "thrust per current",
    "overall static efficiency",
    "figure of merit",
    "Kv",
    "resistance under load",
)
budget_figure = _BUDGET.choice(
    "budget_figure",
    "Budget shown: figure",
    BUDGET_FIGURES,
    "Figure whose budget the sheet Uncertainty shows.",
    required=True,
    default="thrust per power",
    source=_SHOWN,
)

SETTINGS.keep(mass_accuracy)
