import numpy as np
import pytest
from scipy import stats

from tests.study.small_bench import case, good_table, reading, sweep
from xlsengine.study.case import IDEAL_SLOPE, CurrentLine, typical_slope


def _line(rows: list[dict[str, object]]) -> CurrentLine:
    return case(rows).line


def test_good_rows_lie_on_the_line() -> None:
    judged = case(good_table())
    assert (np.abs(judged.line.misfit(judged.rows.thrust, judged.rows.current)) < 0.02).all()
    assert (judged.line.excess(judged.rows.thrust, judged.rows.current) < 0.5).all()


def test_current_and_thrust_are_inverse() -> None:
    line = _line(good_table())
    thrust = np.full(24, 500.0)
    assert line.thrust(line.current(thrust)) == pytest.approx(thrust)


def test_the_slope_is_the_power_that_the_readings_were_made_with() -> None:
    assert _line(good_table()).slope == pytest.approx(1.45, abs=0.01)


def test_a_slope_beyond_all_benches_is_not_believed() -> None:
    rows = [row | {"current": row["thrust"] ** 3 / 1e7, "voltage": 15.0} for row in sweep()]
    assert _line(rows).slope.max() == 1.8


def test_each_propeller_with_rows_enough_has_its_own_level() -> None:
    rows = sweep("A") + [row | {"prop": "B", "current": row["current"] * 1.3} for row in sweep()]
    judged = case(rows)
    assert (judged.line.excess(judged.rows.thrust, judged.rows.current) < 0.5).all()


def test_a_propeller_with_few_rows_is_allowed_more() -> None:
    rows = [*sweep("A"), reading("B", current=45.0)]
    judged = case(rows)
    assert 0 < judged.line.excess(judged.rows.thrust, judged.rows.current)[6] < 1


def test_few_rows_of_a_cell_count_are_held_against_the_whole_table() -> None:
    line = _line([*sweep("A", cells=4), reading("A", cells=6)])
    assert line.slope[-1] == 1.5
    assert np.exp(line.level[-1]) * 2880**1.5 == pytest.approx(reading(cells=6)["current"], rel=0.2)


def test_four_rows_tell_nothing() -> None:
    assert np.isnan(_line(sweep()[:4]).level).all()


def test_a_motor_that_idles_bends_its_line_without_a_flag() -> None:
    rows = [row | {"current": row["current"] + 0.3} for row in sweep()]
    judged = case(rows)
    assert (judged.line.excess(judged.rows.thrust, judged.rows.current) < 1).all()


def test_blank_diameters_count_as_the_usual_one() -> None:
    rows = [row | {"diameter": None} if place == 2 else row for place, row in enumerate(sweep())]
    assert np.isfinite(_line(rows).level).all()
    assert np.isfinite(_line([row | {"diameter": None} for row in sweep()]).level).all()


def test_a_sample_of_many_rows_gives_nearly_the_line_of_all(monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(1)
    rows = [row | {"thrust": row["thrust"] * (1 + 0.004 * rng.normal())} for row in sweep() * 200]
    sampled = _line(rows).current(np.array([500.0]))
    monkeypatch.setattr("xlsengine.study.case.MOST_FITTED", 100)
    assert _line(rows).current(np.array([500.0])) == pytest.approx(sampled, rel=0.005)


@pytest.mark.parametrize("n", [2, 5, 12, 40])
def test_the_typical_slope_is_that_of_theil_and_sen(n: int) -> None:
    rng = np.random.default_rng(n)
    x, y = rng.normal(size=n).round(1), rng.normal(size=n)
    assert typical_slope(x, y) == pytest.approx(float(stats.theilslopes(y, x).slope))


@pytest.mark.parametrize("first", [0, 15, 30])
@pytest.mark.parametrize("error", [-15.0, 50.0, 1e9])
def test_a_quarter_of_odd_points_cannot_carry_it_off(error: float, first: int) -> None:
    """At either end or in the middle, where least squares are out by more than their noise."""
    x, noise = np.linspace(0, 10, 40), np.random.default_rng(3).normal(size=40)
    y = 3 + 2 * x + 0.1 * noise
    y[first : first + 10] += error
    assert typical_slope(x, y) == pytest.approx(2, abs=0.1)


def test_points_of_one_x_tell_no_slope() -> None:
    assert typical_slope(np.ones(5), np.arange(5.0)) == IDEAL_SLOPE
