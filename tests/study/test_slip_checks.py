import pytest

from tests.study.small_bench import case, flags_of, good_table, reading, said, sweep, without_speed
from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.case import Case
from xlsengine.study.flags import Flag
from xlsengine.study.row_words import row_mistakes


def _found(judged: Case) -> list[Flag]:
    return [flag for flag in row_mistakes(judged) if "Decimal slip" in flag.title]


def _slipped(column: str, at: int, times: float) -> list[dict[str, object]]:
    rows = good_table()
    rows[at][column] = round(rows[at][column] * times, 4)
    return rows


@pytest.mark.parametrize("times", [0.1, 10.0])
@pytest.mark.parametrize("column", ["thrust", "current", "voltage", "speed"])
@pytest.mark.parametrize("at", [0, 1, 5, 6, 13, 23])
def test_a_slip_is_found_in_its_column_and_nothing_else_is(column: str, at: int, times: float) -> None:
    assert said(flags_of(_slipped(column, at, times))) == [(at + 1, column, f"Decimal slip in {column}")]


@pytest.mark.parametrize("times", [0.1, 10.0])
@pytest.mark.parametrize("column", ["thrust", "current"])
@pytest.mark.parametrize("at", [0, 1, 5, 6, 13, 23])
def test_a_slip_is_found_in_its_column_without_speeds(column: str, at: int, times: float) -> None:
    rows = without_speed(_slipped(column, at, times))
    assert said(flags_of(rows)) == [(at + 1, column, f"Decimal slip in {column}")]


def test_good_rows_have_no_slip() -> None:
    assert _found(case(good_table())) == []


def test_the_fix_gives_the_shifted_reading() -> None:
    (flag,) = flags_of(_slipped("thrust", 6, 10))
    assert flag.found == "12,800 g"
    assert flag.expected == "near 1,280 g"
    assert flag.fix == "If your bench notes agree, type 1280 g."


@pytest.mark.parametrize("column", ["thrust", "current"])
@pytest.mark.parametrize("times", [10, 0.1])
def test_a_slip_either_way_is_impossible_where_the_others_back_it(column: str, times: float) -> None:
    (flag,) = flags_of(without_speed(_slipped(column, 6, times)))
    assert flag.severity is Severity.IMPOSSIBLE


def test_the_throttle_decides_against_a_shift() -> None:
    rows = without_speed(sweep("A") + sweep("B", 6.0))
    rows[3]["current"] = round(rows[3]["current"] * 10, 2)
    assert said(_found(case(rows))) == [(4, "current", "Decimal slip in current")]


def test_a_shift_against_the_throttle_is_none() -> None:
    # Ten times the thrust would fit this current, but the thrust is right.
    rows = without_speed(good_table())
    rows[9]["current"] = round(rows[9]["current"] * 25, 2)
    assert said(flags_of(rows)) == [(10, "current", "Current does not fit thrust")]


def test_a_slip_at_the_low_end_where_the_line_allows_much_is_backed_by_the_throttle() -> None:
    rows = without_speed(sweep() + [reading(thrust=thrust) for thrust in (1278.0, 1281.0, 1283.0, 1284.0, 1279.0)])
    rows[1]["thrust"] = rows[1]["thrust"] / 10
    judged = case(rows)
    assert said(_found(judged)) == [(2, "thrust", "Decimal slip in thrust")]


@pytest.mark.parametrize(("column", "times"), [("current", 0.1), ("current", 10), ("thrust", 0.1), ("thrust", 10)])
def test_a_slip_is_found_where_idling_bends_the_line(column: str, times: float) -> None:
    rows = [row | {"current": round(row["current"] + 0.45, 2)} for row in sweep() + sweep(pitch=3.5)]
    rows[1][column] = round(rows[1][column] * times, 3)
    assert said(_found(case(without_speed(rows)))) == [(2, column, f"Decimal slip in {column}")]


def test_an_exchange_by_a_factor_of_ten_is_no_slip() -> None:
    rows = [reading(throttle=throttle) for throttle in (100, 26, 35, 50, 65, 80)]
    rows[0]["thrust"], rows[1]["thrust"] = rows[1]["thrust"], rows[0]["thrust"]
    assert {flag.title for flag in flags_of(rows)} == {
        "Thrust exchanged with reading 1",
        "Thrust exchanged with reading 2",
    }


def test_a_speed_is_held_against_kv_where_it_stands_alone() -> None:
    rows = [reading(speed=2900.0), *without_speed(sweep()[1:])]
    assert said(_found(case(rows))) == [(1, "speed", "Decimal slip in speed")]


def test_fourteen_times_is_no_slip() -> None:
    rows = _slipped("current", 6, 14.0)
    assert said(_found(case(rows, slip_tolerance=30))) == []
