"""The bench and the day: supply, instruments and their checks, and the air: its density (CIPM-2007), the speed of sound, the
pressure at an altitude (ISO 2533). Each field of the form (typed.csv) is a name here."""

from collections.abc import Callable

from xlsengine.bench.declaring.declare import Figures, Form, Table
from xlsengine.bench.inputs.settings import assumed_humidity, reference_density
from xlsengine.bench.inputs.typed import cells_of, filled
from xlsengine.expression import Named, Node, join, say
from xlsengine.sources import CIPM_2007, STANDARD_ATMOSPHERE, worked_out
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


# --- of the day ----------------------------------------------------------------------------------------------------

BENCH = filled(Form("Bench", "How the bench was set up. Fill in what you know; leave the rest blank."))
__getattr__: Callable[[str], Named] = cells_of(BENCH)
KINDS, (PACK, BENCH_SUPPLY), (ORDINARY, HIGH_VOLTAGE) = (
    BENCH.fields[name].choices for name in ("readings_are", "supply", "cells_are")
)
altitude, air_temperature, air_pressure, air_humidity = map(
    BENCH.typed, ("altitude", "air_temperature", "air_pressure", "air_humidity")
)

CHECK_WEIGHTS = filled(Table("CheckWeights", "Known weights laid on the thrust stand before and after.", spare=3))
check_weight, check_reading = map(CHECK_WEIGHTS.typed, ("check_weight", "check_reading"))
check_error = CHECK_WEIGHTS.column("check_error", "Error", "g", decimals=1).derive(
    check_reading - check_weight, "Reading less known weight.", worked_out("check weights")
)

AIR = Figures("Air", "The air of the day.", source=CIPM_2007)

station_pressure = AIR.figure("station_pressure", "Station pressure taken", "hPa", symbol="p_st", decimals=1).derive(
    air_pressure.otherwise(pressure_at(altitude)),
    "As read; else that of the standard atmosphere at the altitude of the place.",
    STANDARD_ATMOSPHERE,
)
taken_humidity = AIR.figure("taken_humidity", "Relative humidity taken", "%", symbol="RH_t", decimals=0).derive(
    air_humidity.otherwise(assumed_humidity),
    "As read; else the one on Settings: 50 % more or less moves the density by 0.2 % at 5 °C and 0.6 % at 25 °C.",
)
_pascal = station_pressure * 100
water_fraction = AIR.figure("water_fraction", "Water vapour, mole fraction", symbol="x_v", decimals=5).derive(
    vapour_fraction(air_temperature, _pascal, taken_humidity / 100),
    "Saturation pressure of water times its enhancement in air, relative humidity and 1/p.",
)
air_compressibility = AIR.figure("air_compressibility", "Compressibility of the air", symbol="Z", decimals=6).derive(
    compressibility(air_temperature, _pascal, water_fraction), "How far the air is from an ideal gas."
)
moist_density = AIR.figure("moist_density", "Density of the moist air", "kg/m³", symbol="ρ_m", decimals=4).derive(
    density(air_temperature, _pascal, water_fraction, air_compressibility),
    "Blank where temperature, or pressure and altitude, are not known.",
)
air_density = AIR.figure("air_density", "Air density", "kg/m³", symbol="ρ", decimals=3).derive(
    moist_density.otherwise(reference_density), "That of the moist air of the day; else the reference on Settings."
)


_HUMIDITY = air_humidity.present().where("humidity measured", say("humidity taken as {:.0f} %", assumed_humidity))
_AT_ALTITUDE = say("from measured temperature, the standard atmosphere's pressure at the altitude, {}", _HUMIDITY)
_PRESSURE_READ = air_humidity.present().where(
    "from measured temperature, pressure, humidity", say("from measured temperature and pressure, {}", _HUMIDITY)
)
_NOT_READ = air_temperature.present().where(
    "pressure or altitude was",
    station_pressure.present().where("temperature was", "temperature, and pressure or altitude, were"),
)
air_density_basis = AIR.figure("air_density_basis", "Air density is").derive(
    moist_density.present().where(
        air_pressure.present().where(_PRESSURE_READ, _AT_ALTITUDE),
        join("the reference value: ", _NOT_READ, " not read"),
    ),
    "Where the density comes from.",
)


_in_range = ((air_temperature >= STATED_TEMPERATURE[0]) & (air_temperature <= STATED_TEMPERATURE[1])) & (
    (station_pressure >= STATED_PRESSURE[0]) & (station_pressure <= STATED_PRESSURE[1])
)
air_range_verdict = AIR.figure("air_range_verdict", "The density equation is used").derive(
    moist_density.present().where(
        _in_range.where("inside its stated range", "outside its stated range of 15 to 27 °C and 600 to 1100 hPa"),
        "not at all",
    ),
    "Outside the range it still holds far better than a bench needs; the range is from memory.",
)
sound_speed = AIR.figure("sound_speed", "Speed of sound", "m/s", symbol="a", decimals=1).derive(
    sound(air_temperature.otherwise(15.0)),
    "In dry air of the temperature read, or of 15 °C; damp air is up to 0.5 % faster.",
    STANDARD_ATMOSPHERE,
)

AIR.keep(air_density, air_density_basis)
