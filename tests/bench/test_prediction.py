"""Predictions: exact in a world that obeys the model; in one with noise, heat and sag see `prediction_coverage`."""

import math
from typing import Any

import pytest
from scipy.optimize import brentq

from xlsengine import bench_test
from xlsengine.bench.groups.prediction import PREDICTED
from xlsengine.study.evaluation import Scope

KV, RESISTANCE, POWER = 1000.0, 0.08, 2.05
THRUST, TORQUE = {"A": 6e-6, "B": 7e-6}, {"A": 1.8e-7, "B": 2.4e-7}
REST, SAG = 4.1, 0.004


def ideal_row(prop: str, cells: float, sag: float = SAG, share: float = 1.0, speed: bool = True) -> dict[str, Any]:
    """Return a reading that obeys the model to the last digit; `share` of the propeller's torque stands for a step."""
    torque = TORQUE[prop] * share

    def volts(n: float) -> float:
        return cells * (REST - sag * torque * n**2)

    n = float(brentq(lambda n: KV * (volts(n) - RESISTANCE * torque * n**2) - n, 1.0, KV * cells * REST, xtol=1e-11))
    row = {
        "prop": prop,
        "diameter": 9.0,
        "pitch": 4.5,
        "cells": cells,
        "kind": "steady",
        "voltage": volts(n),
        "current": torque * n**2,
        "thrust": share * THRUST[prop] * n**POWER,
    }
    return row | ({"speed": n} if speed else {})


def evaluated(rows: list[dict[str, Any]], **fields: Any) -> Scope:
    """Return the engine's values of the rows."""
    return Scope(bench_test({"label_kv": KV} | fields, {"Readings": rows}))


UNSAGGING = {"supply": "bench supply"}
UNERRING = {f"{name}_accuracy": 0.0 for name in ("thrust", "voltage", "current", "speed")}


def predicted(scope: Scope) -> list[dict[str, Any]]:
    """Return the used rows of the table of predictions, by column without its prefix."""
    names = [name for name in PREDICTED.columns if not PREDICTED.columns[name].helper]
    columns = {name.removeprefix("predicted_"): scope.column(PREDICTED.name, name) for name in names}
    return [{name: column[row] for name, column in columns.items()} for row in range(scope.used_rows(PREDICTED.name))]


def test_volts_follow_the_supply() -> None:
    """Three propeller loads and a half load draw the supply's line; one Newton step then finds the volts."""
    rows = [ideal_row(prop, 3.0) for prop in ("A", "B")]
    rows += [ideal_row(prop, 3.0, share=0.5) | {"throttle": 70.0} for prop in ("A", "B")]
    found = {row["prop"]: row for row in predicted(evaluated(rows)) if row["cells"] == 4}
    for prop, row in found.items():
        assert row["volts"] == pytest.approx(ideal_row(prop, 4.0)["voltage"], rel=2e-3)
    assert found["B"]["volts"] < found["A"]["volts"] < 4 / 3 * rows[0]["voltage"]


def test_without_speed_an_assumed_loading_carries() -> None:
    """Worked by hand from 3S to 4S on a bench supply: 0.25·m² + 0.75·m = 4/3 gives m = 1.25378.

    Open: 14 % times log2(4/3) = 5.811 %; 2·0.125/1.25² times ln(4/3) = 4.603 %; copper 30 K warmer grows by
    0.00393·30·(m⁴ − 1) = 17.34 %, which is 0.4·ln(1.1734) = 6.398 % of the speed squared. The latter two add: together
    12.444 %; grams per watt do not feel the copper.
    """
    scope = evaluated([ideal_row("A", 3.0, speed=False)], **UNSAGGING, **UNERRING)
    row = next(row for row in predicted(scope) if row["cells"] == 4)
    assert (row["basis"], row["kind"]) == ("assumed loading: no speed read", "steady")
    assert row["current"] == pytest.approx(ideal_row("A", 3.0)["current"] * 1.25378**2, rel=1e-5)
    assert row["thrust"] == pytest.approx(ideal_row("A", 3.0)["thrust"] * 1.25378**POWER, rel=1e-5)
    shares = [row[f"{name}_expanded"] / row[name] for name in ("thrust", "current", "power", "efficiency")]
    assert shares == pytest.approx([0.12444, 0.12444, 0.12444, 0.07413], rel=1e-3)
    assert math.isnan(row["speed"])


def test_a_peak_is_cold_and_stays_a_peak() -> None:
    """As above without the warm copper: √(5.811² + 4.603²) = 7.413 %."""
    peak = ideal_row("A", 3.0, speed=False) | {"kind": "peak"}
    scope = evaluated([peak], **UNSAGGING, **UNERRING)
    row = next(row for row in predicted(scope) if row["cells"] == 4)
    assert (row["kind"], row["from"]) == ("peak", "3S")
    assert row["current_expanded"] / row["current"] == pytest.approx(0.07413, rel=1e-3)
    assert scope.column("MeasuredPoints", "measured_kind")[0] == "peak"


