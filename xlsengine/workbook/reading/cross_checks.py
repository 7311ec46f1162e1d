"""What is legal and yet hardly meant: choices that point to rows which are not there, and throttles as shares."""

from __future__ import annotations

import numpy as np

from xlsengine.bench.inputs.bench_test import BenchTest
from xlsengine.bench.inputs.craft import craft_propeller, pack_cells
from xlsengine.bench.inputs.forms import FIELDS
from xlsengine.bench.inputs.motor import lead_gauge
from xlsengine.bench.inputs.readings import READINGS, cells, prop, throttle
from xlsengine.bench.inputs.wire import WIRES, gauge
from xlsengine.study.typing_checks import are_shares
from xlsengine.workbook.reading.cells import number_text
from xlsengine.workbook.reading.findings import Findings, key


def tell_unmatched(test: BenchTest, findings: Findings) -> None:
    """Tell of a lead gauge, a pack's cell count and a propeller of the craft that match no row of their tables.

    And of throttles that look like shares of one where percent is meant.
    """
    _tell(test, lead_gauge.name, WIRES.name, gauge.name, "what follows from the wire stays blank", findings)
    _tell(test, pack_cells.name, READINGS.name, cells.name, "no row decides the advice", findings)
    _tell(test, craft_propeller.name, READINGS.name, prop.name, "no row decides the advice", findings)
    _tell_shares(test, findings)


def _tell_shares(test: BenchTest, findings: Findings) -> None:
    column = test.tables[READINGS.name][throttle.name]
    if are_shares(column):
        lowest, highest = (number_text(float(end)) for end in np.sort(column[column > 0])[[0, -1]])
        label = READINGS.columns[throttle.name].header
        findings.tell(
            f"{label}: {lowest} to {highest} look like shares, and are read as percent; type 50 for half throttle"
        )


def _tell(test: BenchTest, name: str, table: str, column: str, effect: str, findings: Findings) -> None:
    wanted = test.fields.get(name)
    if wanted is None or test.rows(table) == 0:
        return
    held = test.tables[table][column].tolist()
    if _plain(wanted) not in {_plain(value) for value in held}:
        said = number_text(wanted) if isinstance(wanted, float) else f'"{wanted}"'
        findings.tell(f"{FIELDS[name].label}: {said} stands in no row of the table {table}; {effect}")


def _plain(value: object) -> object:
    return key(value) if isinstance(value, str) else value
