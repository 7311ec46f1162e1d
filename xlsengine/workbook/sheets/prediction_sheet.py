"""Prediction: untested cell counts with their range, in flight from physics, and what is lifted."""

from xlsengine.bench.advice.advance import BAND_WORDS, IN_FLIGHT
from xlsengine.bench.advice.suitability import LIFT, lift_masses, lift_throttle
from xlsengine.bench.groups.measured_points import MEASURED
from xlsengine.bench.groups.prediction import PREDICTED, thin
from xlsengine.bench.groups.summary import steady
from xlsengine.bench.inputs.craft import airspeed
from xlsengine.bench.inputs.settings import prediction_current_least, prediction_limit, prediction_thrust_least
from xlsengine.expression import Node, join
from xlsengine.workbook.sheets.parts import Kind, Sentences, SheetPlan, TablePart, any_of, columns

_TWO_LINES = 26


_FLIGHT_CONDITIONS = join(
    "Steady full throttle at ",
    airspeed.fixed(1),
    " m/s along the propeller's axis, at the volts of the bench; CP "
    f"and CT fall along J by a fit to open university sweeps; {BAND_WORDS}.",
).otherwise("Blank: Craft names no airspeed.")
_RANGE_CONDITIONS = join(
    "Static, at the voltage taken. ± is what the step in volts leaves open (thrust at least ",
    prediction_thrust_least.fixed(1),
    " %, current ",
    prediction_current_least.fixed(1),
    " %) plus instrument error, wider for larger steps or without speed readings; beyond ",
    prediction_limit.fixed(0),
    " % no figure is given. Never exceed the makers' limits on cells and current.",
)
_LIFT_CONDITIONS = join(
    "All-up mass for each motor: static thrust over the thrust to weight of Settings; so many motors lift so many "
    "times as much. Hover figures are at the first of the hovering classes, between steady readings."
)
_MASS_CLASSES: dict[str, Node] = {mass.name: join("at ", ratio.fixed(1), " : 1") for mass, ratio in lift_masses.items()}
_TABLES = (
    TablePart(
        PREDICTED,
        "Cell counts that were not tested",
        columns(
            "predicted",
            "prop cells basis kind from volts thrust thrust_expanded current current_expanded power "
            "power_expanded efficiency efficiency_expanded speed speed_expanded",
        ),
        _RANGE_CONDITIONS,
    ),
    TablePart(
        IN_FLIGHT,
        "In flight, from physics and by rule of thumb",
        columns(
            "flying",
            "prop cells note pitch_ratio advance speed static_current current current_low current_high "
            "width fall rule_low rule_high static_thrust thrust thrust_low thrust_high",
        ),
        _FLIGHT_CONDITIONS,
        row_height=_TWO_LINES,
    ),
    TablePart(
        MEASURED,
        "Measured points that estimates go by",
        columns("measured", "prop cells kind"),
    ),
    TablePart(
        LIFT,
        "What each motor lifts, by thrust over weight",
        ("lift_prop", "lift_cells", "lift_note", "lift_thrust", *_MASS_CLASSES),
        _LIFT_CONDITIONS,
        above=_MASS_CLASSES,
    ),
)
SHEET = SheetPlan(
    "Prediction",
    Kind.WORKING,
    "cell counts that were not tested, in flight, and what can be lifted",
    heading="Estimates, none of them measured; each with its range and basis.",
    parts=(Sentences((thin,)), *_TABLES),
    widths=(17, 9, 50),
    others=11,
    measured=any_of(steady["current"], lift_throttle),
    more="Read steady values, or throttle steps, to see estimates of flight and untested cell counts",
)
