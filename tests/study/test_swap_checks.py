import pytest

from tests.study.small_bench import Row, case, flags_of, good_table, reading, said, sweep, without_speed
from xlsengine.study.case import Case
from xlsengine.study.flags import Flag
from xlsengine.study.row_words import row_mistakes


def _found(judged: Case) -> list[Flag]:
    return [flag for flag in row_mistakes(judged) if "exchanged with" in flag.title]


def _exchanged(column: str, at: int, rows: list[Row] | None = None) -> list[Row]:
    rows = rows or good_table()
    rows[at][column], rows[at + 1][column] = rows[at + 1][column], rows[at][column]
    return rows


@pytest.mark.parametrize("column", ["thrust", "current", "speed"])
@pytest.mark.parametrize("at", [0, 1, 2, 3, 4, 5, 6, 8, 15, 18])
def test_an_exchange_is_flagged_on_both_rows_and_nothing_else_is(column: str, at: int) -> None:
    title = f"{column.capitalize()} exchanged with run "
    flags = flags_of(_exchanged(column, at))
    assert said(flags) == [(at + 1, column, f"{title}{at + 2}"), (at + 2, column, f"{title}{at + 1}")]
    assert [flag.also_rows for flag in flags] == [(at + 2,), (at + 1,)]


@pytest.mark.parametrize("column", ["thrust", "current"])
def test_the_throttle_tells_thrust_from_current_without_speeds(column: str) -> None:
    flags = _found(case(without_speed(_exchanged(column, 2))))
    assert [(flag.row, flag.column) for flag in flags] == [(3, column), (4, column)]


def test_volts_exchanged_between_cell_counts() -> None:
    # Between the last row of three cells and the first of four.
    assert said(_found(case(_exchanged("voltage", 5)))) == [
        (6, "voltage", "Voltage exchanged with run 7"),
        (7, "voltage", "Voltage exchanged with run 6"),
    ]


def test_the_words_name_the_other_reading_and_run() -> None:
    first, _ = _found(case(_exchanged("thrust", 2)))
    other = good_table()[2]["thrust"]
    assert first.expected == f"{other:,g} g, which stands in run 4"


def test_good_rows_are_left_alone() -> None:
    assert _found(case(good_table())) == []


def test_a_row_between_them_hides_no_exchange() -> None:
    rows = _exchanged("thrust", 2)
    rows.insert(3, {"use": "no", "note": "a gust"})
    assert [(flag.row, flag.also_rows) for flag in _found(case(rows))] == [(3, (5,)), (5, (3,))]


def test_one_odd_reading_beside_a_good_one_is_no_swap() -> None:
    rows = good_table()
    rows[2]["thrust"] = round(rows[2]["thrust"] * 1.5)
    assert _found(case(rows)) == []


def test_repeats_exchanged_are_nobodys_business() -> None:
    rows = [*sweep(), reading(), reading(thrust=1275.0)]
    assert _found(case(rows)) == []


def test_both_columns_are_named_where_no_relative_decides() -> None:
    # A pair with no repeats, no speed and no third throttle; other rows give the line.
    rows = without_speed(sweep("A", 5.0, 4)) + without_speed([reading("Z", 5.0, 4, throttle) for throttle in (60, 90)])
    flags = _found(case(_exchanged("thrust", 6, rows)))
    assert {flag.title for flag in flags} == {f"Thrust or current exchanged with reading {number}" for number in (7, 8)}


def test_repeats_that_agree_speak_against_an_exchange() -> None:
    # Two propellers whose currents would fit each other's thrusts: each has a second reading that bears it out.
    pairs = [reading("Y", thrust=640.0), reading("Y", thrust=640.0)]
    pairs += [reading("Z", current=14.0), reading("Z", current=14.0)]
    assert _found(case(without_speed(sweep() + pairs[1:3]))) != []
    assert _found(case(without_speed(sweep() + pairs))) == []


def test_an_exchange_that_only_shares_out_the_misfit_is_none() -> None:
    rows = without_speed([*sweep(), reading("Z", throttle=93), reading("Z", throttle=100)])
    rows[6]["current"] = round(rows[6]["current"] * 1.45, 2)
    assert _found(case(rows)) == []


def test_a_row_is_exchanged_with_one_neighbour_only() -> None:
    """Three thrusts moved on by a row, the last one to the first."""
    told = [flag.row for flag in _found(case(_exchanged("thrust", 3, _exchanged("thrust", 2))))]
    assert len(told) == len(set(told))
