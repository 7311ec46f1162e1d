"""The fall of CP, CT and current along J against the UIUC Propeller Data Site: the engine's figures worked out again.

Data: volumes 1 to 3 (Brandt, Deters, Ananda, Dantsker, Selig), in data/uiuc. A propeller is never judged by a fit or a
width that it took part in, and none is dropped.
"""

import math

import numpy as np
import pytest

from tests.published import advance_coverage as coverage
from tests.published import advance_fit, rule_of_thumb_share
from tests.published.propeller_sweeps import INCH, Points, points
from xlsengine import bench_test
from xlsengine.bench.advice import advance as engine
from xlsengine.study.evaluation import Scope

EVERYTHING = points()
LEAST_HELD, MOST_ABOVE = 10, 0.05
KINEMATIC_VISCOSITY = 1.461e-5
"""m²/s, of air of 15 °C at sea level (ISO 2533)."""


def test_twelve_propellers_and_none_dropped() -> None:
    assert len(EVERYTHING.propellers) == 12
    assert len(set(EVERYTHING.specimen[EVERYTHING.propeller == "5x4.3"])) == 3
    assert EVERYTHING.weight.sum() == pytest.approx(1)
    for propeller in EVERYTHING.propellers:
        assert EVERYTHING.weight[EVERYTHING.propeller == propeller].sum() == pytest.approx(1 / 12)


def test_the_engine_holds_what_the_fit_gives() -> None:
    found = advance_fit.fit(EVERYTHING)
    zero = (engine.ZERO_THRUST, engine.ZERO_THRUST_PER_POWER, engine.ZERO_THRUST_PER_SIZE)
    assert zero == pytest.approx(found.zero, abs=6e-4)
    assert pytest.approx((1, found.power_slope, found.power_curve), abs=6e-4) == engine.POWER
    assert pytest.approx((1, found.thrust_slope, -1 - found.thrust_slope), abs=6e-4) == engine.THRUST
    assert pytest.approx(advance_fit.band(EVERYTHING), abs=6e-4) == engine.BAND
    assert pytest.approx(advance_fit.most_rise(EVERYTHING), abs=6e-4) == engine.MOST_RISE
    assert engine.FARTHEST == coverage.REACH


def test_propellers_left_out_are_held() -> None:
    """Ten of twelve hold 85 % of their points in CP and in CT; at most 5 % of all points lie above."""
    found = coverage.one_left_out(EVERYTHING)
    held = sum(one.held for one in found)
    assert len(found) == 12
    assert held >= LEAST_HELD
    assert max(coverage.points_above(found)) <= MOST_ABOVE
    assert f"{held} of 12" in engine.BAND_WORDS
    assert f"{100 * max(coverage.points_above(found)):.0f} % of all points lay above" in engine.BAND_SOURCE.text


def test_fewer_propellers_still_hold_the_others() -> None:
    found = coverage.half_left_out(EVERYTHING)
    assert np.mean([one.held for one in found]) >= LEAST_HELD / 12
    assert max(coverage.points_above(found)) <= MOST_ABOVE


@pytest.mark.parametrize("misread", [0.95, 1.05])
def test_a_shaft_power_five_percent_off_is_borne(misread: float) -> None:
    by = coverage.Band(advance_fit.fit(EVERYTHING), engine.BAND, engine.MOST_RISE)
    each = [EVERYTHING.only(EVERYTHING.propeller == propeller) for propeller in EVERYTHING.propellers]
    assert sum(coverage.covered(by, own, misread).held for own in each) >= LEAST_HELD


def test_fast_propellers_are_held_by_a_fit_to_slow_ones() -> None:
    """Half the Reynolds number, and the wider band for speeds beyond those swept: what the engine does further on."""
    slow = EVERYTHING.size <= EVERYTHING.size.max() / 2
    swept, fast = EVERYTHING.only(slow), EVERYTHING.only(~slow)
    care = engine.SIZE_CARE
    by = coverage.Band(advance_fit.fit(swept), engine.BAND * care, advance_fit.most_rise(swept) * care)
    judged = [coverage.covered(by, fast.only(fast.propeller == propeller)) for propeller in fast.propellers]
    assert len(judged) >= 5
    assert all(one.held for one in judged)
    assert max(coverage.points_above(judged)) <= MOST_ABOVE


@pytest.mark.parametrize(
    ("name", "least", "most"),
    [
        ("pitch_ratio", engine.LEAST_PITCH_RATIO, engine.MOST_PITCH_RATIO),
        ("diameter", engine.LEAST_DIAMETER, engine.MOST_DIAMETER),
        ("per_thrust", engine.LEAST_PER_THRUST, engine.MOST_PER_THRUST),
        ("size", engine.LEAST_SIZE, engine.SWEPT_SIZE),
        ("advance", 0.0, engine.MOST_ADVANCE),
    ],
)
def test_the_reach_is_that_of_the_data(name: str, least: float, most: float) -> None:
    """Limits are the ends of the data, rounded outward by an eighth at most."""
    values = getattr(EVERYTHING, name)
    assert least <= values.min()
    assert most >= values.max()
    assert most <= values.max() * 1.125
    assert least == 0 or least >= values.min() / 1.14


def test_reynolds_numbers_are_those_stated() -> None:
    limits = [engine.LEAST_SIZE, engine.SWEPT_SIZE, engine.MOST_SIZE]
    assert [size / KINEMATIC_VISCOSITY for size in limits] == pytest.approx([70_000, 535_000, 1_000_000], rel=0.03)


