"""The figures of a test that a library keeps: those marked so at their declaration, under the names given there.

Numbers are in the unit of their declaration; `<name>_uncertainty` is what stands behind “±”: expanded, at
the level of confidence on the test's Settings; `<name>_scatter` is the standard uncertainty from scatter alone. What is
not known is None.

Of a test (`TEST_COLUMNS`)
    test_id, test_date (ISO text), tester, sample_origin, maker, model, size_code_means, stator_diameter, stator_height,
    label_kv, poles, slots, mass_as_supplied, mass_as_supplied_uncertainty, price, lead_gauge,
    lead_length_as_supplied, trimmed_lead_length, supply,
    cells_are, esc_used, esc_timing, voltage_read_at, air_temperature, air_pressure, air_humidity, mass_accuracy,
    reference_density, reference_cell_voltage, air_density, air_density_basis, trimmed_mass, trimmed_mass_uncertainty,
    trimmed_mass_basis, stator_volume, best_kv, best_kv_uncertainty, best_kv_basis, kv_deviation, kv_verdict, driven_kv,
    driven_kv_uncertainty, free_kv, free_kv_uncertainty, line_kv, line_kv_uncertainty, winding_resistance,
    winding_resistance_uncertainty, resistance_at_20, resistance_at_20_uncertainty, hot_resistance,
    hot_resistance_uncertainty, model_resistance, no_load_current, no_load_current_uncertainty, no_load_voltage,
    no_load_at_rest, no_load_slope, highest_thrust, compared_thrust, taken_thrust_accuracy (g),
    taken_voltage_accuracy (%), taken_current_accuracy (%), taken_speed_accuracy (%), repeats_read, thrust_scatter (%),
    current_scatter (%, both at equal volts), thrust_current (correlation of repeats), scatter_freedom, best_thrust,
    best_current, best_efficiency_at_thrust, best_efficiency_full, best_thrust_to_mass.

Of a propeller and cell count (`GROUP_COLUMNS`), in the order of the readings
    prop, prop_key (the name without capitals and spare spaces: what propellers of two tests are paired by), diameter,
    pitch, blades, cells, left_out (readings of the group that are left out), kind (“steady”, “peak”, or None where no
    reading at full throttle counts), full_count (readings that the means are of), full_voltage, full_current,
    full_power, full_thrust, full_grams_per_watt, full_grams_per_amp, full_thrust_to_mass, static_current (highest
    single reading), headline_efficiency (g/W at the test's compared_thrust), steady_count, peak_count,
    steady_top_current, peak_top_current, held_steady, launch_current (what counts for an ESC), current_room (current
    with its ± over current), pitch_ratio, current_exponent (as a power of thrust, with `_uncertainty`), steady_speed,
    flagged_points, flight_low, flight_high, flight_basis,
    volts_exponent, density_exponent, normal_thrust, normal_current, normal_power, normal_efficiency (brought to the
    test's reference volts per cell and density; None where these are too far), and with `_uncertainty`: full_thrust,
    full_current, full_power, full_grams_per_watt, full_thrust_to_mass, static_current, headline_efficiency,
    normal_thrust, normal_current, normal_power, normal_efficiency; with `_scatter`: full_thrust, full_grams_per_watt.

Of a steady reading that counts (`STEP_COLUMNS`), at any throttle; thrust per power at equal thrust is read off these
    run, prop, prop_key, diameter, pitch, blades, cells, throttle (None: full), kind, voltage, current, power, thrust,
    speed, sweep_clean (its thrust where no check doubts it, else 0).
"""

import datetime
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from xlsengine.bench.declaring.declare import Field, Quantity, Table
from xlsengine.bench.groups import summary as g
from xlsengine.bench.groups.exponents import EXPONENTS
from xlsengine.bench.groups.normalising import NORMALISED
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.bench_test import BenchTest, input_hash
from xlsengine.bench.inputs.forms import FIELDS
from xlsengine.bench.judging import counting
from xlsengine.bench.model import FIGURE_QUANTITIES
from xlsengine.bench.uncertainty.group_uncertainty import GROUP_UNCERTAINTY
from xlsengine.study.assessment import Assessment
from xlsengine.study.evaluation import Scope
from xlsengine.study.group_checks import judged
from xlsengine.workbook.input_copy import encoded
from xlsengine.workbook.reading.findings import key

Declared = Field | Quantity
KeptValue = float | str | None
Row = dict[str, KeptValue]
LEFT_OUT = Field("left_out", "Readings left out", meaning="Of this propeller and cell count.", kind="whole")
_GROUP_TABLES = (g.SUMMARY, NORMALISED, GROUP_UNCERTAINTY, EXPONENTS)
_OF_FIRST_ROW = (r.prop, r.prop_key, r.diameter, r.pitch, r.blades, r.cells)


