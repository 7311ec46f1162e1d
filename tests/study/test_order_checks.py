import itertools

import numpy as np
import pytest

from tests.study.small_bench import Row, case, flags_of, good_table, reading, said, sweep
from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.order_checks import exchanged_kinds, ladder, odd_peaks, rising_efficiency, throttle_order


def _scaled(share: float, **more: object) -> Row:
    row = reading(**more)  # type: ignore[arg-type]
    return row | {"thrust": round(row["thrust"] * share), "current": round(row["current"] * share, 2)}


def _full_throttle(peak: float, *steady: float) -> list[Row]:
    rows = [_scaled(peak, kind="peak"), *(_scaled(share) for share in steady)]
    return [row | {"voltage": 15.8 if row is rows[0] else 15.3} for row in rows]


class TestExchangedKinds:
    def test_a_peak_below_a_steady_row_in_all_three_is_flagged_on_both(self) -> None:
        rows = _full_throttle(1.0, 1.04, 1.001, 1.002)
        rows[0]["voltage"], rows[1]["voltage"] = 15.3, 15.8
        flags = exchanged_kinds(case(rows))
        assert said(flags) == [(1, "kind", "Peak and steady exchanged"), (2, "kind", "Peak and steady exchanged")]
        assert [flag.also_rows for flag in flags] == [(2,), (1,)]
        assert said(flags_of(rows)) == said(flags)  # and its repeats and the order of peaks say no more

    def test_volts_that_sag_further_in_the_steady_row_speak_against_it(self) -> None:
        assert exchanged_kinds(case(_full_throttle(1.0, 1.04))) == []

    def test_a_current_above_speaks_against_it(self) -> None:
        rows = _full_throttle(1.0, 1.04)
        rows[0] |= {"voltage": 15.3, "current": rows[1]["current"] + 1}
        assert exchanged_kinds(case(rows)) == []

    def test_scatter_is_left_alone(self) -> None:
        rows = _full_throttle(1.0, 1.008)
        rows[0]["voltage"] = 15.3
        assert exchanged_kinds(case(rows)) == []

    @pytest.mark.parametrize("kind", ["peak", "steady"])
    def test_one_kind_alone_is_left_alone(self, kind: str) -> None:
        assert exchanged_kinds(case([_scaled(share, kind=kind) for share in (1.0, 1.1)])) == []


class TestLowPeaks:
    def test_the_tolerance_on_settings_is_heeded(self) -> None:
        assert len(odd_peaks(case(_full_throttle(0.93, 1.0), ladder_tolerance=10))) == 0

    def test_part_throttle_does_not_count(self) -> None:
        assert odd_peaks(case([reading(kind="peak", throttle=50), reading()])) == []


