"""Reading a workbook back, input or results alike: by table name, header and label, with all its faults at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from xlsengine.bench.declaring.declare import Form, Table
from xlsengine.bench.inputs.bench_test import Array, BenchTest, Value, columns_of, input_hash
from xlsengine.bench.inputs.motor import test_id
from xlsengine.errors import Fault, Reason, WorkbookFaulty
from xlsengine.workbook.layout import SHEETS, TEMPLATE_SHEETS, table_name, written_sheets
from xlsengine.workbook.reading import limits
from xlsengine.workbook.reading.blanks import named_by_its_file, tell_blanks
from xlsengine.workbook.reading.contents import Contents, read_contents
from xlsengine.workbook.reading.cross_checks import tell_unmatched
from xlsengine.workbook.reading.extras import read_extras
from xlsengine.workbook.reading.findings import Findings, ReadCell, key
from xlsengine.workbook.reading.form_reader import read_form
from xlsengine.workbook.reading.missing_parts import HOMES, find_missing
from xlsengine.workbook.reading.package import Area
from xlsengine.workbook.reading.table_reader import read_table
from xlsengine.workbook.reading.versions import earlier_names, up_to_date

_STRUCTURE = {
    Reason.NO_READINGS,
    Reason.MISSING_TABLE,
    Reason.MISSING_HEADER,
    Reason.DOUBLED_HEADER,
    Reason.OTHER_VERSION,
}

_OURS = {key(name) for name in (*SHEETS, *TEMPLATE_SHEETS)}


@dataclass(frozen=True)
class Reading:
    """What was read from a workbook: the test, its faults, `told` (what else its sender should know), and its hash.

    Where there are faults, `test` holds blanks in their places. `cells` lists every cell that was read in other words,
    all of which `told` speaks of. `contents` are the cells that it was read from. `named_by_file` says that no test id
    was typed.
    """

    test: BenchTest
    faults: tuple[Fault, ...]
    told: tuple[str, ...]
    input_hash: str
    cells: tuple[ReadCell, ...]
    contents: Contents = field(repr=False, compare=False)
    named_by_file: bool = False


def read_workbook(path: str | Path) -> Reading:
    """Read an input or a results workbook. Raises `WorkbookUnreadable` when it cannot be opened as a workbook."""
    contents = read_contents(Path(path), {*HOMES, *earlier_names()}, _is_hopeless)
    findings = Findings()
    test, contents = _understood(contents, findings)
    typed_id = test.fields[test_id.name]
    if contents.cut:
        findings.tell_cut()
    else:
        tell_unmatched(test, findings)
        if not findings.faults:
            tell_blanks(test, findings)
        test = named_by_its_file(test, Path(path), findings)
        test = replace(test, extras=read_extras(Path(path), contents, test, findings))
    findings.tell_unlisted()
    return Reading(
        test,
        tuple(findings.faults),
        tuple(findings.told),
        input_hash(test),
        tuple(findings.cells),
        contents,
        typed_id is None,
    )


def _is_hopeless(first: Contents) -> bool:
    """Tell whether the first rows of a large sheet leave no doubt that the others need not be read."""
    findings = Findings()
    _understood(first, findings)
    certain = [fault.reason for fault in findings.faults if fault.reason is not Reason.REQUIRED_BLANK]
    return len(certain) >= limits.HOPELESS or not _STRUCTURE.isdisjoint(certain)


def _understood(contents: Contents, findings: Findings) -> tuple[BenchTest, Contents]:
    """Return the test that the cells of a workbook make, extras left out, and its contents brought up to date."""
    contents = up_to_date(contents, findings)
    areas = _find_areas(contents, findings)
    fields: dict[str, Value] = {}
    tables: dict[str, Mapping[str, Array]] = {}
    for part in (part for parts in SHEETS.values() for part in parts):
        area = areas.get(table_name(part))
        if isinstance(part, Form):
            fields |= _form(part, area, contents, findings)
        else:
            tables[part.name] = _table(part, area, contents, findings)
    _tell_unread_sheets(contents, findings)
    return BenchTest(fields, tables), contents


def read_bench_test(path: str | Path) -> BenchTest:
    """Read a bench test. Raises `WorkbookFaulty` with every fault, or `WorkbookUnreadable`."""
    reading = read_workbook(path)
    if reading.faults:
        raise WorkbookFaulty(reading.faults)
    return reading.test


def _form(form: Form, area: Area | None, contents: Contents, findings: Findings) -> dict[str, Value]:
    if area is None:
        return {name: declared.default for name, declared in form.fields.items()}
    return read_form(form, area, contents.grids[area.sheet], findings)


def _table(table: Table, area: Area | None, contents: Contents, findings: Findings) -> dict[str, Array]:
    if area is None:
        return columns_of(table, table.rows)
    neighbours = [other for other in contents.areas if other.sheet == area.sheet and other is not area]
    return read_table(table, area, contents.grids[area.sheet], neighbours, findings)


def _find_areas(contents: Contents, findings: Findings) -> dict[str, Area]:
    """Find every form and table by name; keep faults for missing ones, and tell where they stand elsewhere."""
    by_name: dict[str, Area] = {}
    for area in contents.areas:
        first = by_name.setdefault(area.name.casefold(), area)
        if first is not area and area.name.casefold() in HOMES:
            findings.tell(
                f"the table {area.name} stands on {first.sheet} and on {area.sheet}; that on {first.sheet} was read"
            )
    areas = {}
    for sheet, parts in SHEETS.items():
        names = [table_name(part) for part in parts]
        present = {name: by_name[name.casefold()] for name in names if name.casefold() in by_name}
        areas.update(present)
        _tell_moved(sheet, present, findings)
        find_missing(sheet, parts, present, contents, findings)
    return areas


def _tell_moved(sheet: str, present: Mapping[str, Area], findings: Findings) -> None:
    for actual in dict.fromkeys(area.sheet for area in present.values() if key(area.sheet) != key(sheet)):
        moved = [name for name, area in present.items() if area.sheet == actual]
        findings.tell(f'{", ".join(moved)}: found on the sheet "{actual}" instead of "{sheet}", and read there')


def _is_known(name: str) -> bool:
    """Tell whether a sheet is one of ours, for the inputs or written by the engine."""
    return key(name) in _OURS or key(name) in {key(each) for each in written_sheets()}


def _tell_unread_sheets(contents: Contents, findings: Findings) -> None:
    for name, filled in contents.other_sheets.items():
        if filled and not _is_known(name):
            findings.tell(f'the sheet "{name}" is not known and was not read')
    for name, kind in contents.without_cells.items():
        if not _is_known(name):
            findings.tell(f'the sheet "{name}" holds no cells ({kind}) and was not read')
    if contents.leads_outside:
        findings.tell(
            "the workbook refers to data outside it, which was not fetched; the values stored in it were taken"
        )
