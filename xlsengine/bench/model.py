"""Everything that is declared, in one place: the forms, tables and figures of a bench test."""

from collections.abc import Mapping
from functools import cache

from xlsengine.bench.advice.advance import IN_FLIGHT
from xlsengine.bench.advice.craft_answers import ANSWERS, SENTENCES
from xlsengine.bench.advice.craft_propellers import FLOWN, SAID
from xlsengine.bench.advice.esc import ESC
from xlsengine.bench.advice.esc_needs import NEEDS
from xlsengine.bench.advice.in_flight import flight_told
from xlsengine.bench.advice.limits import LIMITS
from xlsengine.bench.advice.rule_of_thumb import FLYING
from xlsengine.bench.advice.short_answers import ANSWERS as SHORT_ANSWERS
from xlsengine.bench.advice.statements import STATEMENTS
from xlsengine.bench.advice.suitability import HOVERING, LIFT
from xlsengine.bench.advice.suits import SUITS_SHOWN
from xlsengine.bench.advice.unsettled import UNSETTLED
from xlsengine.bench.advice.whole_checks import WHOLE_CHECKS
from xlsengine.bench.checks.fingerprint import FINGERPRINT
from xlsengine.bench.checks.row_checks import CHECK_LIST
from xlsengine.bench.checks.row_entries import RAISED_CHECKS, flag_text
from xlsengine.bench.comparison.class_motors import CLASS_MOTORS, CLASS_SCATTER, COMPARED, MASSES
from xlsengine.bench.comparison.peers import PEERS
from xlsengine.bench.comparison.ranking import COMPARISON
from xlsengine.bench.declaring.declare import Field, Figures, Quantity, Table
from xlsengine.bench.groups.by_propeller import BY_PROPELLER, CELL_COUNTS
from xlsengine.bench.groups.headline import HEADLINES
from xlsengine.bench.groups.lines import EXPONENTS, SAG
from xlsengine.bench.groups.measured_points import MEASURED
from xlsengine.bench.groups.normalising import NORMALISED
from xlsengine.bench.groups.prediction import PREDICTED, PREDICTION
from xlsengine.bench.groups.repeatability import PEAKS, REPEATABILITY
from xlsengine.bench.groups.repeats import GROUPS, REPEATS
from xlsengine.bench.groups.summary import SUMMARY
from xlsengine.bench.groups.throttle_sweep import SCATTERS
from xlsengine.bench.inputs.conditions import AIR
from xlsengine.bench.inputs.forms import FIELDS, INPUT_TABLES
from xlsengine.bench.inputs.motor import MASS_AND_LEADS
from xlsengine.bench.inputs.no_load import NO_LOAD
from xlsengine.bench.inputs.readings import cell_voltage, grams_per_amp, grams_per_watt, power
from xlsengine.bench.judging.round_thrusts import ROUND
from xlsengine.bench.physics.motor_model import MOTOR_MODEL
from xlsengine.bench.physics.speed_figures import PROPELLERS
from xlsengine.bench.physics.speed_rows import SPEED_FIGURES
from xlsengine.bench.propagation.accuracies import ACCURACIES
from xlsengine.bench.uncertainty.budget import BUDGET
from xlsengine.bench.uncertainty.group_uncertainty import GROUP_UNCERTAINTY
from xlsengine.bench.uncertainty.motor_uncertainty import MOTOR_UNCERTAINTY
from xlsengine.bench.uncertainty.row_uncertainty import SINGLE
from xlsengine.bench.uncertainty.telling_apart import SURE_HEADLINES
from xlsengine.expression import Column, Named, Node

DERIVED_TABLES: tuple[Table, ...] = (
    SUMMARY,
    CHECK_LIST,
    RAISED_CHECKS,
    SPEED_FIGURES,
    NORMALISED,
    SAG,
    PROPELLERS,
    EXPONENTS,
    MEASURED,
    PREDICTED,
    IN_FLIGHT,
    HOVERING,
    LIFT,
    REPEATS,
    GROUPS,
    PEAKS,
    GROUP_UNCERTAINTY,
    BY_PROPELLER,
    FLOWN,
)
COMPARISON_PARTS: tuple[Table | Figures, ...] = (COMPARED, PEERS, CLASS_MOTORS, MASSES, CLASS_SCATTER, COMPARISON)
"""What stands in a workbook only where it was compared with a library."""
TABLES: dict[str, Table] = {
    table.name: table for table in (*INPUT_TABLES, *DERIVED_TABLES, COMPARED, PEERS, CLASS_MOTORS)
}
FIGURES: tuple[Figures, ...] = (
    AIR,
    MASS_AND_LEADS,
    NO_LOAD,
    MOTOR_MODEL,
    ROUND,
    HEADLINES,
    LIMITS,
    FLYING,
    NEEDS,
    ESC,
    PREDICTION,
    FINGERPRINT,
    STATEMENTS,
    ACCURACIES,
    MOTOR_UNCERTAINTY,
    REPEATABILITY,
    SCATTERS,
    BUDGET,
    SURE_HEADLINES,
    SINGLE,
    WHOLE_CHECKS,
    ANSWERS,
    SENTENCES,
    CELL_COUNTS,
    SHORT_ANSWERS,
    SAID,
    SUITS_SHOWN,
    UNSETTLED,
    MASSES,
    CLASS_SCATTER,
    COMPARISON,
)
READINGS_SHOWN: tuple[Column, ...] = (flag_text, power, grams_per_watt, grams_per_amp, cell_voltage, flight_told)
"""What stands beside the typed columns of Readings, in this order; its other derived columns are folded away."""

FIGURE_QUANTITIES: dict[str, Quantity] = {n: q for group in FIGURES for n, q in group.quantities.items()}
FIGURES_WRITTEN: dict[str, Field] = {n: f for group in FIGURES for n, f in group.written.items()}


def declared(cell: Column | Named) -> Field | Quantity:
    """Return the declaration behind a reference; raises KeyError where there is none."""
    if isinstance(cell, Column):
        return TABLES[cell.table].declared(cell.name)
    return FIELDS.get(cell.name) or FIGURE_QUANTITIES.get(cell.name) or FIGURES_WRITTEN[cell.name]


@cache
def definitions() -> Mapping[Column | Named, Node]:
    """Return every derived column and figure with its expression."""
    columns = ((table.name, quantity) for table in TABLES.values() for quantity in table.quantities.values())
    return {
        **{Column(table, one.name, one.is_text): one.expression for table, one in columns},
        **{Named(one.name, one.is_text): one.expression for one in FIGURE_QUANTITIES.values()},
    }
