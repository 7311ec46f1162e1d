"""What the checks find of planted faults, on a small sample; ``python -m tests.study.found_rates`` prints a large one."""

from functools import cache

import pytest

from tests.study.found_rates import CLEAN, Rate, open_rate, rates
from tests.study.planted_benches import FAULTS

SEEDS = range(20)
TEN_PERCENT = tuple(FAULTS)[:4]
NAMES = tuple(name for name in FAULTS if "misspelt" in name or "digits" in name)
LEAST_FOUND, LEAST_TARES, MOST_FALSE = 80.0, 65.0, 0.8
"""In percent of the faults, and doubtful or worse flags in 100 clean rows. Wanted is 0.5; a thousand rows tell it to ±0.3."""


@cache
def _rates(speed: bool) -> dict[str, Rate]:
    return rates(SEEDS, speed, (*TEN_PERCENT, *NAMES) if speed else TEN_PERCENT[:2])


@pytest.mark.parametrize("fault", TEN_PERCENT)
def test_ten_percent_is_found_with_a_speed(fault: str) -> None:
    """A tare is a note only: on open data it would doubt more sound rows than may be."""
    assert _rates(True)[fault].share >= (LEAST_TARES if "tare" in fault else LEAST_FOUND)


@pytest.mark.parametrize("speed", [True, False])
def test_clean_rows_are_left_alone(speed: bool) -> None:
    found = _rates(speed)[CLEAN]
    assert found.others > 1000
    assert found.false_flags <= MOST_FALSE


@pytest.mark.parametrize("speed", [True, False])
def test_so_are_measured_coefficients(speed: bool) -> None:
    """CT and CP of twelve propellers at rest, 1,060 to 9,880 rpm (UIUC Propeller Data Site)."""
    found = open_rate(speed)
    assert found.others == 215
    assert found.false_flags <= MOST_FALSE


@pytest.mark.parametrize("fault", TEN_PERCENT[:2])
def test_most_of_it_without_one(fault: str) -> None:
    assert _rates(False)[fault].share >= 70


@pytest.mark.parametrize("fault", NAMES)
def test_names_of_one_propeller(fault: str) -> None:
    assert _rates(True)[fault].share >= 90


def test_nothing_else_is_doubted_for_a_wrong_thrust() -> None:
    assert _rates(True)["thrust off by 10 %"].false_flags <= 1.0
