"""The bench and the day: supply, air, instruments and their checks."""

from __future__ import annotations

from xlsengine.bench import air
from xlsengine.bench.declare import Field, Figures, Form, Quantity, Table
from xlsengine.bench.settings import assumed_humidity, reference_density
from xlsengine.expression import Named, Node, join
from xlsengine.sources import CIPM_2007, STANDARD_ATMOSPHERE, Source, worked_out

BENCH = Form("Bench", "How the bench was set up; whatever is known, the rest stays blank.")
KINDS = ("peak", "steady")


def _number(
    name: str, label: str, unit: str, limits: tuple[float, float], meaning: str, symbol: str = "", decimals: int = 2
) -> Named:
    low, high = limits
    return BENCH.input(Field(name, label, unit, meaning, low=low, high=high, symbol=symbol, decimals=decimals))


readings_are = BENCH.input(
    Field("readings_are", "Readings are", "", "Of rows at full throttle whose Kind is blank. Peak: the first second. Steady: "
          "settled and averaged. Blank: taken as peak.", kind="choice", choices=KINDS)
)  # fmt: skip
supply = BENCH.input(
    Field("supply", "Supply", "", "A pack sags, a bench supply does not.", kind="choice",
          choices=("pack", "bench supply"))
)  # fmt: skip
ORDINARY, HIGH_VOLTAGE = "ordinary (4.20 V full)", "high-voltage (4.35 V full)"
cells_are = BENCH.input(
    Field("cells_are", "Cells are", "", "Blank: ordinary. Decides from which volts per cell a reading is doubtful.",
          kind="choice", choices=(ORDINARY, HIGH_VOLTAGE))
)  # fmt: skip
supply_capacity = _number("supply_capacity", "Pack capacity", "mAh", (50, 100000), "Of the pack on the bench.")
supply_rest_voltage = _number("supply_rest_voltage", "Rest voltage", "V", (1, 100), "Before the first run.")
esc_used = BENCH.input(Field("esc_used", "ESC used", "", "Type and firmware family, in a few words.", kind="text"))
esc_rating = _number("esc_rating", "ESC continuous rating", "A", (1, 1000), "As its maker states.")
esc_timing = _number("esc_timing", "ESC timing", "°", (0, 40), "More advance: more speed and more current.")
voltage_read_at = BENCH.input(
    Field("voltage_read_at", "Voltage read at", "", "At the ESC input means power into ESC and motor.",
          kind="choice", choices=("ESC input", "pack", "supply"))
)  # fmt: skip
altitude = _number(
    "altitude", "Altitude of the place", "m", (-500, 6000),
    "Above sea level; gives the pressure where none was read.", "h",
)  # fmt: skip
air_temperature = _number("air_temperature", "Air temperature", "°C", (-30, 55), "At the bench.", "t")
air_pressure = _number(
    "air_pressure", "Air pressure, station", "hPa", (500, 1100), "As the barometer shows it here, not reduced to sea "
    "level.", "p",
)  # fmt: skip
air_humidity = _number("air_humidity", "Relative humidity", "%", (0, 100), "At the bench.", "RH")
winding_temperature = _number(
    "winding_temperature", "Winding temperature at the resistance readings", "°C", (-30, 200), "Usually the room's."
)
averaging_window = _number("averaging_window", "Averaging window", "s", (0.01, 120), "Of a steady reading.")
thrust_accuracy = _number("thrust_accuracy", "Thrust accuracy, ±", "g", (0, 1000), "From the maker or check weights.")
voltage_accuracy = _number("voltage_accuracy", "Voltage accuracy, ±", "%", (0, 20), "Of reading.")
current_accuracy = _number("current_accuracy", "Current accuracy, ±", "%", (0, 20), "Of reading.")
speed_accuracy = _number("speed_accuracy", "Speed accuracy, ±", "%", (0, 20), "Of reading.")

