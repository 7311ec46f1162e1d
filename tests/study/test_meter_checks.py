"""A meter at its end, watts for amps, units in a block, a weak pack in one repeat: told alone, with what is to be typed."""

import pytest

from tests.study.test_honest_mistakes import OUNCE, Row, table, told
from xlsengine import bench_test, evaluate


def _clipped(column: str, top: float) -> tuple[list[Row], list[int]]:
    rows = table()
    over = [row["run"] for row in rows if row[column] >= top]
    for row in rows:
        row[column] = min(row[column], top)
    return rows, over


@pytest.mark.parametrize(
    ("column", "top", "what"),
    [
        ("current", 20.0, "Current meter perhaps at its end"),
        ("current", 16.0, "Current meter perhaps at its end"),
        ("thrust", 1050.0, "Thrust stand perhaps at its end"),
        ("thrust", 900.0, "Thrust stand perhaps at its end"),
    ],
)
def test_a_meter_at_its_end_is_told_at_its_readings_and_page_one_doubts_them(
    column: str, top: float, what: str
) -> None:
    rows, over = _clipped(column, top)
    assert told(rows) == dict.fromkeys(over, ("doubtful", what))
    shown = evaluate(bench_test({"label_kv": 1100.0}, {"Readings": rows})).headlines()
    assert all(str(each["note"]).startswith("A doubtful reading decides this") for each in shown[:2])


@pytest.mark.parametrize("run", [12, 9, 14])
def test_watts_among_amps_are_told_with_the_amps_that_they_are(run: int) -> None:
    """Amps are watts over the volts of the same row."""
    rows = table()
    amps = rows[run - 1]["current"]
    rows[run - 1]["current"] = float(round(amps * rows[run - 1]["voltage"]))
    assert told(rows) == {run: ("impossible", "Current perhaps in watts")}
    flags = evaluate(bench_test({"label_kv": 1100.0}, {"Readings": rows})).flag_list()
    (fix,) = (flag["fix"] for flag in flags if flag["severity"] != "note")
    assert float(fix.split("type ")[1].split(" A")[0]) == pytest.approx(amps, rel=0.01)


def test_watts_in_both_repeats_are_told_of_both() -> None:
    rows = table()
    at = [row for row in rows if row["prop"] == "9x4.7 SF" and row["cells"] == 3]
    for row in at:
        row["current"] = float(round(row["current"] * row["voltage"]))
    assert told(rows) == {row["run"]: ("impossible", "Current perhaps in watts") for row in at}


@pytest.mark.parametrize(
    ("column", "factor", "what"),
    [
        ("thrust", 1 / OUNCE, "Thrust perhaps in ounces"),
        ("thrust", 1 / 101.97, "Thrust perhaps in newtons"),
        ("thrust", 1 / 453.6, "Thrust perhaps in pounds"),
        ("thrust", 1e-3, "Thrust perhaps in kilograms"),
        ("current", 0.0, "Amps perhaps in watts"),
    ],
)
@pytest.mark.parametrize("cells", [2, 3])
def test_a_cell_count_in_another_unit_is_told_by_its_unit(column: str, factor: float, what: str, cells: int) -> None:
    rows = table()
    off = [row for row in rows if row["cells"] == cells]
    for row in off:
        row[column] = round(row[column] * (factor or row["voltage"]), 3 if column == "thrust" else 0)
    said = told(rows)
    assert set(said) == {row["run"] for row in off}
    assert {words for _, words in said.values()} == {what}


@pytest.mark.parametrize(("share", "is_told"), [(0.97, False), (0.93, True), (0.8, True)])
def test_a_repeat_on_a_weak_pack_is_told(share: float, is_told: bool) -> None:
    """Thrust and amps go as volts to a power of some 1.6: at equal volts such repeats agree."""
    rows = table()
    row = rows[20]
    row["voltage"] = round(row["voltage"] * share, 2)
    row["current"] = round(row["current"] * share**1.6, 1)
    row["thrust"] = round(row["thrust"] * share**1.6)
    assert told(rows) == ({21: ("doubtful", "Volts far below those of its repeats")} if is_told else {})


def test_idle_amps_in_both_repeats_blame_no_reading_that_fits() -> None:
    rows = table()
    at = [row for row in rows if row["prop"] == "9x6 E" and row["cells"] == 3]
    for row in at:
        row["current"] = 1.3
    assert set(told(rows)) == {row["run"] for row in at}
