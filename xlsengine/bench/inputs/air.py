"""The air: density of moist air, speed of sound and the pressure that belongs to an altitude.

Each equation is written once, for arrays and for expressions alike: it takes the exponential or the root it needs.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from xlsengine.units import STANDARD_GRAVITY

FloatArray = NDArray[np.float64]
KELVIN = 273.15
DRY_AIR = 287.05287
GAS_CONSTANT = 8.314472
MOLAR_MASS_DRY = 28.96546e-3
MOLAR_MASS_WATER = 18.01528e-3
HEAT_RATIO = 1.4
SEA_LEVEL_KELVIN, SEA_LEVEL_HPA = 288.15, 1013.25
LAPSE_RATE = 0.0065
EARTH_RADIUS = 6_356_766.0
STATED_TEMPERATURE = (15.0, 27.0)
STATED_PRESSURE = (600.0, 1100.0)
STATED_HUMIDITY = (0.0, 100.0)


def vapour_fraction(temperature_c: Any, pascal: Any, humidity: Any, exp: Any) -> Any:
    """Return the mole fraction of water vapour at a relative humidity given as a share."""
    kelvin = temperature_c + KELVIN
    exponent = 1.2378847e-5 * kelvin**2 - 1.9121316e-2 * kelvin + 33.93711047 - 6.3431645e3 / kelvin
    enhancement = 1.00062 + 3.14e-8 * pascal + 5.6e-7 * temperature_c**2
    return humidity * enhancement * exp(exponent) / pascal


def compressibility(temperature_c: Any, pascal: Any, vapour: Any) -> Any:
    """Return the compressibility of air that holds `vapour` as a mole fraction."""
    ratio = pascal / (temperature_c + KELVIN)
    virial = (
        1.58123e-6
        - 2.9331e-8 * temperature_c
        + 1.1043e-10 * temperature_c**2
        + (5.707e-6 - 2.051e-8 * temperature_c) * vapour
        + (1.9898e-4 - 2.376e-6 * temperature_c) * vapour**2
    )
    return 1 - ratio * virial + ratio**2 * (1.83e-11 - 0.765e-8 * vapour**2)


def density(temperature_c: Any, pascal: Any, vapour: Any, factor: Any) -> Any:
    """Return the density of air, kg/m³, from its vapour fraction and compressibility `factor`."""
    gas = MOLAR_MASS_DRY / GAS_CONSTANT * pascal / (factor * (temperature_c + KELVIN))
    return gas * (1 - vapour * (1 - MOLAR_MASS_WATER / MOLAR_MASS_DRY))


def sound(temperature_c: Any, sqrt: Any) -> Any:
    """Return the speed of sound in dry air, m/s."""
    return sqrt(HEAT_RATIO * DRY_AIR * (temperature_c + KELVIN))


def pressure_at(altitude_m: Any) -> Any:
    """Return the pressure of the standard atmosphere, hPa, at a height above sea level (below 11 km)."""
    geopotential = EARTH_RADIUS * altitude_m / (EARTH_RADIUS + altitude_m)
    return SEA_LEVEL_HPA * (1 - LAPSE_RATE / SEA_LEVEL_KELVIN * geopotential) ** (
        STANDARD_GRAVITY / (DRY_AIR * LAPSE_RATE)
    )


def moist_air_density(
    temperature_c: ArrayLike, pressure_hpa: ArrayLike, relative_humidity_percent: ArrayLike
) -> FloatArray:
    """Return the density of moist air, kg/m³, by the CIPM-2007 equation with 400 ppm of carbon dioxide.

    Temperature in °C, station pressure in hPa and relative humidity in percent are scalars or arrays that broadcast
    together; the result has their common shape, with NaN where one is NaN. Outside the equation's stated range it
    still computes: see `outside_stated_range`. Source: Picard, Davis, Gläser, Fujii, Metrologia 45 (2008) 149-155.

    >>> round(float(moist_air_density(20.0, 1013.25, 50.0)), 6)
    1.199314
    """
    temperature, pressure, humidity = _arrays(temperature_c, pressure_hpa, relative_humidity_percent)
    pascal = pressure * 100
    vapour = vapour_fraction(temperature, pascal, humidity / 100, np.exp)
    result = density(temperature, pascal, vapour, compressibility(temperature, pascal, vapour))
    return np.asarray(result, dtype=float)


def outside_stated_range(
    temperature_c: ArrayLike, pressure_hpa: ArrayLike, relative_humidity_percent: ArrayLike
) -> NDArray[np.bool_]:
    """Tell where a state of the air lies outside the range that the CIPM-2007 equation is stated for.

    Takes what `moist_air_density` takes; the result has the common shape, True also where one is NaN. The range,
    15 to 27 °C and 600 to 1100 hPa, is from memory.
    """
    inside = np.asarray(True)
    given = _arrays(temperature_c, pressure_hpa, relative_humidity_percent)
    for values, (low, high) in zip(given, (STATED_TEMPERATURE, STATED_PRESSURE, STATED_HUMIDITY), strict=True):
        inside = inside & (values >= low) & (values <= high)
    return np.asarray(~inside)


def speed_of_sound(temperature_c: ArrayLike) -> FloatArray:
    """Return the speed of sound in dry air, m/s, at a temperature in °C; of the shape given.

    Damp air is up to 0.5 % faster. Source: ISO 2533, heat ratio 1.4.

    >>> round(float(speed_of_sound(15.0)), 3)
    340.294
    """
    return np.asarray(sound(np.asarray(temperature_c, dtype=float), np.sqrt), dtype=float)


def standard_pressure(altitude_m: ArrayLike) -> FloatArray:
    """Return the pressure of the standard atmosphere, hPa, at an altitude in metres; of the shape given.

    The altitude is the height above sea level, up to 11 km. Source: ISO 2533 / U.S. Standard Atmosphere 1976.

    >>> round(float(standard_pressure(1000.0)), 2)
    898.76
    """
    return np.asarray(pressure_at(np.asarray(altitude_m, dtype=float)), dtype=float)


def _arrays(*given: ArrayLike) -> tuple[FloatArray, ...]:
    return tuple(np.broadcast_arrays(*(np.asarray(values, dtype=float) for values in given)))
