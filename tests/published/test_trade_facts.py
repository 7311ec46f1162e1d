"""What people of the trade know, against the engine. Each fact: common practice, no source."""

from typing import Any

import pytest

from xlsengine import Assessment, bench_test, evaluate
from xlsengine.bench.advice import esc_needs
from xlsengine.bench.inputs.craft import BURSTS, HOVER
from xlsengine.expression import Constant, Node


def assessed(rows: list[dict[str, Any]], **fields: Any) -> Assessment:
    known = {"label_kv": 2000.0, "mass_as_supplied": 36.0, "way_of_flying": BURSTS, **fields}
    plain = {
        "prop": "5x4",
        "diameter": 5.0,
        "pitch": 4.0,
        "cells": 4.0,
        "kind": "peak",
        "voltage": 15.5,
        "thrust": 1500.0,
    }
    return evaluate(bench_test(known, {"Readings": [plain | row for row in rows]}))


def verdict(assessment: Assessment, node: Node) -> str:
    return str(assessment.scope.value(node, assessment.scope.rows("Summary"))[0])


def test_53_a_static_is_about_32_to_40_a_in_the_air() -> None:
    """Common practice, no source: in the air a quarter to two fifths less than on the bench."""
    readings = assessed([{"current": 53.0}]).frame("Readings")
    assert readings["In-flight current, low, estimate (A)"][0] == pytest.approx(32, abs=0.5)
    assert readings["In-flight current, high, estimate (A)"][0] == pytest.approx(40, abs=0.5)


@pytest.mark.parametrize("current", [44.0, 46.5, 49.0, 51.5, 54.0])
def test_30_a_does_for_bursts_in_flight_and_not_on_the_bench(current: float) -> None:
    """Common practice, no source: 44 to 54 A static peaks on 5 in propellers are flown in bursts on 30 A ESCs."""
    assessment = assessed([{"current": current}])
    size = Constant(30.0)
    assert verdict(assessment, esc_needs.speed_verdict(size)) != esc_needs.SHORT
    for verdict_on in (esc_needs.held_verdict, esc_needs.launch_verdict):
        assert verdict(assessment, verdict_on(size)) == esc_needs.SHORT


def test_trimming_three_20_awg_leads_by_100_mm_takes_2_3_g() -> None:
    """Common practice, no source: 100 mm off each of three 20 AWG leads weighed 2.3 g."""
    leads = {"lead_gauge": 20.0, "lead_length_as_supplied": 150.0, "trimmed_lead_length": 50.0}
    figures = assessed([{"current": 40.0}], **leads).figures()
    removed, uncertain = figures["lead_mass_removed"], figures["lead_mass_uncertain"]
    assert isinstance(removed, float)
    assert isinstance(uncertain, float)
    assert abs(removed - 2.3) <= uncertain
    assert figures["trimmed_mass"] == pytest.approx(36.0 - removed)


def test_grams_per_amp_hardly_change_with_cells() -> None:
    """Common practice, no source: one 6 in propeller, 1388 g at 40 A on three cells, about 1900 g at 52.3 A on four."""
    six: dict[str, Any] = {"prop": "6x4", "diameter": 6.0}
    rows = [
        six | {"cells": 3.0, "voltage": 11.3, "current": 40.0, "thrust": 1388.0},
        six | {"cells": 4.0, "voltage": 14.8, "current": 52.3, "thrust": 1900.0},
    ]
    per_amp = assessed(rows).frame("Readings")["Thrust per current (g/A)"]
    assert per_amp[1] / per_amp[0] == pytest.approx(1, abs=0.07)


@pytest.mark.parametrize("craft", [{"way_of_flying": HOVER}, {"pitch": 5.0}], ids=["hover", "pitch over diameter 1"])
def test_no_reduction_for_hover_and_high_pitch(craft: dict[str, Any]) -> None:
    """Common practice, no source: hover, 3D, ducted flying and square propellers get no reduction."""
    row = {"current": 50.0} | {name: value for name, value in craft.items() if name == "pitch"}
    fields = {name: value for name, value in craft.items() if name != "pitch"}
    readings = assessed([row], **fields).frame("Readings")
    assert (
        readings["In-flight current, low, estimate (A)"][0]
        == readings["In-flight current, high, estimate (A)"][0]
        == 50.0
    )


def test_rounding_up_the_ladder() -> None:
    """Common practice, no source: 38 A steady and 42 A peak point to 50 A held; at speed 35 A does."""
    rows: list[dict[str, Any]] = [{"current": 42.0}, {"current": 38.0, "kind": "steady"}]
    assessment = assessed(rows, way_of_flying=None)
    figures = assessment.figures()
    assert figures["esc_held_size"] == 50.0
    assert "50 A or larger" in str(figures["esc_advice"])
    assert str(figures["esc_advice_other"]).startswith("ESC for short bursts")
    forward = assessed(rows, way_of_flying=BURSTS)
    assert verdict(forward, esc_needs.speed_verdict(Constant(35.0))) == esc_needs.LIKELY
