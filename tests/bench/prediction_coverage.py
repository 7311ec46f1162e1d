"""How often the ± of a predicted cell count holds the truth, by the step from the cell counts that were measured.

`python -m tests.bench.prediction_coverage [BENCHES]` prints the table. Benches are invented: speed over Kv times volts
from 0.60 to 0.85 at the measured count, a pack that sags by 2 to 8 %, copper that a steady reading warms by 5 to 40 K,
instruments anywhere within their limits, and propellers whose CT and CP go with speed as those of the UIUC static
rows do (tests/published/data/uiuc). Truth is the simulated bench itself at the other cell count.
"""

import math
import sys
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from typing import Any, NamedTuple

import numpy as np

from demo_inputs import bench_simulator as sim
from tests.published import propeller_sweeps as uiuc
from xlsengine import bench_test
from xlsengine.bench.groups.prediction import PREDICTED
from xlsengine.study.evaluation import Scope

LIMITS = {"thrust": 0.5, "voltage": 0.5, "current": 1.5, "speed": 0.2}  # percent, as on Settings
SIZES = {1: (1.2, 2.6), 2: (2.0, 4.0), 3: (4.0, 10.0), 4: (5.0, 10.0), 6: (5.0, 14.0)}  # inches, by cells
HOLD_LOSS = 0.07  # V a cell
COPPER_PER_K = 0.00393
FINE = sim.Instruments(thrust_step_g=0.1, current_step_a=0.01, thrust_g=0.1)
PLANS = ((1,), (2,), (3,), (4,), (6,), (1, 2), (2, 3), (3, 4), (4, 5), (4, 6))
"""Cell counts of the first two propellers of a bench; the other two are read at the first of them alone.

Of the larger motors none on twice the cells: copper that warms by 40 K on 3S would warm by some 300 K on 6S.
"""
FIGURES = ("thrust", "current", "power", "efficiency")


@cache
def exponents() -> tuple[tuple[float, float], ...]:
    """Return for each open propeller the powers of speed that its CT and CP go with, above 0.4 of its top speed."""
    found = []
    for path in sorted(uiuc.DATA.glob("static_*.csv")):
        rpm, ct, cp = (uiuc.column(uiuc.rows_of(path), name) for name in ("rpm", "CT", "CP"))
        kept = rpm > 0.4 * rpm.max()
        slopes = [np.polyfit(np.log(rpm[kept]), np.log(values[kept]), 1)[0] for values in (ct, cp)]
        found.append((float(slopes[0]), float(slopes[1])))
    return tuple(found)


@dataclass(frozen=True)
class Propeller(sim.Propeller):
    """A propeller whose CT and CP go with powers of speed of its own, from `nominal_rpm`."""

    ct_power: float = 0.05
    cp_power: float = -0.03
    nominal_rpm: float = 10_000.0

    def ct(self, rpm: float) -> float:
        """Return CT at `rpm`."""
        return self.nominal_ct * math.pow(max(rpm, 1.0) / self.nominal_rpm, self.ct_power)

    def cp(self, rpm: float) -> float:
        """Return CP at `rpm`."""
        nominal = math.sqrt(2 / math.pi) * self.nominal_ct**1.5 / self.nominal_figure_of_merit
        return float(nominal * math.pow(max(rpm, 1.0) / self.nominal_rpm, self.cp_power))


class Invented(NamedTuple):
    """A motor with its propellers, the pack it was measured on first, and the air's density (kg/m³)."""

    motor: sim.Motor
    propellers: list[Propeller]
    supply: sim.Supply
    density: float

    def truth(self, propeller: str, cells: int, throttle: float, kind: str) -> sim.OperatingPoint:
        """Return what an unerring bench would see."""
        prop = next(each for each in self.propellers if each.name == propeller)
        supply = replace(self.supply, cells=cells)
        return sim.operating_point(self.motor, prop, supply, throttle / 100, self.density, held=kind == "steady")


def propellers(rng: np.random.Generator, inches: float, rpm: float) -> list[Propeller]:
    """Return four propellers of nearly one size."""
    found = []
    for place in range(4):
        ct_power, cp_power = exponents()[rng.integers(len(exponents()))]
        found.append(
            Propeller(
                f"p{place}",
                round(inches * rng.uniform(0.95, 1.05), 2),
                round(inches * rng.uniform(0.6, 0.95), 2),
                2 + int(rng.integers(2)),
                rng.uniform(0.92, 1.08),
                ct_power,
                cp_power,
                rpm,
            )
        )
    return found


def invent(rng: np.random.Generator, cells: int) -> Invented:
    """Draw a bench from the loading that it has at its first cell count: Kv and resistance follow."""
    inches, ratio, tip = rng.uniform(*SIZES[cells]), rng.uniform(0.60, 0.85), rng.uniform(20, 60)  # tip: n·D, m/s
    rpm, density, rest = tip / (inches * 0.0254) * 60, rng.uniform(1.1, 1.25), rng.uniform(4.0, 4.19)
    props = propellers(rng, inches, rpm)
    sag = rng.uniform(0.02, 0.08)
    volts = cells * (rest - HOLD_LOSS) * (1 - sag)
    kv = rpm / (ratio * volts)
    amps = props[0].torque_n_m(rpm, density) / (60 / (2 * math.pi * kv)) / 0.96
    ohms, rise, wound = (1 - ratio) * volts / amps, rng.uniform(5, 40), rng.uniform(0.7, 0.9)
    winding, idle, resting = ohms * wound / (1 + COPPER_PER_K * rise), amps * rng.uniform(0.02, 0.06), rng.uniform()
    motor = sim.Motor(
        kv,
        1000 * winding,
        1000 * ohms * (1 - wound),
        idle * resting,
        idle * (1 - resting) / (rpm / 1000),
        rise / (amps**2 * winding),
    )
    lost, leads = 1000 * sag * cells * (rest - HOLD_LOSS) / amps, rng.uniform(0.2, 0.5)
    return Invented(motor, props, sim.Supply(cells, rest, lost * (1 - leads) / cells, lost * leads, HOLD_LOSS), density)


