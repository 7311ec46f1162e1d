"""Reading a workbook back, input or results alike: by table name, header and label, with all its faults at once."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path

from xlsengine.bench.declaring.declare import Form, Table
from xlsengine.bench.inputs.bench_test import Array, BenchTest, Value, columns_of, input_hash
from xlsengine.bench.inputs.craft import craft_propeller
from xlsengine.bench.inputs.motor import test_id
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.errors import Fault, Reason, WorkbookFaulty
from xlsengine.workbook.layout import FORM_HEADERS, SHEETS, TEMPLATE_SHEETS, table_name, written_sheets
from xlsengine.workbook.reading.area_reader import Position
from xlsengine.workbook.reading.cells import content_of
from xlsengine.workbook.reading.contents import Contents, Held, read_contents
from xlsengine.workbook.reading.extras import read_extras
from xlsengine.workbook.reading.findings import Findings, ReadCell, key
from xlsengine.workbook.reading.form_reader import read_form
from xlsengine.workbook.reading.propeller_names import one_spelling
from xlsengine.workbook.reading.remarks import named_by_its_file, tell_blanks, tell_unmatched
from xlsengine.workbook.reading.table_reader import read_table
from xlsengine.workbook.reading.typed_values import plain_text
from xlsengine.workbook.reading.versions import up_to_date

COPY_INTO_TEMPLATE = "or copy the readings into a new one (xlsengine template)"
HOMES: dict[str, str] = {table_name(part).casefold(): sheet for sheet, parts in SHEETS.items() for part in parts}


def _tell_missing(
    sheet: str, parts: Sequence[Form | Table], present: Collection[str], contents: Contents, findings: Findings
) -> None:
    """Keep faults for the tables of a sheet that are missing, and needed or there in plain cells; tell of the others."""
    missing = [part for part in parts if table_name(part) not in present]
    gone = not present and key(sheet) not in {key(other) for other in contents.sheets}
    if gone and READINGS in missing:
        wanted = f"the sheet with the table {READINGS.name}"
        fix = f"bring it back from an earlier copy of the workbook, {COPY_INTO_TEMPLATE}"
        findings.fault(Reason.MISSING_SHEET, sheet, "", f'no sheet "{sheet}"', wanted, fix)
        return
    for part in missing:
        name = table_name(part)
        if part is READINGS or _stands_there(part, sheet, contents):
            fix = f"select its cells, make them a table and name it {name}, {COPY_INTO_TEMPLATE}"
            findings.no_table(sheet, name, fix)
        else:
            findings.tell(f"{sheet}: the table {name} is not in this workbook; {_taken(part)}")


def _taken(part: Form | Table) -> str:
    holds = part.rows if isinstance(part, Table) else [f for f in part.fields.values() if f.default is not None]
    return "what a new workbook holds there is used" if holds else "it is read as blank"


def _stands_there(part: Form | Table, sheet: str, contents: Contents) -> bool:
    """Tell whether a missing table's headers stand on its sheet under another name or none: its rows would be lost."""
    actual = next((name for name in contents.sheets if key(name) == key(sheet)), "")
    if contents.other_sheets.get(actual):
        return True
    named = FORM_HEADERS[:2] if isinstance(part, Form) else [declared.header for declared in part.fields.values()]
    headers = set(map(key, named))
    taken = [area for area in contents.areas if area.sheet == actual and area.name.casefold() in HOMES]
    for row, cells in contents.grids.get(actual, {}).items():
        texts = {key(plain_text(content_of(stored))) for stored in cells.values()}
        if headers <= texts and not any(area.top <= row <= area.bottom for area in taken):
            return True
    return False


Where = Mapping[str, Position]
"""Where every form and table that a workbook has stands, by the name of its Excel table."""


@dataclass(frozen=True)
class Reading:
    """What was read from a workbook: the test, its faults, `told` (what else its sender should know), and its hash.

    Where there are faults, `test` holds blanks in their places. `cells` lists every cell that was read in other words,
    all of which `told` speaks of. `contents` are the cells that it was read from, and `where` says which of them by form
    and table. `named_by_file` says that no test id was typed.
    """

    test: BenchTest
    faults: tuple[Fault, ...]
    told: tuple[str, ...]
    input_hash: str
    cells: tuple[ReadCell, ...]
    contents: Contents = field(repr=False, compare=False)
    where: Where = field(repr=False, compare=False)
    named_by_file: bool = False


