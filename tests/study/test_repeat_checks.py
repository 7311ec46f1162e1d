import numpy as np
import pytest

from tests.study.small_bench import Row, case, flags_of, good_table, reading, said, sweep
from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.repeat_checks import copies, repeats


def _repeats(thrusts: list[float]) -> list[Row]:
    rows = [reading(thrust=thrust) for thrust in thrusts]
    return [row | {"voltage": 15.2 + place / 100} for place, row in enumerate(rows)]


def _scattered(count: int, sd: float = 5.0) -> list[float]:
    return [float(thrust) for thrust in np.random.default_rng(4).normal(1280, sd, count).round()]


class TestCopies:
    READINGS = ("voltage", "current", "thrust", "speed")

    def _copied(self, to: int, source: int, columns: tuple[str, ...] = READINGS) -> list[Row]:
        rows = good_table()
        rows[to] |= {column: rows[source][column] for column in columns}
        return rows

    @pytest.mark.parametrize(("to", "source"), [(12, 0), (6, 0), (9, 8)])
    def test_readings_under_another_label_are_doubtful(self, to: int, source: int) -> None:
        (flag,) = copies(case(self._copied(to, source)))
        assert (flag.row, flag.title, flag.severity) == (to + 1, "Copied readings", Severity.DOUBTFUL)
        assert flag.also_rows == (source + 1,)
        assert f"as in run {source + 1}" in flag.found

    def test_a_repeat_with_the_same_figures_is_doubtful_and_names_the_other_row(self) -> None:
        rows = [*good_table(), good_table()[4]]
        (flag,) = copies(case(rows))
        assert (flag.row, flag.severity, flag.also_rows) == (25, Severity.DOUBTFUL, (5,))
        assert "run 5" in flag.found
        assert "run 5" in flag.fix

    @pytest.mark.parametrize(
        ("amps", "grams", "severities"),
        [(20.43, 1089.0, [Severity.DOUBTFUL]), (20.4, 1089.0, [Severity.NOTE]), (20.0, 1089.0, [])],
    )
    def test_displays_tell_how_often_the_same_figures_come_back(
        self, amps: float, grams: float, severities: list[Severity]
    ) -> None:
        """Steps of 0.01, 0.1 and 1 A with 1 g and 0.1 V: the same by chance in 1 of 900, of 90 and of 22."""
        one = {"prop": "9x4.7", "cells": 3, "voltage": 11.6, "current": amps, "thrust": grams}
        other = {"prop": "8x4", "cells": 3, "voltage": 11.9, "current": amps - 7.0, "thrust": grams - 280.0}
        assert [flag.severity for flag in copies(case([one, other, one]))] == severities

    @pytest.mark.parametrize("change", [{"speed": None}, {"kind": "peak"}])
    def test_the_same_figures_with_another_kind_or_fewer_readings_are_a_note(self, change: Row) -> None:
        (flag,) = copies(case([*good_table(), good_table()[4] | change]))
        assert (flag.row, flag.severity) == (25, Severity.NOTE)

    def test_a_speed_that_differs_is_no_copy_and_a_blank_one_may_be(self) -> None:
        rows = self._copied(12, 0, ("voltage", "current", "thrust"))
        assert copies(case(rows)) == []
        del rows[12]["speed"]
        assert said(copies(case(rows))) == [(13, "thrust", "Copied readings")]
        del rows[0]["speed"]
        assert said(copies(case(rows))) == [(13, "thrust", "Copied readings")]

    def test_two_equal_numbers_are_no_copy(self) -> None:
        assert copies(case(self._copied(12, 0, ("voltage", "current")))) == []

    def test_long_sets_of_repeats_come_back_to_their_figures(self) -> None:
        assert len(copies(case([reading()] * 14))) == 13
        assert copies(case([reading()] * 15)) == []

    def test_zero_thrust_is_no_reading(self) -> None:
        assert copies(case([reading(cells=cells, thrust=0.0, voltage=16.0, current=0.1) for cells in (3, 4)])) == []

    def test_a_third_copy_points_at_the_first(self) -> None:
        rows = self._copied(12, 0)
        rows[18] |= {column: rows[0][column] for column in self.READINGS}
        assert [flag.also_rows for flag in copies(case(rows))] == [(1,), (1,)]


