"""Finding by need in a library of demo tests: the figures are those of each test, and the database agrees with them."""

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.command_line import run_apart as ran
from tests.instruments.editing import edited_copy
from xlsengine.bench.inputs.bench_test import bench_test
from xlsengine.bench.inputs.craft import BURSTS
from xlsengine.library.finding import find
from xlsengine.library.store import Library
from xlsengine.study.assessment import assess
from xlsengine.study.need_pairs import need_values
from xlsengine.workbook.need_workbook import write_need
from xlsengine.workbook.reading.need_reader import read_need
from xlsengine.workbook.reading.reader import read_bench_test

DEMOS = [Path(f"demo_inputs/{name}.xlsx") for name in ("colander-2306", "marmalade-2826")]
CRAFT: dict[str, Any] = {"all_up_mass": 600.0, "motor_count": 4.0, "pack_cells": 4.0, "pack_capacity": 1500.0}
NEED: dict[str, Any] = need_values({**CRAFT, "wanted_ratio": 4.0})
WORDS = ["--all-up-mass", "600 g", "--motors", "4", "--thrust-to-weight", "4", "--cells", "4S", "--capacity", "1500"]


@pytest.fixture(scope="module")
def library(tmp_path_factory: pytest.TempPathFactory) -> Library:
    made = Library(tmp_path_factory.mktemp("library") / "tests.library")
    for path in DEMOS:
        made.add(read_bench_test(path), path)
    return made


FIGURES = {
    "pair_hover_current": ("Hovering", "hover_current"),
    "hover_throttle": ("Hovering", "hover_throttle"),
    "craft_watts": ("Hovering", "hover_total"),
    "minutes": ("Hovering", "hover_time"),
    "pair_hover_current_doubt": ("Hovering", "hover_current_expanded"),
    "minutes_doubt": ("Hovering", "hover_time_expanded"),
    "held_need": ("Summary", "held_need"),
    "launch_need": ("Summary", "launch_need"),
    "pair_flight_low": ("Summary", "flight_low"),
    "pair_flight_high": ("Summary", "flight_high"),
}
OUTWARD = {"pair_flight_low": math.floor, "pair_flight_high": math.ceil}
"""Of ranges of 10 A and more, as on the Report."""


@pytest.mark.parametrize("demo", DEMOS, ids=lambda path: path.stem)
def test_figures_are_those_of_the_test_with_that_craft(library: Library, demo: Path) -> None:
    """What results of a test say of the craft on Craft, found again from kept figures."""
    test = read_bench_test(demo)
    own = assess(replace(test, fields={**test.fields, **CRAFT, "airspeed": None, "way_of_flying": BURSTS})).scope
    scope = find({**NEED, "wanted_ratio": 0.1, "pack_cells": None, "way_of_flying": BURSTS}, library).scope
    columns = {name: scope.column("Pairs", name) for name in ("test", "prop", "cells", *FIGURES)}
    seen = 0
    for row in np.flatnonzero(columns["test"] == test.fields["test_id"]):
        named = (own.column("Summary", "summary_prop") == columns["prop"][row]) & (
            own.column("Summary", "summary_cells") == columns["cells"][row]
        )
        place = int(np.flatnonzero(named)[0])
        for name, (table, column) in FIGURES.items():
            wanted = own.column(table, column)[place]
            if "minutes" in name and columns["cells"][row] != CRAFT["pack_cells"]:
                continue
            if wanted == wanted:
                if name in OUTWARD and wanted != own.column("Summary", "static_current")[place]:
                    wanted = OUTWARD[name](wanted)
                near = 0.05 if name == "minutes_doubt" else 1e-9
                assert columns[name][row] == pytest.approx(wanted, rel=near), (name, columns["prop"][row])
                seen += table == "Hovering"
    assert seen > 5


def test_every_pair_is_listed_or_named_with_its_reason(library: Library) -> None:
    found = find({**NEED, "largest_propeller": 5.0}, library)
    assert len(found.unlisted) + found.scope.test.rows("Pairs") == found.pairs
    assert all("wanted" in each.reason for each in found.unlisted)


def test_nothing_fits_and_the_nearest_are_shown(library: Library) -> None:
    found = find({**NEED, "wanted_ratio": 25.0}, library)
    assert (found.fitting, found.near) == (0, 0)
    assert found.scope.test.rows("Pairs") > 0
    assert set(found.scope.column("Pairs", "verdict")) == {"does not fit"}
    assert {each.split(" ±")[0].rsplit(" ", 1)[0] for each in found.scope.column("Pairs", "first_reason")[:3]} == {
        "thrust to weight"
    }