class TestLadder:
    def _rows(self, *currents: float, kind: str = "steady") -> list[Row]:
        sizes = itertools.count(5)
        return [reading(f"P{c}", float(next(sizes)), kind=kind, current=c, thrust=500.0) for c in currents]

    @pytest.mark.parametrize("kind", ["steady", "peak"])
    def test_a_larger_propeller_that_draws_less_is_noted_once(self, kind: str) -> None:
        (flag,) = ladder(case(self._rows(30.0, 40.0, 35.0, kind=kind)))
        assert (flag.row, flag.severity, flag.also_rows) == (3, Severity.NOTE, (2,))
        assert flag.expected == "above 40 A, which P40.0 draws"

    def test_rising_and_nearly_equal_currents_are_left_alone(self) -> None:
        assert ladder(case(self._rows(30.0, 40.0, 39.0, 50.0))) == []

    @pytest.mark.parametrize("other", [{"pitch": 2.0}, {"blades": 3.0}, {"cells": 3.0}, {"pitch": None}])
    def test_what_cannot_be_compared_is_left_alone(self, other: Row) -> None:
        small, large = self._rows(40.0, 30.0)
        assert ladder(case([small, large | other])) == []

    def test_a_peak_is_not_held_against_a_steady_reading(self) -> None:
        small, large = self._rows(40.0, 30.0)
        assert ladder(case([small | {"kind": "peak"}, large])) == []

    def test_peaks_do_not_count_where_steady_readings_are(self) -> None:
        steady = self._rows(30.0, 40.0)
        peaks = [row | {"kind": "peak", "current": current} for row, current in zip(steady, (44.0, 41.0), strict=True)]
        assert ladder(case([*steady, *peaks])) == []

    def test_agrees_with_comparing_every_pair(self) -> None:
        rng = np.random.default_rng(2)
        for _ in range(40):
            rows = [
                reading(f"P{place}", float(size), pitch=float(pitch), current=float(current), thrust=500.0)
                for place, (size, pitch, current) in enumerate(rng.integers((5, 3, 20), (9, 7, 60), (12, 3)))
            ]
            assert {flag.row for flag in ladder(case(rows))} == self._by_pairs(rows)

    def _by_pairs(self, rows: list[Row]) -> set[int]:
        def is_inverted(here: Row, other: Row) -> bool:
            size, smaller = (here["diameter"], here["pitch"]), (other["diameter"], other["pitch"])
            is_larger = size != smaller and size[0] >= smaller[0] and size[1] >= smaller[1]
            return bool(is_larger and here["current"] < 0.95 * other["current"])

        return {place for place, here in enumerate(rows, 1) if any(is_inverted(here, other) for other in rows)}


class TestRisingEfficiency:
    def test_an_offset_at_the_low_end_is_flagged_there(self) -> None:
        rows = sweep()
        rows[1]["current"] = rows[1]["current"] + 2.0
        (flag,) = rising_efficiency(case(rows))
        assert (flag.row, flag.column, flag.also_rows) == (2, "current", (3,))

    def test_a_good_sweep_is_left_alone(self) -> None:
        assert rising_efficiency(case(good_table())) == []

    def test_a_coarse_display_is_forgiven_its_step(self) -> None:
        rows = [reading(throttle=throttle) for throttle in (100, 80, 60, 33, 30)]
        assert rising_efficiency(case([row | {"current": float(round(row["current"]))} for row in rows])) == []
        assert len(rising_efficiency(case([row | {"current": max(row["current"], 2.22)} for row in rows]))) == 1

    def test_a_row_that_a_live_check_doubts_is_left_alone(self) -> None:
        rows = sweep()
        rows[1] |= {"current": rows[1]["current"] + 2.0, "speed": 45_000.0}
        assert rising_efficiency(case(rows)) == []

    def test_rows_explained_by_another_flag_are_left_alone(self) -> None:
        rows = good_table()
        rows[2]["thrust"], rows[3]["thrust"] = rows[3]["thrust"], rows[2]["thrust"]
        assert "Thrust per watt rises with load" not in {flag.title for flag in flags_of(rows)}

    def test_repeats_at_one_load_do_not_count(self) -> None:
        assert rising_efficiency(case([*sweep(), reading(thrust=1290.0, current=34.0)])) == []


class TestThrottleOrder:
    def test_a_digit_lost_in_a_sweep_is_that_row(self) -> None:
        rows = sweep()
        assert throttle_order(case(rows)) == []
        full = max(range(len(rows)), key=lambda at: rows[at]["thrust"])
        rows[full] = rows[full] | {"throttle": 10.0}
        assert said(throttle_order(case(rows))) == [(full + 1, "throttle", "Throttle does not fit thrust")]

    def test_of_two_alone_it_is_the_one_at_less_throttle(self) -> None:
        rows = [reading(), reading() | {"throttle": 50.0, "thrust": round(0.98 * reading()["thrust"])}]
        (flag,) = throttle_order(case(rows))
        assert (flag.row, flag.also_rows) == (2, (1,))
        rows[1]["thrust"] = round(0.95 * reading()["thrust"])
        assert throttle_order(case(rows)) == []
