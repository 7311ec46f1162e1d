"""Differences, ranks and what nothing beats, against standards, handbooks, other libraries and plain searches."""

import math
from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from tests.library.ranked_classes import FIGURE, Ranks
from xlsengine.bench.comparison import peers as p
from xlsengine.bench.comparison.ranking import RANKED, beaten_by, mass_band

ENDLESS = 10_000.0


def least(scatter: float, readings: Any, freedom: float, peers: int = 1, other_stand: float = 0.0) -> float:
    """Return the smallest difference that counts in a class of motors."""
    ranks = Ranks(np.full((1, peers + 1), 1000.0), scatter, readings, freedom)
    ranks.put(RANKED[FIGURE].doubt, np.array([0.0, *[other_stand] * peers]))
    return float(ranks.bands[0])


@pytest.mark.parametrize(("scatter", "limit"), [(1.0, 2.8), (1.5, 4.2)])
def test_repeatability_limit(scatter: float, limit: float) -> None:
    """r = 2.8·s_r: ISO 5725-6, 4.1, f·√2·s with f = 1.96, rounded there (from memory); the factor unrounded is 2.77."""
    assert least(scatter, 1, ENDLESS) == pytest.approx(limit, rel=0.011)
    assert least(scatter, 1, ENDLESS) == pytest.approx(1.96 * math.sqrt(2) * scatter, rel=1e-3)


@pytest.mark.parametrize(
    ("readings", "of_one_percent", "of_one_and_a_half"), [(2, 4.3, 6.5), (3, 2.3, 3.4), (5, 1.5, 2.2), (10, 0.9, 1.4)]
)
def test_means_of_several(readings: int, of_one_percent: float, of_one_and_a_half: float) -> None:
    """Worked by hand, t(95 %, 2n − 2)·s·√(2/n): t of 4.303, 2.776, 2.306 and 2.101 from any table of Student's t."""
    for scatter, expected in ((1.0, of_one_percent), (1.5, of_one_and_a_half)):
        assert least(scatter, readings, 2 * readings - 2) == pytest.approx(expected, abs=0.05)


def test_two_samples_of_the_handbook() -> None:
    """NIST/SEMATECH e-Handbook 1.3.5.3, AUTO83B: T = −12.62059, 326 degrees of freedom, t = 1.9673 (from memory)."""
    first, second, pooled = (249, 20.14458), (79, 30.48101), 6.34260
    harmonic = 2 / (1 / first[0] + 1 / second[0])
    limit = least(pooled, harmonic, first[0] + second[0] - 2)
    difference, critical = second[1] - first[1], 1.9673
    assert difference / limit * critical == pytest.approx(12.62059, rel=3e-5)
    assert limit == pytest.approx(stats.t.ppf(0.975, 326) * pooled * math.sqrt(1 / 249 + 1 / 79), rel=1e-9)


def test_another_stand_adds_its_part() -> None:
    assert least(1.5, 1, ENDLESS, other_stand=3.0) == pytest.approx(math.hypot(least(1.5, 1, ENDLESS), 3.0))


def test_two_motors_read_unlike_often() -> None:
    """Worked by hand, t·s·√(1/n + 1/n'): 2.0639·1.5·√(1/2 + 1/8) with 24 degrees of freedom."""
    assert least(1.5, np.array([2, 8]), 24) == pytest.approx(2.0639 * 1.5 * math.sqrt(1 / 2 + 1 / 8), rel=1e-4)


# --- ranks -------------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def classes() -> Any:
    """Forty classes of seven motors, some with equal values, and one without a value here and there."""
    rng = np.random.default_rng(3)
    values = np.round(1000 * (1 + 0.05 * rng.normal(size=(40, 7))), -1)
    values[rng.random(values.shape) < 0.05] = 0.0
    values[:, 0] = np.where(values[:, 0] == 0, 1000.0, values[:, 0])
    return values


def test_places_without_noise_are_those_of_pandas(classes: Any) -> None:
    ranks = Ranks(classes, 0.0)
    frame = pd.DataFrame(np.where(classes > 0, classes, np.nan))
    assert np.array_equal(ranks.best, frame.rank(axis=1, method="min", ascending=False).fillna(0))
    assert np.array_equal(ranks.worst, frame.rank(axis=1, method="max", ascending=False).fillna(0))


def test_percentile_is_that_of_scipy(classes: Any) -> None:
    """Half of those that share the place count: kind="mean" of `percentileofscore`, over the peers."""
    found = Ranks(classes, 0.0).of_classes(RANKED[FIGURE].percentile)
    for row, percentile in zip(classes, found, strict=True):
        peers = row[1:][row[1:] > 0]
        assert percentile == pytest.approx(stats.percentileofscore(peers, row[0], kind="mean"))


def test_places_by_a_plain_count(classes: Any) -> None:
    """Each motor against each other: behind those better by more than the band, before those worse by more."""
    ranks = Ranks(classes, 0.7, 3)
    for values, band, best, worst in zip(classes, ranks.bands, ranks.best, ranks.worst, strict=True):
        for value, first, last in zip(values, best, worst, strict=True):
            off = 100 * np.log(values[values > 0] / value) if value else np.array([])
            expected = (1 + np.sum(off > band), len(off) - np.sum(off < -band)) if value else (0, 0)
            assert (first, last) == expected


def test_places_worked_by_hand() -> None:
    """With a band of 2 %: 95 is within it of 96 and of 94, which are not within it of each other."""
    worked = Ranks(np.array([[100.0, 96.0, 95.0, 94.0]]), 2.0 / least(1.0, 1, ENDLESS, peers=3))
    assert worked.bands == pytest.approx([2.0])
    assert worked.of_motors(RANKED[FIGURE].place).tolist() == [["1", "2–3", "2–4", "3–4"]]


def test_no_peer_and_nothing_read() -> None:
    alone = Ranks(np.array([[1000.0, 0.0], [0.0, 1000.0]]), 1.5)
    assert alone.best.tolist() == alone.worst.tolist() == [[1, 0], [0, 1]]
    assert np.isnan(alone.bands).all()
    assert set(alone.verdicts.ravel()) == {""}


# --- what nothing beats ------------------------------------------------------------------------------------------


def test_what_nothing_beats_against_a_plain_search() -> None:
    """Each motor against each other: no worse in all three beyond noise, and better in one beyond it."""
    rng = np.random.default_rng(8)
    thrust, efficiency, mass = (1000 * (1 + 0.06 * rng.normal(size=(30, 8))) for _ in range(3))
    ranks = Ranks(thrust, 0.8, 2)
    band, of_mass = float(ranks.bands[0]), 1.0
    ranks.put(RANKED["at_thrust"].key, efficiency.ravel())
    for end, share in (("low", math.exp(-band / 200)), ("high", math.exp(band / 200))):
        ranks.put(getattr(RANKED["at_thrust"], end), efficiency.ravel() * share)
    ranks.put(mass_band, np.full(30, of_mass))
    ranks.put(p.mass, mass.ravel())
    found = ranks.of_motors(beaten_by)
    bands = np.array([band, band, of_mass]) / 100
    for row in range(30):
        points = np.array([thrust[row], efficiency[row], 1 / mass[row]]).T
        for place, point in enumerate(points):
            no_worse = (points >= point * np.exp(-bands)).all(axis=1)
            better = (points > point * np.exp(bands)).any(axis=1)
            assert found[row, place] == np.sum(no_worse & better)
    assert 0 < np.sum(found == 0) < found.size