def readings(
    rng: np.random.Generator, bench: Invented, plan: tuple[int, ...], kind: str, speeds: bool
) -> Iterator[dict[str, Any]]:
    """Yield the rows of a session; the first two propellers also at part throttle, where rows are steady."""
    off = {name: 1 + rng.uniform(-limit, limit) / 100 for name, limit in LIMITS.items()}
    shown = {"voltage": "voltage_v", "current": "current_a", "thrust": "thrust_g", "speed": "speed_rpm"}
    for place, prop in enumerate(bench.propellers):
        steps = (100.0, 75.0, 50.0) if place < 2 and kind == "steady" else (100.0,)
        for cells in plan if place < 2 else plan[:1]:
            for throttle in steps:
                seen = sim.read_off(bench.truth(prop.name, cells, throttle, kind), FINE, rng)
                row = {name: seen[part] * off[name] for name, part in shown.items() if speeds or name != "speed"}
                yield row | {
                    "prop": prop.name,
                    "diameter": prop.diameter_in,
                    "pitch": prop.pitch_in,
                    "kind": kind,
                    "blades": float(prop.blades),
                    "cells": float(cells),
                    "throttle": throttle,
                }


def session(
    rng: np.random.Generator, plan: tuple[int, ...], kind: str, speeds: bool, number: int
) -> tuple[Scope, Invented]:
    """Return the engine's values of one session of so many propellers, and its bench."""
    bench = invent(rng, plan[0])
    bench = bench._replace(propellers=bench.propellers[:number])
    spins = [sim.free_spin(bench.motor, share * plan[0] * 4, sim.Instruments(), rng) for share in (0.5, 0.7, 1.0)]
    free = [
        {"free_voltage": spin["voltage_v"], "free_current": spin["current_a"], "free_speed": spin["speed_rpm"]}
        for spin in spins
    ]
    label = min(30_000.0, round(bench.motor.kv * rng.uniform(0.97, 1.03)))
    rows = list(readings(rng, bench, plan, kind, speeds))
    return Scope(bench_test({"label_kv": label}, {"Readings": rows, "FreeSpins": free})), bench


class Outcome(NamedTuple):
    """One prediction: for each of `FIGURES`, its error and its ±, both as shares of the prediction; NaN: not given."""

    errors: tuple[float, ...]
    halves: tuple[float, ...]


def outcomes(scope: Scope, bench: Invented) -> Iterator[tuple[str, Outcome]]:
    """Yield each prediction of a session under its step, such as "1S to 2S"."""
    names = ("prop", "cells", "kind", "from", *FIGURES, *(f"{name}_expanded" for name in FIGURES))
    columns = {name: scope.column(PREDICTED.name, f"predicted_{name}") for name in names}
    for place in range(scope.used_rows(PREDICTED.name)):
        row = {name: column[place] for name, column in columns.items()}
        point = bench.truth(row["prop"], int(row["cells"]), 100.0, row["kind"])
        watts = point.voltage_v * point.current_a
        truth = (point.thrust_g, point.current_a, watts, point.thrust_g / watts)
        yield (
            f"{row['from']} to {row['cells']:.0f}S",
            Outcome(
                tuple(1 - true / row[name] for name, true in zip(FIGURES, truth, strict=True)),
                tuple(row[f"{name}_expanded"] / row[name] for name in FIGURES),
            ),
        )


class Line(NamedTuple):
    """One class of the table: how many were asked for; for each figure the shares given and held, median ± and error."""

    asked: int
    given: Any
    held: Any
    half: Any
    error: Any


def line_of(found: list[Outcome]) -> Line:
    """Judge one class; all but the share that was given are of the figures that were."""
    errors, halves = (np.array([getattr(each, part) for each in found]) for part in ("errors", "halves"))
    given = ~np.isnan(halves)
    held = np.where(given, np.abs(errors) <= halves, False).sum(axis=0) / np.maximum(given.sum(axis=0), 1)
    half, error = (
        np.array(
            [np.median(column[there]) if there.any() else math.nan for column, there in zip(of.T, given.T, strict=True)]
        )
        for of in (halves, np.abs(errors))
    )
    return Line(len(found), given.mean(axis=0), np.where(given.any(axis=0), held, math.nan), half, error)


def collected(kind: str, speeds: bool, benches: int, seed: int = 3, number: int = 4) -> dict[str, list[Outcome]]:
    """Return the outcomes by step."""
    found: dict[str, list[Outcome]] = defaultdict(list)
    for plan in PLANS:
        rng = np.random.default_rng([seed, speeds, kind == "peak", *plan])
        for _ in range(benches):
            for step, outcome in outcomes(*session(rng, plan, kind, speeds, number)):
                found[step].append(outcome)
    return found


def _percent(values: Any) -> str:
    return " ".join("   –" if math.isnan(value) else f"{100 * value:4.0f}" for value in values)


def main() -> None:
    """Print the table."""
    benches = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    print(f"{benches} benches a plan. Percent, each for {', '.join(FIGURES)}: given, held by the ±, median ±.")
    for kind in ("steady", "peak"):
        for speeds in (True, False):
            print(f"\n{kind} rows {'with' if speeds else 'without'} a speed")
            for step, found in sorted(collected(kind, speeds, benches).items()):
                line = line_of(found)
                print(f"{step:16}{line.asked:5} |{_percent(line.given)} |{_percent(line.held)} |{_percent(line.half)}")


if __name__ == "__main__":
    main()
