"""Workbooks of earlier template versions: what was called otherwise then, one row a version, and how it is brought up
to date before anything is read. Version 1 is the first, so there is nothing older yet."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

from xlsengine.errors import Reason
from xlsengine.workbook.layout import FORM_HEADERS, SCHEMA_VERSION
from xlsengine.workbook.reading.cells import SheetCells, content_of
from xlsengine.workbook.reading.contents import Contents
from xlsengine.workbook.reading.findings import Findings, key
from xlsengine.workbook.reading.package import Area
from xlsengine.workbook.reading.typed_values import plain_text

Names = Mapping[str, str]


@dataclass(frozen=True)
class Changes:
    """What the version after one calls otherwise: old names to new ones.

    `labels` are a form's field labels by the name of its table, `headers` a table's headers by its name, both under
    the table's new name; `tables` are the names of tables themselves.
    """

    tables: Names = field(default_factory=dict)
    headers: Mapping[str, Names] = field(default_factory=dict)
    labels: Mapping[str, Names] = field(default_factory=dict)


CHANGES: dict[int, Changes] = {}


def earlier_names() -> set[str]:
    """Return the names that tables had in earlier versions, without capitals."""
    return {old.casefold() for changes in CHANGES.values() for old in changes.tables}


def up_to_date(contents: Contents, findings: Findings) -> Contents:
    """Return a workbook's contents as the present version would hold them, and tell what changed.

    Keeps a fault for a version that is newer, or that no one knows.
    """
    version = contents.schema_version
    if version in (None, SCHEMA_VERSION):
        return contents
    if not version or not version.isdecimal() or int(version) not in CHANGES:
        findings.fault(
            Reason.OTHER_VERSION, "Start", "template version", f'"{version}"', f'"{SCHEMA_VERSION}"',
            "copy the readings into a new workbook (xlsengine template), or use the program that wrote this one",
        )  # fmt: skip
        return contents
    findings.tell(f"the workbook is of template version {version}; it was read as version {SCHEMA_VERSION}")
    for number in range(int(version), int(SCHEMA_VERSION)):
        contents = _changed(contents, CHANGES.get(number, Changes()), findings)
    return contents


def _changed(contents: Contents, changes: Changes, findings: Findings) -> Contents:
    areas = tuple(_renamed(area, changes, findings) for area in contents.areas)
    grids = dict(contents.grids)
    for area in areas:
        for row, column, new in _new_texts(area, grids.get(area.sheet, SheetCells()), changes):
            old = plain_text(content_of(grids[area.sheet][row][column])).strip()
            grids[area.sheet][row][column] = new
            findings.tell(f'{area.place(row, column)}: "{old}" is now "{new}"')
    return replace(contents, areas=areas, grids=grids)


def _renamed(area: Area, changes: Changes, findings: Findings) -> Area:
    tables = {key(old): new for old, new in changes.tables.items()}
    name = tables.get(key(area.name), area.name)
    if name != area.name:
        findings.tell(f"{area.sheet}: the table {area.name} is now {name}")
    headers = {key(old): new for old, new in changes.headers.get(name, {}).items()}
    return replace(area, name=name, headers=tuple(headers.get(key(header), header) for header in area.headers))


def _new_texts(area: Area, cells: SheetCells, changes: Changes) -> Iterator[tuple[int, int, str]]:
    """Yield the cells of a table that hold an old header or label, with the new one."""
    headers = {key(old): new for old, new in changes.headers.get(area.name, {}).items()}
    labels = {key(old): new for old, new in changes.labels.get(area.name, {}).items()}
    top = {c: key(plain_text(content_of(stored))) for c, stored in cells.get(area.top, {}).items() if c in area.columns}
    if area.titled:
        yield from ((area.top, column, headers[text]) for column, text in top.items() if text in headers)
    for column in (column for column, text in top.items() if text == key(FORM_HEADERS[0]) and labels):
        for row in range(area.first, area.last + 1):
            text = key(plain_text(content_of(cells.get(row, {}).get(column))).strip().removesuffix("*"))
            if text in labels:
                yield row, column, labels[text]
