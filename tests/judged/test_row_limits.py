"""Every check of a single row just inside and just outside its limit, with readings worked back from that limit.

The limits are written here as numbers; each is common practice without a source unless the line says otherwise.
"""

import math
from typing import Any, NamedTuple

import pytest

from tests.judged.worked_benches import INCH, READING, Row, assessed, column, flags, grams_for, ideal_power, live_checks
from xlsengine.bench.checks.row_checks import ROW_CHECKS
from xlsengine.expression import evaluate

NOTE, DOUBTFUL, IMPOSSIBLE = "note", "doubtful", "impossible"
WATTS = 11.10 * 30.0
FULL_KV = 2800.0 * 11.10  # labelled Kv times volts
OUNCE, POUND, NEWTON = 28.349523125, 453.59237, 1000 / 9.80665  # in grams (of force): NIST SP 811


class Limit(NamedTuple):
    """A check, how severe it is and where to look, with what is typed just inside and just outside."""

    title: str
    severity: str
    look_at: str
    inside: Row
    outside: Row
    unlike: str = ""


def thrust_of(efficiency: float) -> Row:
    return {"thrust": grams_for(efficiency, WATTS, 5.0)}


def in_unit(grams: float, efficiency: float) -> Row:
    """Return a thrust in another unit, whose grams would have this overall static efficiency."""
    return {"thrust": grams_for(efficiency, WATTS, 5.0) / grams}


def mach(number: float) -> Row:
    """Return a speed at which 5 in blades have this tip Mach number at 15 °C (340.294 m/s, ISO 2533)."""
    return {"speed": number * 340.294 * 60 / (math.pi * 5.0 * INCH)}


def torque_of(merit: float) -> Row:
    """Return the torque with which the reading has this figure of merit: ideal power over Q·ω."""
    return {"torque": ideal_power(900, 5.0) / (merit * 24_000 * 2 * math.pi / 60)}


LIMITS = (
    Limit(
        "Volts per cell too low", DOUBTFUL, "voltage", {"voltage": 9.0, "speed": None}, {"voltage": 8.99, "speed": None}
    ),
    # momentum theory: nothing beats the ideal disk
    Limit("More thrust than an ideal propeller", IMPOSSIBLE, "thrust", thrust_of(0.999), thrust_of(1.001)),
    # figure of merit below 0.8 times motor and ESC below 0.85
    Limit("Static efficiency too good", DOUBTFUL, "thrust", thrust_of(0.699), thrust_of(0.701)),
    Limit("Static efficiency too good", DOUBTFUL, "thrust", thrust_of(1.001), thrust_of(0.999)),
    Limit("Static efficiency too poor at full throttle", DOUBTFUL, "thrust", thrust_of(0.151), thrust_of(0.149)),
    Limit("Thrust without power", IMPOSSIBLE, "current", {"current": 30.0}, {"current": 0.0}),
    Limit("Thrust without power", IMPOSSIBLE, "current", {"throttle": 50.0, "voltage": 0.0}, {"voltage": 0.0}),
    Limit("Thrust without power", IMPOSSIBLE, "current", {"current": 0.0, "thrust": 0.0}, {"current": 0.0}),
    # slipped by ten 0.4 becomes 0.4/10**1.5 = 0.013, taken in ounces 0.4/28.35**1.5 = 0.003; common practice, no source
    Limit("Too little thrust for its power", IMPOSSIBLE, "thrust", thrust_of(0.031), thrust_of(0.029)),
    Limit(
        "Too little thrust for its power",
        IMPOSSIBLE,
        "thrust",
        thrust_of(0.029) | {"throttle": 97.9},
        thrust_of(0.029) | {"throttle": 98.0},
    ),
    Limit("Static efficiency too poor at full throttle", DOUBTFUL, "thrust", thrust_of(0.029), thrust_of(0.031)),
    Limit(
        "Static efficiency too poor at full throttle",
        DOUBTFUL,
        "thrust",
        thrust_of(0.149) | {"throttle": 97.9},
        thrust_of(0.149) | {"throttle": 98.0},
    ),
    Limit(
        # 0.97 of the labelled Kv with its 5 %
        "Faster than Kv times volts allows",
        DOUBTFUL,
        "speed",
        {"speed": 1.018 * FULL_KV},
        {"speed": 1.019 * FULL_KV},
    ),
    Limit(
        "Slow for Kv times volts at full throttle",
        DOUBTFUL,
        "speed",
        {"speed": 0.501 * FULL_KV},
        {"speed": 0.499 * FULL_KV},
    ),
    Limit(
        "Slow for Kv times volts at full throttle",
        DOUBTFUL,
        "speed",
        {"speed": 0.4 * FULL_KV, "throttle": 60.0},
        {"speed": 0.4 * FULL_KV},
    ),
    Limit(
        "Fast blade tips",
        NOTE,
        "speed",
        mach(0.699) | {"voltage": 13.0, "cells": 4.0},
        mach(0.701) | {"voltage": 13.0, "cells": 4.0},
    ),
    Limit("Hot motor", NOTE, "motor_temperature", {"motor_temperature": 80.0}, {"motor_temperature": 80.5}),
    Limit("Pitch over diameter above the limit", NOTE, "pitch", {"pitch": 5.0}, {"pitch": 5.05}),
    Limit("Figure of merit too good", DOUBTFUL, "speed", torque_of(0.799), torque_of(0.801)),
    # usual hover efficiencies of 0.25 to 0.65 after conversion
    *(
        Limit(f"Thrust perhaps in {unit}", DOUBTFUL, "thrust", in_unit(grams, inside), in_unit(grams, outside))
        for unit, grams in (("ounces", OUNCE), ("pounds", POUND), ("newtons", NEWTON))
        for inside, outside in ((0.249, 0.251), (0.651, 0.649))
    ),
)


