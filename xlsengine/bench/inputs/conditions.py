"""The bench and the day: supply, air, instruments and their checks."""

from xlsengine.bench.declaring.declare import Figures, Form, Table
from xlsengine.bench.inputs import air
from xlsengine.bench.inputs.settings import assumed_humidity, reference_density
from xlsengine.expression import Named, Node, join, say
from xlsengine.sources import CIPM_2007, STANDARD_ATMOSPHERE, worked_out

BENCH = Form("Bench", "How the bench was set up. Fill in what you know; leave the rest blank.")
KINDS = ("peak", "steady")

readings_are = BENCH.choice(
    "readings_are",
    "Readings are",
    KINDS,
    "Of rows at full throttle whose Kind is blank. Peak: the first second. Steady: settled and averaged. Blank: taken "
    "as peak.",
)
PACK, BENCH_SUPPLY = "pack", "bench supply"
supply = BENCH.choice("supply", "Supply", (PACK, BENCH_SUPPLY), "A pack sags, a bench supply does not.")
ORDINARY, HIGH_VOLTAGE = "ordinary (4.20 V full)", "high-voltage (4.35 V full)"
cells_are = BENCH.choice(
    "cells_are",
    "Cells are",
    (ORDINARY, HIGH_VOLTAGE),
    "Blank: ordinary. Decides from which volts per cell a reading is doubtful.",
)
supply_capacity = BENCH.number("supply_capacity", "Pack capacity", "mAh", (50, 100000), "Of the pack on the bench.")
supply_rest_voltage = BENCH.number("supply_rest_voltage", "Rest voltage", "V", (1, 100), "Before the first run.")
esc_used = BENCH.text("esc_used", "ESC used", "Type and firmware family, in a few words.")
esc_rating = BENCH.number("esc_rating", "ESC continuous rating", "A", (1, 1000), "As its maker states.")
esc_timing = BENCH.number(
    "esc_timing", "ESC timing", "°", (0, 40), "ESC timing advance; more gives more speed and current."
)
voltage_read_at = BENCH.choice(
    "voltage_read_at",
    "Voltage read at",
    ("ESC input", "pack", "supply"),
    "If read at the ESC input, power is what ESC and motor take together.",
)
altitude = BENCH.number(
    "altitude",
    "Altitude of the place",
    "m",
    (-500, 6000),
    "Above sea level; gives the pressure where none was read.",
    "h",
)
air_temperature = BENCH.number("air_temperature", "Air temperature", "°C", (-30, 55), "At the bench.", "t")
air_pressure = BENCH.number(
    "air_pressure",
    "Station pressure",
    "hPa",
    (500, 1100),
    "As a barometer at the bench shows it, not reduced to sea level.",
    "p",
)
air_humidity = BENCH.number("air_humidity", "Relative humidity", "%", (0, 100), "At the bench.", "RH")
winding_temperature = BENCH.number(
    "winding_temperature", "Winding temperature at the resistance readings", "°C", (-30, 200), "Usually the room's."
)
averaging_window = BENCH.number("averaging_window", "Averaging window", "s", (0.01, 120), "Of a steady reading.")
thrust_accuracy = BENCH.number(
    "thrust_accuracy", "Thrust accuracy, ±", "g", (0, 1000), "From the maker or check weights."
)
voltage_accuracy = BENCH.number("voltage_accuracy", "Voltage accuracy, ±", "%", (0, 20), "Of reading.")
current_accuracy = BENCH.number("current_accuracy", "Current accuracy, ±", "%", (0, 20), "Of reading.")
speed_accuracy = BENCH.number("speed_accuracy", "Speed accuracy, ±", "%", (0, 20), "Of reading.")

CHECK_WEIGHTS = Table("CheckWeights", "Known weights laid on the thrust stand before and after.", spare=3)
check_weight = CHECK_WEIGHTS.number(
    "check_weight", "Known weight", "g", (0, 100000), "Applied the way thrust is applied."
)
check_reading = CHECK_WEIGHTS.number("check_reading", "Reading", "g", (-1000, 100000), "What it showed.")
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


def _between(figure: Named, limits: tuple[float, float]) -> Node:
    return (figure >= limits[0]) & (figure <= limits[1])


air_range_verdict = AIR.figure("air_range_verdict", "The density equation is used").derive(
    moist_density.present().where(
        (_between(air_temperature, air.STATED_TEMPERATURE) & _between(station_pressure, air.STATED_PRESSURE)).where(
            "inside its stated range", "outside its stated range of 15 to 27 °C and 600 to 1100 hPa"
        ),
        "not at all",
    ),
    "Outside the range it still holds far better than a bench needs; the range is from memory.",
)
sound_speed = AIR.figure("sound_speed", "Speed of sound", "m/s", symbol="a", decimals=1).derive(
    air.sound(air_temperature.otherwise(15.0)),
    "In dry air of the temperature read, or of 15 °C; damp air is up to 0.5 % faster.",
    STANDARD_ATMOSPHERE,
)

BENCH.keep(supply, cells_are, esc_used, esc_timing, voltage_read_at, air_temperature, air_pressure, air_humidity)
AIR.keep(air_density, air_density_basis)
