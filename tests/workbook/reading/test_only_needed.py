"""A workbook in which only what is needed was typed: it gives results, and says what each blank costs."""

import re
import zipfile
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pytest

import xlsengine
from tests.workbook.reader_workbooks import DEMO, assert_same, demo_workbook, edited, reading_cells
from xlsengine.bench.inputs.bench_test import BenchTest, bench_test
from xlsengine.errors import Fault, Reason, fault_lines
from xlsengine.study.assessment import Assessment, assess
from xlsengine.workbook.layout import NEEDED_MARK
from xlsengine.workbook.reading.reader import Reading, read_workbook
from xlsengine.workbook.template import PAPER

ROWS: list[dict[str, Any]] = [
    {"prop": "6x4", "cells": 4.0, "voltage": 15.0, "current": 30.0, "thrust": 900.0},
    {"prop": "wide", "cells": 4.0, "voltage": 15.0, "current": 40.0, "thrust": 1200.0},
    {"prop": "6x4", "cells": 4.0, "voltage": 15.6, "current": 10.0, "thrust": 400.0, "throttle": 50.0},
]


def read_back(folder: Path, test: BenchTest, name: str = "rig 7") -> Reading:
    """Return what is read from an input workbook of a test."""
    return read_workbook(xlsengine.write_input_workbook(test, folder / f"{name}.xlsx"))


def assessed(rows: list[dict[str, Any]] = ROWS, **fields: Any) -> Assessment:
    """Return the assessment of readings and fields."""
    return assess(bench_test(fields, {"Readings": rows}))


def column(found: Assessment, name: str) -> list[Any]:
    """Return a column of Readings, without its spare rows."""
    return list(found.scope.column("Readings", name).tolist())[: found.test.rows("Readings")]


def test_five_columns_give_results_and_the_blanks_are_told(tmp_path: Path) -> None:
    reading = read_back(tmp_path, bench_test({}, {"Readings": ROWS}))
    assert reading.faults == ()
    for told in (
        "Motor, Labelled Kv: blank; without it no measured Kv",
        "Motor, Mass as supplied: blank; without it no thrust or power per motor mass",
        "Motor, Test date: blank; without it",
        "Motor, Model: blank; without it",
        "Motor, Test id: blank; the file's name “rig 7” is used",
        "Readings, Diameter: blank in 1 of 3 readings; without it no disk loading",
        "Readings, Pitch: blank in 1 of 3 readings; without it the current in flight is taken as the static one",
        "Readings, Kind: blank in 2 of 3 readings, and so is Bench, Readings are; so an ESC is sized as for steady "
        "readings with a peak 1.25 times as high",
    ):
        assert any(sentence.startswith(told) for sentence in reading.told), told
    found = assess(reading.test)
    assert column(found, "grams_per_watt") == pytest.approx([2.0, 2.0, 400 / 156])
    assert column(found, "diameter")[0] == 6.0
    assert np.isnan(column(found, "hover_efficiency")).tolist() == [False, True, False]
    assert np.isnan(found.scope.column("Summary", "full_thrust_to_mass")).all()
    figures = found.figures()
    assert figures["motor_title"] == "rig 7"
    assert figures["motor_statement"] == "Motor: labelled Kv not given; mass not given."
    assert "55 A or larger" in str(figures["esc_held_sentence"])  # 40 A and its ±3.7 % within 80 % of 51.9 A
    written = xlsengine.write_results(found, tmp_path / "results.xlsx")
    assert read_workbook(written).faults == ()


def test_without_a_pitch_the_current_in_flight_is_the_static_one_and_may_rise() -> None:
    found = assessed()
    assert column(found, "flight_told")[1] == "≥40"
    assert column(found, "flight_current_high")[1] == 40.0


def test_what_a_blank_kind_counts_as() -> None:
    """At full throttle what Bench says, else a peak; below it steady; and what a row says goes before both."""
    assert column(assessed(), "kind_taken") == ["peak", "peak", "steady"]
    assert column(assessed(readings_are="steady"), "kind_taken") == ["steady", "steady", "steady"]
    typed = [ROWS[0] | {"kind": "peak"}, *ROWS[1:]]
    assert column(assessed(typed, readings_are="steady"), "kind_taken") == ["peak", "steady", "steady"]
    assert column(assessed(readings_are="peak"), "full_kind") == [1.0, 1.0, 0.0]


def test_a_kind_that_nobody_stated_asks_no_less_of_an_esc_than_a_steady_one() -> None:
    """40 A held, and 1.25 times that at a launch whose peak was not read: common practice, no source, on Settings."""

    def launch(**fields: Any) -> float:
        return float(np.nanmax(assessed(**fields).scope.column("Summary", "launch_current")))

    assert launch() == launch(readings_are="steady") == pytest.approx(50.0)
    assert launch(readings_are="peak") == pytest.approx(40.0)
    said = str(assessed().figures()["esc_held_sentence"])
    assert "at most 40.0 A (±3.7 %), peak or steady not said, so that 1.25 times it counts as the peak" in said


