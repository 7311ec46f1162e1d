"""What stands beside a group whose means hold impossible rows, and of how many groups a headline is the best."""

from __future__ import annotations

from typing import Any

import pytest

from tests.workbook.made_tests import FULL, on_purpose
from xlsengine.study.assessment import assess

WATTS = FULL["voltage"] * FULL["current"]
SOUND = f"{FULL['thrust'] / WATTS:.2f}"
IMPOSSIBLE = {"thrust": FULL["thrust"] * 30}


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ([{}], ""),
        ([{}, {}], ""),
        ([{}, IMPOSSIBLE], f"steady 1 of 2, without: {SOUND} g/W."),
        ([IMPOSSIBLE, IMPOSSIBLE], "steady 2 of 2, without: none left."),
        ([{"kind": "peak"}, {"kind": "peak", **IMPOSSIBLE}, {}], f"peak 1 of 2, without: {SOUND} g/W."),
        (
            [{"kind": "peak", **IMPOSSIBLE}, {}, IMPOSSIBLE],
            f"peak 1 of 1, without: none left. steady 1 of 2, without: {SOUND} g/W.",
        ),
        ([{}, {**IMPOSSIBLE, "use": "no"}], ""),
        ([{}, {**IMPOSSIBLE, "throttle": 50.0}], ""),
    ],
)
def test_impossible_rows_in_the_means(rows: list[dict[str, Any]], said: str) -> None:
    steady = [{"kind": "steady", **row} for row in rows]
    assert (assess(on_purpose(*steady)).scope.column("Summary", "impossible_means")[0] or "") == said


def test_nothing_stands_beside_spare_rows() -> None:
    found = assess(on_purpose({"kind": "steady"}, {"kind": "steady", **IMPOSSIBLE})).scope
    assert [text for text in found.column("Summary", "impossible_means")[1:] if text] == []


def note_of(*rows: dict[str, Any], **fields: Any) -> str:
    (line,) = (
        line
        for line in assess(on_purpose(*rows, **fields)).headlines()
        if line["label"].startswith("Best thrust per power at")
    )
    return str(line["note"] or "")


STEADY = {"kind": "steady"}


def test_a_headline_at_equal_thrust_says_of_how_many_it_is_the_best() -> None:
    near = [STEADY | {"prop": prop} for prop in ("5x4 A", "5x4 B")]
    far = [STEADY | {"prop": "3x2", "thrust": 90.0, "current": 5.0}]
    assert note_of(*near, *far, headline_thrust=FULL["thrust"]) == "2 of 3 combinations have readings near it."
    assert note_of(*far, headline_thrust=FULL["thrust"]) == ""


def test_it_says_so_after_what_a_flagged_row_decides() -> None:
    rows = [STEADY, STEADY | {"prop": "5x4 odd", "current": FULL["current"] / 30}]
    said = note_of(*rows, headline_thrust=FULL["thrust"])
    assert said.startswith("A flagged row decides this; without it ")
    assert said.endswith(" g/W. 2 of 2 combinations have readings near it.")
