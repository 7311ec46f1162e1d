from __future__ import annotations

from typing import Any

import pytest

from tests.bench.ideal_bench import PROPELLERS, bench_of, full_throttle, reading, spins
from xlsengine.bench.advice.whole_checks import CHECKS_OF_THE_WHOLE
from xlsengine.bench.inputs.no_load import PEAK_TO_PEAK
from xlsengine.study.assessment import Assessment, assess

DRIVEN = {"driven_speed": 2400.0, "driven_voltage": 2.0, "driven_as": PEAK_TO_PEAK}
ACCURACIES = {"voltage_accuracy": 0.5, "speed_accuracy": 0.2}
Rows = list[dict[str, Any]]


def whole(rows: Rows, fields: dict[str, Any] | None = None, **tables: Any) -> dict[str, dict[str, Any]]:
    """Return the flags of the whole, by what they say."""
    assessment = assess(bench_of(rows, ACCURACIES | (fields or {}), **tables))
    found = {flag["what"]: flag for flag in assessment.flag_list() if flag["row"] is None}
    assert _counted(assessment) == sum(flag["severity"] == "doubtful" for flag in assessment.flag_list())
    return found


def _counted(assessment: Assessment) -> int:
    return assessment.flag_counts()["doubtful"]


def faster(rows: Rows, factor: float) -> Rows:
    return [row | {"speed": row["speed"] * factor} for row in rows]


def test_a_sound_bench_raises_none() -> None:
    zeros = [{"check_weight": 0.0, "check_reading": reading} for reading in (0.0, 0.1)]
    assert whole(full_throttle(), None, DrivenSpins=[DRIVEN] * 3, FreeSpins=spins(), CheckWeights=zeros) == {}
    assert whole([]) == {}


@pytest.mark.parametrize("factor", [7 / 6, 6 / 7])
def test_poles_methods_and_label(factor: float) -> None:
    found = whole(faster(full_throttle(), factor), {"label_kv": 2400 * factor}, DrivenSpins=[DRIVEN] * 3)
    assert list(found) == [
        "Wrong pole count in the speeds",
        "Kv by different methods differs",
        "Kv is not what the label says",
    ]
    assert found["Wrong pole count in the speeds"]["column"] == "poles"
    assert "Driven spin and loaded readings differ by" in found["Kv by different methods differs"]["found"]
    assert found["Kv is not what the label says"]["found"].startswith("2,4")


def test_methods_that_differ_otherwise_are_no_pole_count() -> None:
    found = whole(faster(full_throttle(), 1.07), None, DrivenSpins=[DRIVEN] * 3)
    assert list(found) == ["Kv by different methods differs"]


def test_what_is_too_uncertain_is_not_held_against_the_label() -> None:
    rough = whole(full_throttle(), {"label_kv": 2800.0, "speed_accuracy": 20.0})
    assert "Kv is not what the label says" not in rough
    assert "Kv is not what the label says" in whole(full_throttle(), {"label_kv": 2800.0})


def test_a_scattered_line_and_one_that_rises() -> None:
    rows = full_throttle()
    scattered = [row | {"speed": row["speed"] * (1.03 if place % 3 else 0.97)} for place, row in enumerate(rows)]
    assert "scatter" in whole(scattered)["Kv line from loaded readings is not straight"]["found"]
    rising = [row | {"speed": 1400 * row["voltage"] * (1 + 0.1 * row["current"] / row["voltage"])} for row in rows]
    assert "slope +" in whole(rising)["Kv line from loaded readings is not straight"]["found"]


def test_volts_that_rise_with_current() -> None:
    rows = [row | {"voltage": 15.0 + 0.02 * row["current"]} for row in full_throttle(cells=(4,))]
    flag = whole(rows)["Voltage rises with current"]
    assert (flag["column"], "on 4 cells" in flag["found"]) == ("supply", True)


def test_a_propeller_names_its_first_row() -> None:
    """Thrust and amps grow together, as on another propeller: grams per amp then say nothing of the row."""
    rows = full_throttle()
    rows[4]["thrust"] *= 1.2
    rows[4]["current"] *= 1.2
    flag = whole(rows)["Thrust coefficients of one propeller differ"]
    assert (flag["column"], flag["at"], flag["found"].split(":")[0]) == ("speed", 5, rows[4]["prop"])


def test_a_zero_that_moved() -> None:
    zeros = [{"check_weight": 0.0, "check_reading": reading} for reading in (0.0, 20.0)]
    flag = whole(full_throttle(), CheckWeights=zeros)["Stand zero drifted"]
    assert flag["found"].startswith("it moved by 20.0 g")


def test_thrust_that_drifts() -> None:
    first = reading(PROPELLERS[0], 4)
    noise = (0.1, -0.15, 0.05, 0.1, -0.1, 0.12, -0.08, 0.02)
    rows = [
        first | {"run": float(run), "thrust": first["thrust"] * (1 - 0.01 * run + each / 100)}
        for run, each in enumerate(noise, start=1)
    ]
    assert whole(rows)["Thrust drifts over the runs"]["column"] == "run"


def test_each_is_tried_here() -> None:
    assert len(CHECKS_OF_THE_WHOLE) == 10  # those of the ESC and of the propeller on Craft are tried in test_esc
