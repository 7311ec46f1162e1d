"""What a motor suits, worked by hand: each verdict from both sides of its limit.

One steady reading of 900 g, 11.10 V and 30.0 A on three cells, a 5x3.5 at 24,000 rpm, with ± worked out from what Bench
states: 10 g on thrust is 10/√3 = 5.77 g, the scatter that is assumed is 1.5 % or 13.5 g with 8 degrees of freedom; their
root sum of squares is 14.68 g with 14.68⁴/(13.5⁴/8) = 11.2 degrees of freedom, so t(95 %, 11) = 2.201 (GUM, table G.2:
2.20) makes ± 32.3 g of it. The thrust is 867.7 g for sure and 932.3 g at most.
"""

from pathlib import Path
from typing import Any

import pytest

from tests.judged.workbook_by_labels import written
from tests.judged.worked_benches import READING, Row, assessed, column
from xlsengine.bench.inputs.uses import USES

BENCH: Row = {"thrust_accuracy": 10.0, "speed_accuracy": 1.0, "voltage_accuracy": 0.5, "current_accuracy": 1.0}
USE: Row = {
    "use_name": "any craft",
    "use_carried": "wing",
    "use_motors": 1.0,
    "use_cells_low": 3.0,
    "use_cells_high": 3.0,
    "use_diameter_low": 4.9,
    "use_diameter_high": 5.2,
    "use_mass_low": 100.0,
    "use_mass_high": 100.0,
    "use_ratio_low": 1.0,
    "use_ratio_high": 20.0,
}
SUITS, NEAR, DOES_NOT, NOT_TESTED, NOT_JUDGED = ("suits", "borderline", "does not", "not tested", "not judged")


def test_uses_added_lead_and_those_not_tested_stand_last(tmp_path: Path) -> None:
    """Of a table of its own: the reading is on 3S; the first use asks for 6S. A use beyond the usual list was added."""
    usual = [USE | {"use_name": f"use {place}"} for place in range(len(USES.rows))]
    usual[0] |= {"use_cells_low": 6.0, "use_cells_high": 6.0}
    made = assessed([READING], BENCH, Uses=[*usual, USE | {"use_name": "my own"}])
    craft = written(made, tmp_path / "uses.xlsx").book["Craft"]
    first = next(row for row in range(1, craft.max_row) if craft.cell(row, 1).value == "What for") + 1
    names = [craft.cell(row, 1).value for row in range(first, first + len(usual) + 1)]
    assert names == ["my own", *(f"use {place}" for place in range(1, len(usual))), "use 0"]


def stands(use: Row, *readings: Row, **fields: Any) -> tuple[str, str]:
    """Return verdict and reason of one use for the reading above, or for others."""
    rows = [READING | each for each in readings] or [READING]
    test = assessed(rows, BENCH | fields, Uses=[USE | use])
    return column(test, "Uses", "suits_verdict")[0], column(test, "Uses", "suits_reason")[0]


@pytest.mark.parametrize(
    ("lightest", "heaviest", "verdict"), [(100, 867, SUITS), (100, 868, NEAR), (932, 932, NEAR), (933, 933, DOES_NOT)]
)
def test_thrust_at_a_ratio_of_one(lightest: float, heaviest: float, verdict: str) -> None:
    assert stands({"use_mass_low": lightest, "use_mass_high": heaviest})[0] == verdict


def test_thrust_of_four_motors_at_five_to_one() -> None:
    """4 motors, 1080 g, 5:1: 1,350 g a motor."""
    use = {"use_motors": 4.0, "use_mass_low": 1080.0, "use_mass_high": 1080.0, "use_ratio_low": 5.0}
    assert stands(use) == (DOES_NOT, "needs 1,350 g a motor at 5:1 (1,080 g all-up); 5x3.5 on 3S gives 900 g ±4 %")


