"""What a motor may be for: a short table of kinds of craft on Settings, every figure of it common practice."""

from typing import Any

from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.inputs.topics import Topic
from xlsengine.expression import Column
from xlsengine.sources import practice

ROTORS, WING = "rotors", "wing"
_PRACTICE = practice()
_NUMBERS = tuple(
    f"use_{of}_{end}" for of in ("cells", "diameter", "mass", "ratio", "airspeed") for end in ("low", "high")
)
_USUAL: tuple[tuple[str, str, int, int | None, str, tuple[float, ...]], ...] = (
    (
        "Five-inch racer on four cells",
        ROTORS,
        4,
        None,
        "gates and short bursts",
        (4, 4, 4.9, 5.2, 450, 600, 6, 14, 25, 40),
    ),
    ("Light five-inch freestyle", ROTORS, 4, None, "dives and climbs", (4, 6, 4.9, 5.2, 500, 700, 5, 12, 15, 35)),
    ("Long-range seven-inch", ROTORS, 4, None, "minutes before bursts", (4, 6, 6.9, 7.2, 800, 1200, 3, 6, 15, 25)),
    ("Camera craft, ten-inch", ROTORS, 4, None, "steady hover", (4, 6, 9, 11, 1500, 2400, 2, 4, 8, 15)),
    ("Park flyer, six-inch propeller", WING, 1, 130, "small field", (3, 3, 5.5, 6.5, 350, 700, 0.6, 1.5, 10, 20)),
    ("Slow trainer", WING, 1, 110, "forgiving", (3, 3, 8, 11, 800, 1300, 0.5, 1, 8, 14)),
    ("Fast flying wing", WING, 1, 200, "flat out", (3, 4, 5, 7.5, 500, 900, 0.7, 1.5, 20, 35)),
    ("Hovering aerobatic", WING, 1, 300, "hangs on its propeller", (3, 4, 10, 13, 700, 1300, 1.3, 2.5, 6, 18)),
)


def _row(
    name: str, carried: str, motors: int, loading: int | None, meaning: str, numbers: tuple[float, ...]
) -> dict[str, float | str]:
    named: dict[str, float | str] = {"use_name": name, "use_carried": carried, "use_motors": float(motors)}
    said: dict[str, float | str] = {"use_note": meaning, "use_source": _PRACTICE.text}
    loaded: dict[str, float | str] = {} if loading is None else {"use_loading": float(loading)}
    return named | said | loaded | {column: float(value) for column, value in zip(_NUMBERS, numbers, strict=True)}


USES = Table(
    "Uses",
    "What a motor may be for. All figures are common practice, no source: put in those of your own craft.",
    spare=4,
    rows=tuple(_row(*usual) for usual in _USUAL),
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

_WHAT_FOR = Topic("What it suits")
hover_throttle_most = _WHAT_FOR.setting("hover_throttle_most", "Hover throttle, most", "%", 65, (20, 95)).means(
    "With more, too little is left to climb and to steer.", practice("half throttle is spoken of as comfortable")
)