def _marked(declared: Mapping[str, Declared]) -> dict[str, Declared]:
    return {each.kept: each for each in declared.values() if each.kept}


def _of(table: Table) -> dict[str, Declared]:
    return _marked(table.fields) | _marked(table.quantities)


_BY_TABLE = {table.name: _of(table) for table in _GROUP_TABLES}
TEST_COLUMNS: dict[str, Declared] = _marked(FIELDS) | _marked(FIGURE_QUANTITIES)
STEP_COLUMNS: dict[str, Declared] = _of(r.READINGS)
GROUP_COLUMNS: dict[str, Declared] = {
    **{column.name: STEP_COLUMNS[column.name] for column in _OF_FIRST_ROW},
    LEFT_OUT.name: LEFT_OUT,
    **{name: declared for held in _BY_TABLE.values() for name, declared in held.items()},
}
"""What is kept by name, with its declaration: label, unit, meaning, decimals."""


@dataclass(frozen=True)
class Kept:
    """The kept figures of one test: its own, those of each propeller and cell count, and its steady readings."""

    test: Row
    groups: list[Row]
    steps: list[Row]


def kept_of(test: BenchTest, assessment: Assessment | None = None) -> Kept:
    """Return the kept figures of a test; only they are computed, and an assessment that stands spares even that.

    ValueError if the significance on Settings is not between 0 and 100 %.
    """
    scope = judged(test) if assessment is None else assessment.scope
    single = {name: _plain(_single(scope, declared)) for name, declared in TEST_COLUMNS.items()}
    return Kept(single, _groups(scope), _steps(scope))


def _single(scope: Scope, declared: Declared) -> Any:
    if isinstance(declared, Field) and declared.kind == "date":
        return scope.test.fields[declared.name]
    return scope.named(declared.name)


def _groups(scope: Scope) -> list[Row]:
    rows = scope.used_rows(g.SUMMARY.name)
    first = scope.this_row(g.first_row)[:rows].astype(int) - 1
    columns = {column.name: scope.this_row(column)[first] for column in _OF_FIRST_ROW}
    columns[LEFT_OUT.name] = _left_out(scope, first)
    for table, held in _BY_TABLE.items():
        columns |= {name: scope.column(table, declared.name)[:rows] for name, declared in held.items()}
    return _rows(columns)


def _left_out(scope: Scope, first: Any) -> Any:
    """Return for each group, by its first place in Readings, how many of its readings are left out."""
    group = scope.this_row(r.group)
    of_group = group[scope.this_row(counting.standing) < 0] - 1
    return np.array([np.sum(of_group == place) for place in first], dtype=float)


def _steps(scope: Scope) -> list[Row]:
    counts = np.flatnonzero((scope.this_row(counting.point) >= r.AT_STEADY) & (scope.this_row(r.thrust_read) > 0))
    return _rows({name: scope.column(r.READINGS.name, each.name)[counts] for name, each in STEP_COLUMNS.items()})


def _rows(columns: Mapping[str, Any]) -> list[Row]:
    plain = [[_plain(value) for value in column.tolist()] for column in columns.values()]
    return [dict(zip(columns, values, strict=True)) for values in zip(*plain, strict=True)]


def _plain(value: Any) -> KeptValue:
    if isinstance(value, datetime.date):
        return value.isoformat()
    return None if value is None or value != value or value == "" else value


# --- a test made ready to be kept, which needs no database ---


@dataclass(frozen=True)
class Prepared:
    """A test ready to be written: its hash, what was typed in short, and its kept figures, None where they are known."""

    test_id: str | None
    model: str | None
    identity: str
    input_hash: str
    inputs: bytes
    kept: Kept | None


def prepared(
    test: BenchTest, known: frozenset[str] = frozenset(), *, id_typed: bool = True, digest: str = ""
) -> Prepared:
    """Return a test ready to be written; the figures of one whose hash is `known` are not computed.

    `digest` is that hash, where it was taken before. Without a typed id a test is the same only as one with the same
    inputs. ValueError if the significance on Settings is not between 0 and 100 %.
    """
    digest = digest or input_hash(test)
    test_id, model = (_text(test.fields[name]) for name in ("test_id", "model"))
    same = f"test {key(test_id)}\nof {key(model or '')}" if test_id and id_typed else f"inputs {digest}"
    kept = None if digest in known else kept_of(test)
    return Prepared(test_id, model, same, digest, zlib.compress(encoded(test).encode()), kept)


def _text(value: object) -> str | None:
    return str(value).strip() or None if value is not None else None
