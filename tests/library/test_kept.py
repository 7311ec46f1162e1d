"""What a library keeps of a test: worked by hand, the same with and without an assessment."""

import math

import pytest

from demo_inputs.make_demo_inputs import bench_test_of
from demo_inputs.scenario import DEMO_TESTS
from tests.library.made import small_test
from tests.workbook.made_tests import made_test
from xlsengine.bench.inputs.bench_test import BenchTest
from xlsengine.library.kept import GROUP_COLUMNS, TEST_COLUMNS, kept_of
from xlsengine.study.assessment import assess

DEMOS = [pytest.param(bench_test_of(demo), id=demo.file_name) for demo in DEMO_TESTS]


def test_figures_of_a_small_test_are_those_worked_by_hand() -> None:
    """Means of 16.0, 15.9, 16.1 V, of 30, 31, 32 A, of 1000, 1010, 1020 g; power as V·I of each reading."""
    found = kept_of(small_test(price=21.5))
    assert found.test["test_id"] == "one"
    assert found.test["test_date"] == "2026-05-31"
    assert found.test["price"] == 21.5
    assert found.test["best_kv"] is None
    (group,) = found.groups
    assert (group["prop"], group["cells"], group["kind"], group["full_count"]) == ("5x4x3", 4.0, "steady", 3.0)
    assert group["full_voltage"] == pytest.approx(16.0)
    assert group["full_current"] == pytest.approx(31.0)
    assert group["full_thrust"] == pytest.approx(1010.0)
    power = (16.0 * 30 + 15.9 * 31 + 16.1 * 32) / 3
    assert group["full_power"] == pytest.approx(power)
    assert group["full_grams_per_watt"] == pytest.approx(1010 / power)
    assert group["static_current"] == 32.0
    assert group["full_thrust_to_mass"] == pytest.approx(1010 / 33)
    assert [step["thrust"] for step in found.steps] == [1000.0, 1010.0, 1020.0, 400.0, 640.0]
    assert found.steps[3]["power"] == pytest.approx(16.4 * 9)


def test_uncertainty_of_the_mass_as_supplied_is_that_of_the_scale() -> None:
    """0.2 g as half-width: 0.2/√3 standard (GUM 4.3.7), times 1.960 for 95 % (normal table)."""
    assert kept_of(small_test()).test["mass_as_supplied_uncertainty"] == pytest.approx(
        1.960 * 0.2 / math.sqrt(3), rel=1e-3
    )
    assert kept_of(small_test(mass_as_supplied=None)).test["mass_as_supplied_uncertainty"] is None


def test_a_reading_left_out_is_in_no_figure_and_is_counted() -> None:
    tables = {name: {key: column.copy() for key, column in held.items()} for name, held in small_test().tables.items()}
    tables["Readings"]["use"][2] = "no"
    (group,) = (found := kept_of(BenchTest(small_test().fields, tables))).groups
    assert group["full_thrust"] == pytest.approx(1005.0)
    assert group["left_out"] == 1.0
    assert len(found.steps) == 4


@pytest.mark.parametrize("test", [*DEMOS, *(pytest.param(made_test(seed), id=f"made {seed}") for seed in range(5))])
def test_the_short_way_gives_what_the_whole_assessment_gives(test: BenchTest) -> None:
    assert kept_of(test) == kept_of(test, assess(test))


def test_figures_and_their_uncertainty_stand_under_the_same_name() -> None:
    for columns in (TEST_COLUMNS, GROUP_COLUMNS):
        sure = {name.removesuffix("_uncertainty") for name in columns if name.endswith("_uncertainty")}
        assert sure
        assert sure <= set(columns)
        assert all(columns[f"{name}_uncertainty"].unit == columns[name].unit for name in sure)
