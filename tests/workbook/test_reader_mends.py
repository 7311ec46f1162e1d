"""What is offered to type instead, and that nothing is offered where it would be a guess in the dark."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from xlsengine.bench.declaring.declare import Field
from xlsengine.workbook.reading.typed_texts import days_of, would_take
from xlsengine.workbook.reading.typed_values import choice_fix, date_fix, likely_numbers, number_fix

AMPS = Field("current", "Current", "A", low=0, high=500)
GRAMS = Field("thrust", "Thrust", "g", low=0, high=50_000)
INCHES = Field("diameter", "Diameter", "in", low=0.5, high=40)
BLADES = Field("blades", "Blades", "", kind="whole", low=1, high=12)
WARMTH = Field("warmth", "Warmth", "°C", low=-30, high=250)
SHARE = Field("share", "Share", "%", low=0, high=100)

LIKELY: tuple[tuple[Field, str, list[str]], ...] = (
    (AMPS, "38..2", ["38.2"]),
    (AMPS, "38,2", ["38.2"]),
    (AMPS, "38,,2", ["38.2"]),
    (AMPS, "38. 2", ["38.2"]),
    (AMPS, "38.2A", ["38.2"]),
    (AMPS, "38.2 amps", ["38.2"]),
    (AMPS, "38,2 A", ["38.2"]),
    (AMPS, "~38", ["38"]),
    (AMPS, "3O.5", ["30.5"]),
    (AMPS, "l2.5", ["12.5"]),
    (AMPS, "3８", ["38"]),
    (AMPS, "+3.82e1", ["38.2"]),
    (AMPS, "380 mA", ["0.38"]),
    (AMPS, "3.8.2", []),
    (AMPS, "38-40", []),
    (AMPS, "38 40", []),
    (AMPS, "<38", []),
    (AMPS, "5000", []),
    (AMPS, "o", []),
    (AMPS, "inf", []),
    (AMPS, "1_0", []),
    (AMPS, "=38.2", []),
    (GRAMS, "1,234", ["1.234", "1234"]),
    (GRAMS, "1.234,5", ["1234.5"]),
    (GRAMS, "1,234.5", ["1234.5"]),
    (GRAMS, "1 234", ["1234"]),
    (GRAMS, "1\u202f234,5 g", ["1234.5"]),
    (GRAMS, "1'234", ["1234"]),
    (GRAMS, "12,34,5", []),
    (INCHES, '5.1"', ["5.1"]),
    (INCHES, "5x4.3", []),
    (BLADES, "3,0", ["3"]),
    (BLADES, "3 blades", ["3"]),
    (BLADES, "2.5", []),
    (WARMTH, "−12 °C", ["-12"]),
    (WARMTH, "21 C", ["21"]),
    (SHARE, "55 %", ["55"]),
)


@pytest.mark.parametrize(("declared", "text", "numbers"), LIKELY)
def test_likely_numbers(declared: Field, text: str, numbers: list[str]) -> None:
    assert likely_numbers(declared, text) == numbers


@given(st.text(max_size=12) | st.from_regex(r"[-+0-9., eAOl]{1,10}", fullmatch=True))
def test_whatever_is_offered_would_be_taken(text: str) -> None:
    for offered in likely_numbers(AMPS, text):
        assert would_take(AMPS, float(offered))


def test_a_field_without_limits_takes_finite_numbers_only() -> None:
    free = Field("free", "Free")
    assert [would_take(free, number) for number in (0.0, -1e300, float("inf"), float("nan"))] == [
        True,
        True,
        False,
        False,
    ]


@pytest.mark.parametrize(
    ("text", "fix"),
    [
        ("38.2 (sagged)", "type 38.2"),
        ("none", "leave it and type 0 for a measured zero"),
        ("38..2", "type 38.2"),
        ("1,234", "type 1.234"),
        ("—", "leave it"),
        ("N/A", "leave it"),
        ("full", "type a plain number"),
    ],
)
def test_number_fix(text: str, fix: str) -> None:
    assert number_fix(AMPS, text, "leave it") == fix


@pytest.mark.parametrize(
    ("text", "fix"),
    [
        ("stedy", "choose “steady”"),
        ("S", "choose “steady”"),
        (" Peak throttle", "choose from the list in the cell"),
        ("peek", "choose “peak”"),
        ("", "choose from the list in the cell"),
        ("hover", "choose from the list in the cell"),
    ],
)
def test_choice_fix(text: str, fix: str) -> None:
    assert choice_fix(("peak", "steady"), text) == fix


@pytest.mark.parametrize(
    ("text", "fix"),
    [
        ("31.05.2026", "type 2026-05-31"),
        ("05/31/2026", "type 2026-05-31"),
        ("4.5.2026", "type 2026-05-04 or 2026-04-05"),
        ("5.5.2026", "type 2026-05-05"),
        ("2026/05/04", "type 2026-05-04"),
        ("2026.5.4", "type 2026-05-04"),
        ("32.13.2026", "type the date as year-month-day"),
        ("4 May", "type the date as year-month-day"),
    ],
)
def test_date_fix(text: str, fix: str) -> None:
    assert date_fix(days_of(text)) == fix
