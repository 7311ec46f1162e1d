"""One honest mistake at a time in a sound table of peaks: what is told, and that no other reading is blamed.

An invented motor for park flyers, seven propellers on 2 and 3 cells, four of them read twice; simulated with 1 % of scatter.
"""

from itertools import combinations
from typing import Any

import pytest

from xlsengine import bench_test, evaluate
from xlsengine.bench.inputs.conditions import BENCH_SUPPLY

READ: tuple[tuple[str, float, float, float, float], ...] = (
    ("8x4.3 SF", 2, 7.99, 6.9, 394),
    ("8x6 SF", 2, 7.93, 8.6, 400),
    ("9x4.7 SF", 2, 7.86, 10.9, 548),
    ("9x6 E", 2, 7.84, 10.7, 498),
    ("10x4.7 SF", 2, 7.70, 15.7, 712),
    ("8x6 E", 2, 7.98, 6.9, 341),
    ("7x6 E", 2, 8.04, 4.7, 243),
    ("8x4.3 SF", 3, 11.85, 13.3, 803),
    ("8x6 SF", 3, 11.73, 16.7, 810),
    ("9x4.7 SF", 3, 11.59, 20.4, 1089),
    ("9x6 E", 3, 11.56, 20.3, 964),
    ("10x4.7 SF", 3, 11.30, 28.4, 1334),
    ("8x6 E", 3, 11.88, 13.3, 706),
    ("7x6 E", 3, 11.93, 9.3, 514),
    ("8x4.3 SF", 2, 7.96, 6.8, 388),
    ("8x6 SF", 2, 7.88, 8.6, 395),
    ("9x4.7 SF", 2, 7.84, 10.7, 551),
    ("9x6 E", 2, 7.82, 10.7, 490),
    ("8x4.3 SF", 3, 11.83, 13.2, 805),
    ("8x6 SF", 3, 11.70, 16.6, 795),
    ("9x4.7 SF", 3, 11.56, 20.5, 1090),
    ("9x6 E", 3, 11.54, 20.3, 972),
)
"""Propeller, cells, volts, amps and grams, in the order in which they were taken."""

Row = dict[str, Any]
OUNCE = 28.349523125  # grams: NIST SP 811


def table() -> list[Row]:
    """Return the readings as rows, runs from 1."""
    return [
        dict(zip(("run", "prop", "cells", "voltage", "current", "thrust"), (float(run), *read), strict=True))
        | dict(zip(("diameter", "pitch"), map(float, read[0].split()[0].split("x")), strict=True))
        for run, read in enumerate(READ, start=1)
    ]


def told(rows: list[Row]) -> dict[int, tuple[str, str]]:
    """Return what is said of each reading that is doubtful or worse, by its run: severity and what."""
    fields = {"label_kv": 1100.0, "altitude": 120.0, "air_temperature": 15.0}
    flags = evaluate(bench_test(fields, {"Readings": rows})).flag_list()
    return {flag["row"]: (flag["severity"], flag["what"]) for flag in flags if flag["severity"] != "note"}


def test_nothing_is_said_of_the_sound_table() -> None:
    rows = table()
    assert (len(rows), rows[11]["thrust"], rows[21]["current"]) == (22, 1334.0, 20.3)
    assert told(rows) == {}


@pytest.mark.parametrize(
    ("run", "column", "typed", "severity", "what"),
    [
        (10, "current", 30.4, "doubtful", "Current does not fit thrust"),
        (12, "current", 24.8, "doubtful", "Grams per amp differ across cell counts"),
        (12, "current", 38.4, "doubtful", "Grams per amp differ across cell counts"),
        (12, "current", 2.84, "impossible", "Decimal slip in current"),
        (12, "current", 0.0, "impossible", "Thrust without power"),
        (12, "voltage", 0.0, "impossible", "Thrust without power"),
        (12, "thrust", 133.4, "impossible", "Decimal slip in thrust"),
        (10, "thrust", round(1089 / OUNCE, 1), "impossible", "Thrust perhaps in ounces"),
        (12, "thrust", round(1334 / OUNCE, 1), "impossible", "Thrust perhaps in ounces"),
        (10, "throttle", 50.0, "doubtful", "Throttle does not fit thrust"),
        (10, "cells", 2.0, "impossible", "Cells perhaps 3"),
        (14, "cells", 2.0, "impossible", "Cells perhaps 3"),
    ],
)
def test_a_mistake_is_told_and_nobody_else_is_blamed(
    run: int, column: str, typed: float, severity: str, what: str
) -> None:
    rows = table()
    rows[run - 1][column] = typed
    said = told(rows)
    assert list(said) == [run]
    assert said[run][0] == severity
    assert said[run][1].startswith(what)


@pytest.mark.parametrize("first", [14, 22], ids=["read once", "read twice"])
def test_one_wrong_cell_count_is_told_wherever_it_stands(first: int) -> None:
    """2 for 3 and 3 for 2: the count that fits is named, and neither volts, grams nor another reading are."""
    for at in range(first):
        rows = table()[:first]
        meant = rows[at]["cells"]
        rows[at]["cells"] = 5.0 - meant
        flags = evaluate(bench_test({"label_kv": 1100.0}, {"Readings": rows})).flag_list()
        (flag,) = (flag for flag in flags if flag["severity"] != "note")
        assert (flag["row"], flag["column"]) == (at + 1, "cells")
        assert flag["what"].startswith(f"Cells perhaps {meant:.0f}")
        assert f"type {meant:.0f}." in flag["fix"]
        assert "measure the pack" in flag["fix"]


@pytest.mark.parametrize(("column", "least"), [("voltage", 41), ("thrust", 38), ("current", 30)])
def test_figures_of_two_readings_far_apart_that_changed_places_are_named(column: str, least: int) -> None:
    """Of 41 pairs on 2S and 3S; what is missed lies within a few percent of what would be right."""
    found = 0
    for one, other in combinations(range(14), 2):
        rows = table()[:14]
        here, there = rows[one], rows[other]
        if other - one > 1 and here["cells"] != there["cells"] and here["prop"] != there["prop"]:
            here[column], there[column] = there[column], here[column]
            said = told(rows)
            found += set(said) == {one + 1, other + 1} and all(
                "exchanged with run" in what for _, what in said.values()
            )
    assert found >= least


def test_a_bench_supply_is_no_pack_to_be_measured() -> None:
    rows = table()
    rows[9]["cells"] = 2.0
    flags = evaluate(bench_test({"label_kv": 1100.0, "supply": BENCH_SUPPLY}, {"Readings": rows})).flag_list()
    (flag,) = (flag for flag in flags if flag["column"] == "cells")
    assert flag["fix"].endswith("If it had 2, stop and measure the volts of the bench supply.")


def test_a_cell_count_that_was_dragged_down_is_one_mistake() -> None:
    """3, 4, 5 ... 9 on one pack of three: 11.30 to 11.93 V are 3.77 to 3.98 V a cell; the first is right."""
    rows = table()
    for step, row in enumerate(rows[7:14]):
        row["cells"] = 3.0 + step
    said = told(rows)
    assert set(said.values()) == {("impossible", "Cells perhaps 3")}
    assert list(said) == [9, 10, 11, 12, 13, 14]


def test_a_figure_ten_times_too_small_in_one_round_is_not_told_of_the_other() -> None:
    """The clamp on another range for all of 3S in the first round: 2.84 A for 28.4 A."""
    rows = table()
    for row in rows[7:14]:
        row["current"] = round(row["current"] / 10, 2)
    said = told(rows)
    assert set(said.values()) == {("impossible", "Amps off by one factor")}
    assert set(said) == set(range(8, 15))
