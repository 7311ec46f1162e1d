"""Every intake rule: what stands in a cell, what it is read as, and what is said; English, German and French."""

import datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.workbook.reader_workbooks import edited, reading_cells
from xlsengine.bench.declaring.declare import Field
from xlsengine.bench.inputs.conditions import BENCH
from xlsengine.bench.inputs.craft import CRAFT
from xlsengine.bench.inputs.motor import MOTOR
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.errors import Reason
from xlsengine.workbook.reading.cells import Percent
from xlsengine.workbook.reading.findings import MOST_TOLD_OF_A_COLUMN
from xlsengine.workbook.reading.reader import read_workbook
from xlsengine.workbook.reading.typed_texts import readings_of, would_take
from xlsengine.workbook.reading.typed_values import ReadAs, Refusal, typed_value

FIELDS = {**READINGS.fields, **MOTOR.fields, **BENCH.fields, **CRAFT.fields}

# (field, what stands in the cell, texts between bars, the value, the words for it)
_READ: tuple[tuple[str, Any, Any, str], ...] = (
    ("current", "38.2|38,2| 38.2 |+38.2|3.82e1|\xa038,2\u202f", 38.2, "38.2 A"),
    ("current", ".5", 0.5, "0.5 A"),
    ("current", "３８|~38|ca. 38 A|etwa 38|environ 38 A|about 38|38 A|38A|38 Amps|38 ampères", 38.0, "38 A"),
    ("motor_temperature", "−12", -12.0, "-12 °C"),
    ("motor_temperature", "–12,5 °C", -12.5, "-12.5 °C"),
    ("thrust", "1 250|1'250|1.25 kg|1,250 kg", 1250.0, "1250 g"),
    ("thrust", "1\u202f250,5|1’250,5 g", 1250.5, "1250.5 g"),
    ("thrust", "1.234,5|1,234.5", 1234.5, "1234.5 g"),
    ("thrust", "0,250", 0.25, "0.25 g"),
    ("thrust", "12,3456", 12.3456, "12.3456 g"),
    ("current", "1,250", 1.25, "1.25 A"),
    ("current", "≈ 38,5|38,5 Ampere", 38.5, "38.5 A"),
    ("current", "380 mA", 0.38, "0.38 A"),
    ("voltage", "14,8 Volt|14800 mV", 14.8, "14.8 V"),
    ("thrust", "44 oz", 1247.3790175, "1247 g"),
    ("thrust", "2 lbs", 907.18474, "907 g"),
    ("thrust", "12,5 N", 1274.64526622, "1275 g"),
    ("thrust", "850 Gramm|850 grammes", 850.0, "850 g"),
    ("speed", "23800 U/min|23 800 tr/min|23.8 krpm", 23800.0, "23800 rpm"),
    ("torque", "0.3 Nm|30 Ncm|300 mN·m", 0.3, "0.3 N·m"),
    ("torque", "42,5 oz-in", 0.300115952105, "0.3 N·m"),
    ("diameter", '5,1"', 5.1, "5.1 in"),
    ("diameter", "5 Zoll|5 pouces|127 mm", 5.0, "5 in"),
    ("motor_temperature", "77 °F|25 Celsius", 25.0, "25 °C"),
    ("throttle", "55 %|55 Prozent", 55.0, "55 %"),
    ("cells", "4S|4S LiPo|4 Zellen|4 éléments", 4.0, "4"),
    ("motor_count", "1 motor", 1.0, "1"),
    ("motor_count", "4 Motoren", 4.0, "4"),
    ("blades", "3 Blatt", 3.0, "3"),
    ("trimmed_lead_length", "500 mm", 500.0, "500 mm"),
    ("trimmed_lead_length", "5 cm", 50.0, "50 mm"),
    ("trimmed_lead_length", "0,5 Fuß", 152.4, "152 mm"),
    ("mass_as_supplied", "1,2 oz", 34.01942775, "34 g"),
    ("air_pressure", "1013 mbar|101,3 kPa", 1013.0, "1013 hPa"),
    ("air_pressure", "29.92 inHg", 1013.2075888, "1013 hPa"),
    ("throttle", Percent(0.55), 55.0, "55 %"),
    ("throttle", "WOT|full|max", 100.0, "100 %"),
    ("current", "40?|40 A ?", 40.0, "40 A"),
    ("cells", Percent(4.0), 4.0, "4"),
    ("speed", "-|—|n/a|k. A.|nicht gemessen|non mesuré|?", None, "blank"),
    ("use", "-", None, "blank"),
    ("use", "ja|oui", "yes", "“yes”"),
    ("use", "Nein", "no", "“no”"),
    ("use", True, "yes", "“yes”"),
    ("kind", "Spitze|crête|max", "peak", "“peak”"),
    ("kind", "stationär|stabilisé", "steady", "“steady”"),
    ("test_date", "31.05.2026|5/31/2026", datetime.date(2026, 5, 31), "2026-05-31"),
    ("test_date", "4. Mai 2026|May 4, 2026", datetime.date(2026, 5, 4), "2026-05-04"),
    ("test_date", "4 août 2026", datetime.date(2026, 8, 4), "2026-08-04"),
    ("test_date", 46146.0, datetime.date(2026, 5, 4), "2026-05-04"),
    ("test_date", 20260504.0, datetime.date(2026, 5, 4), "2026-05-04"),
)

