"""The units that declarations may use, each with its factor to the SI unit of the same kind.

Factors are exact by definition unless the source says otherwise: inch and pound as in the international yard and
pound agreement of 1959, standard gravity 9.80665 m/s² (SI brochure).
"""

from __future__ import annotations

from dataclasses import dataclass

STANDARD_GRAVITY = 9.80665
GRAM_FORCE = STANDARD_GRAVITY / 1000
INCH = 0.0254
DAY = 86400.0


@dataclass(frozen=True)
class Unit:
    """A unit as it stands in headers, the kind of quantity it measures and its factor to SI."""

    symbol: str
    kind: str
    factor: float = 1.0


_ROWS = (
    Unit("", "number"), Unit("%", "number", 0.01), Unit("g", "mass", 1e-3), Unit("kg", "mass"),
    Unit("mm", "length", 1e-3), Unit("m", "length"), Unit("in", "length", INCH),
    Unit("mm²", "area", 1e-6), Unit("cm³", "volume", 1e-6),
    Unit("V", "voltage"), Unit("A", "current"), Unit("mΩ", "resistance", 1e-3),
    Unit("mΩ/m", "resistance per length", 1e-3),
    Unit("W", "power"), Unit("rpm", "speed of rotation", 1 / 60), Unit("rpm/V", "motor velocity constant", 1 / 60),
    Unit("N", "force"), Unit("N·m", "torque"), Unit("g/W", "thrust per power", GRAM_FORCE),
    Unit("g/A", "thrust per current", GRAM_FORCE), Unit("g/g", "thrust per mass", STANDARD_GRAVITY),
    Unit("W/g", "power per mass", 1e3), Unit("g/cm³", "density", 1e3), Unit("g/m", "mass per length", 1e-3),
    Unit("N/m²", "pressure"), Unit("hPa", "pressure", 100.0), Unit("kg/m³", "density"), Unit("°C", "temperature"),
    Unit("s", "time"), Unit("min", "time", 60.0), Unit("mAh", "charge", 3.6), Unit("m/s", "speed"),
    Unit("°", "angle"), Unit("AWG", "wire gauge"),
    Unit("ppm", "number", 1e-6), Unit("% a run", "number a run", 0.01), Unit("K", "temperature difference"), Unit("mA/rpm", "current per speed of rotation", 0.06),
)  # fmt: skip

UNITS: dict[str, Unit] = {unit.symbol: unit for unit in _ROWS}


def convert(value: float, given: str, wanted: str) -> float:
    """Convert `value` from one unit to another of the same kind; raises ValueError for different kinds.

    >>> convert(5.0, "in", "mm")
    127.0
    """
    old, new = UNITS[given], UNITS[wanted]
    if old.kind != new.kind:
        raise ValueError(f"{given} measures {old.kind}, {wanted} measures {new.kind}")
    return value * old.factor / new.factor
