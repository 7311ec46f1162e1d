"""Simulated bench tests of many motors and propellers, and one fault at a time to plant in them.

Motors and propellers vary about those of the demos. Thrust and power coefficients grow and fall with speed as widely as
in open data (UIUC Propeller Data Site: static thrust goes with speed to the power 2.0 to 2.2).
"""

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from demo_inputs.bench_simulator import Motor, Propeller, Supply, air_density, free_spin, operating_point, read_off
from demo_inputs.invented_motors import FINE_SWEEP, HIGH_SWEEP, PLANS, SWEEP, A, B, C, D, F, G, H, J, K, N
from demo_inputs.scenario import INSTRUMENTS
from xlsengine import BenchTest, bench_test

Row = dict[str, object]
Rows = list[Row]
READ = {"voltage_v": "voltage", "current_a": "current", "thrust_g": "thrust", "speed_rpm": "speed"}
STEPS = {"thrust": 1.0, "current": 0.1, "voltage": 0.01, "speed": 10.0}
SMALL, LARGE = (A, B, C, D, N), (F, G, H, J, K)
SWEEPS: tuple[tuple[int, ...], ...] = (SWEEP, FINE_SWEEP, HIGH_SWEEP)
CELLS = {
    "colander-2306": (3, 4),
    "gherkin-2207": (3, 4),
    "thimble-2207": (4, 5),
    "doorstop-2207": (4, 6),
    "marmalade-2826": (3, 4),
}


@dataclass(frozen=True)
class Moulding(Propeller):
    """A propeller of its own: its thrust over that of the label, and how its coefficients go with speed."""

    strength: float = 1.0
    thrust_growth: float = 0.05
    power_growth: float = -0.03

    @property
    def nominal_ct(self) -> float:
        return self.strength * super().nominal_ct

    def ct(self, rpm: float) -> float:
        return self.nominal_ct * math.pow(self._reynolds_ratio(rpm), self.thrust_growth)

    def cp(self, rpm: float) -> float:
        nominal = math.sqrt(2.0 / math.pi) * math.pow(self.nominal_ct, 1.5) / self.nominal_figure_of_merit
        return nominal * math.pow(self._reynolds_ratio(rpm), self.power_growth)


@dataclass(frozen=True)
class Bench:
    """The readings of a bench without faults, its other tables and its fields."""

    rows: Rows
    tables: Mapping[str, Rows]
    fields: Mapping[str, float]

    def test(self, rows: Rows, speed: bool = True) -> BenchTest:
        """Return readings as a bench test; without `speed` no table holds one."""
        kept = rows if speed else [row | {"speed": None} for row in rows]
        return bench_test(self.fields, {"Readings": kept, **(self.tables if speed else {})})


def bench(seed: int) -> Bench:
    """Return a simulated bench; the same seed gives the same."""
    rng = np.random.default_rng([20_261_125, seed])
    name = list(PLANS)[seed % len(PLANS)]
    motor, supplies = motor_like(PLANS[name].motor, rng), _supplies(CELLS[name], rng)
    family = LARGE if name == "marmalade-2826" else SMALL
    chosen = rng.choice(len(family), int(rng.integers(3, 6)), replace=False)
    density = air_density(float(rng.uniform(5, 30)), float(rng.uniform(960, 1030)), 50.0)
    sweep, stepped = SWEEPS[2 if family is LARGE else int(rng.integers(2))], float(rng.choice([0.3, 0.6, 1.0]))
    rows: Rows = []
    for propeller in (moulding(family[place], rng) for place in chosen):
        for supply in supplies:
            steps = sweep if rng.random() < stepped else ()
            rows += _series(motor, propeller, supply, steps, int(rng.choice([1, 1, 1, 3])), density, rng)
    for run, row in enumerate(rows, start=1):
        row["run"] = float(run)
    spins = [free_spin(motor, volts, INSTRUMENTS, rng) for volts in (8.0, 10.0, 14.0)]
    free: Rows = [{f"free_{key.rsplit('_', 1)[0]}": value for key, value in spin.items()} for spin in spins]
    label = round(motor.kv * float(rng.uniform(0.97, 1.05)), -1)
    return Bench(rows, {"FreeSpins": free}, {"label_kv": label})


def motor_like(like: Motor, rng: np.random.Generator) -> Motor:
    """Return a motor of its own, like one of those invented."""
    return replace(
        like,
        kv=like.kv * float(rng.uniform(0.85, 1.15)),
        winding_mohm=like.winding_mohm * float(rng.uniform(0.8, 1.25)),
        no_load_at_rest_a=like.no_load_at_rest_a * float(rng.uniform(0.6, 1.6)),
        heating_k_per_w=like.heating_k_per_w * float(rng.uniform(0.5, 1.5)),
    )


