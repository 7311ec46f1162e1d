"""What follows on Craft, worked by hand from the session: 1420 g steady, 42.0 A at the peak, steps at 40 and 60 %.

500 g a motor lie between 380 g (40 %, 15.9 V, 5.0 A) and 700 g (60 %, 15.6 V, 12.0 A), straight in logarithms:
ln(500/380)/ln(700/380) = 0.4493 of the way, so 40 · 1.5^0.4493 = 48.0 %, 5 · 2.4^0.4493 = 7.41 A and
79.5 · (187.2/79.5)^0.4493 = 116.8 W. Four motors and 5 W for the rest take 472 W; 5 Ah · 4 · 3.7 V · 0.80 = 59.2 Wh last
7.5 minutes.
"""

import datetime
from pathlib import Path
from typing import Any

import pytest

from tests.judged import labels
from tests.judged.full_bench import on_three_cells
from tests.judged.workbook_by_labels import Workbook, written
from tests.judged.worked_benches import CRAFT, SESSION, Row, assessed, first
from xlsengine import read_bench_test
from xlsengine.publish.assessed import Publication
from xlsengine.workbook.reading.reader import read_workbook

BURSTS, HELD, HOVER = "forward flight with short full throttle", "full throttle held", "hover / 3D / ducted"


@pytest.fixture(scope="module")
def workbook(tmp_path_factory: pytest.TempPathFactory) -> Workbook:
    fields = CRAFT | {"way_of_flying": BURSTS, "test_date": datetime.date(2026, 5, 31)}
    return written(assessed(SESSION, fields), tmp_path_factory.mktemp("craft") / "r.xlsx")


@pytest.mark.parametrize(
    ("name", "shown", "words"),
    [
        ("thrust_to_weight", "2.8 : 1", "4 × 1,420 g for 2,000 g"),
        ("hover_throttle", "48 %", "between steady readings"),
        ("hover_current", "7.4 A", "472 W for the craft, 4.3 g/W"),
        ("minutes", "7.5 min", "on 80 % of the pack"),
        ("flight", "25–32 A", "rule of thumb; 42.0 A static"),
        ("bursts", "40 A", "at launch covers, 2.4 A to spare; at speed enough by estimate"),
        ("held", "50 A", "covers, 0.6 A to spare"),
        ("lift", "710 / 355 g", "4 motors: 2,840 / 1,420 g"),
    ],
)
def test_a_tile(workbook: Workbook, name: str, shown: str, words: str) -> None:
    title = workbook.find("Craft", labels.CRAFT_TILES[name])
    assert title.offset(1, 0).value == shown
    assert words in title.offset(3, 0).value


def test_what_stands_above_and_below(workbook: Workbook) -> None:
    told = [str(cell.value) for row in workbook.book["Craft"].iter_rows() for cell in row if cell.value]
    assert (
        "Thrust is 2.8 times the weight. ESC: 40 A for short bursts, 50 A or larger where full throttle is held."
        in told
    )
    (pack,) = [text for text in told if "from the pack" in text]
    assert pack.startswith(
        "All 4 motors at full throttle draw up to 168 A from the pack, 34 times its capacity in Ah (34C)."
    )
    # 5 Ah · 0.80 · 60 min/h over 4 · 42.0 A, which is certain, and 4 · 25.2 A
    minutes = "1.4 to 2.4 min at full throttle: 1.4 as on the stand, more in flight by estimate."
    assert f" 80 % of it last about {minutes}" in pack
    assert any(text.startswith("In flight, 6x4 on 4S: 25 to 32 A") for text in told)
    assert any("rated for 4 cells" in text and "never choose an ESC by them alone" in text for text in told)


