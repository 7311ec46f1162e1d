import math

import numpy as np
import pytest

from tests.study.small_bench import Row, case, reading, sweep, without_speed
from xlsengine.study.judged_rows import JudgedRows
from xlsengine.study.relatives import (
    COARSE,
    coarse_speed_misfit,
    current_misfit,
    speed_misfit,
    thrust_misfit,
    voltage_misfit,
)


def _rows(rows: list[Row]) -> JudgedRows:
    return case(rows).rows


def test_readings_along_the_throttle_are_expected_on_a_line_in_logarithms() -> None:
    assert thrust_misfit(_rows(sweep())) == pytest.approx(np.zeros(6), abs=0.02)


@pytest.mark.parametrize("at", range(6))
def test_a_reading_is_expected_without_its_own_help(at: int) -> None:
    rows = sweep()
    rows[at]["current"] = rows[at]["current"] * 10
    misfit = current_misfit(_rows(rows))[at]
    assert misfit == pytest.approx(math.log(10), abs=0.1)


def test_of_two_at_one_throttle_each_is_held_against_the_other() -> None:
    rows = _rows(without_speed([reading(thrust=1000.0), reading(thrust=100.0)]))
    assert thrust_misfit(rows) == pytest.approx([math.log(10), -math.log(10)])


def test_of_three_the_median_is_right() -> None:
    rows = _rows(without_speed([reading(thrust=thrust) for thrust in (1000.0, 100.0, 1010.0)]))
    assert thrust_misfit(rows) == pytest.approx([0, -math.log(10), math.log(1.01)])


def test_the_speed_speaks_where_nothing_nearer_does() -> None:
    rows = [reading("A", cells=cells) for cells in (2, 3, 4, 5, 6)]
    rows[2]["thrust"] = rows[2]["thrust"] * 10
    assert thrust_misfit(_rows(rows)) == pytest.approx([0, 0, math.log(10), 0, 0], abs=0.01)
    assert np.isnan(current_misfit(_rows(rows))).all()


def test_other_propellers_at_the_same_throttle_speak_last_and_coarsely() -> None:
    rows = without_speed([reading(prop, size) for prop, size in (("A", 5.0), ("B", 6.0), ("C", 7.0))])
    assert (np.abs(current_misfit(_rows(rows))) <= COARSE).all()


def test_no_relatives_say_nothing() -> None:
    assert np.isnan(thrust_misfit(_rows([reading(), reading("B", throttle=50)]))).all()


def test_throttle_zero_has_no_place_on_the_line() -> None:
    rows = [reading(throttle=0.0, thrust=5.0, current=0.2), *sweep()]
    assert np.isnan(current_misfit(_rows(rows))[0])


def test_volts_are_compared_by_the_cell_and_within_a_cell_count_first() -> None:
    rows = [reading(cells=4, voltage=15.0)] * 3 + [reading(cells=3, voltage=12.0)]
    assert voltage_misfit(_rows(rows)) == pytest.approx([0, 0, 0, math.log(4 / 3.75)])


def test_speeds_are_compared_with_the_propellers_own_then_with_all() -> None:
    rows = [*sweep("A"), reading("B", 8.0), reading("B", 8.0, throttle=50)]
    rows[1]["speed"] = rows[1]["speed"] * 10
    near, coarse = speed_misfit(_rows(rows)), coarse_speed_misfit(_rows(rows))
    assert near[1] == pytest.approx(math.log(10), abs=0.01)
    assert np.isnan(near[6:]).all()
    assert (np.abs(coarse[6:]) < 0.1).all()
