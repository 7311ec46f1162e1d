"""What a motor may be for: a short table of kinds of craft on Settings (uses.csv), every figure of it common practice."""

from typing import Any

from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.inputs.typed import rows_of
from xlsengine.expression import Column
from xlsengine.sources import practice

ROTORS, WING = "rotors", "wing"
_PRACTICE = practice()
_TEXTS = ("use_name", "use_carried", "use_note")


def _use(row: dict[str, str]) -> dict[str, float | str]:
    cells: dict[str, float | str] = {name: cell if name in _TEXTS else float(cell) for name, cell in row.items()}
    return {**cells, "use_source": _PRACTICE.text}


USES = Table(
    "Uses",
    "What a motor may be for. All figures are common practice, no source: put in those of your own craft.",
    spare=4,
    rows=tuple(map(_use, rows_of("uses.csv"))),
)


def _range(
    name: str, label: str, unit: str, limits: tuple[float, float], meaning: str, required: bool = True, **more: Any
) -> tuple[Column, Column]:
    kept = {"decimals": 0, "source": _PRACTICE, "required": required, **more}
    low, high = (
        USES.number(f"{name}_{end}", f"{label}, {word}", unit, limits, meaning, **kept)
        for end, word in (("low", "least"), ("high", "most"))
    )
    return low, high


use_name = USES.text("use_name", "What for", "The kind of craft.", required=True, source=_PRACTICE)
carried = USES.choice(
    "use_carried",
    "Carried by",
    (ROTORS, WING),
    "Rotors: hover is judged. Wing: watts per kilogram are.",
    required=True,
    source=_PRACTICE,
)
_whole: dict[str, Any] = {"kind": "whole", "decimals": 0, "source": _PRACTICE, "required": True}
motors = USES.number("use_motors", "Motors", "", (1, 16), "That lift or pull together.", **_whole)
loading = USES.number(
    "use_loading",
    "Power loading, least",
    "W/kg",
    (1, 2000),
    "Of a wing, at full throttle; blank: not judged.",
    decimals=0,
    source=_PRACTICE,
)
USES.text("use_note", "In a few words", "How it is flown.", source=_PRACTICE)
USES.text(
    "use_source",
    "Where the figures come from",
    "No source stands behind those of a new workbook.",
    source=_PRACTICE,
)
cells = _range("use_cells", "Cells", "", (1, 14), "Lithium cells in series.", kind="whole")
diameter = _range("use_diameter", "Propeller", "in", (0.5, 40), "Diameter.", decimals=1)
mass = _range("use_mass", "All-up mass", "g", (5, 100000), "Ready to fly.")
ratio = _range("use_ratio", "Thrust to weight", "", (0.1, 30), "Static, all motors, at full throttle.", decimals=1)
airspeed = _range("use_airspeed", "Airspeed", "m/s", (0, 120), "Fast level flight; blank: not judged.", required=False)
