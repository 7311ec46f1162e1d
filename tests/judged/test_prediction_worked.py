"""Cell counts that were not tested, from a motor that obeys n = Kv·(V − R·I) and I = I0 + c·n² to the last digit."""

import math
from typing import Any

import pytest

from tests.judged.worked_benches import Row, assessed, column, first
from xlsengine import Assessment

KV, OHM, IDLE, TORQUE = 1000.0, 0.050, 1.0, 29.0 / 14_100**2
"""30 A on 15.6 V turn it at 1000·(15.6 − 0.050·30) = 14,100 rpm, one of the amps without load."""
POWER = 2.05  # of speed, for thrust: median of the open static rows
SUPPLY: Row = {"label_kv": KV, "supply": "bench supply"}
ALONE = {f"{name}_accuracy": 0.0 for name in ("thrust", "voltage", "current", "speed")}
"""Instruments without error, so that a ± is what the step leaves open alone."""
SPINS = [{"free_voltage": 12.0, "free_current": IDLE, "free_speed": 12.0 * KV}]


def speed(volts: float) -> float:
    """Solve n = Kv·(V − R·(I0 + c·n²)) for n."""
    curve = KV * OHM * TORQUE
    return (math.sqrt(1 + 4 * curve * KV * (volts - OHM * IDLE)) - 1) / (2 * curve)


def reading(cells: int, volts: float = 0.0) -> Row:
    volts = volts or 3.9 * cells
    n = speed(volts)
    return {
        "prop": "9x4.5",
        "diameter": 9.0,
        "pitch": 4.5,
        "cells": float(cells),
        "kind": "steady",
        "voltage": volts,
        "current": IDLE + TORQUE * n**2,
        "thrust": 1500 * (n / 14_100) ** POWER,
        "speed": n,
    }


def predicted(found: Assessment, cells: int, name: str) -> Any:
    row = column(found, "Predictions", "predicted_cells").tolist().index(cells)
    return column(found, "Predictions", f"predicted_{name}")[row]


@pytest.mark.parametrize(
    ("tested", "wanted", "source"),
    [((4,), 3, "4S"), ((4,), 5, "4S"), ((3, 5), 4, "3S"), ((3, 6), 5, "6S"), ((3, 6), 7, "6S")],
)
def test_what_the_motor_would_do_there(tested: tuple[int, ...], wanted: int, source: str) -> None:
    found = assessed([reading(cells) for cells in tested], SUPPLY, FreeSpins=SPINS)
    truth = reading(wanted)
    worked = {
        "volts": truth["voltage"],
        "thrust": truth["thrust"],
        "current": truth["current"],
        "speed": truth["speed"],
        "power": truth["voltage"] * truth["current"],
        "efficiency": truth["thrust"] / (truth["voltage"] * truth["current"]),
    }
    assert {name: predicted(found, wanted, name) for name in worked} == pytest.approx(worked, rel=1e-6)
    assert predicted(found, wanted, "from") == source
    assert predicted(found, wanted, "basis") == "motor's line"


def test_volts_per_cell_are_those_of_the_nearer_cell_count() -> None:
    """3S at 3.9 V a cell and 6S at 3.8: 4S goes by the former, 5S by the latter."""
    found = assessed([reading(3), reading(6, 6 * 3.8)], SUPPLY, FreeSpins=SPINS)
    assert predicted(found, 4, "volts") == pytest.approx(4 * 3.9)
    assert predicted(found, 5, "volts") == pytest.approx(5 * 3.8)
    for cells, volts, source in ((4, 15.6, "3S"), (5, 19.0, "6S")):
        assert predicted(found, cells, "from") == source
        assert predicted(found, cells, "thrust") == pytest.approx(reading(cells, volts)["thrust"], rel=1e-6)


def test_a_point_on_the_far_side_has_no_say() -> None:
    """5S lies beside 4S, whose speed was not read; that of 3S, beyond it, tells nothing of 5S."""
    blind = reading(4) | {"speed": math.nan}
    found = assessed([reading(3), blind], SUPPLY, FreeSpins=SPINS)
    assert predicted(found, 5, "from") == "4S"
    assert predicted(found, 5, "basis") == "assumed loading: no speed read"
    assert math.isnan(predicted(found, 5, "speed"))
    ratio = (math.sqrt(0.75**2 + 4 * 0.25 * 5 / 4) - 0.75) / (2 * 0.25)  # 0.25·m² + 0.75·m = 5/4
    assert predicted(found, 5, "current") == pytest.approx(blind["current"] * ratio**2)


def test_a_speed_without_a_kv_that_fits_is_no_line() -> None:
    """Labelled Kv 400: 14,100 rpm on 15.6 V would be 2.3 times it. From 4S to 5S: m as above, and its loading is open."""
    found = assessed([reading(4) | {"use": "yes"}], {"label_kv": 400.0, "supply": "bench supply"} | ALONE)
    ratio = (math.sqrt(0.75**2 + 4 * 0.25 * 5 / 4) - 0.75) / (2 * 0.25)
    assert predicted(found, 5, "basis") == "assumed loading: no Kv that fits the speed"
    assert predicted(found, 5, "current") == pytest.approx(30 * ratio**2)
    step = math.log(5 / 4)
    heavier = 2 * 0.125 / 1.25**2 * step + 0.4 * math.log(1 + 0.00393 * 30 * (ratio**4 - 1))
    share = math.hypot(0.14 * step / math.log(2), heavier)
    assert predicted(found, 5, "current_expanded") == pytest.approx(30 * ratio**2 * share)


def test_the_point_that_it_goes_by() -> None:
    found = assessed([reading(4)], SUPPLY, FreeSpins=SPINS)
    worked = {
        "measured_resistance": OHM,
        "measured_back_emf": 15.6 - OHM * 30,
        "torque_current": 29.0,
        "line_square": OHM * 29.0,
        "line_linear": 14.1,
        "line_fixed": OHM * IDLE,
    }
    assert {name: first(found, "MeasuredPoints", name) for name in worked} == pytest.approx(worked)