# (field, what stands in the cell, texts between bars, reason, what is in the fix)
_REFUSED: tuple[tuple[str, Any, Reason, str], ...] = (
    ("thrust", "1,250|1.250|1,250 g", Reason.WRONG_TYPE, "type 1.25 or 1250"),
    ("speed", "24.100", Reason.WRONG_TYPE, "type 24.1 or 24100"),
    ("current", "38..2|38,,2|38. 2|38.2 (sagged)", Reason.WRONG_TYPE, "type 38.2"),
    ("current", "3O.5", Reason.WRONG_TYPE, "type 30.5"),
    ("current", "l2.5", Reason.WRONG_TYPE, "type 12.5"),
    ("current", "3.8.2|=38.2|1_0|o|<38|38 V|38 MA|5²|½|0x26|inf|5000 A", Reason.WRONG_TYPE, "type a plain number"),
    ("thrust", "12,34,5", Reason.WRONG_TYPE, "type a plain number"),
    ("diameter", "5x4.3", Reason.WRONG_TYPE, "type a plain number"),
    ("current", "38,", Reason.WRONG_TYPE, "type 38"),
    ("current", "38-40|38 bis 40 A|38 ± 1", Reason.WRONG_TYPE, "a cell holds one number"),
    ("current", "n/a", Reason.REQUIRED_BLANK, "type the value"),
    ("mass_as_supplied", "12 N", Reason.WRONG_TYPE, "type a plain number"),
    ("throttle", "1500 µs", Reason.WRONG_TYPE, "type a plain number"),
    ("throttle", Percent(55.0), Reason.WRONG_TYPE, "type 5500"),
    ("current", Percent(0.38), Reason.WRONG_TYPE, "type 0.38"),
    ("speed", "none|keine", Reason.WRONG_TYPE, "type 0 for a measured zero"),
    ("diameter", datetime.datetime(2026, 4, 5), Reason.WRONG_TYPE, "turned something like 4-5 or 5.4 into a date"),
    ("diameter", 46117.0, Reason.OUT_OF_LIMITS, "is how a spreadsheet counts 2026-04-05"),
    ("prop", datetime.datetime(2003, 4, 5), Reason.WRONG_TYPE, "turned something like 4-5 or 5.4 into a date"),
    ("kind", "WOT", Reason.NOT_A_CHOICE, "choose from the list in the cell"),
    ("kind", "S", Reason.NOT_A_CHOICE, "choose “steady”"),
    ("kind", "peek", Reason.NOT_A_CHOICE, "choose “peak”"),
    ("test_date", "04.05.2026", Reason.WRONG_TYPE, "type 2026-05-04 or 2026-04-05"),
    ("test_date", "32.13.2026|4.5.26", Reason.WRONG_TYPE, "type the date as year-month-day"),
    ("test_date", 504.0, Reason.WRONG_TYPE, "format the cell as a date"),
)


def spread(rows: tuple[tuple[str, Any, Any, str], ...]) -> list[tuple[str, Any, Any, str]]:
    """Return a row for each text of those between bars."""
    return [
        (name, text, *rest)
        for name, content, *rest in rows
        for text in (content.split("|") if isinstance(content, str) else [content])
    ]


@pytest.mark.parametrize(("name", "content", "value", "words"), spread(_READ))
def test_what_has_one_reading_is_read_and_said(name: str, content: Any, value: Any, words: str) -> None:
    found = typed_value(FIELDS[name], content)
    assert isinstance(found, ReadAs)
    assert (found.value, found.words) == (value, words)