def raised(row: Row) -> dict[str, tuple[str, str]]:
    return live_checks(assessed([READING | row]))


@pytest.mark.parametrize("limit", LIMITS, ids=lambda limit: f"{limit.title} {limit.outside}")
def test_from_both_sides(limit: Limit) -> None:
    assert limit.title not in raised(limit.inside)
    assert raised(limit.outside)[limit.title] == (limit.severity, limit.look_at)


EXPECTED = {
    "Volts per cell too low": "at least 3.00 V",
    "More thrust than an ideal propeller": "at most 1.00, the physical limit",
    "Static efficiency too good": "at most 0.70",
    "Thrust without power": "more than 0 W",
    "Static efficiency too poor at full throttle": "at least 0.15",
    "Too little thrust for its power": "at least 0.03",
    "Faster than Kv times volts allows": "at most 1.02",
    "Slow for Kv times volts at full throttle": "at least 0.50",
    "Fast blade tips": "at most 0.70",
    "Hot motor": "at most 80 °C",
    "Pitch over diameter above the limit": "at most 1.00",
    "Figure of merit too good": "at most 0.80",
}


@pytest.mark.parametrize("title", EXPECTED)
def test_what_was_expected_names_the_limit_and_its_side(title: str) -> None:
    row = next(limit.outside for limit in LIMITS if limit.title == title)
    assessment = assessed([READING | row])
    (check,) = [each for each in ROW_CHECKS if each.title == title]
    assert evaluate(check.expected, assessment.scope) == EXPECTED[title]
    for flag in assessment.flag_list():
        assert flag["found"]
        assert str(flag["seen_with"]).startswith("5x3.5 on ")


def test_what_was_found_is_the_reading_or_its_figure() -> None:
    (flag,) = assessed([READING | {"voltage": 8.99, "speed": None}]).flag_list()
    assert flag["found"] == "Voltage per cell 2.997 V"
    (flag,) = assessed([READING | {"motor_temperature": 95.0}]).flag_list()
    assert flag["found"] == "Motor temperature 95 °C"


def test_the_reading_itself_raises_nothing() -> None:
    assert raised({}) == {}


HIGH_VOLTAGE = {"cells_are": "high-voltage (4.35 V full)"}


@pytest.mark.parametrize(
    ("volts", "ordinary", "high"),
    [
        (12.75, {}, {}),
        (12.78, {"Volts per cell too high": (DOUBTFUL, "voltage")}, {}),
        (13.20, {"Volts per cell too high": (DOUBTFUL, "voltage")}, {}),
        (13.23, *2 * ({"Volts per cell impossible": (IMPOSSIBLE, "voltage")},)),
    ],
)
def test_volts_per_cell_at_the_top(volts: float, ordinary: dict[str, Any], high: dict[str, Any]) -> None:
    """4.25 V is more than a full cell holds, 4.40 V more than a full high-voltage one."""
    for fields, wanted in (({}, ordinary), (HIGH_VOLTAGE, high)):
        found = flags(assessed([READING | {"voltage": volts, "speed": None}], fields))
        assert {title: flag for title, flag in found.items() if "per cell" in title} == wanted


def test_volts_a_hair_beyond_their_limit_are_told_finely() -> None:
    """12.7575 V on three cells are 4.2525 V; 12.78 V are 4.26 V: in millivolts."""
    for volts, told in ((12.7575, "4.253 V"), (12.78, "4.260 V")):
        (flag,) = assessed([READING | {"voltage": volts, "speed": None}]).flag_list()
        assert (flag["found"], flag["expected"]) == (f"Voltage per cell {told}", "at most 4.25 V")


def test_a_row_left_out_raises_nothing() -> None:
    assert raised({"voltage": 20.0, "use": "no"}) == {}


# --- against the motor's own line ----------------------------------------------------------------------------------

