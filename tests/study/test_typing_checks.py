import math
from typing import Any

import numpy as np
import pytest

from tests.study.small_bench import Row, case, flags_of, good_table, reading, said, sweep
from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.typing_checks import are_shares, misspelt, shares_of_throttle

BIRCH = "Birch 5x3x2"


def _named(*names: str, **more: Any) -> list[Row]:
    """Return a sweep of which the last rows have other names, and other columns where given."""
    rows = sweep(BIRCH) + sweep(BIRCH, cells=3)
    for at, name in enumerate(reversed(names), start=1):
        rows[-at] |= {"prop": name} | more
    return rows


class TestMisspelt:
    @pytest.mark.parametrize("name", ["Birhc 5x3x2", "Birc 5x3x2", "birchh 5x3x2", "Bitch 5x3x2", "Birch-5x3x2"])
    def test_a_name_one_letter_off_is_flagged_in_its_cell(self, name: str) -> None:
        (flag,) = misspelt(case(_named(name)))
        assert (flag.row, flag.column, flag.severity) == (12, "prop", Severity.DOUBTFUL)
        assert (flag.found, flag.expected) == (
            f'"{name}"',
            f'"{BIRCH}", as 11 other readings of the same size have it',
        )

    def test_it_is_among_the_checks(self) -> None:
        assert (12, "prop", "Propeller's name misspelt") in said(flags_of(_named("Birhc 5x3x2")))

    @pytest.mark.parametrize(("names", "rows"), [(["Birhc 5x3x2"] * 2, [11, 12]), (["Birhc 5x3x2"] * 3, [])])
    def test_two_rows_can_be_a_slip_and_three_were_meant(self, names: list[str], rows: list[int]) -> None:
        assert [flag.row for flag in misspelt(case(_named(*names)))] == rows

    @pytest.mark.parametrize(
        "name", ["Birch 5x3x3", "Birch 5x4x2", "BIRCH  5x3x2", "Beech 5x3x2", "Birch 5x3x2 B", "Z"]
    )
    def test_other_figures_capitals_and_names_far_off_are_none(self, name: str) -> None:
        assert misspelt(case(_named(name))) == []

    @pytest.mark.parametrize("size", [{"diameter": 5.5}, {"pitch": 4.0}, {"blades": 3.0}])
    def test_another_size_is_another_propeller(self, size: Row) -> None:
        assert misspelt(case(_named("Birhc 5x3x2", **size))) == []

    def test_blank_pitch_and_blades_agree_with_any(self) -> None:
        assert len(misspelt(case(_named("Birhc 5x3x2", pitch=None, blades=None)))) == 1

    def test_of_two_names_with_as_many_rows_neither_is_likelier(self) -> None:
        assert misspelt(case([*sweep(), reading("Birch"), reading("Birhc")])) == []

    def test_of_two_likely_names_the_one_with_more_rows_is_named(self) -> None:
        rows = [*_named("Birck 5x3x2"), *[reading("Bircks 5x3x2")] * 3]
        assert [flag.expected.split(",")[0] for flag in misspelt(case(rows))] == [f'"{BIRCH}"']

    @pytest.mark.parametrize(
        ("share", "flagged"), [(1.0, [2]), (1.04, [2]), (1.07, [])]
    )  # common practice, no source: 5 %
    def test_exchanged_letters_of_a_mark_are_a_slip_where_the_readings_are_alike(
        self, share: float, flagged: list[int]
    ) -> None:
        rows = [reading("10x4.7 SF", kind="peak") | {"thrust": 1280.0 + at} for at in range(3)]
        rows[1] |= {"prop": "10x4.7 FS", "thrust": round(1280.0 * share)}
        flags = misspelt(case(rows))
        assert [flag.row for flag in flags] == flagged
        assert [(flag.found, flag.expected) for flag in flags] == [
            ('"10x4.7 FS"', '"10x4.7 SF", as 2 other readings of the same size have it')
        ] * len(flagged)

    def test_another_mark_of_like_readings_was_meant(self) -> None:
        rows = [
            reading(name) | {"thrust": 1280.0 + at} for at, name in enumerate(["5x3 A", "5x3 B", "5x3 A", "5x3 CW"])
        ]
        assert misspelt(case([*rows, reading("5x3 CCW")])) == []

    def test_rows_set_aside_do_not_count(self) -> None:
        assert misspelt(case(_named("Birhc 5x3x2", use="no"))) == []