def test_a_file_and_a_server_give_the_same(library: Library, place: str) -> None:
    """On a server the database's own words for the limits must say the same."""
    other = Library(place).make()
    for path in DEMOS:
        other.add(read_bench_test(path), path)
    need = {**NEED, "largest_propeller": 5.2, "largest_motor_mass": 40.0, "esc_flight_limit": 35.0}
    here, there = find(need, library), find(need, other)
    assert (here.rejected, here.fitting, here.near) == (there.rejected, there.fitting, there.near)
    assert here.scope.column("Pairs", "rank").tolist() == pytest.approx(
        there.scope.column("Pairs", "rank").tolist(), nan_ok=True
    )
    assert here.unlisted == there.unlisted
    other.close()


# --- the command -------------------------------------------------------------------------------------------------


def test_by_options_and_by_the_form_the_same_is_found(
    library: Library, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    one, other, need = tmp_path / "one.xlsx", tmp_path / "my need found.xlsx", tmp_path / "my need.xlsx"
    code, said, _ = ran(capsys, "find", *WORDS, "--library", library.shown, "-o", str(one))
    assert code == 0
    assert said.splitlines()[0].startswith("searched ")
    write_need(need, replace(bench_test(), fields=NEED))
    assert ran(capsys, "find", str(need), "--library", library.shown)[0] == 0
    assert one.read_bytes() == other.read_bytes()
    code, said, _ = ran(capsys, "find", str(other), "--library", library.shown, "--json")
    assert (tmp_path / "my need found 2.xlsx").exists(), "what came back is numbered on"
    assert (code, json.loads(said)["pairs"][0]["verdict"]) == (0, "fits")


def test_all_that_is_wrong_with_a_need_is_told_at_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    form = tmp_path / "need.xlsx"
    assert ran(capsys, "find", "--new", str(form), "--cells", "4")[0] == 0
    code, _, said = ran(capsys, "find", str(form), "--motors", "four and a half")
    assert code == 1
    assert [line.split(":")[0] for line in said.splitlines()] == [
        "--motors Number of motors",
        "Need!B6 All-up mass",
        "Need!B8 Thrust to weight",
        "3 faults; nothing was written",
    ]


def test_an_empty_library_is_told_with_what_to_do(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    empty = Library(tmp_path / "empty.library").make()
    code, _, said = ran(capsys, "find", *WORDS, "--library", empty.shown, "-o", str(tmp_path / "found.xlsx"))
    assert code == 2
    assert said == f"{empty.shown} holds no tests yet; add some with xlsengine library add FOLDER --library LIB\n"
    assert not (tmp_path / "found.xlsx").exists()


def test_no_match_says_which_limits_reject(
    library: Library, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = [*WORDS, "--largest-propeller", "4"]
    code, said, _ = ran(capsys, "find", *words, "--library", library.shown, "-o", str(tmp_path / "found.xlsx"))
    assert (code, said.splitlines()[1]) == (0, "nothing fits; nearest are:")
    assert said.splitlines()[2].startswith("  – "), "what does not fit has no rank"
    assert "by the first limit that it does not hold: " in said
    assert "Largest propeller " in said


@pytest.mark.parametrize(("flown", "told"), [("bursts", True), ("hover", False)])
def test_hover_figures_are_called_what_they_are(
    library: Library, tmp_path: Path, capsys: pytest.CaptureFixture[str], flown: str, told: bool
) -> None:
    """Without steady readings a hover time is an estimate in every line; and no hover time is a flight time."""
    words = [*WORDS, "--flown-for", flown, "--library", library.shown]
    _, said, _ = ran(capsys, "find", *words, "-o", str(tmp_path / "found.xlsx"))
    _, as_json, _ = ran(capsys, "find", *words, "-o", str(tmp_path / "again.xlsx"), "--json")
    first = json.loads(as_json)["pairs"][:5]
    lines = [line for line in said.splitlines() if "hover time " in line]
    assert [line.endswith("estimate)") or "estimate)," in line for line in lines] == [
        pair["hover_basis"] != "steps" for pair in first if pair["minutes"] is not None
    ]
    assert ("not its flight time" in said) is told


def test_a_need_without_a_pack_gets_no_minutes(
    library: Library, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    form = tmp_path / "need.xlsx"
    assert ran(capsys, "find", "--new", str(form), *WORDS[:-2])[0] == 0
    assert read_need(form)[0]["pack_capacity"] is None, "nobody typed one"
    _, said, _ = ran(capsys, "find", str(form), "--library", library.shown)
    assert "hover time" not in said
    assert "No minutes: the need names no pack capacity" in said


@pytest.mark.parametrize("words", ["full throttle held", "held", "Full Throttle Held"])
def test_words_of_flying_are_those_of_the_form(tmp_path: Path, capsys: pytest.CaptureFixture[str], words: str) -> None:
    form = tmp_path / "need.xlsx"
    assert ran(capsys, "find", "--new", str(form), *WORDS, "--flown-for", words)[0] == 0
    assert read_need(form)[0]["way_of_flying"] == "full throttle held"
    typed = edited_copy(form, tmp_path / "typed.xlsx", [("Need", "B14", words)])
    assert read_need(typed)[0]["way_of_flying"] == "full throttle held"