def test_the_share_of_the_rule_of_thumb() -> None:
    less, within, _ = rule_of_thumb_share.shares(EVERYTHING)
    assert pytest.approx(100 * within, abs=0.5) == engine.RULE_SHARE
    assert pytest.approx(100 * less, abs=0.5) == engine.RULE_SHARE_ABOVE
    reach = EVERYTHING.advance.min(), EVERYTHING.advance.max()
    assert pytest.approx(reach, abs=0.005) == (0.06, 1.02)
    said = (
        f"falls by 25 to 40 % at {100 * within:.0f} % of the points, near top speed, and by less at {100 * less:.0f} %"
    )
    assert said in engine.RULE_WORDS


def test_the_rule_of_thumb_holds_near_top_speed() -> None:
    """Of the advance at which each propeller's pull ends: from seven tenths on, and nine tenths of those of less below."""
    last = {
        propeller: EVERYTHING.advance[EVERYTHING.propeller == propeller].max() for propeller in EVERYTHING.propellers
    }
    share = EVERYTHING.advance / np.array([last[propeller] for propeller in EVERYTHING.propeller])
    falls = rule_of_thumb_share.falls(EVERYTHING)
    assert np.percentile(share[(falls >= 0.25) & (falls < 0.4)], 10) > 0.7
    assert np.percentile(share[falls < 0.25], 90) < 0.71


def test_one_fall_worked_by_hand() -> None:
    """CP at 0.7/1.21 of static: 0.75·1.1 + 0.25·0.7 = 1, so m = 1.1 and the current is 0.7 of the static one."""
    one = EVERYTHING.only(np.arange(len(EVERYTHING.advance)) == 0)
    lowered = Points(**{**vars(one), "power": np.array([0.7 / 1.21])})
    assert rule_of_thumb_share.falls(lowered)[0] == pytest.approx(0.3, rel=1e-12)


# --- through the engine, motor and all ---------------------------------------------------------------------------


VOLTS, LOADED, DENSITY, STATIC_CT = 14.8, 0.75, 1.225, 0.11
"""The share of CT to CP decides, not CT itself: any plausible one does."""


def in_flight(of: Points, place: int) -> tuple[float, float, float]:
    """Return the low end, the current that the point itself gives, and the high end, each over the static current."""
    diameter, static = of.diameter[place] * INCH, float(of.size[place]) / (of.diameter[place] * INCH) ** 2
    thrust = STATIC_CT * DENSITY * static**2 * diameter**4
    power = of.per_thrust[place] * thrust * static * diameter
    kv, amps = static * 60 / (LOADED * VOLTS), power / (LOADED * VOLTS)
    share = 1 - float(rule_of_thumb_share.falls(of)[place])
    speed = math.sqrt(share / of.power[place])
    row = {
        "prop": "A",
        "diameter": of.diameter[place],
        "pitch": of.diameter[place] * of.pitch_ratio[place],
        "blades": 2.0,
        "cells": 4.0,
        "kind": "steady",
        "voltage": VOLTS,
        "current": amps,
        "thrust": thrust / 0.00980665,
        "speed": static * 60,
    }
    airspeed = of.advance[place] * speed * static * diameter
    scope = Scope(bench_test({"label_kv": kv, "airspeed": airspeed}, {"Readings": [row]}))
    low, high = (float(scope.column("InFlight", f"flying_current_{end}")[0]) / amps for end in ("low", "high"))
    return low, share, high


def test_currents_lie_in_the_band_that_the_workbook_prints() -> None:
    held = above = total = 0
    for propeller in EVERYTHING.propellers:
        own = EVERYTHING.only(EVERYTHING.propeller == propeller)
        places = range(0, len(own.advance), 7)
        found = [in_flight(own, place) for place in places]
        held += sum(low <= share <= high for low, share, high in found) >= coverage.HELD * len(found)
        above += sum(share > high for _, share, high in found)
        total += len(found)
    assert held >= LEAST_HELD
    assert above <= MOST_ABOVE * total


# --- against what others worked out of the same site --------------------------------------------------------------


def power_share(x: float) -> float:
    """Return the fitted CP(J)/CP(0)."""
    start, slope, bend = (float(part) for part in engine.POWER)  # type: ignore[arg-type]
    return start + slope * x + bend * x**2


BEST = 0.685
"""The x at which η = J·CT/CP of the fitted curves is highest; the test below checks it."""


def test_where_efficiency_is_highest() -> None:
    found = advance_fit.fit(EVERYTHING)
    x = np.arange(0.01, 1.0, 0.005)
    assert x[np.argmax(x * found.thrust(x) / found.power(x))] == pytest.approx(BEST, abs=0.02)


@pytest.mark.parametrize(("share", "fall", "least", "most"), [(0.5, 6, -8, 24), (0.75, 15, -3, 35), (1.0, 32, 15, 46)])
def test_fall_of_power_at_constant_speed(share: float, fall: float, least: float, most: float) -> None:
    """Means and extremes over 27 specimens of the same site, where J is that share of the J of best efficiency."""
    x = share * BEST
    found = 100 * (1 - power_share(x))
    half = 100 * engine.BAND * float(advance_fit.shape(np.array(x)))
    assert found == pytest.approx(fall, abs=4)
    assert found - half <= least
    assert found + half >= most


@pytest.mark.parametrize(("share", "fall"), [(0.5, 4), (0.75, 11), (1.0, 24)])
def test_fall_of_current_at_constant_voltage(share: float, fall: float) -> None:
    """The same 27 cases on a motor loaded to 0.80 of Kv·V when static, no-load current neglected."""
    power, loaded = power_share(share * BEST), 0.80
    m = 2 / (loaded + math.sqrt(loaded**2 + 4 * (1 - loaded) * power))
    assert 100 * (1 - m**2 * power) == pytest.approx(fall, abs=4)
