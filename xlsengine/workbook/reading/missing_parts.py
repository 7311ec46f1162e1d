"""Forms and tables that a workbook does not have: a fault where they are needed, else told, with what is taken."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from xlsengine.bench.declaring.declare import Form, Table
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.errors import Reason
from xlsengine.workbook.layout import FORM_HEADERS, SHEETS, table_name
from xlsengine.workbook.reading.cells import content_of
from xlsengine.workbook.reading.contents import Contents
from xlsengine.workbook.reading.findings import Findings, key
from xlsengine.workbook.reading.typed_values import plain_text

COPY_INTO_TEMPLATE = "or copy the readings into a new one (xlsengine template)"
HOMES: dict[str, str] = {table_name(part).casefold(): sheet for sheet, parts in SHEETS.items() for part in parts}


def find_missing(
    sheet: str, parts: Sequence[Form | Table], present: Collection[str], contents: Contents, findings: Findings
) -> None:
    """Keep faults for the forms and tables of a sheet that are missing and needed; tell of the others."""
    missing = [part for part in parts if table_name(part) not in present]
    gone = not present and key(sheet) not in {key(other) for other in contents.sheets}
    needed = [part for part in missing if part is READINGS]
    if gone and needed:
        _missing_sheet(sheet, parts, findings)
        return
    for part in missing:
        likely = _likely(part, sheet, contents)
        if part in needed or likely or _stands_plain(part, sheet, contents):
            _missing_table(part, sheet, likely, findings)
        else:
            findings.tell(f"{sheet}: the table {table_name(part)} is not in this workbook; {_taken(part)}")


def _taken(part: Form | Table) -> str:
    holds = part.rows if isinstance(part, Table) else [f for f in part.fields.values() if f.default is not None]
    return "what a new workbook holds there is used" if holds else "it is read as blank"


def _missing_sheet(sheet: str, parts: Sequence[Form | Table], findings: Findings) -> None:
    tables = "the table" if len(parts) == 1 else "the tables"
    findings.fault(
        Reason.MISSING_SHEET,
        sheet,
        "",
        f'no sheet "{sheet}"',
        f"the sheet with {tables} {', '.join(map(table_name, parts))}",
        f"bring it back from an earlier copy of the workbook, {COPY_INTO_TEMPLATE}",
    )


def _missing_table(part: Form | Table, sheet: str, likely: str, findings: Findings) -> None:
    name = table_name(part)
    found, fix = f"no table {name}", f"select its cells, make them a table and name it {name}, {COPY_INTO_TEMPLATE}"
    if likely:
        found, fix = f"a table {likely} with its headers", f"name that table {name}"
    findings.fault(Reason.MISSING_TABLE, sheet, "", found, f"the table {name}", fix)


def _headers(part: Form | Table) -> set[str]:
    headers = FORM_HEADERS[:2] if isinstance(part, Form) else [declared.header for declared in part.fields.values()]
    return {key(header) for header in headers}


def _likely(part: Form | Table, sheet: str, contents: Contents) -> str:
    """Return the name of a table on the sheet that has the headers of a missing one, "" where there is none."""
    unknown = [area for area in contents.areas if key(area.sheet) == key(sheet) and area.name.casefold() not in HOMES]
    headers = _headers(part)
    return next((area.name for area in unknown if headers <= {key(header) for header in area.headers}), "")


def _stands_plain(part: Form | Table, sheet: str, contents: Contents) -> bool:
    """Tell whether a missing table's headers stand on its sheet in plain cells: its rows would be lost."""
    actual = next((name for name in contents.sheets if key(name) == key(sheet)), "")
    if contents.other_sheets.get(actual):
        return True
    headers = _headers(part)
    taken = [area for area in contents.areas if area.sheet == actual and area.name.casefold() in HOMES]
    for row, cells in contents.grids.get(actual, {}).items():
        texts = {key(plain_text(content_of(stored))) for stored in cells.values()}
        if headers <= texts and not any(area.top <= row <= area.bottom for area in taken):
            return True
    return False