def test_wire_and_minutes_go_by_what_flight_may_draw_beyond_the_stand() -> None:
    """A pitch near the diameter unloads late: 44.0 A, and 42.0 A on the stand. 20 Ah at 80 % are 240 A·min."""
    rows = [row | {"speed": 17_000 * (row["thrust"] / 1420) ** 0.49, "pitch": 5.5} for row in SESSION]
    fields = CRAFT | {"airspeed": 15.0, "way_of_flying": BURSTS, "label_kv": 1700.0, "pack_capacity": 20_000.0}
    found = assessed(rows, fields)
    low, high = (first(found, "Summary", f"flight_{end}") for end in ("low", "high"))
    assert (low, high) == pytest.approx((35.4, 44.0), abs=0.05)
    said = str(found.figures()["craft_pack"])
    assert said.startswith(
        "All 4 motors at full throttle draw up to 176 A from the pack"
    )  # 4 · 44.0 A, and not 4 · 42.0
    assert "(9C), in flight by estimate. " in said  # 176 A of 20 Ah
    # 240 A·min a motor over 44.0, 35.4 and 42.0 A
    assert "about 5.4 to 6.8 min at full throttle, in flight by estimate; 5.7 as on the stand." in said


def figures(fields: Row, rows: tuple[Row, ...] = SESSION) -> dict[str, Any]:
    return assessed(rows, fields).figures()


def test_an_empty_craft_says_what_one_motor_lifts_and_what_to_fill_in() -> None:
    found = figures({})
    assert found["craft_lift"] == "1,420 / 710 g"
    assert str(found["craft_headline"]).startswith(
        "One motor lifts 1,420 g on wings at 1:1, 710 g hovering at 2:1. ESC: 50 A or larger"
    )
    assert found["craft_thrust_to_weight_value"] == found["craft_minutes_value"] == "–"
    assert found["craft_thrust_to_weight_words"] == "fill in All-up mass and Number of motors"
    for label in ("All-up mass", "Number of motors", "Pack capacity", "Type of flying"):
        assert label in str(found["craft_to_fill"])
    assert "choose among" not in str(found["craft_to_fill"])  # one propeller on one cell count was tested


@pytest.mark.parametrize(
    ("left_out", "words"), [("all_up_mass", "fill in All-up mass"), ("motor_count", "fill in Number of motors")]
)
def test_the_cell_that_is_missing_is_named(left_out: str, words: str) -> None:
    found = figures(CRAFT | {left_out: None})
    assert found["craft_hover_throttle_words"] == words
    assert found["craft_hover_current_value"] == "–"


def test_without_a_capacity_there_are_no_minutes_and_all_else() -> None:
    found = figures(CRAFT | {"pack_capacity": None})
    assert (found["craft_minutes_value"], found["craft_minutes_words"]) == ("–", "fill in Pack capacity")
    assert found["craft_hover_current_value"] == "7.4 A"
    assert "draw up to 168 A from the pack. " in str(found["craft_pack"])


def test_without_a_peak_the_wiring_is_told_the_current_at_launch() -> None:
    """38.0 A steady, a peak not read: 1.25 times that is 47.5 A a motor, 190 A of four, 38 times 5.0 Ah."""
    steady = tuple(row for row in SESSION if row["kind"] == "steady")
    why = ", at launch: no peak was read, so 1.25 times the highest reading counts. "
    told = str(figures(CRAFT, steady)["craft_pack"])
    assert f"draw up to 190 A from the pack, 38 times its capacity in Ah (38C){why}" in told
    alone = str(figures(CRAFT | {"motor_count": None}, steady)["craft_pack"])
    assert alone.startswith(f"Each motor draws up to 47.5 A{why}")


def test_one_reading_and_one_motor_are_not_many() -> None:
    one = assessed([SESSION[0]], CRAFT | {"motor_count": 1.0})
    assert str(one.figures()["short_lift"]).endswith(" g on 1 motor")
    assert "for your craft (2,000 g on 1 motor " in str(one.figures()["esc_advice"])
    assert Publication(one).content.left_out == Publication(one).content.why_left_out == "The reading counts."
    content = Publication(assessed([SESSION[0] | {"use": "no"}])).content
    assert content.left_out == content.why_left_out == "1 of 1 reading left out: 1 by the tester."


def test_one_motor_is_spoken_of_as_one() -> None:
    found = figures(CRAFT | {"motor_count": 1.0})
    assert str(found["craft_pack"]).startswith("At full throttle the motor draws up to 42 A from the pack, 8 times")
    assert found["craft_lift_words"] == "all-up mass for each motor, by static thrust"


