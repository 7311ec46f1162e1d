import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.study.small_bench import case, reading, sweep
from xlsengine.study.case import counts_by, display_step, labels_of, medians_by

labelled_values = st.lists(
    st.tuples(st.integers(0, 4), st.sampled_from([1.0, 2.0, 3.5, -7.0, math.nan])), min_size=1, max_size=30
)


@given(labelled_values)
def test_medians_are_those_of_each_label_by_itself(pairs: list[tuple[int, float]]) -> None:
    labels = labels_of(np.array([label for label, _ in pairs]))
    values = np.array([value for _, value in pairs])
    for label in np.unique(labels):
        own = values[labels == label]
        own = own[~np.isnan(own)]
        expected = np.median(own) if own.size else math.nan
        assert medians_by(labels, values)[labels == label] == pytest.approx(expected, nan_ok=True)


def test_labels_of_several_columns_are_in_their_order() -> None:
    assert labels_of(np.array([2, 1, 2, 1]), np.array([5.0, 9.0, 5.0, 1.0])).tolist() == [2, 1, 2, 0]


def test_counts_of_all_and_of_some() -> None:
    labels = np.array([0, 0, 1])
    assert counts_by(labels).tolist() == [2, 2, 1]
    assert counts_by(labels, np.array([True, False, True])).tolist() == [1, 1, 1]


@pytest.mark.parametrize(
    ("values", "step"),
    [([38.0, 7.0], 1.0), ([38.1, 7.0], 0.1), ([0.25], 0.01), ([1.234], 0.001), ([math.pi], 0.0), ([], 0.0)],
)
def test_display_step(values: list[float], step: float) -> None:
    assert display_step(np.array(values)) == step


def test_one_slipped_digit_does_not_hide_the_step() -> None:
    assert display_step(np.array([38.1] * 9 + [3.81])) == 0.1


@pytest.mark.parametrize(
    "odd",
    [
        {"use": "no"},
        {"prop": None},
        {"cells": None},
        {"thrust": None},
        {"thrust": 0.0},
        {"current": 0.0},
        {"current": -1.0},
        {"voltage": None},
        {"voltage": math.inf},
        {"thrust": 1e200},
        {"cells": 0.0},
    ],
)
def test_rows_that_cannot_be_judged_are_left_out(odd: dict[str, object]) -> None:
    rows = case([reading(), reading() | odd, reading()]).rows
    assert rows.number.tolist() == [1, 3]


def test_blanks_are_read_as_they_are_meant() -> None:
    rows = case([reading(throttle=100) | {"throttle": None, "speed": 0.0, "diameter": 0.0}]).rows
    assert rows.throttle[0] == 100
    assert np.isnan([rows.speed[0], rows.diameter[0]]).all()


def test_propellers_and_groups_are_told_apart_as_the_workbook_does() -> None:
    rows = case([reading("A"), reading(" a "), reading("A", cells=3), reading("B")]).rows
    assert rows.prop[0] == rows.prop[1] == rows.prop[2] != rows.prop[3]
    assert rows.group[0] == rows.group[1]
    assert len(set(rows.group.tolist())) == 3


def test_live_checks_are_known() -> None:
    rows = case([*sweep(), reading(cells=4, thrust=9000.0), reading(speed=45_000.0)]).rows
    assert np.flatnonzero(rows.impossible).tolist() == [6]
    assert np.flatnonzero(rows.doubtful).tolist() == [6, 7]


def test_a_row_is_named_by_its_run_or_else_its_place() -> None:
    rows = case([reading(run=7.0), reading()]).rows
    assert [rows.name(0), rows.name(1)] == ["run 7", "reading 2"]
