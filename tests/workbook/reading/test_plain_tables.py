"""Plain tables that never saw a template, taken into an input workbook: by file kind, encoding, separator and mark."""

import zipfile
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pandas as pd
import pytest
import xlsxwriter

import xlsengine
from tests.command_line import run
from tests.instruments.linter import lint
from tests.instruments.office_edit import Work, do_in_libreoffice
from tests.instruments.recalculate import requires_libreoffice
from tests.workbook.reader_workbooks import DEMO, demo_workbook
from xlsengine.errors import WorkbookUnreadable
from xlsengine.workbook.reading.kinds import VALUES_ALONE
from xlsengine.workbook.reading.plain_tables import Taken, take_in
from xlsengine.workbook.reading.reader import read_workbook

ENGLISH = "Prop,Dia (in),Pitch (in),Cells,Volts,Amps,Thrust (g),RPM,Kind\n5x4.3x3,5,4.3,4,14.8,31.5,1044,24100,peak\n"
GERMAN = (
    "Motor;Thimble\nKv;1950\nNotiz ohne Platz\n\n"
    "Luftschraube;Zellen;Spannung [V];Strom (A);Schub (N);Drehzahl (U/min);Art;Wind;Bemerkung\n"
    "5x4.3x3;4S;14,8;31,5;8,3;24.100;Spitze;böig;\n52353;4;14,6;30-31;7,9;23800;stetig;;kühl\nMittel;;;30,2;;;;;\n"
)
FRENCH = "Hélice\tÉléments\tTension (V)\tIntensité (A)\tPoussée (g)\tType\n5x4,3x3\t4\t14,8\t31,5\t1 044\tcrête\n"


def _took(folder: Path, content: str, name: str = "table.csv", encoding: str = "utf-8") -> Taken:
    path = folder / name
    path.write_bytes(content.encode(encoding))
    return take_in(path)


def _first(taken: Taken) -> dict[str, Any]:
    return {name: column[0] for name, column in taken.test.tables["Readings"].items()}


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_german_text_in_every_encoding(encoding: str, tmp_path: Path) -> None:
    taken = _took(tmp_path, GERMAN, encoding=encoding)
    row = _first(taken)
    assert [row[name] for name in ("prop", "diameter", "pitch", "blades", "cells", "voltage", "current", "kind")] == [
        "5x4.3x3",
        5,
        4.3,
        3,
        4,
        14.8,
        31.5,
        "peak",
    ]
    # 8.3 N / 9.80665 m/s²
    assert row["thrust"] == pytest.approx(846.3644568, rel=1e-9)
    assert row["speed"] == 24100
    assert (taken.test.fields["model"], taken.test.fields["label_kv"]) == ("Thimble", 1950)
    assert taken.test.extras.columns["Readings"]["Wind"] == ["böig", None]
    assert list(taken.test.tables["Readings"]["note"]) == [None, 'kühl; Current (A): "30-31"']
    told = "\n".join(taken.told)
    for words in (
        "semicolons between values and a decimal comma",
        '"Notiz ohne Platz" stands above the table',
        '"Mittel", 30.2 is no row of readings',
        '"52353" can mean 5.2 by 3.53 or 5.2 by 3.5',
        "30-31",
    ):
        assert words in told


def test_a_throttle_that_was_not_taken_in_is_told(tmp_path: Path) -> None:
    lines = "5x4x3,4,14.8,31,900,50,3,calm\n5x4x3,4,14.9,29,860,40,4,\n"
    taken = _took(tmp_path, "Prop,Cells,Volts,Amps,Thrust (g),Step,Humidity %,Wind\n" + lines)
    assert (
        'no throttle was taken in: blank counts as full throttle; if it is "Step" or "Humidity %", head that column '
        '"Throttle (%)" and take the table in again'
    ) in taken.told
    assert np.isnan(taken.test.tables["Readings"]["throttle"]).all()
    taken = _took(tmp_path, "Prop,Cells,Volts,Amps,Thrust (g),Gas %,Humidity %,Wind\n" + lines)
    assert list(taken.test.tables["Readings"]["throttle"]) == [50, 40]
    assert not any("full throttle" in line for line in taken.told)
    assert "no throttle was taken in: blank counts as full throttle" in _took(tmp_path, ENGLISH).told


