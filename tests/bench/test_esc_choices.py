"""The three sizes that matter, whatever the order of the ladder on Settings; needs worked by hand as in `test_esc`."""

from collections.abc import Callable, Mapping
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.bench.test_esc import ROOM, both
from xlsengine import bench_test
from xlsengine.bench.advice import esc_needs as n
from xlsengine.bench.inputs.craft import BURSTS
from xlsengine.expression import Column, Node
from xlsengine.study.assessment import Assessment, assess

MIXED = [50.0, 20.0, 40.0, 60.0, 20.0, 30.0, 50.0]


def judged(rows: list[dict[str, Any]], ladder: list[float] | None = None, **fields: Any) -> Assessment:
    tables = {"Readings": rows}
    if ladder:
        tables["EscSizes"] = [{"esc_size": size} for size in ladder]
    return assess(bench_test({"label_kv": 2000.0, "mass_as_supplied": 36.0} | fields, tables))


def first(found: Assessment, *names: str) -> list[Any]:
    """Return the first values of columns of Summary, None where blank."""
    values = [found.scope.column("Summary", name)[0] for name in names]
    return [None if value != value or value == "" else value for value in values]


def held(found: Assessment) -> list[Any]:
    return first(found, "held_smaller", "held_size", "held_larger")


def on(found: Assessment, sizes: Mapping[str, Column], judge: Callable[[Node], Node]) -> list[Any]:
    """Return what is said of each size in the first row of Summary, None where nothing is."""
    values = [found.scope.value(judge(size), found.scope.rows("Summary"))[0] for size in sizes.values()]
    return [None if value != value or value == "" else value for value in values]


@pytest.mark.parametrize(
    ("steady", "peak", "sizes"),
    [
        (32.0, 33.0, [40, 50, 60]),  # 32 · 1.037 / 0.80 = 41.5; each of the doubled 50 is the same size
        (15.0, 16.0, [None, 20, 30]),  # 19.4
        (16.0, 17.0, [20, 30, 40]),  # 20.7
        (45.0, 46.0, [50, 60, None]),  # 58.3
        (60.0, 61.0, [60, None, None]),  # 77.8
    ],
)
def test_neighbours_in_a_ladder_that_is_not_sorted(steady: float, peak: float, sizes: list[Any]) -> None:
    assert held(judged(both(steady, peak), MIXED)) == sizes


@settings(max_examples=8, deadline=None)
@given(ladder=st.lists(st.integers(5, 120).map(float), min_size=1, max_size=9), peak=st.floats(5, 90))
def test_the_three_are_neighbours(ladder: list[float], peak: float) -> None:
    need = peak * ROOM / 0.80
    below, above = (sorted({size for size in ladder if (size >= need) is up}) for up in (False, True))
    wanted = [below[-1] if below else None, above[0] if above else None, above[1] if len(above) > 1 else None]
    if all(abs(size - need) > 0.01 for size in ladder):
        assert held(judged(both(peak, peak), ladder)) == wanted


def test_a_size_far_below_falls_short_and_at_speed_is_never_said_to_cover() -> None:
    found = judged(both(38.0, 42.0), [20.0, 25.0, 60.0], way_of_flying=BURSTS)
    assert held(found)[0] == 25
    assert on(found, n.HELD_SIZES, n.held_verdict)[0] == "falls short"
    assert on(found, n.FLIGHT_SIZES, n.launch_verdict) == ["falls short", "covers", None]
    # 28.75 A: 25.2 to 31.5
    assert on(found, n.FLIGHT_SIZES, n.speed_verdict)[:2] == ["borderline", "enough by estimate"]


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ([], "no full throttle"),
        ([{"kind": "peak", "throttle": 100.0, "use": "no"}], "reading left out"),
        ([{"kind": "peak", "throttle": 100.0, "use": "no"}] * 2, "readings left out"),
    ],
)
def test_what_has_no_current_says_why(more: list[dict[str, Any]], words: str) -> None:
    (peak,) = both(None, 40.0)
    part = peak | {"kind": "steady", "throttle": 50.0, "current": 10.0, "thrust": 500.0}
    found = judged([part, *(peak | each for each in more)], pack_cells=6.0)
    assert first(found, "no_current", "held_smaller", "held_size", "held_larger") == [words, None, None, None]
