"""Everything that is declared, in one place: the forms, tables and figures of a bench test."""

from __future__ import annotations

from collections.abc import Iterator

from xlsengine.bench.accuracies import ACCURACIES
from xlsengine.bench.advance import IN_FLIGHT
from xlsengine.bench.budget import BUDGET
from xlsengine.bench.by_propeller import BY_PROPELLER, CELL_COUNTS
from xlsengine.bench.class_motors import CLASS_MOTORS, MASSES
from xlsengine.bench.class_scatter import CLASS_SCATTER
from xlsengine.bench.compared import COMPARED
from xlsengine.bench.comparison_lines import COMPARISON
from xlsengine.bench.conditions import AIR, BENCH, CHECK_WEIGHTS
from xlsengine.bench.craft import CRAFT
from xlsengine.bench.craft_answers import ANSWERS
from xlsengine.bench.declare import Field, Figures, Form, Quantity, Table
from xlsengine.bench.esc import ESC
from xlsengine.bench.exponents import EXPONENTS
from xlsengine.bench.fingerprint import FINGERPRINT
from xlsengine.bench.group_uncertainty import GROUP_UNCERTAINTY
from xlsengine.bench.headline import HEADLINES
from xlsengine.bench.in_flight import flight_current_high, flight_current_low, flight_row_basis
from xlsengine.bench.measured_points import MEASURED
from xlsengine.bench.motor import INSPECTION, MASS_AND_LEADS, MOTOR
from xlsengine.bench.motor_model import MOTOR_MODEL
from xlsengine.bench.motor_uncertainty import MOTOR_UNCERTAINTY
from xlsengine.bench.no_load import DRIVEN_SPINS, FREE_SPINS, NO_LOAD, WINDING
from xlsengine.bench.normal_uncertainty import NORMALISED
from xlsengine.bench.normalising import SAG
from xlsengine.bench.peaks import PEAKS
from xlsengine.bench.peers import PEERS
from xlsengine.bench.prediction import PREDICTED
from xlsengine.bench.prediction_trials import PREDICTION
from xlsengine.bench.propeller_verdicts import PROPELLERS
from xlsengine.bench.raised_checks import RAISED_CHECKS
from xlsengine.bench.reading_marks import flag_text
from xlsengine.bench.readings import READINGS, cell_voltage, grams_per_amp, grams_per_watt, power
from xlsengine.bench.repeatability import REPEATABILITY
from xlsengine.bench.repeats import GROUPS, REPEATS
from xlsengine.bench.round_thrusts import ROUND
from xlsengine.bench.row_uncertainty import SINGLE
from xlsengine.bench.settings import ESC_SIZES, ROUND_THRUSTS, SETTINGS
from xlsengine.bench.short_answers import ANSWERS as SHORT_ANSWERS
from xlsengine.bench.speed_rows import SPEED_FIGURES
from xlsengine.bench.statements import STATEMENTS
from xlsengine.bench.suitability import HOVERING, LIFT, WINGS
from xlsengine.bench.suits import SUITABLE
from xlsengine.bench.suits_shown import SUITS_SHOWN
from xlsengine.bench.summary import SUMMARY
from xlsengine.bench.telling_apart import SURE_HEADLINES
from xlsengine.bench.use_points import USE_POINTS
from xlsengine.bench.uses import USES
from xlsengine.bench.whole_checks import WHOLE_CHECKS
from xlsengine.bench.wire import WIRES
from xlsengine.expression import Column, Named, Node

FORMS: tuple[Form, ...] = (MOTOR, BENCH, CRAFT, SETTINGS)
INPUT_TABLES: tuple[Table, ...] = (
    INSPECTION, CHECK_WEIGHTS, FREE_SPINS, DRIVEN_SPINS, WINDING, READINGS, ESC_SIZES, ROUND_THRUSTS, WIRES,
    USES,
)  # fmt: skip
DERIVED_TABLES: tuple[Table, ...] = (
    SUMMARY, RAISED_CHECKS, SPEED_FIGURES, NORMALISED, SAG, PROPELLERS, EXPONENTS, MEASURED, PREDICTED, IN_FLIGHT,
    HOVERING, LIFT, WINGS, REPEATS, GROUPS, PEAKS, GROUP_UNCERTAINTY,
    BY_PROPELLER, USE_POINTS, SUITABLE,
)  # fmt: skip
COMPARISON_PARTS: tuple[Table | Figures, ...] = (COMPARED, PEERS, CLASS_MOTORS, MASSES, CLASS_SCATTER, COMPARISON)
"""What stands in a workbook only where it was compared with a library."""
TABLES: dict[str, Table] = {
    table.name: table for table in (*INPUT_TABLES, *DERIVED_TABLES, COMPARED, PEERS, CLASS_MOTORS)
}
FIGURES: tuple[Figures, ...] = (
    AIR, MASS_AND_LEADS, NO_LOAD, MOTOR_MODEL, ROUND, HEADLINES, ESC, PREDICTION, FINGERPRINT, STATEMENTS,
    ACCURACIES, MOTOR_UNCERTAINTY, REPEATABILITY, BUDGET, SURE_HEADLINES, SINGLE,
    WHOLE_CHECKS, ANSWERS, CELL_COUNTS, SHORT_ANSWERS, SUITS_SHOWN, MASSES, CLASS_SCATTER, COMPARISON,
)  # fmt: skip
READINGS_SHOWN: tuple[Column, ...] = (
    flag_text, power, grams_per_watt, grams_per_amp, cell_voltage, flight_current_low, flight_current_high,
    flight_row_basis,
)  # fmt: skip
"""What stands beside the typed columns of Readings, in this order; its other derived columns are folded away."""

FIELDS: dict[str, Field] = {name: field for form in FORMS for name, field in form.fields.items()}
FIGURE_QUANTITIES: dict[str, Quantity] = {n: q for group in FIGURES for n, q in group.quantities.items()}
FIGURES_WRITTEN: dict[str, Field] = {n: f for group in FIGURES for n, f in group.written.items()}


def declared(cell: Column | Named) -> Field | Quantity:
    """Return the declaration behind a reference; raises KeyError where there is none."""
    if isinstance(cell, Column):
        return TABLES[cell.table].declared(cell.name)
    return FIELDS.get(cell.name) or FIGURE_QUANTITIES.get(cell.name) or FIGURES_WRITTEN[cell.name]


def definitions() -> Iterator[tuple[Column | Named, Node]]:
    """Yield every derived column and figure with its expression."""
    for table in TABLES.values():
        for quantity in table.quantities.values():
            yield Column(table.name, quantity.name, quantity.is_text), quantity.expression
    for quantity in FIGURE_QUANTITIES.values():
        yield Named(quantity.name, quantity.is_text), quantity.expression
