from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.bench.ideal_bench import scope_of
from xlsengine.bench.inputs.air import moist_air_density, outside_stated_range, speed_of_sound, standard_pressure


def air(**fields: Any) -> Any:
    return scope_of([], fields).named


@pytest.mark.parametrize("temperature", [-30.0, 0.0, 15.0, 21.5, 55.0])
@pytest.mark.parametrize("pressure", [500.0, 870.0, 1013.25, 1100.0])
@pytest.mark.parametrize("humidity", [0.0, 37.0, 100.0])
def test_live_density_is_the_function(temperature: float, pressure: float, humidity: float) -> None:
    live = air(air_temperature=temperature, air_pressure=pressure, air_humidity=humidity)("air_density")
    assert live == pytest.approx(float(moist_air_density(temperature, pressure, humidity)), rel=1e-12)


def test_live_speed_of_sound_is_the_function() -> None:
    assert air(air_temperature=23.5)("sound_speed") == pytest.approx(float(speed_of_sound(23.5)), rel=1e-12)
    assert air()("sound_speed") == pytest.approx(340.294, abs=5e-4)


def test_arrays_broadcast_and_keep_blanks() -> None:
    found = moist_air_density(np.array([[20.0], [np.nan]]), np.array([1013.25, 900.0, 800.0]), 50.0)
    assert found.shape == (2, 3)
    assert np.isnan(found).tolist() == [[False] * 3, [True] * 3]
    assert found[0, 0] == moist_air_density(20.0, 1013.25, 50.0)


def test_rules_of_the_trade() -> None:
    """Worked out: −3.5 to −3.7 % per +10 °C, −1 % per −10 hPa, −0.5 % for 50 to 90 % humidity at 25 °C."""
    at = moist_air_density(25.0, 1013.0, 50.0)
    assert -0.039 < moist_air_density(35.0, 1013.0, 50.0) / at - 1 < -0.034
    assert moist_air_density(25.0, 1003.0, 50.0) / at - 1 == pytest.approx(-0.01, abs=2e-4)
    assert moist_air_density(25.0, 1013.0, 90.0) / at - 1 == pytest.approx(-0.005, abs=6e-4)


def test_range_is_flagged_and_still_computed() -> None:
    temperatures = np.array([14.9, 15.0, 27.0, 27.1, 20.0, 20.0, np.nan])
    pressures = np.array([1000.0, 600.0, 1100.0, 1000.0, 599.0, 1000.0, 1000.0])
    humidities = np.array([50.0, 0.0, 100.0, 50.0, 50.0, 101.0, 50.0])
    outside = outside_stated_range(temperatures, pressures, humidities)
    assert outside.tolist() == [True, False, False, True, True, True, True]
    assert np.isfinite(moist_air_density(temperatures, pressures, humidities)[:-1]).all()


def test_pressure_from_the_altitude_is_said() -> None:
    at = air(air_temperature=20.0, altitude=1200.0, air_humidity=30.0)
    expected = moist_air_density(20.0, standard_pressure(1200.0), 30.0)
    assert at("air_density") == pytest.approx(float(expected), rel=1e-12)
    assert at("air_density_basis") == (
        "from measured temperature, the standard atmosphere's pressure at the altitude, humidity measured"
    )


def test_a_barometer_goes_before_the_altitude() -> None:
    at = air(air_temperature=20.0, altitude=1200.0, air_pressure=1000.0)
    assert at("air_density") == pytest.approx(float(moist_air_density(20.0, 1000.0, 50.0)), rel=1e-12)
    assert at("air_density_basis") == "from measured temperature and pressure, humidity taken as 50 %"


@pytest.mark.parametrize("fields", [{}, {"air_temperature": 10.0}, {"air_pressure": 900.0, "altitude": 50.0}])
def test_reference_where_the_air_is_not_known(fields: dict[str, Any]) -> None:
    at = air(**fields)
    assert at("air_density") == 1.225
    assert at("air_density_basis").startswith("the reference value")
    assert at("air_range_verdict") == "not at all"


@pytest.mark.parametrize(("temperature", "words"), [(15.0, "inside"), (27.5, "outside")])
def test_range_verdict(temperature: float, words: str) -> None:
    assert air(air_temperature=temperature, air_pressure=1000.0)("air_range_verdict").startswith(words)
