from typing import Any

import pytest

from tests.bench.ideal_bench import SWING, bench_of, full_throttle, spins
from xlsengine.bench.inputs.bench_test import bench_test
from xlsengine.bench.inputs.no_load import PEAK_TO_PEAK
from xlsengine.study.assessment import Assessment, assess

DRIVEN = {"driven_speed": 2400.0, "driven_voltage": SWING, "driven_as": PEAK_TO_PEAK}
ACCURACIES = {"voltage_accuracy": 0.5, "speed_accuracy": 0.2}
Rows = list[dict[str, Any]]


def whole(rows: Rows, fields: dict[str, Any] | None = None, **tables: Any) -> dict[str, dict[str, Any]]:
    """Return the flags of the whole, by what they say."""
    assessment = assess(bench_of(rows, ACCURACIES | (fields or {}), **tables))
    found = {flag["what"]: flag for flag in assessment.flag_list() if flag["row"] is None}
    assert _counted(assessment) == sum(flag["severity"] == "doubtful" for flag in assessment.flag_list())
    return found


def _counted(assessment: Assessment) -> int:
    return assessment.flag_counts()["doubtful"]


def faster(rows: Rows, factor: float) -> Rows:
    return [row | {"speed": row["speed"] * factor} for row in rows]


def test_a_sound_bench_raises_none() -> None:
    zeros = [{"check_weight": 0.0, "check_reading": reading} for reading in (0.0, 0.1)]
    assert whole(full_throttle(), None, DrivenSpins=[DRIVEN] * 3, FreeSpins=spins(), CheckWeights=zeros) == {}
    assert whole([]) == {}


@pytest.mark.parametrize("factor", [7 / 6, 6 / 7])
def test_poles_methods_and_label(factor: float) -> None:
    found = whole(faster(full_throttle(), factor), {"label_kv": 2400 * factor}, DrivenSpins=[DRIVEN] * 3)
    assert list(found) == [
        "Wrong pole count in the speeds",
        "Kv by different methods differs",
        "Kv is not what the label says",
    ]
    assert found["Wrong pole count in the speeds"]["column"] == "poles"
    assert "Driven spin and loaded readings differ by" in found["Kv by different methods differs"]["found"]
    assert found["Kv is not what the label says"]["found"].startswith("2,4")


def test_methods_that_differ_otherwise_are_no_pole_count() -> None:
    found = whole(faster(full_throttle(), 1.07), None, DrivenSpins=[DRIVEN] * 3)
    assert list(found) == ["Kv by different methods differs"]


def test_what_is_too_uncertain_is_not_held_against_the_label() -> None:
    rough = whole(full_throttle(), {"label_kv": 2800.0, "speed_accuracy": 20.0})
    assert "Kv is not what the label says" not in rough
    assert "Kv is not what the label says" in whole(full_throttle(), {"label_kv": 2800.0})


def test_volts_that_rise_with_current() -> None:
    rows = [row | {"voltage": 15.0 + 0.02 * row["current"]} for row in full_throttle(cells=(4,))]
    flag = whole(rows)["Voltage rises with current"]
    assert (flag["column"], "on 4 cells" in flag["found"]) == ("supply", True)


@pytest.mark.parametrize(("ratio", "raised"), [(3.9, True), (4.1, False), (99.0, False), (101.0, True)])
def test_a_motor_of_a_tenth_or_ten_times_its_mass(ratio: float, raised: bool) -> None:
    """Common practice, no source: small motors lift 10 to 60 times what they weigh."""
    rows = full_throttle()
    mass = max(row["thrust"] for row in rows) / ratio
    found = whole(rows, {"mass_as_supplied": mass}).get("Motor mass does not fit the thrust")
    assert (found is not None) is raised
    assert found is None or found["found"] == f"highest thrust to motor weight {ratio:.1f} : 1"


@pytest.mark.parametrize(
    ("fields", "found"),
    [
        ({"trimmed_lead_length": 90.0, "lead_length_as_supplied": 60.0}, "leads 90 mm trimmed, 60 mm as supplied"),
        ({"trimmed_mass_measured": 66.0, "mass_as_supplied": 58.0}, "66.0 g trimmed, 58.0 g as supplied"),
        ({"trimmed_mass_measured": 58.0, "mass_as_supplied": 58.0, "trimmed_lead_length": 90.0}, None),
    ],
)
def test_what_was_trimmed_is_not_more_than_before(fields: dict[str, float], found: str | None) -> None:
    flag = whole(full_throttle(), fields).get("Trimmed is more than as supplied")
    assert (flag and flag["found"]) == found