@pytest.mark.parametrize(
    ("name", "taken"), [("rig 7", "rig 7"), ("rig 7 results", "rig 7"), ("rig 7 results 3", "rig 7"), ("a\nb", "a b")]
)
def test_a_test_without_an_id_goes_by_its_file_s_name(name: str, taken: str, tmp_path: Path) -> None:
    reading = read_back(tmp_path, bench_test({}, {"Readings": ROWS}), name)
    assert reading.test.fields["test_id"] == taken


def test_an_id_that_was_typed_stays(tmp_path: Path) -> None:
    reading = read_back(tmp_path, bench_test({"test_id": "mine"}, {"Readings": ROWS}))
    assert reading.test.fields["test_id"] == "mine"
    assert not any("Test id" in sentence for sentence in reading.told)


def test_a_trimmed_mass_stands_in_for_the_mass_as_supplied(tmp_path: Path) -> None:
    reading = read_back(tmp_path, bench_test({"trimmed_mass_measured": 30.0}, {"Readings": ROWS}))
    assert not any("Mass as supplied" in sentence for sentence in reading.told)
    masses = assess(reading.test).scope.column("Summary", "full_thrust_to_mass")
    assert masses[:2] == pytest.approx([30.0, 40.0])


# --- names, and the same fault in many rows


def test_a_name_that_no_propeller_has_is_the_fault_and_not_its_blank_diameter(tmp_path: Path) -> None:
    """`51x4.3x3` for `5.1x4.3x3`: 51 inches are beyond what the field takes."""
    wrong = [row | {"prop": "51x4.3x3"} for row in ROWS]
    reading = read_back(tmp_path, bench_test({}, {"Readings": wrong}))
    assert fault_lines(reading.faults) == [
        'Readings!B6:B8 Prop: found "51x4.3x3", which says 51 by 4.3, 3 blades; wanted a name that says diameter 0.5 to 40 '
        "in, pitch 0 to 40 in, blades 1 to 12, and a pitch of at most twice the diameter; check the name's decimal mark, "
        "or type the diameter in its own cell"
    ]
    typed = [row | {"diameter": 5.1} for row in wrong]
    assert read_back(tmp_path, bench_test({}, {"Readings": typed}), "typed").faults == ()


def test_a_pitch_of_more_than_twice_the_diameter_is_a_lost_decimal_mark(tmp_path: Path) -> None:
    """Common practice, no source: the steepest propellers for such motors have a pitch of 1.6 diameters."""
    reading = read_back(tmp_path, bench_test({}, {"Readings": [row | {"prop": "7.5x37"} for row in ROWS]}))
    assert [
        "says 7.5 by 37" in line and "check the name's decimal mark" in line for line in fault_lines(reading.faults)
    ] == [True]


def test_signs_blanks_and_words_for_blades_make_no_other_propeller(tmp_path: Path) -> None:
    """However a tired person spells a propeller in the second round: one row of the Report, and told once."""
    names = '7x4x3|7 x 4 x 3|7*4*3|7×4×3|7.0x4.0x3|7"x4"x3|7 x 4x3|7X4 x3|7x4 tri|7,0x4 3-blade'
    rows = [ROWS[0] | {"prop": name} for name in (*names.split("|"), "7x4", "7x4 SF", "7x4SF", "Wide 7x4x3")]
    reading = read_back(tmp_path, bench_test({"craft_propeller": "7 x 4, 3 blade"}, {"Readings": rows}))
    assert list(reading.test.tables["Readings"]["prop"]) == ["7x4x3"] * 10 + ["7x4", "7x4 SF", "7x4 SF", "Wide 7x4x3"]
    assert reading.test.fields["craft_propeller"] == "7x4x3"
    (told,) = (sentence for sentence in reading.told if "one spelling" in sentence)
    assert told.startswith('Readings, Prop: one spelling for each propeller: "7 x 4 x 3" as 7x4x3; "7*4*3" as 7x4x3')
    assert "7x4SF" in told


@pytest.mark.parametrize("mark", ['"', "''", "do.", "same", "-"])
def test_a_mark_for_the_same_again_is_no_propeller(tmp_path: Path, mark: str) -> None:
    reading = read_workbook(edited(tmp_path, reading_cells(B7=mark)))
    (line,) = fault_lines(reading.faults)
    assert line == f'Readings!B7 Prop: found "{mark}", for the same again; wanted a name; type its name'


def test_pairs_of_poles_are_offered_as_poles(tmp_path: Path) -> None:
    (line,) = fault_lines(read_workbook(edited(tmp_path, {"Motor": {"B17": 7}})).faults)
    assert "type 14 if these are pairs, else 6 or 8" in line


def test_a_lower_limit_above_its_upper_one_is_a_fault(tmp_path: Path) -> None:
    settings = openpyxl.load_workbook("demo_inputs/colander-2306.xlsx")["Settings"]
    label = "In-flight current reduction, minimum"
    (cell,) = (f"B{row[0].row}" for row in settings.iter_rows(max_col=1) if str(row[0].value).startswith(label))
    (line,) = fault_lines(read_workbook(edited(tmp_path, {"Settings": {cell: 45}})).faults)
    assert line == (
        f"Settings!{cell} {label}: found 45; wanted at most 40, which is In-flight current reduction, maximum; check "
        "both; were they exchanged?"
    )


