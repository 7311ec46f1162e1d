"""The linter's reading of formulas, functions and areas, apart from any workbook."""

from __future__ import annotations

import pytest

from tests.instruments.findings import Rule
from tests.instruments.formula_text import AreaUse, NameUse, TableUse, parse
from tests.instruments.functions import FUNCTIONS, refusal
from tests.instruments.grid import Area, cell_name


def test_headers_with_escaped_characters() -> None:
    assert parse("SUM(t_[a'#b '[1']''s])").uses == [TableUse("t_", frozenset(), ("a#b [1]'s",))]
    expected = TableUse("t_", frozenset({"#This Row"}), ("a'b", "°C %²"))
    assert parse("SUM(t_[[#This Row],[a''b]:[°C %²]])").uses == [expected]


def test_what_a_formula_uses() -> None:
    parsed = parse("'It''s'!$B$2+Readings!factor+η_max")
    assert parsed.uses == [
        AreaUse("It's", "$B$2"),
        NameUse("Readings", "factor"),
        NameUse(None, "η_max"),
    ]


@pytest.mark.parametrize(
    ("title", "reason"),
    [
        ("AGGREGATE", "AGGREGATE must be stored as _xlfn.AGGREGATE"),
        ("NOW", "NOW is volatile"),
        ("_xlfn.MAXIFS", "MAXIFS needs Excel 2019 or later"),
        ("TEXT", "TEXT is not in the list of allowed functions"),
        ("sum", "sum is not in the list of allowed functions"),
    ],
)
def test_a_refusal_gives_its_reason(title: str, reason: str) -> None:
    assert refusal(title) == reason


def test_every_allowed_function_is_allowed_and_counts_its_arguments() -> None:
    for title, function in FUNCTIONS.items():
        assert refusal(title) is None
        arguments = ",".join(["1"] * function.least)
        assert parse(f"{title}({arguments})").faults == []
        too_many = ",".join(["1"] * (function.most + 1))
        assert [rule for rule, _ in parse(f"{title}({too_many})").faults][-1] is Rule.ARGUMENT_COUNT


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("B2", Area(2, 2, 2, 2)),
        ("$B$2:AA9", Area(2, 2, 9, 27)),
        ("B:C", Area(1, 2, 1_048_576, 3)),
        ("2:$9", Area(2, 1, 9, 16_384)),
    ],
)
def test_areas_are_read(text: str, expected: Area) -> None:
    assert Area.parse(text) == expected


@pytest.mark.parametrize(
    "text", ["", "B", "2", "B0", "b2", "B2:", "B2:C", "B2:3", "XFE1", "A1048577", "C2:B3", "B3:C2"]
)
def test_what_is_no_area_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=f"^{text}"):
        Area.parse(text)


def test_cell_names() -> None:
    assert [cell_name(1, 1), cell_name(9, 26), cell_name(9, 27), cell_name(1_048_576, 16_384)] == [
        "A1",
        "Z9",
        "AA9",
        "XFD1048576",
    ]


def test_what_an_area_covers() -> None:
    area = Area.parse("B2:C4")
    inside = [(row, column) for row in range(1, 6) for column in range(1, 5) if area.contains(row, column)]
    assert inside == area.cells() == [(2, 2), (2, 3), (3, 2), (3, 3), (4, 2), (4, 3)]
    assert (area.rows, area.columns, area.is_one_cell, str(area)) == (3, 2, False, "B2:C4")
    assert str(Area.parse("$B$2")) == "B2"


@pytest.mark.parametrize(
    ("other", "expected"),
    [("C4:D9", True), ("A1:B2", True), ("B5:C5", False), ("B1:C1", False), ("A2:A4", False), ("D2:D4", False)],
)
def test_areas_that_share_a_cell(other: str, expected: bool) -> None:
    assert Area.parse("B2:C4").overlaps(Area.parse(other)) is expected
    assert Area.parse(other).overlaps(Area.parse("B2:C4")) is expected
