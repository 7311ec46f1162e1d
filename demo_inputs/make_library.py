"""Write the input workbooks of the invented motors that a library is tried with, into the folder `library` beside this.

Run from the project root: ``python -m demo_inputs.make_library``. The same script gives the same bytes.
"""

from __future__ import annotations

import datetime
from pathlib import Path

import numpy as np

import xlsengine
from demo_inputs.bench_simulator import air_density, free_spin, winding_pairs
from demo_inputs.library_motors import LIBRARY_MOTORS, LibraryMotor
from demo_inputs.make_demo_inputs import renamed_rows
from demo_inputs.planted_faults import Row
from demo_inputs.scenario import INSTRUMENTS, check_weights, driven_spins, readings

FOLDER = Path(__file__).parent / "library"
SEED = 20_241_103
SCENARIO = "Invented: no such motor, maker, club or tester exists; the readings come from a simulated bench."
_BENCH: dict[str, float | str] = {
    "tester": "Tester Three",
    "sample_origin": "bought",
    "maker_saw_results": "no",
    "esc_used": "Club ESC three (invented)",
    "esc_rating": 60,
    "esc_timing": 16,
    "voltage_read_at": "ESC input",
    "altitude": 120,
    "air_temperature": 19,
    "air_pressure": 1002,
    "air_humidity": 55,
    "averaging_window": 2,
    "thrust_accuracy": 5,
    "voltage_accuracy": 0.5,
    "current_accuracy": 1.5,
    "speed_accuracy": 0.2,
    "winding_temperature": 19,
}


def library_test(name: str) -> xlsengine.BenchTest:
    """Return the filled test of one of the motors; raises `KeyError` for any other name."""
    known, rng = LIBRARY_MOTORS[name], np.random.default_rng([SEED, list(LIBRARY_MOTORS).index(name)])
    fields: dict[str, float | str | datetime.date | None] = {
        **_BENCH,
        "supply": _supply(known),
        **known.motor,
        **known.bench,
        "test_id": name,
        "test_date": datetime.date(2024, 11, known.day),
    }
    temperature, pressure, humidity = (
        float(str(fields[each])) for each in ("air_temperature", "air_pressure", "air_humidity")
    )
    fields["winding_temperature"] = temperature
    plan = known.plan
    rows: dict[str, list[Row]] = {
        "readings": readings(plan, air_density(temperature, pressure, humidity), rng),
        "free_spins": [dict(free_spin(plan.motor, volts, INSTRUMENTS, rng)) for volts in plan.free_spin_v],
        "driven_spins": driven_spins(plan),
        "winding_resistances": winding_pairs(plan.motor, temperature, rng),
        "inspection": [{"item": "Scenario", "observation": SCENARIO, "grade": "note"}],
        "check_weights": check_weights(rng),
    }
    return xlsengine.bench_test(fields, renamed_rows(rows))


def _supply(known: LibraryMotor) -> str:
    return "pack" if any(supply.mohm_per_cell for supply in known.plan.supplies) else "bench supply"


def main() -> None:
    """Write one workbook for each motor."""
    FOLDER.mkdir(exist_ok=True)
    for name in LIBRARY_MOTORS:
        xlsengine.write_input_workbook(library_test(name), FOLDER / f"{name}.xlsx", overwrite=True)
        print(f"{FOLDER.name}/{name}.xlsx")


if __name__ == "__main__":
    main()
