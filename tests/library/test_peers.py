"""Which motors and propellers are compared, how their figures are brought together, and which conditions are named."""

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.library.made_library import comparison_of, demo, peers_of
from xlsengine.bench.comparison import class_motors as k
from xlsengine.bench.comparison import peers as p
from xlsengine.bench.comparison.ranking import RANKED
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs.bench_test import BenchTest, bench_test
from xlsengine.bench.judging.round_thrusts import compared_thrust
from xlsengine.expression import Column
from xlsengine.library.kept import kept_of
from xlsengine.library.peers import MOST_PEERS, against_class, grams_per_watt_at
from xlsengine.library.store import Library
from xlsengine.study.assessment import assess
from xlsengine.study.comparison import Comparing, compared_with, is_compared
from xlsengine.study.evaluation import Scope

MOTOR: dict[str, Any] = {
    "model": "Peg 2207",
    "test_id": "peg",
    "size_code_means": "stator",
    "stator_diameter": 22.0,
    "stator_height": 7.0,
    "label_kv": 1900.0,
    "mass_as_supplied": 33.0,
    "tester": "Tester One",
    "esc_used": "one",
}


def row(prop: str, thrust: float, current: float = 30.0, **more: Any) -> dict[str, Any]:
    return {"prop": prop, "cells": 4, "kind": "steady", "voltage": 15.0, "current": current, "thrust": thrust, **more}


def motor(*rows: dict[str, Any], **fields: Any) -> BenchTest:
    return bench_test({**MOTOR, **fields}, {"Readings": list(rows)})


def compared_scope(own: BenchTest, *peers: BenchTest) -> Scope:
    assessment, comparison = comparison_of(own, peers)
    return compared_with(assessment, comparison).scope


def of(scope: Scope, column: Column) -> list[Any]:
    return list(scope.this_row(column))


def by_motor(scope: Scope, column: Column) -> dict[tuple[str, str], Any]:
    keys = zip(of(scope, p.label), of(scope, p.name), strict=True)
    return dict(zip(keys, of(scope, column), strict=True))


# --- what is in common --------------------------------------------------------------------------------------------


def test_only_what_both_were_tested_with_is_compared() -> None:
    own = motor(row("5x4", 1000), row("6x3", 1200), row("7x4", 1400, cells=3))
    other = motor(row("5X4 ", 1010), row("7x4", 1500), row("6x3", 1250), model="Pin 2207", test_id="pin")
    third = motor(row("5x4", 990), model="Nail 2207", test_id="nail")
    scope = compared_scope(own, other, third)
    assert of(scope, k.label) == ["5x4 on 4S", "6x3 on 4S"]
    names = by_motor(scope, p.thrust.value)
    assert set(names) == {
        *(("5x4 on 4S", name) for name in ("Peg 2207", "Pin 2207", "Nail 2207")),
        *(("6x3 on 4S", name) for name in ("Peg 2207", "Pin 2207")),
    }
    assert names["6x3 on 4S", "Pin 2207"] == pytest.approx(1250)


def test_a_propeller_of_the_same_name_and_another_pitch_is_another() -> None:
    own = motor(row("five", 1000, diameter=5.0, pitch=4.0))
    other = motor(row("five", 1010, diameter=5.0, pitch=3.0), model="Pin", test_id="pin")
    scope = compared_scope(own, other)
    assert scope.used_rows(k.COMPARED.name) == 0
    assert "No propeller and cell count of this motor" in str(scope.named("comparison_line"))


def test_equal_thrust_is_read_off_as_the_engine_does() -> None:
    """The engine's live column against the function, for every propeller of a demo."""
    test = demo()
    scope, kept = assess(test).scope, kept_of(test)
    at, found = scope.named(compared_thrust.name), 0
    for place, group in enumerate(kept.groups):
        steps = [step for step in kept.steps if (step["prop"], step["cells"]) == (group["prop"], group["cells"])]
        thrust, power = (np.array([step[name] for step in steps], dtype=float) for name in ("thrust", "power"))
        expected = scope.this_row(g.headline_efficiency)[place]
        assert grams_per_watt_at(thrust, power, at, scope.named("widest_gap")) == pytest.approx(expected, nan_ok=True)
        found += expected == expected
    assert found > 0


def test_equal_thrust_worked_by_hand() -> None:
    """Power as thrust to the power 1.5 between 100 g at 10 W and 400 g at 80 W: at 200 g 28.28 W, 7.07 g/W."""
    thrust, power = np.array([400.0, 100.0]), np.array([80.0, 10.0])
    assert grams_per_watt_at(thrust, power, 200.0, 5.0) == pytest.approx(7.0711, rel=1e-4)
    assert grams_per_watt_at(thrust, power, 400.0, 5.0) == pytest.approx(5.0)
    assert np.isnan(grams_per_watt_at(thrust, power, 200.0, 3.0))
    assert np.isnan(grams_per_watt_at(thrust, power, 401.0, 5.0))
    assert np.isnan(grams_per_watt_at(thrust, power, 99.0, 5.0))


# --- brought together, or named ----------------------------------------------------------------------------------


