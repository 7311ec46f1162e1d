"""The bench and the day: supply, air, instruments and their checks. Each field of the form (typed.csv) is a name here."""

from collections.abc import Callable

from xlsengine.bench.declaring.declare import Figures, Form, Table
from xlsengine.bench.inputs import air
from xlsengine.bench.inputs.settings import assumed_humidity, reference_density
from xlsengine.bench.inputs.typed import cells_of, filled
from xlsengine.expression import Named, join, say
from xlsengine.sources import CIPM_2007, STANDARD_ATMOSPHERE, worked_out

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
    air_pressure.otherwise(air.pressure_at(altitude)),
    "As read; else that of the standard atmosphere at the altitude of the place.",
    STANDARD_ATMOSPHERE,
)
taken_humidity = AIR.figure("taken_humidity", "Relative humidity taken", "%", symbol="RH_t", decimals=0).derive(
    air_humidity.otherwise(assumed_humidity),
    "As read; else the one on Settings: 50 % more or less moves the density by 0.2 % at 5 °C and 0.6 % at 25 °C.",
)
_pascal = station_pressure * 100
water_fraction = AIR.figure("water_fraction", "Water vapour, mole fraction", symbol="x_v", decimals=5).derive(
    air.vapour_fraction(air_temperature, _pascal, taken_humidity / 100),
    "Saturation pressure of water times its enhancement in air, relative humidity and 1/p.",
)
air_compressibility = AIR.figure("air_compressibility", "Compressibility of the air", symbol="Z", decimals=6).derive(
    air.compressibility(air_temperature, _pascal, water_fraction), "How far the air is from an ideal gas."
)
moist_density = AIR.figure("moist_density", "Density of the moist air", "kg/m³", symbol="ρ_m", decimals=4).derive(
    air.density(air_temperature, _pascal, water_fraction, air_compressibility),
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


_in_range = ((air_temperature >= air.STATED_TEMPERATURE[0]) & (air_temperature <= air.STATED_TEMPERATURE[1])) & (
    (station_pressure >= air.STATED_PRESSURE[0]) & (station_pressure <= air.STATED_PRESSURE[1])
)
air_range_verdict = AIR.figure("air_range_verdict", "The density equation is used").derive(
    moist_density.present().where(
        _in_range.where("inside its stated range", "outside its stated range of 15 to 27 °C and 600 to 1100 hPa"),
        "not at all",
    ),
    "Outside the range it still holds far better than a bench needs; the range is from memory.",
)
sound_speed = AIR.figure("sound_speed", "Speed of sound", "m/s", symbol="a", decimals=1).derive(
    air.sound(air_temperature.otherwise(15.0)),
    "In dry air of the temperature read, or of 15 °C; damp air is up to 0.5 % faster.",
    STANDARD_ATMOSPHERE,
)

AIR.keep(air_density, air_density_basis)