KV, RESISTANCE = 1000.0, 0.050
CELLS = (2, 3, 4, 5, 6, 8, 7)
AMPS_PER_SPEED = 30.0 / 14_100**2  # 30 A on 15.6 V: n = 1000·(15.6 − 0.05·30) = 14,100 rpm


def on_the_line(cells: int) -> Row:
    """Return one propeller's row with n = Kv·(V − R·I), current and thrust as n²: a square to be solved."""
    volts = 3.9 * cells
    curve = KV * RESISTANCE * AMPS_PER_SPEED
    speed = (math.sqrt(1 + 4 * curve * KV * volts) - 1) / (2 * curve)
    share = (speed / 14_100) ** 2
    thrust = grams_for(0.45, 30 * 15.6, 9.0) * share
    return {
        "prop": "9x4.5",
        "diameter": 9.0,
        "pitch": 4.5,
        "cells": float(cells),
        "kind": "steady",
        "voltage": volts,
        "current": 30 * share,
        "thrust": thrust,
        "speed": speed,
    }


def line_flags(speed: float = 1.0, thrust: float = 1.0) -> dict[str, tuple[str, str]]:
    """Return the flags of the last of seven rows, whose speed and thrust are off by these factors."""
    rows = [on_the_line(cells) for cells in CELLS]
    rows[-1] |= {"speed": rows[-1]["speed"] * speed, "thrust": rows[-1]["thrust"] * thrust}
    return live_checks(assessed(rows, {"label_kv": KV}), len(rows))


OFF_THE_LINE = "Speed off the motor's line"
WRONG_POLES = "Speed fits the wrong pole count"
COEFFICIENT = "Thrust coefficient unlike the propeller's others"


@pytest.mark.parametrize(
    ("factor", "title"),
    [
        (1.0, None),
        (1.059, None),
        (0.941, None),
        (1.061, OFF_THE_LINE),
        (0.939, OFF_THE_LINE),
        # 14 magnets taken for 12, or the other way round, within 2.5 %
        (7 / 6 * 0.974, OFF_THE_LINE),
        (7 / 6 * 0.976, WRONG_POLES),
        (7 / 6 * 1.024, WRONG_POLES),
        (7 / 6 * 1.026, OFF_THE_LINE),
        (7 / 6 * 1.09, None),  # faster than Kv times volts allows, and flagged for that
        (6 / 7 * 0.974, OFF_THE_LINE),
        (6 / 7 * 0.976, WRONG_POLES),
        (6 / 7 * 1.024, WRONG_POLES),
        (6 / 7 * 1.026, OFF_THE_LINE),
    ],
)
def test_speed_against_the_line_of_the_other_rows(factor: float, title: str | None) -> None:
    found = {name: flag for name, flag in line_flags(factor).items() if name in (OFF_THE_LINE, WRONG_POLES)}
    assert found == ({} if title is None else {title: (DOUBTFUL, "speed")})


@pytest.mark.parametrize(("factor", "odd"), [(1.149, False), (1.151, True), (0.851, False), (0.849, True)])
def test_thrust_coefficient_against_the_median(factor: float, odd: bool) -> None:
    """CT hardly moves with speed: 15 % (one open 10x4.7 gains 23 % from 2,400 to 6,500 rpm)."""
    found = line_flags(thrust=factor)
    assert found.get(COEFFICIENT) == ((DOUBTFUL, "thrust") if odd else None)


def test_two_readings_of_a_propeller_judge_no_thrust_coefficient() -> None:
    for cells, odd in ((CELLS[:2], False), (CELLS[:3], True)):
        rows = [on_the_line(each) for each in cells]
        rows[-1]["thrust"] *= 1.45  # of two, 18 % above their mean
        assert (COEFFICIENT in live_checks(assessed(rows, {"label_kv": KV}), len(rows))) == odd


def test_a_row_that_only_the_motors_line_speaks_against_is_flagged() -> None:
    rows = [on_the_line(cells) for cells in CELLS]
    rows[-1]["speed"] *= 1.08
    found = assessed(rows, {"label_kv": KV})
    assert (column(found, "Readings", "entry_severity")[: len(rows)] >= 2).tolist() == [False] * 6 + [True]


def test_fewer_than_six_rows_judge_no_speed() -> None:
    rows = [on_the_line(cells) for cells in CELLS[:5]]
    rows[-1]["speed"] *= 1.1
    assert OFF_THE_LINE not in flags(assessed(rows, {"label_kv": KV}), 5)


def test_every_check_is_judged_here() -> None:
    judged = (
        {limit.title for limit in LIMITS}
        | {OFF_THE_LINE, WRONG_POLES, COEFFICIENT}
        | {f"Volts per cell {how}" for how in ("too high", "impossible")}
    )
    assert {check.title for check in ROW_CHECKS} == judged