@pytest.mark.parametrize(
    ("low", "high", "verdict"), [(10, 35.2, SUITS), (10, 35.3, NEAR), (35.9, 35.9, NEAR), (36.0, 36.0, DOES_NOT)]
)
def test_pitch_speed_that_was_read(low: float, high: float, verdict: str) -> None:
    """3.5 in · 0.0254 · 24,000/60 = 35.56 m/s, ± 1 %: 35.20 to 35.92."""
    assert stands({"use_airspeed_low": low, "use_airspeed_high": high})[0] == verdict


@pytest.mark.parametrize(
    ("low", "high", "verdict"), [(10, 28.7, SUITS), (10, 28.9, NEAR), (40.2, 40.2, NEAR), (40.4, 40.4, DOES_NOT)]
)
def test_pitch_speed_by_kv_and_volts(low: float, high: float, verdict: str) -> None:
    """2,800 · 11.10 = 31,080 rpm, of which 0.625 to 0.875: 3.5 in · 0.0254/60 · 31,080 · that = 28.78 to 40.29 m/s."""
    assert stands({"use_airspeed_low": low, "use_airspeed_high": high}, {"speed": None})[0] == verdict


def test_no_pitch_speed_is_no_objection_and_no_consent() -> None:
    verdict, why = stands({"use_airspeed_high": 1.0}, {"speed": None}, label_kv=None)
    assert verdict == NEAR
    assert why.endswith("; pitch speed not known (read a speed, or give Kv and pitch), flown at up to 1 m/s")


@pytest.mark.parametrize(
    ("lightest", "heaviest", "verdict"), [(100, 366, SUITS), (100, 367, NEAR), (606, 606, NEAR), (607, 607, DOES_NOT)]
)
def test_hover_without_throttle_steps(lightest: float, heaviest: float, verdict: str) -> None:
    """Up to 65 % throttle: 867.7 · 0.65² = 366.6 g for sure, 932.3 · 0.65 = 606.0 g at most."""
    use = {"use_carried": "rotors", "use_mass_low": lightest, "use_mass_high": heaviest}
    assert stands(use)[0] == verdict


@pytest.mark.parametrize(("ratio", "asks"), [(2.3, " to hover with 65 % throttle"), (2.4, " at 2.4:1")])
def test_rotors_need_thrust_to_hover(ratio: float, asks: str) -> None:
    """Hovering with 65 % takes 1/0.65² = 2.367:1, where thrust goes with its square; 300 g at that are 710 g a motor."""
    use = {"use_carried": "rotors", "use_mass_low": 300.0, "use_mass_high": 300.0, "use_ratio_low": ratio}
    verdict, why = stands(use)
    assert verdict == SUITS
    assert why.startswith(
        f"needs {'690–710' if ratio < 2.367 else '720'} g a motor{asks} (300 g all-up); 5x3.5 on 3S gives "
    )


def test_wings_need_not_hover() -> None:
    assert stands({"use_mass_low": 600.0, "use_mass_high": 860.0})[0] == SUITS


@pytest.mark.parametrize(("loading", "verdict"), [(319, SUITS), (325, NEAR), (341, NEAR), (347, DOES_NOT)])
def test_watts_per_kilogram_of_a_wing(loading: float, verdict: str) -> None:
    """11.10 V · 30.0 A = 333 W for 1 kg, ± 3.6 % by instruments (0.5 and 1 % over √3) and assumed scatter: 321 to 345 W."""
    use = {"use_loading": float(loading), "use_mass_low": 1000.0, "use_mass_high": 1000.0, "use_ratio_low": 0.1}
    found, why = stands(use)
    assert found == verdict
    weak = {NEAR: "may be too weak", DOES_NOT: "too weak"}.get(verdict, "")
    assert why.endswith(f"; {weak}: draws 333 of {loading} W wanted") != (verdict == SUITS)


def test_rotors_have_no_power_loading() -> None:
    assert stands({"use_carried": "rotors", "use_loading": 2000.0})[0] == SUITS


