"""Classes of motors whose true figures are known: how often equal ones are called different, and better ones found."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.library.ranked_classes import FIGURE, Ranks
from xlsengine.bench.comparison.ranking import RANKED, SAME

CLASSES = 1000
SCATTER, REPEATS = 1.5, 5
"""Percent: of thrust with the propeller remounted, common practice; and readings of each motor."""


def measured(true: Any, readings: float, freedom: float, seed: int) -> Ranks:
    """Rank classes by means of so many readings, the scatter being estimated with so many degrees of freedom."""
    rng = np.random.default_rng(seed)
    values = 1000 * true * (1 + rng.normal(0, SCATTER / 100 / np.sqrt(readings), true.shape))
    found = SCATTER * np.sqrt(rng.chisquare(freedom, len(true)) / freedom)
    return Ranks(values, found, readings, freedom)


def chance(share: float) -> float:
    """Return how far a share of the classes may be off by chance: three standard deviations."""
    return float(3 * np.sqrt(share * (1 - share) / CLASSES))


@pytest.mark.parametrize("motors", [2, 6, 10])
@pytest.mark.parametrize(("readings", "freedom"), [(1, 8), (5, 8), (5, 30)])
def test_equal_motors_are_called_different_in_five_percent_at_most(motors: int, readings: int, freedom: int) -> None:
    """Of a whole class: any one of the peers called different from this motor."""
    verdicts = measured(np.ones((CLASSES, motors)), readings, freedom, 11).verdicts[:, 1:]
    assert np.mean((verdicts != SAME).any(axis=1)) <= 0.05 + chance(0.05)


@pytest.mark.parametrize(("motors", "freedom"), [(2, 8), (6, 30)])
def test_four_percent_more_is_found_in_nine_of_ten(motors: int, freedom: int) -> None:
    """With five readings each; in a class of six with its repeats pooled, four of each motor and more."""
    true = np.ones((CLASSES, motors))
    true[:, 1] = 1.04
    assert np.mean(measured(true, REPEATS, freedom, 12).verdicts[:, 1] == "higher") >= 0.90


@pytest.mark.parametrize("spread", [0.01, 0.02, 0.04])
@pytest.mark.parametrize("motors", [6, 10])
def test_the_place_lies_where_it_is_said_to_lie(motors: int, spread: float) -> None:
    true = 1 + spread * np.random.default_rng(13).normal(size=(CLASSES, motors))
    ranks, figure = measured(true, REPEATS, 20, 14), RANKED[FIGURE]
    place = 1 + np.sum(true > true[:, :1], axis=1)
    best, worst = ranks.of_classes(figure.highest), ranks.of_classes(figure.lowest)
    assert np.mean((best <= place) & (place <= worst)) >= 0.95
    assert np.mean(worst - best) < motors - 1


@pytest.mark.parametrize("spread", [0.01, 0.02, 0.04])
def test_a_shared_place_holds_the_true_one(spread: float) -> None:
    """Of six motors, from the shared place down to the last that shares it; in all motors of all classes."""
    true = 1 + spread * np.random.default_rng(15).normal(size=(CLASSES, 6))
    ranks = measured(true, REPEATS, 20, 16).ranks
    place = 1 + np.sum(true[:, :, None] < true[:, None, :], axis=2)
    sharing = np.sum(ranks[:, :, None] == ranks[:, None, :], axis=2)
    assert np.mean((ranks <= place) & (place < ranks + sharing)) >= 0.95 - chance(0.05)
