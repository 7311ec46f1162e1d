"""The sheets that show where figures come from: live tables and lists of figures, each with a line on it."""

from xlsengine.bench.advice.advance import BAND_WORDS, IN_FLIGHT
from xlsengine.bench.advice.suitability import LIFT, lift_masses, lift_throttle
from xlsengine.bench.groups import repeatability as rep
from xlsengine.bench.groups.headline import HEADLINE_LIST, HEADLINES, Headline
from xlsengine.bench.groups.lines import EXPONENTS, SAG, supply_resistance
from xlsengine.bench.groups.measured_points import MEASURED
from xlsengine.bench.groups.normalising import NORMALISED
from xlsengine.bench.groups.prediction import PREDICTED, thin
from xlsengine.bench.groups.repeats import GROUPS, REPEATS
from xlsengine.bench.groups.summary import SUMMARY, steady
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.inputs.conditions import AIR
from xlsengine.bench.inputs.craft import airspeed
from xlsengine.bench.inputs.motor import MASS_AND_LEADS
from xlsengine.bench.inputs.no_load import NO_LOAD, no_load_current, winding_resistance
from xlsengine.bench.inputs.readings import speed
from xlsengine.bench.judging.round_thrusts import round_thrusts
from xlsengine.bench.physics import speed_figures as f
from xlsengine.bench.physics import speed_rows as t
from xlsengine.bench.physics.motor_model import MOTOR_MODEL, best_kv, line_verdict, model_resistance
from xlsengine.bench.physics.speed_figures import PROPELLERS
from xlsengine.bench.propagation.accuracies import ACCURACIES
from xlsengine.bench.uncertainty.motor_uncertainty import MOTOR_UNCERTAINTY
from xlsengine.expression import Aggregate, Column, Condition, Constant, Named, Node, join, say
from xlsengine.workbook.book import Said, Sheet
from xlsengine.workbook.sheets.parts import (
    WIDTHS,
    Content,
    FiguresPart,
    Kind,
    Sentences,
    SheetPlan,
    TablePart,
    any_of,
    columns,
    write_list,
)

_TWO_LINES = 26  # points

# --- the headlines, and one row for each propeller and cell count ------------------------------------------------


_PARTS = ("", "_place", "_clean", "_all", "_note", "_row")
_SPANS = ((2, 4), (5, 5), (6, 6), (7, 8), (9, 9), (10, 10), (11, 14), (15, 15))
"""Clear of the columns that every page begins with."""
_HEADERS = ("Headline", "Value", "Unit", "Seen with", "Without flagged readings", "With readings left out", "Note")
_LETTERS = (99, 99, 99, 99, 99, 99, 36)  # of a line; only the note takes more
_ROUND = {
    f"round_efficiency_{place}": join(f"{place}: ", thrust.fixed(0), " g")
    for place, thrust in enumerate(round_thrusts, start=1)
}


def _write_headlines(sheet: Sheet, content: Content, top: int) -> int:
    lines = [_headline(sheet, each) for each in HEADLINE_LIST]
    below = write_list(sheet, top, _SPANS, (*_HEADERS, "Summary row"), lines, _LETTERS, 14, 30)
    sheet.height(top, 42)
    return below + 1


def _headline(sheet: Sheet, headline: Headline) -> tuple[list[Said], list[object]]:
    formats, names = sheet.book.formats, [f"{headline.value.name}{part}" for part in _PARTS]
    cells = [Named(name, HEADLINES.quantities[name].is_text) for name in names]
    words, number = formats.derived(0, text=True), formats.derived(headline.shown)
    forms = [words if cell.is_text else number for cell in cells]
    said: list[Said] = [headline.label, cells[0], headline.unit, *cells[1:]]
    return said, [words, forms[0], formats.label, *forms[1:-1], formats.derived(0)]


SUMMARY_SHEET = SheetPlan(
    "Summary",
    Kind.WORKING,
    "full-throttle means by propeller and cell count, and how the headlines were found",
    heading="One row for each propeller and cell count; means of full-throttle readings, leads trimmed.",
    parts=(
        _write_headlines,
        TablePart(SUMMARY, "By propeller and cell count", above=_ROUND, header_height=84),
    ),
    widths=(15, 5.5),
    others=8.1,
    freeze=(2, 2),
)


# --- estimates: untested cell counts with their range, in flight from physics, and what is lifted ----------------