@pytest.mark.parametrize(
    ("pressure", "altitude", "raised"),
    [
        (1015.0, 1400.0, True),
        (856.0, 1400.0, False),
        (760.0, 120.0, True),
        (965.0, 0.0, False),
        (1036.0, 0.0, False),
        (1013.0, 220.0, True),
        (987.0, 220.0, False),
    ],
)
def test_a_pressure_at_sea_level_or_in_another_unit_is_told(pressure: float, altitude: float, raised: bool) -> None:
    """ICAO standard atmosphere (Doc 7488): 856.0 hPa at 1,400 m, 987.0 at 220 m, 1,013.25 at sea level; weather is
    within 5 % below and 2.5 % above."""
    found = whole(full_throttle(), {"air_pressure": pressure, "altitude": altitude})
    flag = found.get("Pressure does not fit the altitude")
    assert (flag is not None) is raised
    if flag and altitude == 1400.0:
        assert flag["expected"].startswith("813 to 877 hPa")


@pytest.mark.parametrize(
    ("pressure", "altitude", "hint"),
    [
        # 5,400 ft are 1,645.9 m, where the standard atmosphere has 830.4 hPa; at 5,400 m it has 512.6 hPa
        (838.0, 5400.0, "838 hPa at 5400 m; if 5400 are feet, 1646 m fit it"),
        # 748 mmHg are 997.3 hPa; 120 m have 999 hPa
        (748.0, 120.0, "748 hPa at 120 m; if 748 are mmHg, 997 hPa fit it"),
        (1015.0, 1400.0, "1015 hPa at 1400 m; it fits sea level"),
    ],
)
def test_the_unit_that_makes_pressure_and_altitude_fit_is_named(pressure: float, altitude: float, hint: str) -> None:
    """ICAO standard atmosphere (Doc 7488); foot 0.3048 m; millimetre of mercury 133.3224 Pa (NIST SP 811)."""
    found = whole(full_throttle(), {"air_pressure": pressure, "altitude": altitude})
    assert found["Pressure does not fit the altitude"]["found"] == hint


@pytest.mark.parametrize(("typed", "found"), [(48.0, "48 °C; 48 °F are 9 °C"), (42.0, None)])
def test_warm_air_may_be_fahrenheit(typed: float, found: str | None) -> None:
    """(48 − 32)/1.8 is 8.9; a field in summer may have 42 °C."""
    flag = whole(full_throttle(), {"air_temperature": typed}).get("Air warmer than where people test")
    assert (flag and flag["found"]) == found


@pytest.mark.parametrize("odd", [0, 1, 2])
@pytest.mark.parametrize("factor", [1.2, 0.8])
def test_the_odd_one_of_three_free_spins_is_looked_at(odd: int, factor: float) -> None:
    spun = [{"free_voltage": volts, "free_current": 0.5, "free_speed": 1000.0 * volts} for volts in (8.0, 12.0, 16.0)]
    spun[odd]["free_speed"] *= factor
    found = assess(bench_test({}, {"Readings": [], "FreeSpins": spun})).flag_list()
    assert [flag["at"] for flag in found if flag["what"] == "Free spins disagree on Kv"] == [odd + 1]


@pytest.mark.parametrize(("high", "raised"), [(1.04, False), (1.06, True)])
def test_free_spins_agree_on_kv(high: float, raised: bool) -> None:
    """Without winding resistance Kv is speed over volts: 1,000 and 1,040 or 1,060 rpm/V; the lower one is looked at."""
    tables = {
        "FreeSpins": [
            {"free_voltage": 8.0, "free_current": 0.5, "free_speed": 8000.0 * high},
            {"free_voltage": 12.0, "free_current": 0.6, "free_speed": 12000.0},
        ]
    }
    found = assess(bench_test({}, {"Readings": [], **tables})).flag_list()
    told = [
        (flag["column"], flag["at"], flag["found"]) for flag in found if flag["what"] == "Free spins disagree on Kv"
    ]
    assert told == [("free_speed", 2, "1,000 to 1,060 rpm/V")] * raised