def test_only_what_is_needed_is_to_be_filled_in(tmp_path: Path) -> None:
    taken = _took(tmp_path, "Prop,Cells,Volts,Amps,Thrust (g)\nElm,4,14.8,31,900\n")
    assert not any("to be filled in" in line for line in taken.told)
    taken = _took(tmp_path, "Prop,Volts,Amps,Thrust (g)\nElm,14.8,31,900\nElm,,30,890\n")
    assert '"Cells" has no column and is to be filled in' in taken.told
    assert '"Voltage (V)" is blank in 1 row and is to be filled in' in taken.told


def test_many_words_of_one_kind_are_one_line(tmp_path: Path) -> None:
    (line,) = (line for line in _took(tmp_path, ENGLISH).told if "was read as" in line)
    assert line == (
        'table!B1: the header "Dia (in)" was read as "Diameter (in)"; likewise "Volts": "Voltage (V)", "Amps": '
        '"Current (A)", "RPM": "Speed (rpm)" (4 in all)'
    )


def test_english_and_french_text(tmp_path: Path) -> None:
    row = _first(_took(tmp_path, ENGLISH))
    assert [row[name] for name in ("diameter", "voltage", "current", "thrust", "speed")] == [5, 14.8, 31.5, 1044, 24100]
    row = _first(_took(tmp_path, FRENCH, "tableau.txt"))
    assert [row[name] for name in ("pitch", "voltage", "current", "thrust", "kind")] == [4.3, 14.8, 31.5, 1044, "peak"]


def test_a_row_of_units_goes_with_the_headers(tmp_path: Path) -> None:
    taken = _took(tmp_path, "Prop,Cells,Volts,Amps,Thrust\n,,V,mA,oz\n5x4.3x3,4,14.8,31500,36\n")
    assert _first(taken)["current"] == 31.5
    # 36 oz of 28.349523125 g
    assert _first(taken)["thrust"] == pytest.approx(1020.5828325)


def test_volts_on_a_packs_label_are_its_cells(tmp_path: Path) -> None:
    """3.7 V a cell on labels, 3.8 of high-voltage ones, 4.2 of a full one; 12.0 V is none of these times a number."""
    counts = {"11.1 V": 3, '"14,8 V"': 4, "7.4V": 2, "15.2 V": 4, "25.2 V": 6}
    rows = "".join(f"5x4.3x3,{volts},10.5,20,500\n" for volts in counts)
    taken = _took(tmp_path, f"Prop,Battery,V under load,Amps,Thrust (g)\n{rows}")
    columns = taken.test.tables["Readings"]
    assert columns["cells"].tolist() == [*counts.values()]
    assert columns["voltage"].tolist() == [10.5] * 5
    assert any('"11.1 V" read as 3' in told for told in taken.told)
    (unread,) = _took(tmp_path, "Prop,Battery,Volts,Amps,Thrust (g)\n5x4.3x3,12.0 V,10.5,20,500\n").test.tables[
        "Readings"
    ]["cells"]
    assert np.isnan(unread)


def test_amps_follow_from_watts_and_volts(tmp_path: Path) -> None:
    """222 W at 11.1 V are 20 A; 20 oz are 567 g."""
    taken = _took(tmp_path, "Prop,Pack,Volts,Watts,oz\n8x4,11.1 V,11.1,222,20\n8x4,11.1 V,10,,19\n")
    columns = taken.test.tables["Readings"]
    assert columns["current"].tolist() == [20.0, pytest.approx(np.nan, nan_ok=True)]
    assert columns["thrust"][0] == pytest.approx(566.99, abs=0.01)
    assert any("worked out from" in told for told in taken.told)
    assert not any("is to be filled in" in told and "Current" in told for told in taken.told)


def test_marks_in_doubt_are_asked_for_and_kept_under_note(tmp_path: Path) -> None:
    taken = _took(tmp_path, 'Prop,Volts,Amps,Thrust (g)\n5x4,14,31,"1,250"\n')
    assert np.isnan(_first(taken)["thrust"])
    assert _first(taken)["note"] == 'Thrust (g): "1,250"'
    assert any("type 1.25 or 1250" in line for line in taken.told)


