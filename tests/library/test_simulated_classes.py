"""Classes of motors whose true figures are known: how often equal ones are called different, and better ones found."""

from typing import Any

import numpy as np
import pytest
from scipy import stats

from tests.library import simulated_classes as sim
from xlsengine.bench.comparison.ranking import one_control
from xlsengine.expression import Constant, evaluate

CLASSES = 2000


def chance(share: float) -> float:
    """Return how far a share of the classes may be off by chance: three standard deviations."""
    return float(3 * np.sqrt(share * (1 - share) / CLASSES))


@pytest.mark.parametrize("motors", [2, 6, 10])
@pytest.mark.parametrize(("readings", "freedom"), [(1, 8), (5, 8), (5, 30)])
def test_equal_motors_are_called_different_in_five_percent_at_most(motors: int, readings: int, freedom: int) -> None:
    """Of a whole class: any one of the peers called different from this motor."""
    assert sim.called_different(CLASSES, motors, readings, freedom) <= 0.05 + chance(0.05)


@pytest.mark.parametrize("readings", sim.UNLIKE_OFTEN)
def test_so_they_are_where_some_were_read_more_often(readings: list[int]) -> None:
    assert sim.called_different(CLASSES, 6, np.array(readings), 24) <= 0.05 + chance(0.05)


@pytest.mark.parametrize(("motors", "freedom"), [(2, 8), (6, 24), (10, 80)])
def test_four_percent_more_is_found_in_nine_of_ten(motors: int, freedom: int) -> None:
    """With five readings of each motor, and in a class of ten of two propellers each: the repeats that are pooled."""
    assert sim.better_found(CLASSES, motors, freedom) >= 0.90 - chance(0.9)
    assert sim.power(motors, freedom) >= 0.90


@pytest.mark.parametrize(("motors", "freedom"), [(2, 8), (6, 8), (6, 24), (10, 40)])
def test_as_often_is_found_as_theory_lets(motors: int, freedom: int) -> None:
    """By the noncentral t at Dunnett's own limit, with which 89.9 % are found of ten motors with 40 repeats."""
    assert sim.better_found(CLASSES, motors, freedom) == pytest.approx(
        sim.power(motors, freedom), abs=0.02 + chance(0.9)
    )


@pytest.mark.parametrize("spread", [0.0, 0.01, 0.02, 0.04])
@pytest.mark.parametrize("motors", [6, 10])
def test_the_place_lies_where_it_is_said_to_lie(motors: int, spread: float) -> None:
    """Of every motor of the class, this one or not; what is printed as the place."""
    held, wide = sim.places_held(sim.unlike(500, motors, spread), sim.REPEATS, 20)
    assert held >= 0.95 - 3 * np.sqrt(0.05 * 0.95 / 500)
    assert spread == 0 or wide < motors


# --- the level of each comparison ------------------------------------------------------------------------------


def limit(peers: int, freedom: float, level: float = 0.05, likeness: float = 0.5) -> float:
    """Return the engine's limit of t."""
    node = one_control(Constant(level), Constant(float(peers)), Constant(float(freedom)), Constant(likeness))
    return float(stats.t.ppf(1 - float(evaluate(node, None)) / 2, freedom))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("peers", "freedom", "published"), [(2, 10, 2.57), (5, 10, 2.99), (5, 24, 2.70), (9, 24, 2.90), (5, 120, 2.55)]
)
def test_limits_against_the_tables(peers: int, freedom: int, published: float) -> None:
    """Dunnett, Biometrics 20 (1964) 482, table of two-sided 5 % points (values from memory); up to 3 % above them."""
    assert sim.critical(peers, freedom) == pytest.approx(published, abs=0.011)
    assert sim.critical(peers, freedom) <= limit(peers, freedom) <= 1.03 * published


@pytest.mark.parametrize("likeness", [0.5, 0.4, 0.25, 0.1, 0.02])
def test_the_level_is_kept(likeness: float) -> None:
    """For all numbers of peers and repeats: at 95 % never exceeded, at 90 and 99 % within a seventieth."""
    for level, over in ((0.05, 1.0001), (0.1, 1 + 1 / 70), (0.01, 1 + 1 / 70)):
        for freedom in (6, 12, 24, 80, 1000):
            for peers in (1, 2, 5, 9, 30):
                reached = sim.beyond(limit(peers, freedom, level, likeness), peers, freedom, likeness)
                assert reached <= level * over, (level, freedom, peers)


def test_a_limit_against_scipys_test() -> None:
    """Two peers of five readings, one of them off by the engine's limit: `scipy.stats.dunnett` gives it 5 % or less."""
    rng = np.random.default_rng(5)
    control, one, other = (_with(rng, 1000.0) for _ in range(3))
    freedom = 12
    pooled = np.sqrt(sum(np.var(each, ddof=1) for each in (control, one, other)) / 3)
    one = one + limit(2, freedom) * pooled * np.sqrt(2 / 5)
    result = stats.dunnett(one, other, control=control, random_state=np.random.default_rng(1))
    assert result.pvalue[0] <= 0.051
    assert result.pvalue[0] == pytest.approx(sim.beyond(limit(2, freedom), 2, freedom), abs=0.002)


def _with(rng: Any, mean: float) -> Any:
    """Return five readings with exactly this mean."""
    read = rng.normal(0, 15, 5)
    return mean + read - read.mean()
