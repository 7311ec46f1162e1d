"""The values of a box of motors, and a motor's row of it from its bench test."""

from collections.abc import Mapping
from typing import Any

from xlsengine.bench.boxes.batch import BATCH, BATCH_FIGURES, RUN, SERIALS
from xlsengine.bench.inputs.bench_test import Array, BenchTest, Value, columns_of
from xlsengine.bench.inputs.motor import label_kv, maker, mass_as_supplied, model, test_id
from xlsengine.bench.inputs.no_load import no_load_current, resistance_at_20, winding_resistance
from xlsengine.bench.inputs.settings import kv_tolerance
from xlsengine.bench.physics.motor_model import best_kv, best_kv_basis
from xlsengine.study.assessment import Assessment
from xlsengine.study.evaluation import Declared, Scope

OF_A_BATCH = Declared(
    {table.name: table for table in (SERIALS, RUN)}, BATCH.fields, BATCH_FIGURES.quantities, BATCH_FIGURES.written
)
KV_BY = "Kv by "
"""What the note of a motor from a bench test begins with."""


def new_fields() -> dict[str, Value]:
    """Return what the form of a new workbook holds."""
    return {name: declared.default for name, declared in BATCH.fields.items()}


def scope_of(fields: Mapping[str, Value], serials: Mapping[str, Array]) -> Scope:
    """Return the values of a box: `serials` are columns with one value a motor, NaN or None for blank."""
    return Scope(BenchTest({**new_fields(), **fields}, {SERIALS.name: serials}), known=OF_A_BATCH)


def serial_of(assessment: Assessment, name: str) -> dict[str, Any]:
    """Return a motor's row from its bench test, by column name; `name` where the test has no id.

    The resistance is that at 20 °C where the winding's temperature was read, the mass the one as supplied. The note says
    by which method its Kv was measured.
    """
    scope = assessment.scope
    resistance = scope.named(resistance_at_20.name)
    return {
        "serial": scope.named(test_id.name) or name,
        "kv": scope.named(best_kv.name),
        "resistance": resistance if resistance == resistance else scope.named(winding_resistance.name),
        "no_load": scope.named(no_load_current.name),
        "mass": scope.named(mass_as_supplied.name),
        "batch_note": f"{KV_BY}{scope.named(best_kv_basis.name)}",
    }


def fields_of(assessment: Assessment) -> dict[str, Value]:
    """Return what a bench test says of the model and its label."""
    fields = assessment.test.fields
    tolerance = fields[kv_tolerance.name]
    return {
        "batch_model": fields[model.name],
        "batch_maker": fields[maker.name],
        "kv_promised": fields[label_kv.name],
        "kv_below": tolerance,
        "kv_above": tolerance,
    }


def with_rows(serials: Mapping[str, Array], more: list[dict[str, Any]]) -> dict[str, Array]:
    """Return the columns of a box with rows put below those that it has."""
    kept = [dict(zip(serials, row, strict=True)) for row in zip(*(c.tolist() for c in serials.values()), strict=True)]
    return columns_of(SERIALS, [*kept, *more])