def test_thrust_is_brought_to_this_motors_volts() -> None:
    """1000 g at 15.0 V to 15.6 V with x = 0.75: 1000·1.04^1.6 = 1064.8 g; power one power more, 450·1.04^2.6 = 498.3 W."""
    own, other = motor(row("5x4", 1000, voltage=15.6)), motor(row("5x4", 1000), model="Pin", test_id="pin")
    scope = compared_scope(own, other)
    assert by_motor(scope, p.thrust.value)["5x4 on 4S", "Pin"] == pytest.approx(1064.8, abs=0.05)
    assert by_motor(scope, p.thrust.read)["5x4 on 4S", "Pin"] == 1000
    assert by_motor(scope, p.power.value)["5x4 on 4S", "Pin"] == pytest.approx(498.3, abs=0.05)
    assert by_motor(scope, p.thrust.value)["5x4 on 4S", "Peg 2207"] == 1000


def test_thrust_is_brought_to_this_motors_air() -> None:
    """By (ρ/ρ')^0.6 with x = 0.75, the densities as the engine has them; g/W at full throttle stays as it is."""
    own = motor(row("5x4", 1000), air_temperature=10.0, air_pressure=1010.0)
    other = motor(row("5x4", 1000), model="Pin", test_id="pin", air_temperature=26.0, air_pressure=1000.0)
    densities = [float(kept_of(test).test["air_density"] or 0) for test in (own, other)]
    scope = compared_scope(own, other)
    expected = 1000 * (densities[0] / densities[1]) ** 0.6
    assert expected > 1040
    assert by_motor(scope, p.thrust.value)["5x4 on 4S", "Pin"] == pytest.approx(expected)
    assert by_motor(scope, p.efficiency)["5x4 on 4S", "Pin"] == pytest.approx(1000 / 450)


PIN = {"model": "Pin", "test_id": "pin"}
CONDITIONS: tuple[tuple[str, BenchTest, str, bool], ...] = (
    ("nothing differs", motor(row("5x4", 900), **PIN), "Air not read.", True),
    ("a peak", motor(row("5x4", 900, kind="peak"), **PIN), "peak against steady: not ranked.", False),
    (
        "11 % less volts",
        motor(row("5x4", 900, voltage=13.35), **PIN),
        "Too far (volts −11.0 %, air +0.0 %): not ranked.",
        False,
    ),
    ("another tester", motor(row("5x4", 900), **PIN, tester="Tester Two"), "Another stand.", True),
    ("another ESC", motor(row("5x4", 900), **PIN, esc_used="two"), "Another ESC, or not stated.", True),
)


@pytest.mark.parametrize(
    ("peer", "said", "ranked"), [each[1:] for each in CONDITIONS], ids=[each[0] for each in CONDITIONS]
)
def test_other_conditions_are_named(peer: BenchTest, said: str, ranked: bool) -> None:
    scope = compared_scope(motor(row("5x4", 1000)), peer)
    assert said in by_motor(scope, p.conditions)["5x4 on 4S", "Pin"]
    assert bool(by_motor(scope, RANKED["thrust"].key)["5x4 on 4S", "Pin"] > 0) is ranked
    assert of(scope, Column("Compared", "compared_thrust_motors"))[0] == 1 + ranked


def test_another_stand_needs_a_larger_difference() -> None:
    own, peer = motor(row("5x4", 1000)), motor(row("5x4", 900), **PIN)
    one_stand = compared_scope(own, peer)
    other_stand = compared_scope(own, motor(row("5x4", 900), **PIN, tester="Tester Two"))
    bands = [of(scope, Column("Compared", "compared_thrust_band"))[0] for scope in (one_stand, other_stand)]
    sure = [
        100 * float(test["full_thrust_uncertainty"] or 0) / float(test["full_thrust"] or 1)
        for test in (kept_of(each).groups[0] for each in (own, peer))
    ]
    assert bands[1] == pytest.approx(np.sqrt(bands[0] ** 2 + sure[0] ** 2 + sure[1] ** 2))


def test_scatter_is_pooled_over_the_motors_of_one_stand() -> None:
    """Of the sums of squares about the means, over the repeats: worked with numpy; another stand's repeats stay out."""
    own = [1000.0, 1010.0, 1002.0]
    others = [[950.0, 955.0, 951.0], [1100.0, 1090.0, 1102.0, 1099.0]]
    peers = [
        motor(*(row("5x4", thrust) for thrust in read), model=f"Pin {number}", test_id=f"{number}")
        for number, read in enumerate(others)
    ]
    away = motor(*(row("5x4", thrust) for thrust in (800.0, 1200.0)), **PIN, tester="Tester Two")
    scope = compared_scope(motor(*(row("5x4", thrust) for thrust in own)), *peers, away)
    groups = [np.array(each) / np.mean(each) for each in (own, *others)]
    repeats = sum(len(each) - 1 for each in groups)
    pooled = 100 * np.sqrt(sum(np.sum((each - 1) ** 2) for each in groups) / repeats)
    assert scope.named("class_thrust_freedom") == repeats
    assert scope.named("class_thrust_scatter") == pytest.approx(pooled, rel=0.01)


