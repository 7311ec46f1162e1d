"""What stands in for blanks that need nothing else: the test's name, the kind of readings, and what other blanks cost."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np

from xlsengine.bench.inputs.bench_test import BenchTest
from xlsengine.bench.inputs.conditions import readings_are
from xlsengine.bench.inputs.craft import craft_propeller, pack_cells
from xlsengine.bench.inputs.forms import FIELDS, FORMS
from xlsengine.bench.inputs.motor import WIRES, gauge, lead_gauge, mass_as_supplied, test_id, trimmed_mass_measured
from xlsengine.bench.inputs.readings import PEAK, READINGS, STEADY, cells, kind, prop, throttle
from xlsengine.bench.inputs.settings import esc_peak_over_steady, full_throttle_from
from xlsengine.study.typing_checks import are_shares
from xlsengine.workbook.output import numbered
from xlsengine.workbook.reading.cells import number_text
from xlsengine.workbook.reading.findings import Findings, key

_LONGEST_ID = 80
_STAND_INS: Mapping[str, str] = {mass_as_supplied.name: trimmed_mass_measured.name}


def named_by_its_file(test: BenchTest, path: Path, findings: Findings) -> BenchTest:
    """Return the test, with the name of its file where it has none of its own; tells so."""
    if test.fields[test_id.name] is not None or not _holds_readings(test):
        return test
    taken = _plain_name(path.stem)
    if not taken:
        return test
    findings.tell(f"Motor, {FIELDS[test_id.name].label}: blank; the file's name “{taken}” is used")
    return replace(test, fields={**test.fields, test_id.name: taken})


def _plain_name(stem: str) -> str:
    """Return a file's name as a text that any cell holds.

    >>> _plain_name("thimble results 2"), _plain_name("a\\udcffb")
    ('thimble', 'a b')
    """
    signs = (sign if sign.isprintable() else " " for sign in numbered(stem)[0])
    return " ".join("".join(signs).split())[:_LONGEST_ID].strip()


def tell_blanks(test: BenchTest, findings: Findings) -> None:
    """Tell what blanks cost, and what a blank Kind counts as, where there are readings."""
    if not _holds_readings(test):
        return
    _tell_kind(test, findings)
    for form in FORMS:
        for name, declared in form.fields.items():
            stand_in = test.fields.get(_STAND_INS.get(name, ""))
            if declared.without and test.fields[name] is None and stand_in is None:
                findings.tell(f"{form.name}, {declared.label}: blank; without it {declared.without}")
    for name, declared in READINGS.fields.items():
        blank = int(np.isnan(test.tables[READINGS.name][name]).sum()) if declared.without else 0
        if blank:
            cost = f"without it {declared.without}"
            findings.tell(f"{READINGS.name}, {declared.label}: blank in {_of_all(blank, test)}; {cost}")


def _holds_readings(test: BenchTest) -> bool:
    return test.rows(READINGS.name) > 0


def _of_all(count: int, test: BenchTest) -> str:
    every = test.rows(READINGS.name)
    return f"all {every} readings" if count == every > 1 else f"{count} of {every} readings"


def _tell_kind(test: BenchTest, findings: Findings) -> None:
    """Tell what readings at full throttle count as that nobody called peak or steady."""
    columns = test.tables[READINGS.name]
    position = columns[throttle.name]
    limit = test.fields[full_throttle_from.name]
    full = np.isnan(position) | (position >= (limit if isinstance(limit, float) else np.inf))
    count = int(np.sum(full & np.array([one is None for one in columns[kind.name]])))
    if count and test.fields[readings_are.name] is None:
        findings.tell(
            f"{READINGS.name}, {READINGS.fields[kind.name].label}: blank in {_of_all(count, test)}, and so is Bench, "
            f"{FIELDS[readings_are.name].label}; so an ESC is sized as for steady readings with a peak "
            f"{test.fields[esc_peak_over_steady.name]} times as high. Choose {PEAK} or {STEADY} on Bench, or reading by "
            "reading"
        )


# --- what is legal and yet hardly meant ------------------------------------------------------------------------


def tell_unmatched(test: BenchTest, findings: Findings) -> None:
    """Tell of a lead gauge, a pack's cell count and a propeller of the craft that match no row of their tables.

    And of throttles that look like shares of one where percent is meant.
    """
    _tell_unmatched(test, lead_gauge.name, WIRES.name, gauge.name, "what follows from the wire stays blank", findings)
    _tell_unmatched(test, pack_cells.name, READINGS.name, cells.name, "no row decides the advice", findings)
    _tell_unmatched(test, craft_propeller.name, READINGS.name, prop.name, "no row decides the advice", findings)
    _tell_shares(test, findings)


def _tell_shares(test: BenchTest, findings: Findings) -> None:
    column = test.tables[READINGS.name][throttle.name]
    if are_shares(column):
        lowest, highest = (number_text(float(end)) for end in np.sort(column[column > 0])[[0, -1]])
        label = READINGS.columns[throttle.name].header
        findings.tell(
            f"{label}: {lowest} to {highest} look like shares, and are read as percent; type 50 for half throttle"
        )


def _tell_unmatched(test: BenchTest, name: str, table: str, column: str, effect: str, findings: Findings) -> None:
    wanted = test.fields.get(name)
    if wanted is None or test.rows(table) == 0:
        return
    held = test.tables[table][column].tolist()
    if _plain(wanted) not in {_plain(value) for value in held}:
        said = number_text(wanted) if isinstance(wanted, float) else f'"{wanted}"'
        findings.tell(f"{FIELDS[name].label}: {said} stands in no row of the table {table}; {effect}")


def _plain(value: object) -> object:
    return key(value) if isinstance(value, str) else value