@pytest.mark.parametrize(("most", "verdict"), [(1.74, SUITS), (1.73, NEAR)])
def test_more_than_wanted(most: float, verdict: str) -> None:
    """500 g · 1.74 = 870 g is above the 867.7 g that are sure, 500 g · 1.73 = 865 g is not."""
    found, why = stands({"use_mass_low": 500.0, "use_mass_high": 500.0, "use_ratio_high": most})
    assert found == verdict
    assert why.endswith("; too strong: more than 1.7:1 with the heaviest") == (verdict == NEAR)


def test_what_is_too_strong_is_spoken_of_only_where_nothing_nearer_was_tested() -> None:
    """900 g on three cells is within 3:1 of 300 g and short of 1:1 of 1,000 g; 1,500 g on four is five times too much."""
    use = {"use_cells_high": 4.0, "use_mass_low": 300.0, "use_mass_high": 300.0, "use_ratio_high": 3.1}
    more = {"cells": 4.0, "voltage": 14.8, "thrust": 1500.0, "current": 45.0, "speed": 30_000.0}
    verdict, why = stands(use | {"use_airspeed_high": 40.0}, {}, more)
    assert (verdict, "on 3S gives 900 g" in why, "too strong" in why) == (NEAR, True, False)
    assert "too strong: more than 3.1:1" in stands(use | {"use_airspeed_high": 40.0}, more)[1]


@pytest.mark.parametrize(
    ("use", "why"),
    [
        ({"use_cells_low": 4.0, "use_cells_high": 4.0}, "no propeller of 4.9–5.2 in was tested on 4S"),
        ({"use_cells_low": 4.0, "use_cells_high": 6.0}, "no propeller of 4.9–5.2 in was tested on 4S to 6S"),
        ({"use_diameter_low": 6.9, "use_diameter_high": 7.2}, "no propeller of 6.9–7.2 in was tested on 3S"),
        ({"use_diameter_low": 5.1}, "no propeller of 5.1–5.2 in was tested on 3S"),
    ],
)
def test_what_was_not_tested_is_no_refusal(use: Row, why: str) -> None:
    assert stands(use) == (NOT_TESTED, why)


def test_more_cells_that_were_not_tested_may_still_do() -> None:
    verdict, why = stands({"use_cells_high": 6.0, "use_mass_low": 2000.0, "use_mass_high": 2000.0})
    assert verdict == NOT_TESTED
    assert why.endswith("; not tested on 6S")


def test_fewer_cells_that_were_not_tested_would_not_do() -> None:
    assert stands({"use_cells_low": 2.0, "use_mass_low": 2000.0, "use_mass_high": 2000.0})[0] == DOES_NOT


def test_edges_of_the_ranges_are_within() -> None:
    assert stands({"use_diameter_low": 5.0, "use_diameter_high": 5.0})[0] == SUITS


WEAK: Row = {"prop": "5x3", "pitch": 3.0, "thrust": 500.0, "current": 14.0, "speed": 19_000.0}
STRONG: Row = {"prop": "5x4", "pitch": 4.0, "thrust": 980.0, "current": 34.0, "speed": 23_500.0}


@pytest.mark.parametrize(
    ("other", "gives"),
    [
        (STRONG, "5x4 on 3S gives 980 g ±4 %; all limits met by 2 of 2 tested"),
        (WEAK, "5x3.5 on 3S gives 900 g ±4 %; all limits met by 1 of 2 tested"),
    ],
)
def test_the_strongest_that_suits_and_how_many_do(other: Row, gives: str) -> None:
    assert stands({"use_mass_low": 600.0, "use_mass_high": 700.0}, {}, other) == (
        SUITS,
        f"needs 600–700 g a motor at 1:1 (600–700 g all-up); {gives}",
    )


