"""The air: density of moist air (CIPM-2007), speed of sound and the pressure at an altitude (ISO 2533)."""

from xlsengine.expression import Node
from xlsengine.units import STANDARD_GRAVITY

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


def vapour_fraction(temperature_c: Node, pascal: Node, humidity: Node) -> Node:
    """Return the mole fraction of water vapour at a relative humidity given as a share."""
    kelvin = temperature_c + KELVIN
    exponent = 1.2378847e-5 * kelvin**2 - 1.9121316e-2 * kelvin + 33.93711047 - 6.3431645e3 / kelvin
    enhancement = 1.00062 + 3.14e-8 * pascal + 5.6e-7 * temperature_c**2
    return humidity * enhancement * exponent.exp() / pascal


def compressibility(temperature_c: Node, pascal: Node, vapour: Node) -> Node:
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


def density(temperature_c: Node, pascal: Node, vapour: Node, factor: Node) -> Node:
    """Return the density of air, kg/m³, from its vapour fraction and compressibility `factor`."""
    gas = MOLAR_MASS_DRY / GAS_CONSTANT * pascal / (factor * (temperature_c + KELVIN))
    return gas * (1 - vapour * (1 - MOLAR_MASS_WATER / MOLAR_MASS_DRY))


def sound(temperature_c: Node) -> Node:
    """Return the speed of sound in dry air, m/s, heat ratio 1.4."""
    return (HEAT_RATIO * DRY_AIR * (temperature_c + KELVIN)).sqrt()


def pressure_at(altitude_m: Node) -> Node:
    """Return the pressure of the standard atmosphere, hPa, at a height above sea level (below 11 km)."""
    geopotential = EARTH_RADIUS * altitude_m / (EARTH_RADIUS + altitude_m)
    return SEA_LEVEL_HPA * (1 - LAPSE_RATE / SEA_LEVEL_KELVIN * geopotential) ** (
        STANDARD_GRAVITY / (DRY_AIR * LAPSE_RATE)
    )