def _supplies(cells: tuple[int, ...], rng: np.random.Generator) -> list[Supply]:
    """Return one supply a cell count: packs, or a bench supply set to their volts."""
    if rng.random() < 0.25:
        return [Supply(count, 3.85, leads_mohm=5.0, hold_loss_per_cell_v=0.025) for count in cells]
    return [
        Supply(count, 4.15, float(rng.uniform(2, 6)), float(rng.uniform(0, 8)), hold_loss_per_cell_v=0.07)
        for count in cells
    ]


def moulding(like: Propeller, rng: np.random.Generator) -> Moulding:
    """Return a propeller of its own, with the label of one of those invented."""
    return Moulding(
        like.name,
        like.diameter_in,
        like.pitch_in,
        like.blades,
        like.fineness * float(rng.uniform(0.88, 1.0)),
        float(rng.uniform(0.9, 1.1)),
        float(rng.uniform(0.0, 0.15)),
        float(rng.uniform(-0.08, 0.04)),
    )


def _series(
    motor: Motor,
    propeller: Propeller,
    supply: Supply,
    steps: tuple[int, ...],
    repeats: int,
    density: float,
    rng: np.random.Generator,
) -> Iterator[Row]:
    """Yield the rows of one propeller on one pack: the peak, the steady repeats, then the throttle steps."""
    charged = replace(supply, rest_per_cell_v=supply.rest_per_cell_v + 0.006 * float(rng.standard_normal()))
    points = [(100, "peak"), *[(100, "steady")] * repeats, *[(step, "steady") for step in steps]]
    for throttle, kind in points:
        point = operating_point(motor, propeller, charged, throttle / 100, density, held=kind == "steady")
        seen = read_off(point, INSTRUMENTS, rng)
        yield {
            "prop": propeller.name,
            "diameter": propeller.diameter_in,
            "pitch": propeller.pitch_in,
            "blades": float(propeller.blades),
            "cells": float(supply.cells),
            "throttle": float(throttle),
            "kind": kind,
            **{name: seen[key] for key, name in READ.items()},
        }


@dataclass(frozen=True)
class Planted:
    """Readings with one fault, the places of the rows that tell it, and of those that it touches."""

    rows: Rows
    at: tuple[int, ...]
    touched: tuple[int, ...] = ()


Plant = Callable[[Rows, np.random.Generator], Planted | None]


def _number(row: Row, column: str) -> float:
    return float(row[column])  # type: ignore[arg-type]


def _as_shown(value: float, column: str) -> float:
    return round(round(value / STEPS[column]) * STEPS[column], 4)


def off_by(column: str, share: float) -> Plant:
    """Return a fault: one reading too high or too low by a share."""

    def plant(rows: Rows, rng: np.random.Generator) -> Planted:
        at = int(rng.integers(len(rows)))
        value = _number(rows[at], column) * (1 + share * float(rng.choice([-1, 1])))
        return Planted(_changed(rows, at, {column: _as_shown(value, column)}), (at,))

    return plant


def slipped(column: str) -> Plant:
    """Return a fault: the decimal point of one reading slipped by one place."""

    def plant(rows: Rows, rng: np.random.Generator) -> Planted:
        at = int(rng.integers(len(rows)))
        return Planted(
            _changed(rows, at, {column: round(_number(rows[at], column) * float(rng.choice([0.1, 10])), 4)}), (at,)
        )

    return plant


def _changed(rows: Rows, at: int, changes: Row) -> Rows:
    return [row | changes if place == at else row for place, row in enumerate(rows)]


def tare(rows: Rows, rng: np.random.Generator) -> Planted | None:
    """Shift all thrusts of one series by 10 to 20 % of the lowest of its throttle steps."""
    lows = [at for at, row in enumerate(rows) if _is_lowest(rows, at) and _number(row, "throttle") < 60]
    if not lows:
        return None
    low = int(rng.choice(lows))
    shift = _number(rows[low], "thrust") * float(rng.uniform(0.1, 0.2)) * float(rng.choice([-1, 1]))
    series = tuple(at for at in range(len(rows)) if _series_of(rows[at]) == _series_of(rows[low]))
    tared = [
        row | {"thrust": _as_shown(_number(row, "thrust") + shift, "thrust")} if at in series else row
        for at, row in enumerate(rows)
    ]
    return Planted(tared, series, series)


def _series_of(row: Row) -> tuple[object, object]:
    return row["prop"], row["cells"]


def _is_lowest(rows: Rows, at: int) -> bool:
    own = [_number(row, "throttle") for row in rows if _series_of(row) == _series_of(rows[at])]
    return _number(rows[at], "throttle") == min(own)


