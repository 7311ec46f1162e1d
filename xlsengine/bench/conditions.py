"""The bench and the day: supply, air, instruments and their checks."""

from __future__ import annotations

from xlsengine.bench.declare import Field, Figures, Form, Quantity, Table
from xlsengine.bench.settings import reference_density
from xlsengine.expression import Named
from xlsengine.sources import STANDARD_ATMOSPHERE, worked_out

DRY_AIR = 287.05287
KELVIN = 273.15

BENCH = Form("Bench", "How the bench was set up; whatever is known, the rest stays blank.")


def _number(
    name: str, label: str, unit: str, limits: tuple[float, float], meaning: str, symbol: str = "", decimals: int = 2
) -> Named:
    low, high = limits
    return BENCH.input(Field(name, label, unit, meaning, low=low, high=high, symbol=symbol, decimals=decimals))


supply = BENCH.input(
    Field("supply", "Supply", "", "A pack sags, a bench supply does not.", kind="choice",
          choices=("pack", "bench supply"))
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
altitude = _number("altitude", "Altitude of the place", "m", (-500, 6000), "Above sea level.")
air_temperature = _number("air_temperature", "Air temperature", "°C", (-30, 55), "At the bench.", "t")
air_pressure = _number(
    "air_pressure", "Air pressure, station", "hPa", (500, 1100), "As the barometer shows it here, not reduced to sea "
    "level.", "p",
)  # fmt: skip
air_humidity = _number("air_humidity", "Relative humidity", "%", (0, 100), "At the bench.")
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
air_density = AIR.derive(
    Quantity(
        "air_density", "Air density",
        (air_pressure * 100 / (DRY_AIR * (air_temperature + KELVIN))).otherwise(reference_density),
        "Dry air of the temperature and pressure read; else the reference on Settings. Damp air is up to 1.3 % "
        "lighter.", STANDARD_ATMOSPHERE, "ρ", "kg/m³", 3,
    )
)  # fmt: skip
air_density_basis = AIR.derive(
    Quantity(
        "air_density_basis", "Air density is",
        (air_pressure.present() & air_temperature.present()).where(
            "from temperature and pressure", "the reference value"
        ),
        "Where the density comes from.", STANDARD_ATMOSPHERE,
    )
)  # fmt: skip
