"""Grams per amp of a propeller across cell counts, with single readings on each: what was exchanged, what is off.

Grams per amp hardly know the volts (T/I = 2π·Kt·CT/(CP·D)); here they rise by 3 % a cell count, as idle current makes them.
"""

from pathlib import Path
from typing import Any

import pytest

from tests.judged import labels
from tests.judged.workbook_by_labels import written
from tests.study.planted_benches import bench
from xlsengine import bench_test, evaluate
from xlsengine.study.assessment import Assessment
from xlsengine.study.case import case_of
from xlsengine.study.count_checks import off_by_count
from xlsengine.study.evaluation import Scope
from xlsengine.study.exchange_checks import exchanged_propellers

PER_AMP = {"5x4": 42.0, "5x4.3x3": 33.0, "5.1x4.6x3": 31.0, "5.5x4": 40.0, "6x3": 43.0, "6x4": 38.0}
AMPS = {"5x4": 14.0, "5x4.3x3": 19.0, "5.1x4.6x3": 21.0, "5.5x4": 19.5, "6x3": 24.0, "6x4": 26.5}


def rows(counts: tuple[int, ...] = (3, 4), names: tuple[str, ...] = tuple(PER_AMP)) -> list[dict[str, Any]]:
    """Return one reading each, in whole grams; current goes with cells to the power 1.6."""
    found = []
    for step, cells in enumerate(counts):
        for name in names:
            amps = round(AMPS[name] * (cells / 3) ** 1.6, 1)
            grams = round(PER_AMP[name] * 1.03**step * amps)
            found.append({"prop": name, "cells": cells, "voltage": 3.95 * cells, "current": amps, "thrust": grams})
    return found


def assessed(table: list[dict[str, Any]]) -> Assessment:
    return evaluate(bench_test({"label_kv": 2150.0}, {"Readings": table}))


def exchange(table: list[dict[str, Any]], one: int, other: int, column: str = "current") -> list[dict[str, Any]]:
    turned = [dict(row) for row in table]
    turned[one][column], turned[other][column] = table[other][column], table[one][column]
    return turned


def told(assessment: Assessment) -> dict[int, str]:
    return {flag["row"]: flag["what"] for flag in assessment.flag_list()}


def test_nothing_is_said_of_sound_readings() -> None:
    for counts in ((3, 4), (2, 3, 4)):
        assert told(assessed(rows(counts))) == {}


def test_exchanged_currents_are_named_in_the_list_of_the_workbook(tmp_path: Path) -> None:
    """5x4 draws 22.2 A on 4S and 5.5x4, below it, 30.9 A; the rows of 4S stand below six of 3S: 12 and 13 on the sheet."""
    table = rows(names=("6x3", "5x4", "5.5x4", "5x4.3x3", "5.1x4.6x3", "6x4"))
    workbook = written(assessed(exchange(table, 7, 8)), tmp_path / "exchanged.xlsx")
    listed = workbook.rows(labels.CHECK_LIST)
    said = {str(row["place"].value): (row["what"].value, row["found"].value, row["expected"].value) for row in listed}
    assert said["Readings J13"] == (
        "Current exchanged with reading 9", "30.9 A", "22.2 A, which stands in reading 9",
    )  # fmt: skip
    assert said["Readings J14"] == (
        "Current exchanged with reading 8", "22.2 A", "30.9 A, which stands in reading 8",
    )  # fmt: skip


def test_one_that_is_off_is_told_with_its_figure_on_the_other_cell_count() -> None:
    """6x4 on 4S, 52.4 A for 42.0 A: 1,644 g over it is 31.4 g/A, and on 3S it has 38.0 g/A, 1,007 g over 26.5 A."""
    table = rows()
    table[11]["current"] = 52.4
    (flag,) = assessed(table).flag_list()
    assert flag["what"] == "Grams per amp differ across cell counts"
    assert flag["row"] in (6, 12)
    assert {"31.4 g/A on 4S", "38.0 g/A on 3S"} == set(str(flag["found"]).split(", "))


@pytest.mark.parametrize("names", [("5x4",), ("5x4", "5.5x4", "6x3")])
def test_few_propellers_are_held_against_the_usual_step(names: tuple[str, ...]) -> None:
    """Twice the 7 % on Settings beside a step of 4 %: 18 % less current on 4S is told, 7 % less is not."""
    for share, rows_told in ((0.93, 0), (0.82, 1)):
        table = rows(names=names)
        table[-1]["current"] = round(table[-1]["current"] * share, 2)
        found = off_by_count(case_of(Scope(bench_test({"label_kv": 2150.0}, {"Readings": table}))))
        assert [flag.title for flag in found] == ["Grams per amp differ across cell counts"] * 2 * rows_told, (
            "either may be it"
        )


def test_sound_peaks_of_simulated_motors_are_left_alone() -> None:
    """Peaks alone, as many testers read: motors, propellers and packs that vary as widely as open data do."""
    for seed in range(25):
        made = bench(seed)
        peaks = [row | {"kind": None} for row in made.rows if row["kind"] == "peak"]
        found = case_of(Scope(made.test(peaks, False)))
        assert (exchanged_propellers(found), off_by_count(found)) == ([], []), seed


def test_coarse_digits_are_no_difference() -> None:
    """A motor of 2 g on a display of 0.1 A: half a step of 1.3 A is 4 %, of 21 g in whole grams 2 %."""
    read = {"1.2x0.8": ((1.3, 21), (3.6, 68)), "1.6x1.0": ((2.6, 35), (6.5, 87)), "1.6x1.6": ((2.6, 27), (6.7, 70))}
    table = [
        {"prop": prop, "cells": cells, "voltage": 3.8 * cells, "current": amps, "thrust": grams}
        for prop, found in (read | {"1.2x1.1": ((1.4, 19), (4.0, 58))}).items()
        for cells, (amps, grams) in enumerate(found, start=1)
    ]
    assert "Grams per amp" not in str(assessed(table).flags)