@pytest.mark.parametrize(("name", "content", "reason", "fix"), spread(_REFUSED))
def test_what_has_no_single_reading_is_a_fault_that_shows_the_ways(
    name: str, content: Any, reason: Reason, fix: str
) -> None:
    refusal = typed_value(FIELDS[name], content)
    assert isinstance(refusal, Refusal)
    assert refusal.reason is reason
    assert fix in refusal.fix


@pytest.mark.parametrize(
    ("name", "content"), [("note", "-"), ("note", "n/a"), ("prop", "5x4.3"), ("tester", "1,250"), ("note", "38 A")]
)
def test_texts_stay_as_they_are(name: str, content: str) -> None:
    assert typed_value(FIELDS[name], content) == content


@settings(max_examples=50)
@given(st.text(max_size=14) | st.from_regex(r"[-+~]?[0-9., ']{1,9} ?(A|mA|kg|V)?", fullmatch=True))
def test_whatever_is_read_keeps_to_the_limits(text: str) -> None:
    for name in ("current", "thrust", "cells", "motor_temperature"):
        for reading in readings_of(FIELDS[name], text):
            assert would_take(FIELDS[name], reading)


def test_a_field_without_limits_takes_finite_numbers_only() -> None:
    numbers = (0.0, -1e300, float("inf"), float("nan"))
    assert [would_take(Field("free", "Free"), number) for number in numbers] == [True, True, False, False]


@given(st.integers(0, 49_999), st.integers(0, 99), st.sampled_from(".,"), st.sampled_from(["", " ", "\u202f", "'"]))
def test_two_decimals_have_one_reading_in_every_spelling(whole: int, hundredths: int, mark: str, group: str) -> None:
    digits = f"{whole:,}".replace(",", group)
    (reading,) = readings_of(FIELDS["thrust"], f"{digits}{mark}{hundredths:02d}")
    assert reading == float(f"{whole}.{hundredths:02d}")


def test_each_cell_read_in_other_words_is_told_and_listed(tmp_path: Path) -> None:
    reading = read_workbook(edited(tmp_path, reading_cells(J6="38,2 A", K6="44 oz", L6="—")))
    assert reading.faults == ()
    assert reading.told == (
        'Readings!K6 Thrust (g): "44 oz" read as 1247 g',
        'Readings!L6 Speed (rpm): "—" read as blank',
    )
    assert tuple(reading.cells[0]) == ("Readings!J6", "Current (A)", '"38,2 A"', "38.2 A")


def test_what_changed_a_number_is_told_first_and_a_plain_spelling_not_at_all(tmp_path: Path) -> None:
    """11.4 oz are 323.18 g, at 28.349523125 g an ounce (exact); three digits are enough to see that it is meant."""
    cells = {"I6": "11,1 V", "J6": "22 A", "J7": "1,250", "J8": "40?", "K6": "820 g", "K7": "11,4 oz"}
    reading = read_workbook(edited(tmp_path, reading_cells(**cells)))
    assert reading.faults == ()
    assert reading.test.tables["Readings"]["thrust"][1] == pytest.approx(11.4 * 28.349523125)
    assert reading.told == (
        'Readings!K7 Thrust (g): "11,4 oz" read as 323 g',
        'Readings!J7 Current (A): "1,250" read as 1.25 A',
        'Readings!J8 Current (A): "40?" read as 40 A',
    )
    assert len(reading.cells) == len(cells)


def test_the_same_in_many_cells_of_a_column_is_one_line(tmp_path: Path) -> None:
    cells = {f"J{row}": "30,5?" for row in (6, 7, 8, 12)} | {"J9": "31,5?", "K6": "30,5?"}
    reading = read_workbook(edited(tmp_path, reading_cells(**cells)))
    assert len(reading.cells) == 6
    assert reading.told == (
        'Readings!J6:J8, J12 Current (A): "30,5?" read as 30.5 A',
        'Readings!J9 Current (A): "31,5?" read as 31.5 A',
        'Readings!K6 Thrust (g): "30,5?" read as 30.5 g',
    )


def test_many_cells_of_a_column_are_told_by_number_and_listed_each(tmp_path: Path) -> None:
    cells = {f"J{row}": f"30,{row}?" for row in range(6, 26)}
    reading = read_workbook(edited(tmp_path, reading_cells(**cells)))
    assert len(reading.cells) == 20
    assert len(reading.told) == MOST_TOLD_OF_A_COLUMN + 1
    assert reading.told[-1] == (
        "Readings!J16 to Readings!J25 Current (A): 10 more cells read in other words; --json lists each"
    )