_FLIGHT_CONDITIONS = join(
    "Steady full throttle at ",
    airspeed.fixed(1),
    " m/s along the propeller's axis, at the volts of the bench; CP "
    f"and CT fall along J by a fit to open university sweeps; {BAND_WORDS}.",
).otherwise("Blank: Craft names no airspeed.")
_RANGE_CONDITIONS = join(
    "Static, at the voltage taken. ± is what the step in volts leaves open (thrust at least ",
    s.prediction_thrust_least.fixed(1),
    " %, current ",
    s.prediction_current_least.fixed(1),
    " %) plus instrument error, wider for larger steps or without speed readings; beyond ",
    s.prediction_limit.fixed(0),
    " % no figure is given. Never exceed the makers' limits on cells and current.",
)
_LIFT_CONDITIONS = join(
    "All-up mass for each motor: static thrust over the thrust to weight of Settings; so many motors lift so many "
    "times as much. Hover figures are at the first of the hovering classes, between steady readings."
)
_MASS_CLASSES: dict[str, Node] = {mass.name: join("at ", ratio.fixed(1), " : 1") for mass, ratio in lift_masses.items()}
_ESTIMATES = (
    TablePart(
        PREDICTED,
        "Cell counts that were not tested",
        columns("predicted", "prop cells basis kind from volts thrust current power efficiency speed"),
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
PREDICTION_SHEET = SheetPlan(
    "Prediction",
    Kind.WORKING,
    "cell counts that were not tested, in flight, and what can be lifted",
    heading="Estimates, none of them measured; each with its range and basis.",
    parts=(Sentences((thin,)), *_ESTIMATES),
    widths=(17, 9, 50),
    others=11,
    measured=any_of(steady["current"], lift_throttle),
    more="Read steady values, or throttle steps, to see estimates of flight and untested cell counts",
)


# --- the motor alone -------------------------------------------------------------------------------------------


MOTOR_SHEET = SheetPlan(
    "Motor figures",
    Kind.WORKING,
    "Kv against the label, resistance, no-load current",
    heading="Figures of the motor alone, measured or estimated, each with its source.",
    parts=tuple(map(FiguresPart, (NO_LOAD, MOTOR_MODEL, MOTOR_UNCERTAINTY, MASS_AND_LEADS, AIR))),
    widths=WIDTHS,
    freeze=(2, 0),
    measured=any_of(best_kv, model_resistance, winding_resistance, no_load_current),
    more="Read spins without a propeller, or the winding resistance, to see Kv and what the motor loses",
)


# --- readings with a speed: what each gives, and where its watts went --------------------------------------------


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
SPEED_SHEET = SheetPlan(
    "Speed figures",
    Kind.WORKING,
    "figure of merit, motor efficiency, where the watts went",
    heading="Row by row as on Readings, blank where no speed was read; shaft power is measured by torque or modelled.",
    parts=(
        Sentences((_COUNTS, _MODEL)),
        TablePart(t.SPEED_FIGURES, "Each reading with a speed", header_height=72),
    ),
    widths=(8, 17),
    others=9.5,
    measured=any_of(speed),
    more="Read the speed to see figures of merit, and where the watts went",
)


# --- propellers against themselves, and the supply's sag ---------------------------------------------------------


_REFERENCE = join(
    "Reference: ",
    s.reference_cell_voltage.fixed(2),
    " V per cell and ",
    s.reference_density.fixed(3),
    " kg/m³, from Settings. Corrected figures are estimates, shown beside the measured ones.",
)
_AT_REFERENCE = (
    TablePart(
        NORMALISED,
        "At reference volts and air",
        (
            *columns("normal", "prop cells note"),
            *columns("raw", "voltage thrust current power"),
            *("normal_ratio", "volts_exponent", "density_exponent", "normal_moved"),
        ),
    ),
    TablePart(
        PROPELLERS,
        "Each propeller across voltages",
        (
            *("propeller_name", "amp_groups", "propeller_verdict", "coefficient_rows"),
            *("median_coefficient", "coefficient_spread", "most_grams"),
        ),
        row_height=_TWO_LINES,
    ),
    TablePart(
        EXPONENTS, "Exponents over the throttle steps", columns("exponent", "prop cells verdict"), row_height=_TWO_LINES
    ),
    TablePart(SAG, "Sag of the supply", ("sag_line_cells", "sag_rows", "sag_verdict", "sag_rest", "supply_resistance")),
)
PROPELLERS_SHEET = SheetPlan(
    "Propellers",
    Kind.WORKING,
    "at reference volts and air, propellers across voltages, sag of the supply",
    heading=_REFERENCE,
    parts=_AT_REFERENCE,
    widths=(17, 9, 58),
    others=10.5,
    measured=any_of(speed, Column(EXPONENTS.name, "thrust_exponent"), supply_resistance),
    more="Read the speed, or throttle steps, to see propellers across voltages and the sag of the supply",
)


# --- how well the bench repeats itself ---------------------------------------------------------------------------


_SAID = (
    join("Scatter is taken from ", rep.scatter_basis, "."),
    join("Drift over the runs is ", rep.drift_verdict, "."),
    join("Zero of the stand: ", rep.zero_verdict, "."),
)
_REPEAT_SPANS = ((0, 2), (3, 5), (6, 6), (7, 11), (12, 15))
_ROOM = (38, 30, 9, 58, 48)  # letters in each of them
REPEATABILITY_SHEET = SheetPlan(
    "Repeatability",
    Kind.WORKING,
    "scatter, drift, peak against steady, zero of the stand",
    heading="Repeat readings show how far a single reading can be trusted.",
    parts=(
        Sentences(_SAID),
        TablePart(GROUPS, "Scatter by group", ("repeat_prop",)),
        TablePart(rep.PEAKS, "Peak against steady", ("peak_prop",)),
        TablePart(REPEATS, "Each reading against its repeats", ("repeats_prop",)),
        FiguresPart(rep.REPEATABILITY, _REPEAT_SPANS, _ROOM),
        FiguresPart(ACCURACIES, _REPEAT_SPANS, _ROOM),
    ),
    widths=(17, *[10.0] * 15),
    measured=any_of(rep.repeat_groups, rep.peaks_compared, rep.zero_readings),
    more="Repeat readings, or take peak and steady ones, to see scatter and drift",
)
SHEETS = (SUMMARY_SHEET, PREDICTION_SHEET, MOTOR_SHEET, SPEED_SHEET, PROPELLERS_SHEET)
