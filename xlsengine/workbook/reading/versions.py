"""Workbooks of earlier versions: headers and labels that were called otherwise, and columns that are gone (renamed.csv).

In a row of that table `now` is the name of the field or column; blank where a computed column is no more.
"""

import csv
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path

from xlsengine.bench.declaring.declare import Form, Table
from xlsengine.errors import Reason
from xlsengine.workbook.layout import FORM_HEADERS, SCHEMA_VERSION, SHEETS, table_name
from xlsengine.workbook.reading.area_reader import label_key
from xlsengine.workbook.reading.cells import SheetCells, content_of
from xlsengine.workbook.reading.contents import Contents
from xlsengine.workbook.reading.findings import Findings, key
from xlsengine.workbook.reading.package import Area
from xlsengine.workbook.reading.typed_values import plain_text

MOST_TOLD = 5
"""How many labels and headers that have changed are told one by one."""
GONE_TEXTS = (
    "Why: the first limit that is not met, else what it gives",
    "Lifts at 2:1 / 4:1",
    "From the pack, all motors (A)",
    "Guard up, everybody out of the propeller's plane, eye protection on, power cut-off in reach; check blades, nut, "
    "screws and clamps before each run. Stop at smoke, a smell, a screech or a new vibration. Power off before you touch "
    "anything; motor and ESC stay hot.",
)
"""What earlier workbooks say beside an input table: heads of computed cells, and a caution in other words."""
_PARTS: Mapping[str, Form | Table] = {table_name(part): part for parts in SHEETS.values() for part in parts}


def _called(part: Form | Table, name: str) -> str:
    return part.columns[name].header if isinstance(part, Table) else part.fields[name].label


def _renamed() -> dict[str, dict[str, str]]:
    names: dict[str, dict[str, str]] = {}
    with Path(__file__).with_name("renamed.csv").open(encoding="utf-8", newline="") as file:
        for table, before, now in list(csv.reader(file))[1:]:
            names.setdefault(table, {})[key(before)] = _called(_PARTS[table], now) if now else ""
    return names


RENAMED = _renamed()
"""Headers and labels of now by those of before as they are compared, by table; "" where a column is gone."""


def up_to_date(contents: Contents, findings: Findings) -> Contents:
    """Return a workbook's contents as the present version would hold them, and tell what changed.

    Keeps a fault for a version that is newer, or that no one knows.
    """
    version = contents.schema_version
    if version not in (None, *map(str, range(1, int(SCHEMA_VERSION) + 1))):
        fix = "copy the readings into a new workbook (xlsengine template), or use the program that wrote this one"
        place, label = "Start", "template version"
        findings.fault(Reason.OTHER_VERSION, place, label, f'"{version}"', f'"{SCHEMA_VERSION}"', fix)
        return contents
    if version not in (None, SCHEMA_VERSION):
        findings.tell(f"the workbook is of template version {version}; it was read as version {SCHEMA_VERSION}")
    told: list[str] = []
    areas = tuple(_now(area, contents.grids.get(area.sheet, SheetCells()), told) for area in contents.areas)
    findings.told.extend(told[:MOST_TOLD])
    if len(told) > MOST_TOLD:
        findings.tell(f"{len(told) - MOST_TOLD} more labels and headers read otherwise now")
    return replace(contents, areas=areas)


def _now(area: Area, cells: SheetCells, told: list[str]) -> Area:
    """Put what headers and labels of a table are called now in their cells, and take away columns that are gone."""
    now = RENAMED.get(area.name)
    if not now:
        return area
    for row, column in _named_cells(area, cells):
        before = _text(cells, row, column)
        if called := now.get(label_key(before)):
            told.append(f'{area.place(row, column)}: "{before}" is now "{called}"')
            cells[row][column] = called
    for column in _gone(area, cells, now):
        for row in range(area.top, area.bottom + 1):
            cells.get(row, {}).pop(column, None)
    return replace(area, headers=tuple(now.get(key(header)) or header for header in area.headers))


def _named_cells(area: Area, cells: SheetCells) -> Iterator[tuple[int, int]]:
    """Yield the cells that hold a header, and of a form those that hold a label."""
    for column in area.columns:
        if area.titled:
            yield area.top, column
        if key(_text(cells, area.top, column)) == key(FORM_HEADERS[0]):
            yield from ((row, column) for row in range(area.first, area.last + 1))


def _gone(area: Area, cells: SheetCells, now: Mapping[str, str]) -> list[int]:
    """Return the columns that are gone, behind the first computed one: a sender's own stand before it."""
    part = _PARTS[area.name]
    computed = {key(one.header) for one in part.quantities.values()} if isinstance(part, Table) else set()
    titles = {column: key(_text(cells, area.top, column)) for column in area.columns}
    first = min((column for column, title in titles.items() if title in computed), default=area.columns.stop)
    return [column for column, title in titles.items() if now.get(title) == "" and column > first]


def _text(cells: SheetCells, row: int, column: int) -> str:
    return plain_text(content_of(cells.get(row, {}).get(column))).strip()