def exchanged(column: str) -> Plant:
    """Return a fault: readings of one column, at least 10 % apart, that changed places between neighbouring rows."""

    def plant(rows: Rows, rng: np.random.Generator) -> Planted | None:
        values = [_number(row, column) for row in rows]
        pairs = [at for at in range(len(rows) - 1) if abs(math.log(values[at] / values[at + 1])) > 0.1]
        if not pairs:
            return None
        at = int(rng.choice(pairs))
        mixed = _changed(_changed(rows, at, {column: values[at + 1]}), at + 1, {column: values[at]})
        return Planted(mixed, (at, at + 1), (at, at + 1))

    return plant


def columns_exchanged(one: str, other: str) -> Plant:
    """Return a fault: two readings of one row in each other's columns."""

    def plant(rows: Rows, rng: np.random.Generator) -> Planted:
        at = int(rng.integers(len(rows)))
        return Planted(_changed(rows, at, {one: rows[at][other], other: rows[at][one]}), (at,))

    return plant


def copied(rows: Rows, rng: np.random.Generator) -> Planted:
    """Type the readings of one row again in another, of another propeller, cell count or throttle."""
    at = int(rng.integers(len(rows)))
    labels = ("prop", "cells", "throttle")
    others = [o for o, row in enumerate(rows) if any(row[name] != rows[at][name] for name in labels)]
    there = int(rng.choice(others))
    pair = (at, there)
    return Planted(_changed(rows, at, {name: rows[there][name] for name in READ.values()}), pair, pair)


def kinds_exchanged(rows: Rows, rng: np.random.Generator) -> Planted:
    """Call the peak of a series steady, and its first steady reading peak."""
    at = int(rng.choice([at for at, row in enumerate(rows) if row["kind"] == "peak"]))
    mixed = _changed(_changed(rows, at, {"kind": "steady"}), at + 1, {"kind": "peak"})
    series = tuple(place for place in range(len(rows)) if _series_of(rows[place]) == _series_of(rows[at]))
    return Planted(mixed, (at, at + 1), series)


def renamed(old: str, new: str, all_of: str) -> Plant:
    """Return a fault: `old` in a propeller's name typed as `new`, in one row or in all of one cell count.

    Names here are those of trees before the size, since one slip in "A" is another propeller's mark.
    """

    def plant(rows: Rows, rng: np.random.Generator) -> Planted:
        at = int(rng.integers(len(rows)))
        is_same = [_series_of(row) == _series_of(rows[at]) if all_of else row is rows[at] for row in rows]
        name = str(rows[at]["prop"])
        wrong = name.replace(old, new) if old in name else f"{new} {name}"
        named = [
            row | {"prop": wrong if same else (name if old in name else f"{old} {name}")}
            if row["prop"] == rows[at]["prop"]
            else row
            for row, same in zip(rows, is_same, strict=True)
        ]
        touched = tuple(place for place, row in enumerate(rows) if row["prop"] == rows[at]["prop"])
        return Planted(named, touched, touched)

    return plant


def digits_exchanged(rows: Rows, rng: np.random.Generator) -> Planted:
    """Exchange two digits of the size in one row, in its name and its pitch: 6x4.5 becomes 6x5.4."""
    at = int(rng.integers(len(rows)))
    own = tuple(place for place, row in enumerate(rows) if row["prop"] == rows[at]["prop"])
    meant: Row = {"prop": "6x4.5", "diameter": 6.0, "pitch": 4.5}
    named = [row | meant if place in own else row for place, row in enumerate(rows)]
    return Planted(_changed(named, at, {"prop": "6x5.4", "pitch": 5.4}), (at,), own)


FAULTS: Mapping[str, Plant] = {
    "thrust off by 10 %": off_by("thrust", 0.1),
    "current off by 10 %": off_by("current", 0.1),
    "speed off by 10 %": off_by("speed", 0.1),
    "tare forgotten in a series": tare,
    "decimal slip in thrust": slipped("thrust"),
    "decimal slip in current": slipped("current"),
    "decimal slip in voltage": slipped("voltage"),
    "decimal slip in speed": slipped("speed"),
    "thrusts of neighbours exchanged": exchanged("thrust"),
    "currents of neighbours exchanged": exchanged("current"),
    "speeds of neighbours exchanged": exchanged("speed"),
    "volts and amps exchanged": columns_exchanged("voltage", "current"),
    "thrust and speed exchanged": columns_exchanged("thrust", "speed"),
    "readings typed a second time": copied,
    "peak and steady exchanged": kinds_exchanged,
    "propeller misspelt in one row": renamed("Birch", "Brich", ""),
    "propeller misspelt at one cell count": renamed("Birch", "Brich", "cells"),
    "size's digits exchanged in one row": digits_exchanged,
}
"""Each leaves the rows that it is given alone; those that speak of a speed need one."""
