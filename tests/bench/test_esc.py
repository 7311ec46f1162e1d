"""In flight, the higher of the rule of thumb and the propeller's own fall decides."""

from __future__ import annotations

import re

import pytest

from tests.bench.ideal_bench import PROPELLERS, reading, scope_of
from xlsengine.bench.craft import BURSTS, HOVER
from xlsengine.study.evaluation import Scope

BAND = re.compile(r"; more by the propeller's own fall at (\d+) m/s: (\d+) to (\d+) A")


def flying(airspeed: float | None, way: str = BURSTS, **fields: object) -> Scope:
    return scope_of([reading(PROPELLERS[2], 4)], {"way_of_flying": way, "airspeed": airspeed, **fields})


def ends(scope: Scope) -> tuple[float, float]:
    low, high = (float(scope.column("InFlight", f"flying_current_{end}")[0]) for end in ("low", "high"))
    return low, high


def test_a_small_fall_is_said_and_decides_the_size() -> None:
    scope, by_rule = flying(8.0), flying(None)
    low, high = ends(scope)
    assert high > scope.column("Summary", "flight_high")[0]
    for name in ("flight_note", "esc_flight_sentence"):
        (said,) = BAND.findall(str(scope.named(name)))
        assert said == ("8", f"{low:.0f}", f"{high:.0f}")
        assert not BAND.search(str(by_rule.named(name)))
    need, rule_need = (float(each.column("Summary", "flight_need")[0]) for each in (scope, by_rule))
    assert need == pytest.approx(high / float(scope.named("esc_burst_ratio")))
    assert need > rule_need
    assert float(scope.named("esc_flight_size")) >= need


def test_a_large_fall_leaves_the_rule_of_thumb() -> None:
    scope = flying(50.0, flight_share_low=0.0)
    assert ends(scope)[1] < scope.column("Summary", "flight_high")[0]
    assert not BAND.search(str(scope.named("flight_note")))
    assert scope.column("Summary", "flight_most")[0] == scope.column("Summary", "flight_high")[0]


def test_hover_knows_no_fall() -> None:
    scope = flying(8.0, HOVER)
    assert not BAND.search(str(scope.named("flight_note")))
    assert scope.column("Summary", "flight_most")[0] == scope.column("Summary", "flight_high")[0]