CHECK_WEIGHTS = Table("CheckWeights", "Known weights laid on the thrust stand before and after.", spare=8)
check_weight = CHECK_WEIGHTS.input(
    Field("check_weight", "Known weight", "g", "Laid on through the real load path.", low=0, high=100000)
)
check_reading = CHECK_WEIGHTS.input(Field("check_reading", "Reading", "g", "What it showed.", low=-1000, high=100000))
check_error = CHECK_WEIGHTS.derive(
    Quantity("check_error", "Error", check_reading - check_weight, "Reading less known weight.",
             worked_out("check weights"), "", "g", 1)
)  # fmt: skip

AIR = Figures("Air", "The air of the day.")


def _air(
    name: str, label: str, symbol: str, unit: str, shown: int, expression: Node, meaning: str,
    source: Source = CIPM_2007,
) -> Named:  # fmt: skip
    return AIR.derive(Quantity(name, label, expression, meaning, source, symbol, unit, shown))


def _exp(exponent: Node) -> Node:
    return exponent.exp()


def _root(square: Node) -> Node:
    return square.sqrt()


station_pressure = _air(
    "station_pressure", "Station pressure", "p_st", "hPa", 1, air_pressure.otherwise(air.pressure_at(altitude)),
    "As read; else that of the standard atmosphere at the altitude of the place.", STANDARD_ATMOSPHERE,
)  # fmt: skip
taken_humidity = _air(
    "taken_humidity", "Relative humidity taken", "RH_t", "%", 0, air_humidity.otherwise(assumed_humidity),
    "As read; else the one on Settings: 50 % more or less moves the density by 0.2 % at 5 °C and 0.6 % at 25 °C.",
)  # fmt: skip
_pascal = station_pressure * 100
water_fraction = _air(
    "water_fraction", "Water vapour, mole fraction", "x_v", "", 5,
    air.vapour_fraction(air_temperature, _pascal, taken_humidity / 100, _exp),
    "Saturation pressure of water times its enhancement in air, relative humidity and 1/p.",
)  # fmt: skip
air_compressibility = _air(
    "air_compressibility", "Compressibility of the air", "Z", "", 6,
    air.compressibility(air_temperature, _pascal, water_fraction), "How far the air is from an ideal gas.",
)  # fmt: skip
moist_density = _air(
    "moist_density", "Density of the moist air", "ρ_m", "kg/m³", 4,
    air.density(air_temperature, _pascal, water_fraction, air_compressibility),
    "Blank where temperature, or pressure and altitude, are not known.",
)  # fmt: skip
air_density = _air(
    "air_density", "Air density", "ρ", "kg/m³", 3, moist_density.otherwise(reference_density),
    "That of the moist air of the day; else the reference on Settings.",
)  # fmt: skip


def _first_part() -> Node:
    return air_pressure.present().where(
        "from temperature and pressure", "from temperature, and the standard atmosphere's pressure at the altitude"
    )


air_density_basis = _air(
    "air_density_basis", "Air density is", "", "", 0,
    moist_density.present().where(
        join(
            _first_part(),
            air_humidity.present().where(
                ", humidity read", join(", humidity taken as ", assumed_humidity.fixed(0), " %")
            ),
        ),
        "the reference value: temperature, or pressure and altitude, were not read",
    ),
    "Where the density comes from.",
)  # fmt: skip


def _between(figure: Named, limits: tuple[float, float]) -> Node:
    return (figure >= limits[0]) & (figure <= limits[1])


air_range_verdict = _air(
    "air_range_verdict", "The density equation is used", "", "", 0,
    moist_density.present().where(
        (_between(air_temperature, air.STATED_TEMPERATURE) & _between(station_pressure, air.STATED_PRESSURE)).where(
            "inside its stated range", "outside its stated range of 15 to 27 °C and 600 to 1100 hPa"
        ),
        "not at all",
    ),
    "Outside the range it still holds far better than a bench needs; the range is from memory.",
)  # fmt: skip
sound_speed = _air(
    "sound_speed", "Speed of sound", "a", "m/s", 1, air.sound(air_temperature.otherwise(15.0), _root),
    "In dry air of the temperature read, or of 15 °C; damp air is up to 0.5 % faster.", STANDARD_ATMOSPHERE,
)  # fmt: skip

BENCH.keep(supply, cells_are, esc_used, esc_timing, voltage_read_at, air_temperature, air_pressure, air_humidity)
AIR.keep(air_density, air_density_basis)