def test_a_unit_in_a_label_is_the_unit_of_its_value(tmp_path: Path) -> None:
    """2.05 oz are 58.117 g (the ounce is 28.349523125 g); and its place is known by that label."""
    reading = read_workbook(edited(tmp_path, {"Motor": {"A19": "Mass as supplied (oz)", "B19": 2.05}}))
    assert reading.test.fields["mass_as_supplied"] == pytest.approx(58.117, abs=5e-4)
    assert "Motor!B19 Mass as supplied: converted from oz to g" in reading.told
    assert reading.where["MotorForm"].field("mass_as_supplied") == "Motor!B19"


def test_the_same_fault_in_many_rows_is_one_line(tmp_path: Path) -> None:
    cells = {f"H{row}": "both" for row in (6, 7, 8, 10)} | {"H9": "some"}
    lines = fault_lines(read_workbook(edited(tmp_path, reading_cells(**cells))).faults)
    assert [line.partition(": found ")[0] for line in lines] == ["Readings!H6:H8, H10 Kind", "Readings!H9 Kind"]
    scattered = [Fault(Reason.WRONG_TYPE, f"Readings!J{row}", "A", "x", "y", "z") for row in range(2, 30, 2)]
    assert fault_lines(scattered) == ["Readings!J2, J4, J6, J8, J10 and 9 more A: found x; wanted y; z"]


# --- the template


def test_the_template_marks_what_is_needed_above_its_column(tmp_path: Path) -> None:
    sheet = openpyxl.load_workbook(xlsengine.write_template(tmp_path / "t.xlsx"))["Readings"]
    marked = [header.value for above, header in zip(sheet[4], sheet[5], strict=True) if above.value == NEEDED_MARK]
    assert marked == ["Prop", "Cells", "Voltage (V)", "Current (A)", "Thrust (g)"]


def test_every_validation_warns_and_none_forbids(tmp_path: Path) -> None:
    with zipfile.ZipFile(xlsengine.write_template(tmp_path / "t.xlsx")) as archive:
        sheets = [archive.read(name).decode() for name in archive.namelist() if "worksheets/sheet" in name]
    rules = [rule for sheet in sheets for rule in re.findall(r"<dataValidation [^>]*>", sheet)]
    forbids = [rule for rule in rules if "type=" in rule and 'errorStyle="warning"' not in rule]
    assert len(rules) > 100
    assert forbids == []


def test_what_is_written_on_paper_is_read_by_nobody(tmp_path: Path) -> None:
    def write(workbook: Any) -> None:
        workbook[PAPER]["B9"] = "5x4"
        workbook[PAPER]["F9"] = "lots"

    reading = read_workbook(edited(tmp_path, write))
    assert (reading.faults, reading.told) == ((), ())
    assert_same(reading.test, DEMO)


def test_the_paper_is_one_landscape_page_of_a4(tmp_path: Path) -> None:
    sheet = openpyxl.load_workbook(demo_workbook(tmp_path))[PAPER]
    assert (sheet.page_setup.paperSize, sheet.page_setup.orientation) == (9, "landscape")
    assert (sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight) in ((1, 1), (None, None))
    held = " ".join(str(cell.value) for row in sheet.iter_rows() for cell in row if cell.value).replace("\u00a0", " ")
    for word in (
        "Prop *",
        "Cells *",
        "Voltage (V) *",
        "Current (A) *",
        "Thrust (g) *",
        "Guard up",
        "Lithium packs burn",
    ):
        assert word in held


# --- more of the trade's words


def test_headers_of_a_plain_table_in_the_trade_s_words(tmp_path: Path) -> None:
    """Of a maximum where no other column names the field; watts follow, and are carried."""
    from xlsengine.workbook.reading.plain_tables import take_in

    table = tmp_path / "notes.csv"
    table.write_text("Prop;Pack;Vbat;Max amps;Grams;Watts\n6x4;4S LiPo;15.0;30?;900;450\n", encoding="utf-8")
    taken = take_in(table)
    row = {name: column[0] for name, column in taken.test.tables["Readings"].items()}
    assert (row["cells"], row["voltage"], row["current"], row["thrust"]) == (4.0, 15.0, 30.0, 900.0)
    assert taken.test.extras.columns["Readings"] == {"Watts": [450.0]}
    assert any("power, computed from volts and amps; it is carried" in sentence for sentence in taken.told)
    table.write_text("Prop;Cells;Volts;Max amps;Amps;Grams\n6x4;4;15.0;33;30;900\n", encoding="utf-8")
    taken = take_in(table)
    assert taken.test.tables["Readings"]["current"][0] == 30.0
    assert taken.test.extras.columns["Readings"] == {"Max amps": [33.0]}
