"""Ten invented motors of two classes, for a library to compare: what they are, and how each was tested.

Every club, person, maker, motor, propeller, price and figure here is invented. What the simulator knows, and a
comparison should find: Parsnip and Turnstile are the same motor under two labels; Kettle is a finer one; Bramble wears a
label 8 % too high; Wicket was tested far up on a hot day. Of the small ones Thistle has the least resistance and the
most mass, and Acorn was only read at its peaks.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from demo_inputs.bench_simulator import Motor, Propeller, Supply
from demo_inputs.invented_motors import MEASURED, Plan, Series

ELECTRIC = ("voltage_v", "current_a", "thrust_g")
WITH_SPEED = (*ELECTRIC, "speed_rpm", "motor_temperature_c")
STEPS = (25, 40, 55, 70, 85)


@dataclass(frozen=True)
class LibraryMotor:
    """One motor: its plan, and fields of its sheets under the engine's names."""

    plan: Plan
    motor: dict[str, float | str]
    day: int
    bench: dict[str, float | str] = field(default_factory=dict)


P = Propeller("5x4x3 P", 5.0, 4.0, 3)
Q = Propeller("5.1x4.5x3 Q", 5.1, 4.5, 3)
R = Propeller("5x3.5x2 R", 5.0, 3.5, 2)
S = Propeller("4x2.5x3 S", 4.0, 2.5, 3)
T = Propeller("5x3x2 T", 5.0, 3.0, 2)
U = Propeller("4x3x2 U", 4.0, 3.0, 2)


def _pack(cells: int) -> Supply:
    return Supply(cells, 4.15, mohm_per_cell=2.5, leads_mohm=6.0, hold_loss_per_cell_v=0.07)


def _bench_supply(cells: int) -> Supply:
    return Supply(cells, 3.9, leads_mohm=5.0, hold_loss_per_cell_v=0.02)


def _series(*wanted: tuple[Propeller, int], repeats: int = 1, steps: tuple[int, ...] = STEPS) -> tuple[Series, ...]:
    """Return one series a propeller and cell count; a motor read only at its peaks has no repeats and no steps."""
    return tuple(Series(propeller, cells, repeats, steps) for propeller, cells in wanted)


def _plan(motor: Motor, series: tuple[Series, ...], measured: tuple[str, ...], supply: str = "pack") -> Plan:
    cells = sorted({each.cells for each in series})
    supplies = tuple(_pack(count) if supply == "pack" else _bench_supply(count) for count in cells)
    return Plan(motor, supplies, series, measured, driven_rpm=(3000, 4500, 6000), free_spin_v=(8.0, 11.0, 14.0))


def _large(model: str, maker: str, kv: int, mass: float, trimmed: float | None, price: float) -> dict[str, float | str]:
    return _labelled(f"{model} 2207", maker, (22.0, 7.0), kv, mass, trimmed, price, 20)


def _small(model: str, maker: str, kv: int, mass: float, trimmed: float | None, price: float) -> dict[str, float | str]:
    return _labelled(f"{model} 1806", maker, (18.0, 6.0), kv, mass, trimmed, price, 22)


def _labelled(
    model: str,
    maker: str,
    size: tuple[float, float],
    kv: int,
    mass: float,
    trimmed: float | None,
    price: float,
    gauge: int,
) -> dict[str, float | str]:
    weighed: dict[str, float | str] = {} if trimmed is None else {"trimmed_mass_measured": trimmed}
    return {
        "model": model,
        "maker": f"{maker} (invented)",
        "size_code_means": "stator",
        "stator_diameter": size[0],
        "stator_height": size[1],
        "label_kv": kv,
        "poles": 14,
        "slots": 12,
        "mass_as_supplied": mass,
        "price": price,
        "lead_length_as_supplied": 150,
        "lead_gauge": gauge,
        "trimmed_lead_length": 30,
        **weighed,
    }


_SAME = Motor(1890, 62, 20, 0.55, 0.036, heating_k_per_w=0.25)
_ALL_LARGE = ((P, 4), (Q, 4), (R, 4), (P, 6), (R, 6))
LARGE = {
    "parsnip-2207": LibraryMotor(
        _plan(_SAME, _series(*_ALL_LARGE, repeats=3), WITH_SPEED),
        _large("Parsnip", "Ellersby", 1900, 35.6, 32.4, 21.0),
        3,
    ),
    "turnstile-2207": LibraryMotor(
        _plan(_SAME, _series(*_ALL_LARGE, repeats=3), WITH_SPEED),
        _large("Turnstile", "Quillon", 1900, 35.9, 32.7, 24.5),
        4,
    ),
    "kettle-2207": LibraryMotor(
        _plan(Motor(1925, 48, 20, 0.42, 0.028, 0.22), _series((P, 4), (R, 4), (P, 6), (R, 6), repeats=3), MEASURED),
        _large("Kettle", "Ellersby", 1950, 33.8, 30.9, 29.0),
        5,
    ),
    "bramble-2207": LibraryMotor(
        _plan(Motor(1830, 66, 20, 0.60, 0.040), _series((P, 4), (Q, 4), (R, 4), (Q, 6)), ELECTRIC),
        _large("Bramble", "Oddlode", 1980, 34.4, None, 16.5),
        6,
    ),
    "wicket-2207": LibraryMotor(
        _plan(Motor(1885, 58, 20, 0.50, 0.035), _series((P, 4), (R, 4), (P, 6)), WITH_SPEED, "bench supply"),
        _large("Wicket", "Quillon", 1900, 34.9, 31.8, 22.0),
        11,
        {"altitude": 1150, "air_pressure": 884, "air_temperature": 31, "air_humidity": 30, "tester": "Tester Four"},
    ),
}
_ALL_SMALL = ((T, 3), (U, 3), (S, 3), (S, 4), (U, 4))
SMALL = {
    "pebble-1806": LibraryMotor(
        _plan(Motor(2290, 118, 22, 0.32, 0.024), _series(*_ALL_SMALL, repeats=3), WITH_SPEED),
        _small("Pebble", "Ellersby", 2300, 18.9, 17.6, 12.0),
        12,
    ),
    "thistle-1806": LibraryMotor(
        _plan(Motor(2315, 88, 22, 0.34, 0.025), _series(*_ALL_SMALL, repeats=2), WITH_SPEED),
        _small("Thistle", "Quillon", 2300, 21.7, 20.3, 17.5),
        13,
    ),
    "button-1806": LibraryMotor(
        _plan(Motor(2270, 125, 22, 0.30, 0.024), _series((T, 3), (S, 3), (S, 4)), ELECTRIC),
        _small("Button", "Oddlode", 2300, 18.1, None, 9.5),
        14,
    ),
    "acorn-1806": LibraryMotor(
        _plan(
            Motor(2385, 112, 22, 0.33, 0.026), _series((U, 3), (S, 3), (S, 4), (U, 4), repeats=0, steps=()), ELECTRIC
        ),
        _small("Acorn", "Fennimoor", 2400, 18.5, 17.2, 13.0),
        18,
    ),
    "ferret-1806": LibraryMotor(
        _plan(Motor(2300, 108, 22, 0.31, 0.023), _series((T, 3), (U, 3), (U, 4), repeats=3), MEASURED),
        _small("Ferret", "Tarrowby", 2350, 19.2, 17.9, 14.0),
        19,
    ),
}
LIBRARY_MOTORS = {**LARGE, **SMALL}