def test_beyond_thirty_percent_there_is_no_figure() -> None:
    """A peak from 1S to 2S by 40 % a doubling; grams per watt then has a ± of 40 %, too, and the speed half as much."""
    peak = ideal_row("A", 1.0) | {"kind": "peak"}
    row = predicted(evaluated([peak], prediction_growth=40.0, **UNSAGGING, **UNERRING))[0]
    assert row["cells"] == 2
    for name in ("thrust", "current", "power", "efficiency"):
        assert math.isnan(row[name])
        assert math.isnan(row[f"{name}_expanded"])
    assert row["speed_expanded"] / row["speed"] == pytest.approx(0.20)
    assert row["basis"] == "motor's line; too far from 1S for every figure: up to ± 40 %"


def test_steady_goes_before_peak_and_never_with_it() -> None:
    """4S lies between a steady 3S and a peak 5S: it is predicted once, from the steady one alone, and says so."""
    rows = [
        ideal_row("A", 3.0),
        ideal_row("A", 3.0) | {"kind": "peak", "thrust": 5000.0, "current": 30.0},
        ideal_row("A", 5.0) | {"kind": "peak"},
    ]
    scope = evaluated(rows, **UNSAGGING)
    found = sorted((row["cells"], row["kind"], row["from"]) for row in predicted(scope))
    assert found == [(2, "steady", "3S"), (4, "steady", "3S"), (6, "peak", "5S")]
    assert scope.column("MeasuredPoints", "measured_kind").tolist()[:2] == ["steady", "peak"]
    assert scope.column("MeasuredPoints", "measured_thrust")[0] == pytest.approx(rows[0]["thrust"])


def test_an_impossible_steady_row_leaves_the_peak() -> None:
    rows = [ideal_row("A", 3.0) | {"thrust": 100_000.0}, ideal_row("A", 3.0) | {"kind": "peak"}]
    scope = evaluated(rows)
    assert scope.column("MeasuredPoints", "measured_kind")[0] == "peak"
    assert scope.column("MeasuredPoints", "measured_thrust")[0] == pytest.approx(rows[1]["thrust"])


@pytest.mark.parametrize(("throttles", "rel"), [((1.0, 0.6), 2e-3), ((1.0,), 5e-3)])
def test_one_propeller_alone_knows_the_sag(throttles: tuple[float, ...], rel: float) -> None:
    """From two loads of it; from one, half of what charged cells would lose, here 15 mΩ where the truth is 12."""
    rows = [ideal_row("A", 3.0, share=share) | {"throttle": 100 * share} for share in throttles]
    row = next(row for row in predicted(evaluated(rows)) if row["cells"] == 4)
    assert row["volts"] == pytest.approx(ideal_row("A", 4.0)["voltage"], rel=rel)


def test_instruments_move_a_prediction_by_their_own_share() -> None:
    """By numeric derivative: what is read 1 % high is predicted 1 % high, when Kv was read by the same instruments."""
    spin = {"free_voltage": 10.0, "free_current": 0.5, "free_speed": 9960.0}
    like = {"voltage": "free_voltage", "current": "free_current", "speed": "free_speed", "thrust": ""}

    def found(name: str, factor: float) -> dict[str, Any]:
        row = ideal_row("A", 3.0, sag=0.0)
        spun = spin | ({like[name]: spin[like[name]] * factor} if like[name] else {})
        tables = {"Readings": [row | {name: row[name] * factor}], "FreeSpins": [spun]}
        return predicted(Scope(bench_test({"label_kv": KV, **UNSAGGING}, tables)))[-1]

    for name, moved in (
        ("thrust", {"thrust": 1, "efficiency": 1, "current": 0, "speed": 0}),
        ("current", {"current": 1, "power": 1, "efficiency": -1, "thrust": 0}),
        ("voltage", {"volts": 1, "power": 1, "efficiency": -1, "thrust": 0, "current": 0}),
        ("speed", {"speed": 1, "thrust": 0, "current": 0}),
    ):
        high, low = found(name, 1.001), found(name, 0.999)
        for figure, share in moved.items():
            assert math.log(high[figure] / low[figure]) / 0.002 == pytest.approx(share, abs=1e-3), (name, figure)


def test_each_untested_neighbour_once() -> None:
    rows = [ideal_row("A", cells) for cells in (4.0, 6.0)] + [ideal_row("B", 4.0)]
    found = [(row["prop"], row["cells"], row["from"]) for row in predicted(evaluated(rows))]
    assert found == [("A", 3, "4S"), ("A", 5, "4S"), ("A", 7, "6S"), ("B", 3, "4S"), ("B", 5, "4S")]


def test_no_cell_counts_beyond_the_ends() -> None:
    found = [row["cells"] for row in predicted(evaluated([ideal_row("A", 2.0), ideal_row("B", 14.0, share=0.2)]))]
    assert found == [3, 13]


def test_flagged_rows_predict_nothing() -> None:
    rows = [ideal_row("A", 3.0) | {"thrust": 100_000.0}]
    scope = evaluated(rows)
    assert predicted(scope) == []
    assert scope.named("prediction_thin").startswith("Nothing")