@pytest.mark.parametrize("way", [HELD, HOVER])
def test_held_and_hover_have_no_burst_answer(way: str) -> None:
    found = figures(CRAFT | {"way_of_flying": way})
    assert found["craft_bursts"] == "–"
    assert str(found["craft_bursts_words"]).startswith("no burst answer")
    assert found["craft_headline"] == "Thrust is 2.8 times the weight. ESC: 50 A or larger where full throttle is held."
    assert found["craft_flight"] == "42.0 A"


def test_a_propeller_that_was_not_tested_has_no_answer() -> None:
    found = figures(CRAFT | {"craft_propeller": "7x4"})
    assert found["craft_headline"] == "No answer: 7x4 was not tested (tested: 6x4: type one of these)."
    for name in ("thrust_to_weight_value", "hover_current_value", "minutes_value", "flight", "bursts", "held", "lift"):
        assert found[f"craft_{name}"] == "–", name


def test_peaks_alone_do_not_hover() -> None:
    found = figures(CRAFT, SESSION[:2])
    assert found["craft_hover_throttle"] == "–"
    assert "peaks only" in str(found["craft_hover_throttle_words"])
    assert found["craft_thrust_to_weight_value"] == "3.0 : 1"  # 4 · 1520 / 2000


def test_of_several_that_are_left_open_the_one_that_draws_most_is_taken_and_named() -> None:
    found = figures({}, (*map(on_three_cells, SESSION), *SESSION))
    assert str(found["craft_basis"]).startswith(
        "For 6x4 on 4S, which draws most of the 2 that Propeller and Pack cells leave open. Thrust is the mean of its steady "
    )
    assert "choose among" in str(found["craft_to_fill"])


# --- the way back ------------------------------------------------------------------------------------------------


def test_it_comes_back_and_nothing_that_follows_is_taken_for_typed(workbook: Workbook) -> None:
    fields = read_bench_test(workbook.path).fields
    assert {name: fields[name] for name in ("way_of_flying", "all_up_mass", "motor_count")} == {
        "way_of_flying": BURSTS,
        "all_up_mass": 2000.0,
        "motor_count": 4.0,
    }
    assert not [told for told in read_workbook(workbook.path).told if "Craft" in str(told)]


def test_what_a_person_types_beside_the_form_is_told(workbook: Workbook, tmp_path: Path) -> None:
    edited = workbook.formulas
    edited["Craft"]["Z30"] = "my own words"
    edited.save(tmp_path / "edited.xlsx")
    told = [str(said) for said in read_workbook(tmp_path / "edited.xlsx").told]
    assert [said for said in told if "1 cell outside the tables of Craft" in said and "my own words" in said], told


def test_without_steady_readings_there_are_no_tiles_for_them(tmp_path: Path) -> None:
    """Peaks alone: neither the tile of grams per watt at a thrust nor those of hovering; one line says what adds them."""
    peaks = [row for row in SESSION if row["kind"] == "peak"]
    found = written(assessed(peaks, CRAFT | {"way_of_flying": BURSTS}), tmp_path / "peaks.xlsx")
    shown = {sheet: [str(cell.value) for row in found.book[sheet].iter_rows() for cell in row] for sheet in SHEETS}
    assert not [text for text in shown["Report"] if text.startswith(("Not measured: needs steady", "Best g/W at 5"))]
    assert any("Steady readings at part throttle would add grams per watt" in text for text in shown["Report"])
    for name in ("hover_throttle", "hover_current", "minutes"):
        assert labels.CRAFT_TILES[name] not in shown["Craft"]
    for name in ("thrust_to_weight", "flight", "bursts", "held", "lift"):
        assert labels.CRAFT_TILES[name] in shown["Craft"]
    assert len([text for text in shown["Craft"] if "steady readings at part throttle would add them" in text]) == 1
    assert "–" not in shown["Craft"]


SHEETS = ("Report", "Craft")
