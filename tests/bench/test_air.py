from typing import Any

import numpy as np
import pytest

from tests.bench.ideal_bench import scope_of


def air(**fields: Any) -> Any:
    return scope_of([], fields).named


def density(temperature: float, pressure: float, humidity: float) -> float:
    return float(air(air_temperature=temperature, air_pressure=pressure, air_humidity=humidity)("air_density"))


@pytest.mark.parametrize(
    ("temperature", "pressure", "inside"),
    [(14.9, 1000.0, False), (15.0, 600.0, True), (27.0, 1100.0, True), (27.1, 1000.0, False), (20.0, 599.0, False)],
)
def test_range_is_flagged_and_still_computed(temperature: float, pressure: float, inside: bool) -> None:
    said = air(air_temperature=temperature, air_pressure=pressure)
    assert said("air_range_verdict").startswith("inside" if inside else "outside")
    assert np.isfinite(said("moist_density"))


def test_pressure_from_the_altitude_is_said() -> None:
    at = air(air_temperature=20.0, altitude=1200.0, air_humidity=30.0)
    assert at("air_density") == pytest.approx(density(20.0, at("station_pressure"), 30.0), rel=1e-12)
    assert at("air_density_basis") == (
        "from measured temperature, the standard atmosphere's pressure at the altitude, humidity measured"
    )


def test_a_barometer_goes_before_the_altitude() -> None:
    at = air(air_temperature=20.0, altitude=1200.0, air_pressure=1000.0)
    assert at("air_density") == pytest.approx(density(20.0, 1000.0, 50.0), rel=1e-12)
    assert at("air_density_basis") == "from measured temperature and pressure, humidity taken as 50 %"


@pytest.mark.parametrize(
    ("fields", "missing"),
    [
        ({}, "temperature, and pressure or altitude, were"),
        ({"air_temperature": 10.0}, "pressure or altitude was"),
        ({"air_pressure": 900.0, "altitude": 50.0}, "temperature was"),
        ({"altitude": 50.0}, "temperature was"),
    ],
)
def test_reference_where_the_air_is_not_known(fields: dict[str, Any], missing: str) -> None:
    at = air(**fields)
    assert at("air_density") == 1.225
    assert at("air_density_basis") == f"the reference value: {missing} not read"
    assert at("air_range_verdict") == "not at all"
