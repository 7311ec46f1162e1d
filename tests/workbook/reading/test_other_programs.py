"""Workbooks that this engine did not write: exit code 1 or 2 and a message, never a traceback."""

import io
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pandas as pd
import pytest
import xlsxwriter
from openpyxl.chart import BarChart, Reference
from openpyxl.comments import Comment
from openpyxl.drawing.image import Image as SheetImage
from openpyxl.worksheet.formula import ArrayFormula
from openpyxl.worksheet.table import Table as ExcelTable
from PIL import Image

from tests.command_line import run_and_hear
from tests.instruments.office_edit import Work, do_in_libreoffice
from tests.instruments.recalculate import requires_libreoffice
from tests.workbook.reader_workbooks import DEMO, demo_workbook, edited, saved_by_libreoffice
from xlsengine.workbook.reading.reader import read_workbook

HEADERS = ("Prop", "Volts", "Amps", "Thrust (g)")


def test_saved_by_openpyxl(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A hidden, protected sheet with a chart, a picture, an array formula, a table and a note; others in other alphabets."""
    book, held = openpyxl.Workbook(), io.BytesIO()
    sheet: Any = book.active
    sheet.append(HEADERS)
    sheet.append(["5x4.3x3", 14.8, 31.5, 1044])
    chart = BarChart()
    chart.add_data(Reference(sheet, min_col=2, min_row=1, max_row=2))
    sheet.add_chart(chart, "F2")
    Image.new("RGB", (20, 20)).save(held, "PNG")
    sheet.add_image(SheetImage(held), "F20")
    sheet["E2"] = ArrayFormula("E2:E3", "=B2:B3*C2:C3")
    sheet.add_table(ExcelTable(displayName="Table1", ref="A1:D2"))
    sheet["A20"].comment = Comment("Замечание", "автор")
    sheet.protection.set_password("secret")
    book.security.lockStructure = True
    book.create_chartsheet("Drawing").add_chart(BarChart())
    for name in ("Показания", "読み", "قراءات", "מדידות", "Μετρήσεις", "बेंच", "🛩"):
        book.create_sheet(name)["A1"] = name
        book[name].merge_cells("A1:D4")
    sheet.sheet_state = "hidden"
    book.save(tmp_path / "other.xlsx")
    code, said = run_and_hear(capsys, "check", tmp_path / "other.xlsx")
    assert code == 1
    assert 'Readings: found no sheet "Readings"' in said


def test_saved_by_pandas_and_xlsxwriter(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    frame = pd.DataFrame({header: [1, 2] for header in HEADERS})
    frame.to_excel(tmp_path / "frame.xlsx", sheet_name="Readings")
    code, said = run_and_hear(capsys, "check", tmp_path / "frame.xlsx")
    assert (code, "Readings: found no table Readings" in said) == (1, True)
    with xlsxwriter.Workbook(str(tmp_path / "odd.xlsx"), {"constant_memory": True}) as book:
        sheet = book.add_worksheet("Readings")
        sheet.write_row(0, 0, HEADERS)
        sheet.write_dynamic_array_formula("F2:F3", "=B2:B3*2")
        sheet.add_sparkline("G2", {"range": "Readings!B2:C2"})
        book.add_chartsheet("Drawing")
    code, said = run_and_hear(capsys, "check", tmp_path / "odd.xlsx")
    assert (code, "Traceback" in said) == (1, False)


OTHER_KINDS = {
    "xls": ("MS Excel 97", "an old .xls workbook"),
    "ods": ("calc8", "an OpenDocument file"),
    "fods": ("OpenDocument Spreadsheet Flat XML", "no .xlsx workbook"),
    "csv": ("Text - txt - csv (StarCalc)", "a text file with separated values"),
    "pdf": ("calc_pdf_Export", "a PDF"),
    "html": ("HTML (StarCalc)", "a web page"),
}
"""By ending: LibreOffice's filter, and what is said of the file."""


@requires_libreoffice
def test_saved_by_libreoffice_as_other_kinds(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source = str(demo_workbook(tmp_path))
    do_in_libreoffice(
        [Work(source, str(tmp_path / f"saved.{kind}"), filter=name) for kind, (name, _) in OTHER_KINDS.items()]
    )
    for kind, (_, words) in OTHER_KINDS.items():
        code, said = run_and_hear(capsys, "check", tmp_path / f"saved.{kind}")
        assert (code, f"it is {words}" in said) == (2, True), said


@requires_libreoffice
def test_saved_by_libreoffice_as_xlsx_is_read_with_all_its_oddities(tmp_path: Path) -> None:
    def change(workbook: Any) -> None:
        sheet = workbook["Readings"]
        sheet["J6"], sheet["K6"] = "38,2 A", "44 oz"
        sheet.row_dimensions[8].hidden = True
        workbook.create_sheet("Показания")["A1"] = "ветер"

    reading = read_workbook(saved_by_libreoffice(edited(tmp_path, change), tmp_path / "saved"))
    assert reading.faults == ()
    assert reading.test.tables["Readings"]["current"][0] == 38.2
    np.testing.assert_array_equal(
        reading.test.tables["Readings"]["current"][1:], DEMO.tables["Readings"]["current"][1:]
    )
    told = "\n".join(reading.told)
    for words in ('"44 oz" read as', "1 row is hidden", 'the sheet "Показания"'):
        assert words in told