def test_another_propeller_may_pass_where_the_strongest_does_not() -> None:
    """The stronger one has a low pitch speed: 2 in · 0.0254 · 15,000/60 = 12.7 m/s; the verdict is of the other."""
    slow: Row = {"prop": "5x2", "pitch": 2.0, "thrust": 1000.0, "current": 36.0, "speed": 15_000.0}
    use = {"use_mass_low": 700.0, "use_mass_high": 700.0, "use_airspeed_low": 20.0, "use_airspeed_high": 30.0}
    verdict, why = stands(use, {}, slow)
    assert verdict == SUITS
    assert "; 5x3.5 on 3S gives " in why


def test_the_fastest_that_has_the_thrust_is_spoken_of() -> None:
    """At 36 m/s neither is sure: 35.2 m/s, and 2.5 in · 0.0254 · 24,500/60 = 25.9 m/s of the stronger one."""
    strong: Row = {"prop": "5x2.5", "pitch": 2.5, "thrust": 1000.0, "current": 36.0, "speed": 24_500.0}
    use = {"use_mass_low": 700.0, "use_mass_high": 700.0, "use_airspeed_low": 30.0, "use_airspeed_high": 36.0}
    assert stands(use, {}, strong) == (
        NEAR,
        "needs 700 g a motor at 1:1 (700 g all-up); 5x3.5 on 3S gives 900 g ±4 %; too slow: pitch speed 35.2–35.9 m/s, "
        "flown at up to 36 m/s",
    )
    assert (
        "; 5x2.5 on 3S gives 1,000 g "
        in stands(use | {"use_mass_high": 1100.0, "use_airspeed_low": 20.0}, {}, strong)[1]
    )


def test_none_that_has_both_thrust_and_speed_is_refused() -> None:
    """One has 25.9 m/s at most 26.2, the other 500 g: at 700 g and 30 m/s neither may do, though each limit is met by one."""
    strong: Row = {"prop": "5x2.5", "pitch": 2.5, "thrust": 1000.0, "current": 36.0, "speed": 24_500.0}
    weak: Row = {"thrust": 500.0, "current": 20.0}
    use = {"use_mass_low": 700.0, "use_mass_high": 700.0, "use_airspeed_low": 30.0}
    verdict, why = stands(use, weak, strong)
    assert verdict == DOES_NOT
    assert why.endswith("; 5x2.5 on 3S gives 1,000 g ±4 %; too slow: pitch speed 25.7–26.2 m/s, flown at up to 30 m/s")


def test_a_row_without_a_number_it_needs_is_not_judged() -> None:
    row = {name: value for name, value in USE.items() if name != "use_motors"}
    test = assessed([READING], BENCH, Uses=[row])
    said = [column(test, "Uses", f"suits_{part}")[0] for part in ("verdict", "reason")]
    assert said == [NOT_JUDGED, "its row on Settings is not filled in"]


def test_a_reading_that_cannot_be_speaks_neither_for_nor_against() -> None:
    """90,000 g from 333 W is impossible and left out; the propeller then has no reading that counts."""
    heavy = {"use_mass_low": 2000.0, "use_mass_high": 2000.0}
    assert stands(heavy, {"thrust": 9000.0})[0] == NOT_TESTED
    verdict, why = stands(heavy, {"thrust": 9000.0, "use": "yes"})
    assert verdict == NEAR
    assert "; 5x3.5 on 3S (doubtful: see Checks) gives 9,000 g" in why


def test_a_row_that_is_left_out_by_the_tester() -> None:
    assert stands({}, {"use": "no"})[0] == NOT_TESTED


def test_peaks_alone_are_called_that() -> None:
    assert "5x3.5 on 3S (peak) gives" in stands({}, {"kind": "peak"})[1]


def test_a_new_workbook_holds_its_uses_and_marks_them() -> None:
    test = assessed([READING])
    names, sources = (column(test, "Uses", name) for name in ("use_name", "use_source"))
    filled = [(name, source) for name, source in zip(names, sources, strict=True) if name]
    assert len(filled) == 8
    assert {source for _, source in filled} == {"common practice, no source"}
    assert set(list(column(test, "Uses", "suits_verdict"))[8:]) == {""}