def read_workbook(path: str | Path) -> Reading:
    """Read an input or a results workbook. Raises `WorkbookUnreadable` when it cannot be opened as a workbook."""
    findings = Findings()
    contents = up_to_date(read_contents(Path(path), HOMES), findings)
    held = contents.held()
    _tell_found(contents, held, findings)
    fields, tables, where = read_parts([part for parts in SHEETS.values() for part in parts], held, findings)
    _tell_unread_sheets(contents, findings)
    flown, typed_id = fields.get(craft_propeller.name), fields.get(test_id.name)
    if isinstance(flown, str):
        fields[craft_propeller.name] = one_spelling(flown)  # as Readings spells it
    test = BenchTest(fields, tables)
    tell_unmatched(test, findings)
    if not findings.faults:
        tell_blanks(test, findings)
    test = named_by_its_file(test, Path(path), findings)
    test = replace(test, extras=read_extras(Path(path), contents, where, findings))
    findings.tell_unlisted()
    faults, told, cells = tuple(findings.faults), tuple(findings.told), tuple(findings.cells)
    return Reading(test, faults, told, input_hash(test), cells, contents, where, typed_id is None)


def read_parts(
    parts: Iterable[Form | Table], held: Mapping[str, Held], findings: Findings, carried: bool = True
) -> tuple[dict[str, Value], dict[str, Mapping[str, Array]], dict[str, Position]]:
    """Return the fields of some forms, the columns of some tables, and where those stand that there are.

    What is not there holds what a new workbook does. Columns that are not known are told, and whether they are `carried`.
    """
    fields: dict[str, Value] = {}
    tables: dict[str, Mapping[str, Array]] = {}
    where: dict[str, Position] = {}
    for part in parts:
        name = table_name(part)
        there = held.get(name.casefold())
        if isinstance(part, Form):
            fields |= {field: declared.default for field, declared in part.fields.items()}
            if there is not None:
                typed, where[name] = read_form(part, there, findings)
                fields |= typed
        elif there is None:
            tables[name] = columns_of(part, part.rows)
        else:
            tables[name], where[name] = read_table(part, there, findings, carried)
    return fields, tables, where


def read_sound(path: str | Path) -> Reading:
    """Read a workbook without faults. Raises `WorkbookFaulty` with every fault, or `WorkbookUnreadable`."""
    reading = read_workbook(path)
    if reading.faults:
        raise WorkbookFaulty(reading.faults)
    return reading


def read_bench_test(path: str | Path) -> BenchTest:
    """Read a bench test; raises as `read_sound` does."""
    return read_sound(path).test


def _tell_found(contents: Contents, held: Mapping[str, Held], findings: Findings) -> None:
    """Keep faults for forms and tables that are missing, and tell where they stand elsewhere or twice."""
    for area in contents.areas:
        first = held[area.name.casefold()].area if area.name.casefold() in HOMES else area
        if first is not area:
            findings.tell(
                f"the table {area.name} stands on {first.sheet} and on {area.sheet}; that on {first.sheet} was read"
            )
    for sheet, parts in SHEETS.items():
        present = {name: held[name.casefold()].area for name in map(table_name, parts) if name.casefold() in held}
        for actual in dict.fromkeys(area.sheet for area in present.values() if key(area.sheet) != key(sheet)):
            moved = ", ".join(name for name, area in present.items() if area.sheet == actual)
            findings.tell(f'{moved}: found on the sheet "{actual}" instead of "{sheet}", and read there')
        _tell_missing(sheet, parts, present, contents, findings)


def is_ours(name: str) -> bool:
    """Tell whether a sheet has the name of one of ours, for the inputs or written by the engine."""
    return key(name) in _our_sheets()


@cache
def _our_sheets() -> frozenset[str]:
    return frozenset(map(key, (*SHEETS, *TEMPLATE_SHEETS, *written_sheets())))


def _tell_unread_sheets(contents: Contents, findings: Findings) -> None:
    for name, filled in contents.other_sheets.items():
        if filled and not is_ours(name):
            findings.tell(f'the sheet "{name}" is not known and was not read')
    for name, kind in contents.without_cells.items():
        if not is_ours(name):
            findings.tell(f'the sheet "{name}" holds no cells ({kind}) and was not read')
    if contents.leads_outside:
        findings.tell(
            "the workbook refers to data outside it, which was not fetched; the values stored in it were taken"
        )
