"""The ± of a predicted cell count holds the truth in nine of ten, whatever the step; see `prediction_coverage`."""

from __future__ import annotations

from collections import defaultdict
from functools import cache

import numpy as np
import pytest

from tests.bench import prediction_coverage as study

BENCHES = 5
LEAST_JUDGED = 30
STEPS = {"1S to 2S", "2S to 3S", "3S to 2S", "3S to 4S", "4S to 3S", "4S to 5S", "6S to 5S", "6S to 7S"}


@cache
def by_step(speeds: bool) -> dict[str, study.Line]:
    """Return a line for each step, of steady readings and of peaks together, tried and not."""
    found: dict[str, list[study.Outcome]] = defaultdict(list)
    for kind in ("steady", "peak"):
        for (_, step), outcomes in study.collected(kind, speeds, BENCHES).items():
            found[step] += outcomes
    return {step: study.line_of(outcomes) for step, outcomes in found.items()}


@pytest.mark.parametrize("speeds", [True, False])
def test_every_step_holds_nine_of_ten(speeds: bool) -> None:
    """And the median ± is at most 30 %: beyond it there is no figure."""
    lines = by_step(speeds)
    assert set(lines) >= STEPS
    for step, line in lines.items():
        judged = line.asked * line.given >= LEAST_JUDGED
        assert judged[:2].all() or step not in STEPS, (step, line)
        assert (line.held[judged] >= 0.90).all(), (step, line)
        assert not (line.half > 0.30).any(), (step, line)


@pytest.mark.parametrize("speeds", [True, False])
def test_the_range_grows_with_the_step(speeds: bool) -> None:
    """From one cell more on six to one more on one, thrust and current are known less and less."""
    halves = np.array([by_step(speeds)[f"{cells}S to {cells + 1}S"].half[:2] for cells in (6, 4, 3, 2, 1)])
    assert (np.diff(halves, axis=0) > 0.005).all()
    assert halves[0].max() <= 0.08
    assert halves[-1].min() >= 0.15
