"""The workbook of a need: its form read back with its faults, and ranked pairs that judge themselves again."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.instruments.linter import lint
from tests.instruments.recalculate import (
    iron_edit,
    stored_values,
)
from tests.need_samples import found, steps_of
from tests.workbook.agreement import AgreesEverywhere
from xlsengine.bench.inputs.bench_test import BenchTest
from xlsengine.library.finding import Unlisted
from xlsengine.study.need_pairs import need_values, scope_of
from xlsengine.workbook.need_workbook import write_found, write_need
from xlsengine.workbook.reading.need_reader import read_need

WANTED: dict[str, Any] = {
    "pack_cells": 4.0,
    "largest_propeller": 5.1,
    "esc_flight_limit": 31.0,
    "esc_bench_limit": 40.0,
    "largest_motor_mass": 33.1,
    "way_of_flying": "forward flight with short full throttle",
}
PAIRS: tuple[dict[str, Any], ...] = (
    {},
    {"prop": "six inch", "diameter": 6.0},
    {"prop": "weak", "thrust": 580.0},
    {"prop": "near", "thrust": 605.0},
    {"prop": "three cells", "cells": 3.0},
    {"prop": "light", "motor_mass": 30.0},
    {"prop": "hot", "launch": 45.0},
    {"prop": "unknown", "motor_mass": np.nan, "pitch_ratio": np.nan, "exponent": 1.4, "exponent_doubt": 0.1},
    {
        "prop": "strong",
        "motor_mass": 31.0,
        "thrust": 900.0,
        "of_repeats_read": 8.0,
        "of_thrust_scatter": 1.0,
        "of_current_scatter": 1.2,
        "of_thrust_current": 0.5,
    },
)


def steps_of_some() -> dict[str, Any]:
    """Leave two of the pairs without steps."""
    steps = steps_of(len(PAIRS))
    kept = ~np.isin(steps["step_pair"], (4.0, 8.0))
    return {name: column[kept] for name, column in steps.items()}


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("need") / "found.xlsx"
    scope = found(WANTED, *PAIRS, steps=steps_of_some())
    return write_found(
        path, scope, [Unlisted("Invented 1404", "3x3", 4.0, "thrust to weight 1.20 ± 0.02, wanted 4.00")]
    )


class TestAgreement(AgreesEverywhere):
    """Of the workbook above."""


def test_the_workbook_is_sound(written: Path) -> None:
    assert [str(finding) for finding in lint(written)] == []


CELLS = {
    "all_up_mass": "B6",
    "wanted_ratio": "B8",
    "pack_cells": "B9",
    "largest_propeller": "B10",
    "esc_flight_limit": "B11",
    "largest_motor_mass": "B13",
    "pack_capacity": "B15",
}


@pytest.mark.parametrize(
    "change",
    [
        {"all_up_mass": 900.0},
        {"pack_cells": 3.0},
        {"largest_propeller": 7.0, "largest_motor_mass": 29.0},
        {"esc_flight_limit": 20.0},
        {"pack_capacity": 3000.0, "wanted_ratio": 2.0},
    ],
    ids=lambda change: " ".join(change),
)
def test_a_changed_need_judges_every_pair_again(written: Path, change: dict[str, float]) -> None:
    """The cells come to what the engine gives for the changed need and the same pairs."""
    before = found(WANTED, *PAIRS, steps=steps_of_some())
    after = scope_of({**before.test.fields, **change}, before.test.tables["Pairs"], before.test.tables["Steps"])
    cells = iron_edit(written, [("Need", CELLS[name], value) for name, value in change.items()])
    rows = range(6, 6 + len(PAIRS))
    shown = {"A": "rank", "B": "verdict", "F": "ratio", "J": "minutes", "P": "pack_rate", "Q": "first_reason"}
    for letter, name in shown.items():
        wanted = after.column("Pairs", name).tolist()
        got = [cells["Pairs", f"{letter}{row}"] for row in rows]
        assert got == [
            pytest.approx(one, rel=1e-9)
            if isinstance(one, float) and one == one
            else None
            if one in (None, "") or one != one
            else one
            for one in wanted
        ]


def test_sorting_that_is_out_of_date_is_said(written: Path) -> None:
    stored = stored_values(written)
    assert stored["Need", "A3"] == "Up to date: sorted by Rank."
    light = iron_edit(written, [("Need", "B9", 3.0)])
    assert light["Need", "A3"] == "Out of date: sort the table by Rank, smallest first."
    assert light["Need", "A4"] == stored["Need", "A4"] == "All 9 pairs of the library are listed."


def test_what_was_written_is_a_need_again(written: Path) -> None:
    fields, said = read_need(written)
    assert (said.faults, said.told) == ([], [])
    assert fields == need_values({**found(WANTED, {}).test.fields})


def test_an_empty_form_asks_for_what_is_needed(tmp_path: Path) -> None:
    _, said = read_need(write_need(tmp_path / "need.xlsx", BenchTest(need_values({}), {})))
    assert [fault.place for fault in said.faults] == ["Need!B6", "Need!B7", "Need!B8"]
    assert str(said.faults[0]) == (
        "Need!B6 All-up mass: found a blank cell; wanted a number from 5 to 100,000 g; fill it in"
    )


def test_another_workbook_is_no_need() -> None:
    _, said = read_need(Path("workbook_templates/motor_bench.xlsx"))
    assert [str(fault) for fault in said.faults] == [
        "Need: found no table NeedForm; wanted the table NeedForm; write a new one with xlsengine find --new FILE"
    ]
