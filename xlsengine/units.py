"""The units that declarations may use, each with its factor to the SI unit of the same kind.

Factors are exact by definition unless the source says otherwise: inch and pound as in the international yard and
pound agreement of 1959, standard gravity 9.80665 m/s² (SI brochure). The rows below the gap are units that readings
may come in and that are converted on reading: multiples, those of the same agreement, and those of NIST SP 811,
appendix B: knot (nautical mile 1852 m), bar, °F, and, not exact, inch of mercury 3386.389 Pa, millimetre of mercury
133.3224 Pa.
"""

from dataclasses import dataclass

STANDARD_GRAVITY = 9.80665
GRAM_FORCE = STANDARD_GRAVITY / 1000
INCH = 0.0254
POUND = 0.45359237
OUNCE = POUND / 16


@dataclass(frozen=True)
class Unit:
    """A unit as it stands in headers, the kind of quantity it measures and its factor to SI.

    `offset` is where its zero lies, in the unit of factor 1 of its kind: on the Celsius scale for temperatures.
    """

    symbol: str
    kind: str
    factor: float = 1.0
    offset: float = 0.0


_ROWS = (
    Unit("", "number"),
    Unit("%", "number", 0.01),
    Unit("g", "mass", 1e-3),
    Unit("kg", "mass"),
    Unit("mm", "length", 1e-3),
    Unit("m", "length"),
    Unit("in", "length", INCH),
    Unit("mm²", "area", 1e-6),
    Unit("cm³", "volume", 1e-6),
    Unit("V", "voltage"),
    Unit("A", "current"),
    Unit("mΩ", "resistance", 1e-3),
    Unit("mΩ/m", "resistance per length", 1e-3),
    Unit("W", "power"),
    Unit("rpm", "speed of rotation", 1 / 60),
    Unit("rpm/V", "motor velocity constant", 1 / 60),
    Unit("N", "force"),
    Unit("N·m", "torque"),
    Unit("g/W", "thrust per power", GRAM_FORCE),
    Unit("g/A", "thrust per current", GRAM_FORCE),
    Unit("g/g", "thrust per mass", STANDARD_GRAVITY),
    Unit("W/g", "power per mass", 1e3),
    Unit("W/kg", "power per mass"),
    Unit("g/cm³", "density", 1e3),
    Unit("g/m", "mass per length", 1e-3),
    Unit("N/m²", "pressure"),
    Unit("hPa", "pressure", 100.0),
    Unit("kg/m³", "density"),
    Unit("°C", "temperature"),
    Unit("s", "time"),
    Unit("min", "time", 60.0),
    Unit("mAh", "charge", 3.6),
    Unit("m/s", "speed"),
    Unit("°", "angle"),
    Unit("AWG", "wire gauge"),
    Unit("ppm", "number", 1e-6),
    Unit("% a run", "number a run", 0.01),
    Unit("K", "temperature difference"),
    Unit("mA/rpm", "current per speed of rotation", 0.06),
    Unit("lb", "mass", POUND),
    Unit("oz", "mass", OUNCE),
    Unit("mg", "mass", 1e-6),
    Unit("gf", "force", GRAM_FORCE),
    Unit("kgf", "force", STANDARD_GRAVITY),
    Unit("lbf", "force", POUND * STANDARD_GRAVITY),
    Unit("ozf", "force", OUNCE * STANDARD_GRAVITY),
    Unit("mN", "force", 1e-3),
    Unit("kN", "force", 1e3),
    Unit("cm", "length", 1e-2),
    Unit("ft", "length", 12 * INCH),
    Unit("mV", "voltage", 1e-3),
    Unit("mA", "current", 1e-3),
    Unit("kW", "power", 1e3),
    Unit("mW", "power", 1e-3),
    Unit("Ω", "resistance"),
    Unit("μΩ", "resistance", 1e-6),
    Unit("rps", "speed of rotation"),
    Unit("krpm", "speed of rotation", 1000 / 60),
    Unit("mN·m", "torque", 1e-3),
    Unit("N·cm", "torque", 1e-2),
    Unit("N·mm", "torque", 1e-3),
    Unit("g·cm", "torque", GRAM_FORCE / 100),
    Unit("kg·cm", "torque", STANDARD_GRAVITY / 100),
    Unit("oz·in", "torque", OUNCE * STANDARD_GRAVITY * INCH),
    Unit("lb·in", "torque", POUND * STANDARD_GRAVITY * INCH),
    Unit("lb·ft", "torque", 12 * POUND * STANDARD_GRAVITY * INCH),
    Unit("°F", "temperature", 5 / 9, -32 * 5 / 9),
    Unit("Pa", "pressure"),
    Unit("kPa", "pressure", 1e3),
    Unit("mbar", "pressure", 100.0),
    Unit("bar", "pressure", 1e5),
    Unit("inHg", "pressure", 3386.389),
    Unit("mmHg", "pressure", 133.3224),
    Unit("ms", "time", 1e-3),
    Unit("h", "time", 3600.0),
    Unit("Ah", "charge", 3600.0),
    Unit("km/h", "speed", 1 / 3.6),
    Unit("mph", "speed", 5280 * 12 * INCH / 3600),
    Unit("kn", "speed", 1852 / 3600),
    Unit("ft/s", "speed", 12 * INCH),
)

UNITS: dict[str, Unit] = {unit.symbol: unit for unit in _ROWS}


def convert(value: float, given: str, wanted: str) -> float:
    """Convert `value` from one unit to another of the same kind; raises ValueError for different kinds.

    >>> convert(5.0, "in", "mm")
    127.0
    >>> round(convert(77.0, "°F", "°C"), 9), round(convert(44.0, "oz", "g"), 3)
    (25.0, 1247.379)
    """
    old, new = UNITS[given], UNITS[wanted]
    if old.kind != new.kind:
        raise ValueError(f"{given} measures {old.kind}, {wanted} measures {new.kind}")
    return (value * old.factor + old.offset - new.offset) / new.factor
