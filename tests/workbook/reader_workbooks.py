"""Workbooks for the reader's tests: a demo test written as an input workbook, then edited or cut open."""

import re
import shutil
import tempfile
import zipfile
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from types import NoneType
from typing import Any

import numpy as np
import openpyxl

import xlsengine
from demo_inputs.make_demo_inputs import bench_test_of
from demo_inputs.scenario import DEMO_TESTS
from tests.instruments.editing import edited_copy
from tests.instruments.office_edit import Work, do_in_libreoffice
from xlsengine.bench.inputs.bench_test import BenchTest

DEMO = bench_test_of(DEMO_TESTS[0])
READINGS_TOP = 5  # the header's row on the sheet
READINGS_PART, READINGS_TABLE = "xl/worksheets/sheet2.xml", "xl/tables/table1.xml"
Edits = Mapping[str, Mapping[str, Any]]


def demo_workbook(folder: Path) -> Path:
    """Write the demo test as an input workbook."""
    path = folder / "bench test.xlsx"
    path.write_bytes(_content(xlsengine.write_input_workbook))
    return path


def demo_results(folder: Path) -> Path:
    """Write the results of the demo test."""
    path = folder / "results.xlsx"
    path.write_bytes(_content(_write_results))
    return path


def _write_results(test: BenchTest, path: Path) -> Path:
    return xlsengine.write_results(xlsengine.evaluate(test), path)


@cache
def _content(write: Callable[[BenchTest, Path], Path]) -> bytes:
    """Write the demo test once in a way of writing, and keep it."""
    with tempfile.TemporaryDirectory() as folder:
        return write(DEMO, Path(folder, "written.xlsx")).read_bytes()


def edited(folder: Path, edits: Edits | Callable[[Any], None]) -> Path:
    """Write the demo workbook and edit it: values by sheet and address, or a function on the open workbook."""
    path = demo_workbook(folder)
    if callable(edits):
        workbook = openpyxl.load_workbook(path)
        edits(workbook)
        workbook.save(path)
        return path
    typed = [(sheet, address, value) for sheet, cells in edits.items() for address, value in cells.items()]
    if all(_is_plain(value) for _, _, value in typed):  # ten times as fast
        return edited_copy(shutil.copyfile(path, folder / "as written"), path, typed)

    def type_in(workbook: Any) -> None:
        for sheet, address, value in typed:
            workbook[sheet][address] = value

    return edited(folder, type_in)


def _is_plain(value: Any) -> bool:
    """Tell whether a value is no date, formula or error, and no text that openpyxl writes in a manner of its own."""
    is_text = isinstance(value, str) and not value.startswith(("=", "#")) and "_x" not in value
    return is_text or isinstance(value, (int, float, NoneType))


def reading_cells(**cells: Any) -> dict[str, dict[str, Any]]:
    """Return edits of the sheet Readings."""
    return {"Readings": cells}


def with_parts(path: Path, change: Callable[[dict[str, bytes]], None]) -> Path:
    """Change the parts of a workbook's package in place."""
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    change(parts)
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return path


def replaced(part: str, old: str, new: str) -> Callable[[dict[str, bytes]], None]:
    """Return a change of one text in one part, which must be there."""

    def change(parts: dict[str, bytes]) -> None:
        assert old.encode() in parts[part], f"{part} holds no {old}"
        parts[part] = parts[part].replace(old.encode(), new.encode(), 1)

    return change


def with_cell(path: Path, address: str, content: str) -> Path:
    """Write a cell of Readings again as the file holds it, from the end of its style: ``"><v>1</v>"``."""

    def change(parts: dict[str, bytes]) -> None:
        cell = rf'(<c r="{address}" s="\d+")(?: t="s")?(?:/>|>.*?</c>)'
        sheet, times = re.subn(cell, rf"\g<1>{content}</c>", parts[READINGS_PART].decode())
        assert times == 1, f"no cell {address}"
        parts[READINGS_PART] = sheet.encode()

    return with_parts(path, change)


def part_with(path: Path, text: str) -> str:
    """Return the name of the one part that holds a text."""
    with zipfile.ZipFile(path) as archive:
        (name,) = [name for name in archive.namelist() if text.encode() in archive.read(name)]
    return name


def saved_by_libreoffice(path: Path, folder: Path) -> Path:
    """Open a workbook in LibreOffice Calc and save it as .xlsx into a folder."""
    folder.mkdir(exist_ok=True)
    do_in_libreoffice([Work(str(path), str(folder / path.name))])
    return folder / path.name


def assert_same(one: BenchTest, other: BenchTest) -> None:
    """Hold two tests against each other, value by value, blanks included."""
    assert dict(one.fields) == dict(other.fields)
    assert one.tables.keys() == other.tables.keys()
    for table, columns in one.tables.items():
        assert columns.keys() == other.tables[table].keys()
        for name, column in columns.items():
            np.testing.assert_array_equal(column, other.tables[table][name], err_msg=f"{table}.{name}")
