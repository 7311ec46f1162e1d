"""One honest mistake at a time in a sound table of peaks: what is told, and that no other reading is blamed.

An invented motor for park flyers, seven propellers on 2 and 3 cells, four of them read twice; simulated with 1 % of scatter.
"""

from itertools import combinations, product
from typing import Any

import pytest

from tests.study.planted_benches import bench
from tests.study.small_bench import flags_of, good_table, without_speed
from xlsengine import bench_test, evaluate
from xlsengine.bench.checks.row_checks import Severity
from xlsengine.bench.inputs.conditions import BENCH_SUPPLY
from xlsengine.study.evaluation import Scope
from xlsengine.study.group_checks import group_checks

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
        (12, "current", 9.3, "impossible", "Grams per amp differ across cell counts"),
        (12, "current", 2.84, "impossible", "Decimal slip in current"),
        (12, "current", 0.0, "impossible", "Thrust without power"),
        (12, "voltage", 0.0, "impossible", "Thrust without power"),
        (12, "thrust", 133.4, "impossible", "Decimal slip in thrust"),
        (10, "thrust", round(1089 / OUNCE, 1), "impossible", "Thrust perhaps in ounces"),
        (12, "thrust", round(1334 / OUNCE, 1), "impossible", "Thrust perhaps in ounces"),
        (10, "throttle", 50.0, "doubtful", "Throttle perhaps 100 %"),
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


def test_amps_of_the_row_above_are_told_with_what_they_should_be() -> None:
    """At 712/15.7 g/A, as on 2S, 1,334 g need 29.4 A."""
    rows = table()
    rows[11]["current"] = 20.3
    flags = evaluate(bench_test({"label_kv": 1100.0}, {"Readings": rows})).flag_list()
    (flag,) = (flag for flag in flags if flag["severity"] != "note")
    assert (flag["row"], flag["column"]) == (12, "current")
    assert flag["found"].endswith("20.3 A as in run 11")
    assert "about 29.4 A" in flag["expected"]


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


@pytest.mark.parametrize(("prop", "cells", "typed"), [("9x6 E", 3, 2), ("9x6 E", 2, 3), ("8x4.3 SF", 3, 2)])
def test_repeats_of_one_wrong_cell_count_are_told_as_one_is(prop: str, cells: float, typed: float) -> None:
    rows = table()
    wrong = [row for row in rows if (row["prop"], row["cells"]) == (prop, cells)]
    for row in wrong:
        row["cells"] = float(typed)
    assert told(rows) == {int(row["run"]): ("impossible", f"Cells perhaps {cells}") for row in wrong}
    assert len(wrong) == 2


@pytest.mark.parametrize(("seed", "cells", "typed"), [(2, 4.0, 5.0), (2, 5.0, 4.0), (3, 4.0, 6.0), (3, 6.0, 4.0)])
def test_a_sweep_of_another_cell_count_is_not_told_of_its_throttles(seed: int, cells: float, typed: float) -> None:
    """All readings of one propeller on one count, on simulated benches with steps of throttle."""
    made = bench(seed)
    for prop in {row["prop"] for row in made.rows}:
        wrong = [at for at, row in enumerate(made.rows) if (row["prop"], row["cells"]) == (prop, cells)]
        rows = [row | {"cells": typed} if at in wrong else row for at, row in enumerate(made.rows)]
        flags = [flag for flag in group_checks(Scope(made.test(rows))) if flag.severity > Severity.NOTE]
        assert {(flag.row - 1, flag.column, flag.title) for flag in flags} == {
            (at, "cells", f"Cells perhaps {cells:.0f}") for at in wrong
        }


@pytest.mark.parametrize("runs", [(1, 2, 3, 4), (8, 9, 10, 11), (15, 16, 17, 18), (19, 20, 21, 22)])
def test_readings_of_two_propellers_that_changed_places_are_named(runs: tuple[int, ...]) -> None:
    """Volts, amps and grams of one in the row of the other, side by side or apart: their repeats tell."""
    for one, other in combinations(runs, 2):
        rows = table()
        for column in ("voltage", "current", "thrust"):
            rows[one - 1][column], rows[other - 1][column] = rows[other - 1][column], rows[one - 1][column]
        found = told(rows)
        assert set(found) == {one, other}
        assert all("ropeller" in what and "exchanged with run" in what for _, what in found.values())


@pytest.mark.parametrize("first", [14, 22], ids=["read once", "read twice"])
def test_two_readings_on_two_cell_counts_that_changed_places_are_named(first: int) -> None:
    """No volts per cell but theirs are odd, and other cell counts would give their propellers another's amps and grams."""
    for one, other in product(range(7), range(7, 14)):
        rows = table()[:first]
        for column in ("voltage", "current", "thrust"):
            rows[one][column], rows[other][column] = rows[other][column], rows[one][column]
        what = "Two readings exchanged" if other - one != 7 else "Cells perhaps"
        found = told(rows)
        assert set(found) == {one + 1, other + 1}
        assert all(said.startswith(what) for _, said in found.values())


@pytest.mark.parametrize("first", [14, 22], ids=["read once", "read twice"])
@pytest.mark.parametrize(("cells", "grams"), [(2.0, -125), (2.0, -60), (2.0, 90), (3.0, -250), (3.0, -120), (3.0, 180)])
def test_a_tare_on_one_cell_count_is_told_once(cells: float, grams: float, first: int) -> None:
    """Where the other count may as well be it, both are named and neither is called wrong."""
    rows = table()[:first]
    wrong = [row for row in rows if row["cells"] == cells]
    for row in wrong:
        row["thrust"] += grams
    found = told(rows)
    is_sure = set(found.values()) == {("doubtful", "Tare perhaps left in a round")}
    either = {"Grams per amp differ across cell counts", "Tare perhaps left on a cell count"}
    assert is_sure or {what for _, what in found.values()} in ({each} for each in either)
    assert set(found) == {int(row["run"]) for row in (wrong if is_sure else rows)}


@pytest.mark.parametrize(("at", "grams"), [(0, -15), (6, -30), (6, -50), (12, -30), (18, -50), (18, 50)])
def test_a_tare_in_a_sweep_is_told_of_that_sweep(at: int, grams: float) -> None:
    """Of a propeller on one cell count, with speeds; without them the other count may as well be off the other way."""
    wrong = range(at, at + 6)
    rows = [
        row | {"thrust": row["thrust"] + grams} if place in wrong else row for place, row in enumerate(good_table())
    ]
    found = {flag.row - 1: flag.title for flag in flags_of(rows) if flag.title == "Thrusts have a tare"}
    assert {flag.row - 1 for flag in flags_of(rows)} <= set(wrong)
    assert len(found) >= len(wrong) - 1
    rest = [flag for flag in flags_of(without_speed(rows)) if flag.title == "Thrusts have a tare"]
    assert all("or those on" in flag.found for flag in rest)


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