def _plain_workbook(path: Path) -> Path:
    book = openpyxl.Workbook()
    sheet: Any = book.active
    sheet.title = "Bench"
    sheet.append(["Prop", "Cells", "Volts", "Amps", "Thrust (g)", "Kind"])
    sheet.append(["5x4.3x3", 4, 14.8, 31.5, 1044, "peak"])
    sheet.append(["5043", 4, 14.7, 29.5, 960, "steady"])
    book.create_sheet("Shopping").append(["screws"])
    book.save(path)
    return path


def test_a_plain_workbook_and_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source = _plain_workbook(tmp_path / "plain.xlsx")
    assert run("template", "--from", source) == 0
    said = capsys.readouterr().out
    assert 'the sheet "Shopping" was not taken in' in said
    assert "plain bench.xlsx, 2 readings" in said
    reading = read_workbook(tmp_path / "plain bench.xlsx")
    assert list(reading.test.tables["Readings"]["thrust"]) == [1044, 960]
    assert reading.faults == ()


@requires_libreoffice
def test_an_opendocument_spreadsheet_is_read_as_its_workbook(tmp_path: Path) -> None:
    source = _plain_workbook(tmp_path / "plain.xlsx")
    do_in_libreoffice([Work(str(source), str(tmp_path / "plain.ods"), filter="calc8")])
    taken, other = take_in(tmp_path / "plain.ods"), take_in(source)
    assert [line for line in taken.told if line != VALUES_ALONE] == list(other.told)
    pd.testing.assert_frame_equal(taken.test.frame("Readings"), other.test.frame("Readings"))


def test_data_frames_saved_by_pandas_are_taken_in(tmp_path: Path) -> None:
    DEMO.frame("Readings").to_csv(tmp_path / "frame.csv", index=False)
    DEMO.frame("Readings").to_excel(tmp_path / "frame.xlsx", index=False)
    for name in ("frame.csv", "frame.xlsx"):
        taken = take_in(tmp_path / name).test
        pd.testing.assert_frame_equal(taken.frame("Readings"), DEMO.frame("Readings"))


HEADERS = "Prop,Cells,Volts,Amps,Thrust (g),Note\n"


def _thirty(notes: dict[int, str]) -> str:
    return HEADERS + "".join(f"5x4x3,4,14.8,31.5,{900 + row},{notes.get(row, '')}\n" for row in range(30))


