"""The figures of a test that a library keeps: those marked so at their declaration, under the names given there.

`TEST_COLUMNS`, `GROUP_COLUMNS` (of a propeller and cell count, in the order of the readings) and `STEP_COLUMNS` (of a
steady reading that counts, at any throttle; thrust per power at equal thrust is read off these) hold them by name, each
with its declaration: label, unit, meaning.

Numbers are in the unit of their declaration; `<name>_uncertainty` is what stands behind “±”: expanded, at the level of
confidence on the test's Settings; `<name>_scatter` is the standard uncertainty from scatter alone. What is not known is
None. Dates are texts (ISO 8601). `prop_key` is a propeller's name without capitals and spare spaces: what propellers of
two tests are paired by. `kind` is “steady”, “peak”, or None where no reading at full throttle counts; `normal_` figures are
brought to the test's reference volts per cell and density, None where these are too far; `current_room` is the current
with its ± over the current; `sweep_clean` a step's thrust where no check doubts it, else 0.
"""

import datetime
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from xlsengine.bench.declaring.declare import Field, Quantity, Table
from xlsengine.bench.groups import summary as g
from xlsengine.bench.groups.lines import EXPONENTS
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