class TestSharesOfThrottle:
    @pytest.mark.parametrize(
        ("throttles", "shares"),
        [
            ([0.3, 0.5, 1.0], True),
            ([math.nan, 0.5], True),
            ([0.0, 1.0], True),
            ([1.0], True),
            ([], False),
            ([math.nan], False),
            ([0.0, 0.0], False),
            ([0.5, 1.01], False),
            ([1.0, 50.0, 100.0], False),
        ],
    )
    def test_shares_are_above_0_and_never_above_1(self, throttles: list[float], shares: bool) -> None:
        assert are_shares(np.array(throttles, dtype=float)) is shares

    def test_one_flag_speaks_of_all_rows(self) -> None:
        rows = [row | {"throttle": row["throttle"] / 100} for row in sweep()]
        rows.insert(0, reading(throttle=100.0) | {"throttle": None})
        (flag,) = shares_of_throttle(case(rows))
        assert (flag.row, flag.column, flag.severity) == (2, "throttle", Severity.DOUBTFUL)
        assert flag.found == "0.2 % to 1 % in 6 readings, and none higher"
        assert flag.also_rows == (3, 4, 5, 6, 7)
        assert "throttle" in {flag.column for flag in flags_of(rows)}

    @pytest.mark.parametrize(("throttle", "share", "flagged"), [(50, 0.5, True), (20, 0.2, False), (100, 1.0, True)])
    def test_a_share_among_percent_is_flagged_where_it_outdoes_a_higher_throttle(
        self, throttle: float, share: float, flagged: bool
    ) -> None:
        rows = [row | {"throttle": share if row["throttle"] == throttle else row["throttle"]} for row in sweep()]
        told = [flag for flag in flags_of(rows) if flag.title == "Throttle does not fit thrust"]
        assert [flag.found.partition(";")[0] for flag in told] == [
            f"{share:g} % with {reading(throttle=throttle)['thrust']:,g} g"
        ] * flagged

    def test_an_idle_reading_among_percent_is_left_alone(self) -> None:
        idle = reading(throttle=1.0, thrust=4.0, current=0.3)
        assert shares_of_throttle(case([*good_table(), idle])) == []

    @pytest.mark.parametrize("rows", [[], [reading() | {"throttle": None}], good_table()])
    def test_percent_and_blanks_are_left_alone(self, rows: list[Row]) -> None:
        assert shares_of_throttle(case(rows)) == []


@pytest.mark.parametrize("step", [1, -1])
def test_throttles_of_a_sweep_a_row_too_high_or_low_are_told_of_that_sweep(step: int) -> None:
    """The readings of one sweep get each other's throttles: all of it is told in the same words, and nothing else is."""
    rows = good_table()
    throttles = [row["throttle"] for row in rows[6:12]]
    for row, throttle in zip(rows[6:12], throttles[step:] + throttles[:step], strict=True):
        row["throttle"] = throttle
    found = flags_of(rows)
    assert {(flag.row, flag.title) for flag in found} == {
        (row, "Throttles perhaps moved by a row") for row in range(7, 13)
    }
    assert {flag.expected.partition(" %")[0] for flag in found} == {
        ", ".join(f"{throttle:g}" for throttle in throttles)
    }


def test_one_wrong_throttle_moves_no_sweep() -> None:
    rows = good_table()
    rows[6]["throttle"] = 10.0  # below all others of its sweep, with the highest thrust
    assert {flag.row for flag in flags_of(rows)} == {7}
