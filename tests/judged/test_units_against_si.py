"""Every unit against its value in SI, as NIST Special Publication 811 (2008), appendix B.8, prints it.

Factors of B.8 in bold type are exact. Units that are not there follow from those that are, as the comment says.
"""

import math

import pytest

from xlsengine.units import UNITS, convert

# unit: (value of one unit in SI, the SI unit as this project writes it or the same by another name)
SI: dict[str, tuple[float, str]] = {
    "g": (1e-3, "kg"),
    "mg": (1e-6, "kg"),
    "lb": (4.5359237e-1, "kg"),
    "oz": (2.834952e-2, "kg"),  # avoirdupois
    "mm": (1e-3, "m"),
    "cm": (1e-2, "m"),
    "in": (2.54e-2, "m"),
    "ft": (3.048e-1, "m"),
    "mN": (1e-3, "N"),
    "kN": (1e3, "N"),
    "gf": (9.80665e-3, "N"),
    "kgf": (9.80665, "N"),
    "lbf": (4.448222, "N"),
    "ozf": (2.780139e-1, "N"),
    "mV": (1e-3, "V"),
    "mA": (1e-3, "A"),
    "mW": (1e-3, "W"),
    "kW": (1e3, "W"),
    "mΩ": (1e-3, "Ω"),
    "μΩ": (1e-6, "Ω"),
    "rpm": (1 / 60, "rps"),
    "krpm": (1000 / 60, "rps"),  # revolutions; B.8 gives 1.047198e-1 rad/s, which is 2π/60
    "mN·m": (1e-3, "N·m"),
    "N·cm": (1e-2, "N·m"),
    "N·mm": (1e-3, "N·m"),
    "kg·cm": (9.80665e-2, "N·m"),
    "g·cm": (9.80665e-5, "N·m"),
    "oz·in": (7.061552e-3, "N·m"),
    "lb·in": (1.129848e-1, "N·m"),
    "lb·ft": (1.355818, "N·m"),
    "Pa": (1.0, "Pa"),
    "hPa": (1e2, "Pa"),
    "kPa": (1e3, "Pa"),
    "mbar": (1e2, "Pa"),
    "bar": (1e5, "Pa"),
    "inHg": (3.386389e3, "Pa"),
    "mmHg": (1.333224e2, "Pa"),
    "N/m²": (1.0, "Pa"),
    "ms": (1e-3, "s"),
    "min": (60.0, "s"),
    "h": (3600.0, "s"),
    "km/h": (2.777778e-1, "m/s"),
    "mph": (4.4704e-1, "m/s"),
    "kn": (5.144444e-1, "m/s"),
    "ft/s": (3.048e-1, "m/s"),
    "kg/m³": (1.0, "kg/m³"),
    "g/cm³": (1e3, "kg/m³"),
}
# Units without one of 1 in the list: by definition of their parts, value in SI base units.
BY_PARTS: dict[str, tuple[str, float]] = {
    "%": ("number", 1e-2),
    "ppm": ("number", 1e-6),
    "mm²": ("area", 1e-6),
    "cm³": ("volume", 1e-6),
    "mΩ/m": ("resistance per length", 1e-3),
    "rpm/V": ("motor velocity constant", 1 / 60),
    "g/W": ("thrust per power", 9.80665e-3),
    "g/A": ("thrust per current", 9.80665e-3),  # grams of thrust are gf
    "g/g": ("thrust per mass", 9.80665),
    "W/g": ("power per mass", 1e3),
    "W/kg": ("power per mass", 1.0),
    "g/m": ("mass per length", 1e-3),
    "mAh": ("charge", 3.6),
    "Ah": ("charge", 3600.0),
    "mA/rpm": ("current per speed of rotation", 1e-3 * 60),
    "% a run": ("number a run", 1e-2),
}
OF_ONE = {"", "kg", "m", "V", "A", "W", "N", "N·m", "s", "m/s", "Ω", "rps", "°C", "°", "AWG", "K"}


@pytest.mark.parametrize("unit", SI)
def test_its_value_in_si(unit: str) -> None:
    value, si = SI[unit]
    assert convert(1.0, unit, si) == pytest.approx(value, rel=4e-7)  # seven printed digits
    assert convert(value, si, unit) == pytest.approx(1.0, rel=4e-7)


@pytest.mark.parametrize("unit", BY_PARTS)
def test_its_value_by_its_parts(unit: str) -> None:
    kind, value = BY_PARTS[unit]
    assert (UNITS[unit].kind, UNITS[unit].offset) == (kind, 0.0)
    assert UNITS[unit].factor == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(("fahrenheit", "celsius"), [(32.0, 0.0), (212.0, 100.0), (-40.0, -40.0), (98.6, 37.0)])
def test_fahrenheit(fahrenheit: float, celsius: float) -> None:
    """T/°C = (T/°F − 32)/1.8 (B.8)."""
    assert convert(fahrenheit, "°F", "°C") == pytest.approx(celsius, abs=1e-9)
    assert convert(celsius, "°C", "°F") == pytest.approx(fahrenheit, abs=1e-9)


def test_every_unit_is_judged_here() -> None:
    assert {unit for unit in UNITS if UNITS[unit].factor == 1.0 and not UNITS[unit].offset} >= OF_ONE
    assert set(UNITS) == {*SI, *BY_PARTS, *OF_ONE, "°F"}


@pytest.mark.parametrize(
    ("one", "other"), [("g", "gf"), ("V", "A"), ("°C", "K"), ("rpm", "rpm/V"), ("N", "N·m"), ("Pa", "N")]
)
def test_units_of_two_kinds_are_not_converted(one: str, other: str) -> None:
    with pytest.raises(ValueError, match="measures"):
        convert(1.0, one, other)


def test_torque_of_a_pound_a_foot_from_the_arm() -> None:
    """12 inches of 0.0254 m times 0.45359237 kg under 9.80665 m/s²."""
    assert convert(1.0, "lb·ft", "N·m") == pytest.approx(12 * 0.0254 * 0.45359237 * 9.80665, rel=1e-12)
    assert convert(math.pi, "rps", "rpm") == pytest.approx(60 * math.pi)