class TestRepeats:
    @pytest.mark.parametrize("thrusts", [[1281.0, 1280.0], *map(_scattered, (4, 13, 14, 39))])
    def test_one_odd_thrust_is_flagged(self, thrusts: list[float]) -> None:
        thrusts = [thrusts[0], 1150.0, *thrusts[1:]]
        assert said(repeats(case(_repeats(thrusts)))) == [(2, "thrust", "Thrust out of line with its repeats")]

    @pytest.mark.parametrize(("column", "odd"), [("current", 42.0), ("speed", 25_000.0)])
    def test_currents_and_speeds_are_tested_too(self, column: str, odd: float) -> None:
        rows = _repeats(_scattered(5))
        rows[3][column] = odd
        assert [(flag.row, flag.column) for flag in repeats(case(rows))] == [(4, column)]

    def test_two_odd_ones_among_many_do_not_hide_each_other(self) -> None:
        thrusts = _scattered(20)
        thrusts[3], thrusts[11] = 1150.0, 1151.0
        assert [flag.row for flag in repeats(case(_repeats(thrusts)))] == [4, 12]

    def test_what_stands_out_by_a_trifle_is_left_alone_beside_what_stands_far_out(self) -> None:
        thrusts = _scattered(20, sd=0.5)
        thrusts[3], thrusts[11] = 1150.0, 1268.0
        assert [flag.row for flag in repeats(case(_repeats(thrusts)))] == [4]

    def test_a_row_that_breaks_physics_is_left_to_the_live_checks(self) -> None:
        rows = [*_repeats(_scattered(5)), reading(cells=5) | {"cells": 4.0, "voltage": 19.5}]
        assert repeats(case(rows)) == []

    def test_usual_scatter_is_left_alone(self) -> None:
        for count in (3, 5, 14, 15, 40):
            assert repeats(case(_repeats(_scattered(count)))) == []

    def test_two_of_three_equal_do_not_convict_the_third_of_a_trifle(self) -> None:
        assert repeats(case(_repeats([1280.0, 1280.0, 1262.0]))) == []

    def test_two_repeats_cannot_be_judged(self) -> None:
        assert repeats(case(_repeats([1280.0, 1150.0]))) == []

    def test_equal_repeats_are_left_alone(self) -> None:
        assert repeats(case([reading()] * 6)) == []

    def test_peaks_and_other_throttles_are_no_repeats(self) -> None:
        rows = [*_repeats([1280.0, 1278.0]), reading(thrust=1350.0, kind="peak"), reading(throttle=50)]
        assert repeats(case(rows)) == []

    def test_a_blank_throttle_is_full_throttle(self) -> None:
        rows = _repeats([1281.0, 1278.0, 1280.0, 1150.0])
        rows[3]["throttle"] = None
        assert [flag.row for flag in repeats(case(rows))] == [4]

    def test_a_coarse_display_is_forgiven_its_step(self) -> None:
        rows = [reading(throttle=20, current=current) for current in (3.0, 3.0, 4.0)]
        assert repeats(case(rows)) == []

    def test_the_significance_on_settings_is_heeded(self) -> None:
        rows = _repeats([1275.0, 1280.0, 1285.0, 1220.0])
        assert [flag.row for flag in repeats(case(rows, outlier_significance=5))] == [4]
        assert repeats(case(rows, outlier_significance=0.1)) == []

    def test_a_slip_among_repeats_is_called_a_slip(self) -> None:
        rows = sweep() + _repeats(_scattered(4))
        rows[7]["thrust"] = rows[7]["thrust"] * 10
        assert said(flags_of(rows)) == [(8, "thrust", "Decimal slip in thrust")]
