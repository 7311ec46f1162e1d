"""How long a find takes in a library, for needs from narrow to none at all.

Run ``python -m tests.benchmarks.find_by_need LIBRARY`` from the project root. Seconds are those of the processor, and beside
them those of the clock. Never run as a timed test.
"""

import sys
import time
from typing import Any

from xlsengine.library.finding import find
from xlsengine.library.store import Library
from xlsengine.study.need_pairs import need_values

_CRAFT: dict[str, Any] = {"all_up_mass": 600.0, "motor_count": 4.0}
NEEDS: dict[str, dict[str, Any]] = {
    "narrow": {**_CRAFT, "wanted_ratio": 9.0, "pack_cells": 4.0, "largest_motor_mass": 33.0},
    "usual": {
        **_CRAFT,
        "wanted_ratio": 4.0,
        "pack_cells": 4.0,
        "largest_propeller": 5.1,
        "esc_flight_limit": 35.0,
        "esc_bench_limit": 45.0,
        "largest_motor_mass": 36.0,
    },
    "nearly none": {**_CRAFT, "wanted_ratio": 2.0},
}


def find_for(name: str, library: Library) -> str:
    """Return what a find came to for one of the needs."""
    found = find(need_values(NEEDS[name]), library)
    return f"{found.tests} tests, {found.pairs} pairs: {found.fitting} fit, {found.near} borderline"


def measured(name: str, library: Library) -> str:
    """Return what a find came to and how long it took."""
    clock, processor = time.perf_counter(), time.process_time()
    said = find_for(name, library)
    seconds = time.process_time() - processor
    return f"{said}; {seconds:.2f} s of the processor, {time.perf_counter() - clock:.2f} s by the clock"


def main() -> None:
    """Measure each need once, after one that loads what is loaded once."""
    library = Library(sys.argv[1])
    find_for("narrow", library)
    for name in NEEDS:
        print(f"{name}: {measured(name, library)}")


if __name__ == "__main__":
    main()