def test_mass_price_and_kv_stand_beside_each_other() -> None:
    own = motor(row("5x4", 1000), price=20.0)
    scope = compared_scope(own, motor(row("5x4", 900), **PIN, mass_as_supplied=30.0, price=12.5))
    assert of(scope, k.name) == ["Pin", "Peg 2207"]
    assert of(scope, k.price) == [12.5, 20.0]
    assert of(scope, k.mass_over) == [0.0, pytest.approx(3.0)]
    assert "3.0 g above the lightest of 2" in str(scope.named("comparison_line"))


@pytest.mark.parametrize(("other", "said"), [(33.0, "among the lightest of 2"), (36.0, " the lightest of 2")])
def test_two_of_one_mass_are_both_among_the_lightest(other: float, said: str) -> None:
    scope = compared_scope(motor(row("5x4", 1000)), motor(row("5x4", 900), **PIN, mass_as_supplied=other))
    line = str(scope.named("comparison_line"))
    assert said in line
    assert ("among" in line) == (other == 33.0)


def test_a_place_in_the_class_names_what_it_goes_by() -> None:
    for figure in RANKED:
        assert "Dunnett" in str(k.COMPARED.quantities[f"compared_{figure}_standing"].source)


def test_a_mass_that_is_the_same_in_what_is_told_is_no_difference() -> None:
    """33.04 and 33.0 g are told as 33.0 g: what is 0.0 g above the lightest is among the lightest."""
    scope = compared_scope(
        motor(row("5x4", 1000), mass_as_supplied=33.04), motor(row("5x4", 900), **PIN, mass_as_supplied=33.0)
    )
    assert "among the lightest of 2" in str(scope.named("comparison_line"))


# --- the class ----------------------------------------------------------------------------------------------------


@pytest.fixture
def library(tmp_path: Path) -> Callable[[Sequence[BenchTest]], Comparing]:
    def filled(tests: Sequence[BenchTest]) -> Comparing:
        shelf = Library(tmp_path / "some.library")
        for test in tests:
            shelf.add(test, "made")
        return partial(against_class, shelf)

    return filled


def test_the_class_is_of_one_size_and_about_one_kv(library: Callable[[Sequence[BenchTest]], Comparing]) -> None:
    """22 by 7 mm within 0.5 mm, and 1900 rpm/V within 10 %: 1710 to 2090; its own earlier version is no peer."""
    own = motor(row("5x4", 1000))
    inside: list[dict[str, Any]] = [
        {"stator_diameter": 22.5},
        {"stator_height": 6.5},
        {"label_kv": 1710.0},
        {"label_kv": 2090.0},
    ]
    outside: list[dict[str, Any]] = [
        {"stator_diameter": 22.6},
        {"stator_height": 6.4},
        {"label_kv": 1709.0},
        {"label_kv": 2091.0},
        {"size_code_means": "can"},
    ]
    tests = [
        motor(row("5x4", 900 + at), **{**PIN, "test_id": f"in {at}", **fields}) for at, fields in enumerate(inside)
    ]
    tests += [motor(row("5x4", 900 + at), **{**PIN, "test_id": f"out {at}", **f}) for at, f in enumerate(outside)]
    comparison = library([own, *tests])(assess(motor(row("5x4", 1001))))
    found = compared_with(assess(own), comparison).scope.this_row(k.test)
    assert sorted(found) == ["in 0", "in 1", "in 2", "in 3", "peg"]
    assert comparison.peers == 4


@pytest.mark.parametrize(
    ("own", "said"),
    [
        (
            motor(row("5x4", 1000), label_kv=4000.0),
            "no other motor of its class (stator 22 by 7 mm, Kv 3600 to 4400 rpm/V)",
        ),
        (motor(row("5x4", 1000), label_kv=None), "Motor does not say labelled kv"),
    ],
)
def test_without_a_class_nothing_is_compared_and_it_is_told(
    library: Callable[[Sequence[BenchTest]], Comparing], own: BenchTest, said: str
) -> None:
    comparison = library(peers_of(motor(row("5x4", 1000)), 2))(assess(own))
    assert said in comparison.told[0]
    assert not is_compared(compared_with(assess(own), comparison).scope)


def test_of_a_large_class_those_nearest_in_kv_are_compared(library: Callable[[Sequence[BenchTest]], Comparing]) -> None:
    own = motor(row("5x4", 1000))
    tests = [
        motor(row("5x4", 950 + at), model=f"Pin {at}", test_id=f"{at}", label_kv=1900.0 + 4 * at)
        for at in range(1, MOST_PEERS + 4)
    ]
    comparison = library(tests)(assess(own))
    assert comparison.peers == MOST_PEERS
    assert comparison.told == (
        f"of {MOST_PEERS + 3} motors of its class in the library the {MOST_PEERS} nearest in Kv are compared",
    )
    kept = [value for value in comparison.written["ClassMotors", "kept_label_kv"] if value == value]
    assert max(kept) == 1900 + 4 * MOST_PEERS