@pytest.mark.parametrize(
    "notes",
    [{10: '"windy'}, {10: '"windy', 20: '"calm"'}, {10: '"windy', 11: '5"'}, {10: '"', 20: '"'}, {29: '"windy'}],
    ids=["never closed", "closed ten rows on", "closed in the next row", "alone in its cell", "in the last row"],
)
def test_an_unclosed_quotation_mark_swallows_no_row_in_silence(
    notes: dict[int, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "table.csv").write_text(_thirty(notes))
    assert run("template", "--from", tmp_path / "table.csv") == 1
    assert f"table.csv line {min(notes) + 2}: found a quotation mark before" in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["table.csv"]


def test_cells_of_several_lines_and_marks_within_cells_are_read(tmp_path: Path) -> None:
    notes = {3: '"gusts, 3 to 4,\nthen calm"', 5: '5" off', 7: '"said ""calm"""', 29: '"a\n\nb"'}
    taken = _took(tmp_path, _thirty(notes)).test.tables["Readings"]["note"]
    assert [taken[row] for row in notes] == ["gusts, 3 to 4,\nthen calm", '5" off', 'said "calm"', "a\n\nb"]
    assert len(taken) == 30


@pytest.mark.parametrize("rows", ["", ",,,,,\n", "mean,,,30.2,,\n"])
def test_a_table_without_readings_is_a_fault(rows: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "table.csv").write_text(HEADERS + rows)
    assert run("template", "--from", tmp_path / "table.csv") == 1
    assert "found no row filled in; wanted at least one reading" in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["table.csv"]


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_headers_of_ones_own_can_always_be_written(kind: str, tmp_path: Path) -> None:
    """A header of a table that holds a control character, or the sign for one, makes a workbook nothing can open."""
    headers = ["Prop", "Cells", "Volts", "Amps", "Thrust (g)", "Wi\x07nd", "_x0041_", *["Wind of that day" * 20] * 60]
    rows = [headers, ["5x4", 4, 14.8, 31, 900, *range(62)]]
    if kind == "csv":
        (tmp_path / "own.csv").write_text("\n".join(",".join(map(str, row)) for row in rows))
    else:
        with xlsxwriter.Workbook(str(tmp_path / "own.xlsx")) as book:
            sheet = book.add_worksheet()
            for number, row in enumerate(rows):
                sheet.write_row(number, 0, row)
    taken = take_in(tmp_path / f"own.{kind}")
    own = taken.test.extras.columns["Readings"]
    assert len(own) == 62
    assert max(map(len, own)) <= 255
    assert [next(iter(values)) for values in own.values()] == list(range(62))
    assert any('the header "Wi\ufffdnd" goes on as "Wi nd"' in line for line in taken.told)
    path = xlsengine.write_input_workbook(taken.test, tmp_path / "bench.xlsx")
    assert [str(finding) for finding in lint(path)] == []
    shown = [cell.value for cell in openpyxl.load_workbook(path)["Readings"][5]]
    assert shown == openpyxl.load_workbook(path)["Readings"].tables["Readings"].column_names
    assert list(read_workbook(path).test.extras.columns["Readings"]) == list(own)


def _ods(path: Path, rows: str, sheets: str = "") -> Path:
    names = "office", "table", "text"
    spaces = " ".join(f'xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"' for name in names)
    table = f'<table:table table:name="Bench">{rows}</table:table>{sheets}'
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        archive.writestr("META-INF/manifest.xml", "<manifest/>")
        archive.writestr(
            "content.xml",
            f"<office:document-content {spaces}><office:body><office:spreadsheet>{table}"
            "</office:spreadsheet></office:body></office:document-content>",
        )
    return path


def _ods_row(*cells: str | float, more: str = "") -> str:
    texts = "".join(
        f'<table:table-cell office:value-type="float" office:value="{cell}"><text:p>{cell}</text:p></table:table-cell>'
        if isinstance(cell, int | float)
        else f"<table:table-cell><text:p>{cell}</text:p></table:table-cell>"
        for cell in cells
    )
    return f"<table:table-row>{texts}{more}</table:table-row>"


ODS_HEADERS = _ods_row("Prop", "Cells", "Volts", "Amps", "Thrust (g)", "Day")


@pytest.mark.parametrize("sheets", [("Start", "Motor", "Readings"), ("Report", "Readings", "Summary")])
def test_a_workbook_of_ours_saved_as_ods_is_sent_back_to_xlsx(sheets: tuple[str, ...], tmp_path: Path) -> None:
    """Its readings alone would be taken in, and all else that was typed would be lost."""
    more = "".join(f'<table:table table:name="{name}"/>' for name in sheets)
    path = _ods(tmp_path / "mine.ods", ODS_HEADERS + _ods_row("5x4", 4, 14.8, 31, 900), more)
    with pytest.raises(
        WorkbookUnreadable, match=r"saved as \.ods; open it in a spreadsheet program, save it as \.xlsx"
    ):
        take_in(path)


def test_a_large_text_file_is_refused_for_its_size(tmp_path: Path) -> None:
    (tmp_path / "long.csv").write_bytes(_thirty({}).encode() + b"5x4,4,14.8,31,900,\n" * 1_000_000)
    with pytest.raises(WorkbookUnreadable, match="larger than 16 MiB"):
        take_in(tmp_path / "long.csv")


def test_a_workbook_of_ours_is_not_taken_in_again(tmp_path: Path) -> None:
    with pytest.raises(WorkbookUnreadable, match="hand it to check or results"):
        take_in(demo_workbook(tmp_path))


def test_what_was_taken_in_can_be_completed_and_computed(tmp_path: Path) -> None:
    DEMO.frame("Readings").to_csv(tmp_path / "frame.csv", index=False)
    taken = take_in(tmp_path / "frame.csv").test
    test = xlsengine.bench_test(DEMO.fields, {"Readings": taken.frame("Readings")})
    assert str(xlsengine.evaluate(test).headlines()) == str(xlsengine.evaluate(DEMO).headlines())
