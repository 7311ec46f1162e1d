"""The trade's words in headers, labels and units; the words themselves are judged in test_trade_words_judged.py."""

from pathlib import Path

import numpy as np
import pytest

from tests.workbook.reader_workbooks import DEMO, assert_same, edited, reading_cells
from xlsengine.bench.declaring.declare import Form, Table
from xlsengine.bench.inputs.forms import FORMS, INPUT_TABLES
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.errors import Reason
from xlsengine.units import UNITS
from xlsengine.workbook.reading.reader import read_workbook
from xlsengine.workbook.reading.trade_words import converted, unit_of, word_key, words_of

HEADERS = ("header", "second header")


@pytest.mark.parametrize("part", [*INPUT_TABLES, *FORMS], ids=lambda part: part.name)
def test_no_word_names_two_fields(part: Form | Table) -> None:
    words: list[str] = []
    for declared in part.fields.values():
        named = (declared.label, *(word for kind in HEADERS for word in words_of(kind).get(declared.label, ())))
        words += set(map(word_key, named))
    assert {word for word in words if words.count(word) > 1} == set()


def test_the_words_speak_of_labels_and_units_that_are_declared() -> None:
    parts: list[Form | Table] = [*INPUT_TABLES, *FORMS]
    fields = [declared for part in parts for declared in part.fields.values()]
    assert {label for kind in HEADERS for label in words_of(kind)} <= {declared.label for declared in fields}
    assert set(words_of("unit")) <= set(UNITS)
    assert set(words_of("choice")) <= {choice for declared in fields for choice in declared.choices}
    assert set(words_of("count")) <= {declared.name for declared in fields}


def test_capitals_decide_where_they_must() -> None:
    amps = READINGS.fields["current"]
    assert [unit_of(word, amps) for word in ("mA", "MA", "ma", "A", "a", "AMPS")] == ["mA", None, "mA", "A", "A", "A"]


def test_thrust_is_a_force_and_mass_is_not() -> None:
    mass = next(form for form in FORMS if form.name == "Motor").fields["mass_as_supplied"]
    assert (unit_of("N", READINGS.fields["thrust"]), unit_of("N", mass)) == ("N", None)
    # NIST SP 811, B.8: kilogram-force 9.80665 N exactly.
    assert converted(9.80665, "N", READINGS.fields["thrust"]) == 1000.0


def test_headers_in_other_words_are_read_and_told(tmp_path: Path) -> None:
    newtons = {f"K{row}": 1.5 for row in range(6, 6 + DEMO.rows("Readings"))}
    reading = read_workbook(edited(tmp_path, reading_cells(J5="Amps", K5="Thrust [N]", I5="Spannung", **newtons)))
    assert reading.faults == ()
    assert reading.told == (
        'Readings!I5: the header "Spannung" was read as "Voltage (V)"; it states no unit, and V was taken',
        'Readings!J5: the header "Amps" was read as "Current (A)"',
        'Readings!K5: the header "Thrust [N]" was read as "Thrust (g)"; its numbers were converted from N',
    )
    # 1.5 N / 9.80665 m/s²
    np.testing.assert_allclose(reading.test.tables["Readings"]["thrust"], 152.957432, rtol=1e-8)
    np.testing.assert_array_equal(reading.test.tables["Readings"]["current"], DEMO.tables["Readings"]["current"])


def test_a_header_with_a_unit_of_another_kind_is_a_fault(tmp_path: Path) -> None:
    (fault,) = read_workbook(edited(tmp_path, reading_cells(K5="Thrust (W)"))).faults
    assert fault.reason is Reason.WRONG_TYPE
    assert str(fault) == (
        'Readings!K5 Thrust (g): found the header "Thrust (W)"; wanted the header "Thrust (g)", or a unit that can be '
        'converted to g; type "Thrust (g)" there, and give the values so'
    )


def test_two_headers_for_one_field_are_a_fault(tmp_path: Path) -> None:
    (fault,) = read_workbook(edited(tmp_path, reading_cells(J5="Amps", M5="Strom (A)"))).faults
    assert (fault.reason, fault.place) == (Reason.DOUBLED_HEADER, "Readings!J5")


def test_labels_and_units_of_forms_in_other_words(tmp_path: Path) -> None:
    mass = DEMO.fields["mass_as_supplied"]
    assert isinstance(mass, float)
    edits = {"Motor": {"A16": "Kv", "A11": "Hersteller *", "C19": "kg", "B19": mass / 1000}}
    reading = read_workbook(edited(tmp_path, edits))
    assert reading.faults == ()
    assert reading.told == (
        'Motor!A11: the field "Hersteller *" was read as "Maker"',
        'Motor!A16: the field "Kv" was read as "Labelled Kv"',
        "Motor!B19 Mass as supplied: converted from kg to g",
    )
    assert_same(reading.test, DEMO)
