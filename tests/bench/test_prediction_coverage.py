"""The ± of a predicted cell count holds the truth in nine of ten, whatever the step; see `prediction_coverage`."""

from __future__ import annotations

import numpy as np
import pytest

from tests.bench import prediction_coverage as study

BENCHES = {"steady": 5, "peak": 4}
LEAST_JUDGED = 10
STEPS = {"1S to 2S", "2S to 3S", "3S to 2S", "3S to 4S", "4S to 3S", "4S to 5S", "6S to 5S", "6S to 7S"}


@pytest.mark.parametrize("kind", ["steady", "peak"])
@pytest.mark.parametrize("speeds", [True, False])
def test_every_step_holds_nine_of_ten(kind: str, speeds: bool) -> None:
    """And the median ± is at most 30 %: beyond it there is no figure."""
    lines = study.table(kind, speeds, BENCHES[kind])
    assert {step for tried, step in lines if tried == "untried"} == STEPS
    for key, line in lines.items():
        judged = line.asked * line.given >= LEAST_JUDGED
        assert (line.held[judged] >= 0.90).all(), (key, line)
        assert not (line.half > 0.30).any(), (key, line)


@pytest.mark.parametrize("speeds", [True, False])
def test_the_range_grows_with_the_step(speeds: bool) -> None:
    """From one cell more on six to one more on one, thrust and current are known less and less; none is useless."""
    lines = study.table("steady", speeds, 2, seed=4)
    halves = np.array([lines["untried", f"{cells}S to {cells + 1}S"].half[:2] for cells in (6, 4, 3, 2, 1)])
    assert (np.diff(halves, axis=0) > 0.005).all()
    assert halves[0].max() <= 0.08
    assert halves[-1].min() >= 0.20
