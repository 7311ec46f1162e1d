"""Lead wire: mass and resistance per metre by gauge."""

import math

from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.inputs.settings import silicone_density
from xlsengine.bench.inputs.typed import filled
from xlsengine.expression import Constant
from xlsengine.sources import ASTM_B258, IACS, worked_out

COPPER_DENSITY = 8.89
COPPER_RESISTIVITY = 1 / 58
GAUGE_RATIO = 92 ** (1 / 39)

_OUTSIDE = {26: 1.5, 24: 1.6, 22: 1.7, 20: 1.8, 18: 2.3, 16: 3.0, 14: 3.5, 12: 4.5, 10: 5.5}

WIRES = filled(
    Table(
        "Wires",
        "Silicone lead wire by gauge.",
        rows=tuple({"gauge": float(gauge), "outside_diameter": outside} for gauge, outside in _OUTSIDE.items()),
    )
)
gauge, outside_diameter = map(WIRES.typed, ("gauge", "outside_diameter"))
copper_area = WIRES.column("copper_area", "Copper area", "mm²", symbol="A_Cu", decimals=3).derive(
    (math.pi / 4 * 0.127**2) * ((36 - gauge) * (2 * math.log(GAUGE_RATIO))).exp(),
    "Area of a solid wire of this gauge; stranded wire is made to the same.",
    ASTM_B258,
)
wire_mass = WIRES.column("wire_mass", "Mass", "g/m", symbol="m′", decimals=2).derive(
    COPPER_DENSITY * copper_area
    + silicone_density * (Constant(math.pi / 4) * outside_diameter * outside_diameter - copper_area),
    "Copper and insulation.",
    worked_out("copper area and outside diameter"),
)
wire_resistance = WIRES.column("wire_resistance", "Resistance", "mΩ/m", symbol="R′", decimals=2).derive(
    1000 * COPPER_RESISTIVITY / copper_area, "At 20 °C.", IACS
)
