"""How fast a library takes tests in and gives them back, and what memory it takes meanwhile.

Run ``python -m tests.benchmarks.library [TESTS] [WORKBOOKS] [COMPUTED]`` from the project root; 10,000 tests and 300
workbooks where nothing is said. The tests are generated, of 40 rows each; they are added one by one, as from a reader that is
done with them: what is measured is the kept figures and the writing. Of only so many as COMPUTED says the figures are
computed, and the others take theirs under names of their own: that shortens the way to a full library on a busy machine.
Seconds are those of the processor, and beside them those of the clock, which a busy machine and the disk lengthen. Never run
as a timed test.

The processes that read workbooks import this file too, so what they do not need is imported where it is used.
"""

from __future__ import annotations

import random
import resource
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import xlsengine
from xlsengine.bench.inputs.bench_test import BenchTest, Value

if TYPE_CHECKING:
    from xlsengine.library.store import Library

TESTS, WORKBOOKS, ROWS = 10_000, 300, 40
_DISTINCT = 100
_PROPELLERS, _CELLS = ("5x4x3", "5.1x4.6x3", "5x3.5x2", "6x3x2", "7x4x2"), (4.0, 6.0)
_SIZES = ((18.0, 6.0, 2300), (22.0, 7.0, 1900), (23.0, 6.0, 2400), (28.0, 6.0, 1300))


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
    from xlsengine.library.finding import find
    from xlsengine.study.need_pairs import need_values

    found = find(need_values(NEEDS[name]), library)
    return f"{found.tests} tests, {found.pairs} pairs: {found.fitting} fit, {found.near} borderline"


def generated_test(number: int) -> BenchTest:
    """Return a made-up test of 40 readings: four propellers on two cell counts, full throttle and four steps each."""
    rng = random.Random(number)
    diameter, height, kv = _SIZES[number % len(_SIZES)]
    scale = rng.gauss(1.0, 0.05)
    rows = [
        _reading(rng, prop, cells, throttle, scale)
        for prop in rng.sample(_PROPELLERS, 4)
        for cells in _CELLS
        for throttle in (100.0, 30.0, 50.0, 70.0, 85.0)
    ]
    for run, row in enumerate(rows, start=1):
        row["run"] = float(run)
    mass = diameter**2 * height / 100 * rng.gauss(1.0, 0.03)
    fields: dict[str, Value] = {
        "test_id": f"made up {number}",
        "model": f"Model {number // 3}",
        "stator_diameter": diameter,
        "stator_height": height,
        "label_kv": float(round(kv * rng.uniform(0.85, 1.15), -1)),
        "mass_as_supplied": round(mass, 1),
        "poles": 14.0,
        "air_temperature": 20.0,
        "air_pressure": 1000.0,
        "price": round(rng.uniform(9, 40), 2),
    }
    return xlsengine.bench_test(fields, {"Readings": rows})


def _reading(rng: random.Random, prop: str, cells: float, throttle: float, scale: float) -> dict[str, float | str]:
    diameter, pitch, blades = (float(part) for part in prop.split("x"))
    speed = 4000 * (cells * throttle / 100) ** 0.85 * (5 / diameter) ** 0.7
    thrust = scale * (speed / 1000) ** 2 * (diameter / 5) ** 4 * 3.2 * (1 + 0.1 * (blades - 2)) * rng.gauss(1, 0.006)
    power = thrust**1.5 / diameter / 2.4 * (1 + 0.3 * pitch / diameter) * rng.gauss(1, 0.006) / 5
    voltage = 4.0 * cells - 0.015 * power / cells
    return {
        "prop": prop,
        "diameter": diameter,
        "pitch": pitch,
        "blades": blades,
        "cells": cells,
        "throttle": throttle,
        "kind": "steady",
        "voltage": round(voltage, 2),
        "current": round(power / voltage, 2),
        "thrust": round(thrust),
    }


def main(count: int = TESTS, books: int = WORKBOOKS, computed: int | None = None) -> None:
    """Measure both ways of adding, and questions to the library that was made."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "library"
        _measure_adding(place, computed or count)
        _fill(place, computed or count, count)
        _measure_questions(place)
        if books:
            _measure_workbooks(Path(folder), books)


def _measure_adding(place: Path, count: int) -> None:
    from xlsengine.library.store import Library

    print(f"{count} tests of {ROWS} rows, already read", flush=True)
    processor, clock = 0.0, 0.0
    with Library(place).make() as library:
        for number in range(count):
            test = generated_test(number)
            began, at = time.process_time(), time.perf_counter()
            library.add(test, f"{number}.xlsx")
            processor, clock = processor + time.process_time() - began, clock + time.perf_counter() - at
            if (number + 1) % max(1, count // 5) == 0:
                rate = (
                    f"{(number + 1) / processor:.1f} a second of the processor, {(number + 1) / clock:.1f} by the clock"
                )
                print(f"  {number + 1:>6}: {rate}; {_megabytes():.0f} MB of memory", flush=True)
    print(f"  the file has {place.stat().st_size / 1e6:.0f} MB", flush=True)


def _fill(place: Path, computed: int, count: int) -> None:
    """Add the tests that take the figures of one that was computed, from others of the same generator."""
    if count == computed:
        return
    from xlsengine.library.kept import prepared
    from xlsengine.library.store import Library

    ready = [prepared(generated_test(number)) for number in range(min(computed, _DISTINCT))]
    at, began = time.perf_counter(), time.process_time()
    with Library(place).make() as library:
        for number in range(computed, count):
            like, name = ready[number % len(ready)], f"made up {number}"
            library.add(replace(like, test_id=name, identity=name, input_hash=name), f"{number}.xlsx")
    clock, processor = time.perf_counter() - at, time.process_time() - began
    per = 1000 / (count - computed)
    each = f"{processor * per:.1f} ms of the processor, {clock * per:.1f} by the clock"
    print(
        f"{count} tests, most of them with figures computed before: {each} to write one; {_megabytes():.0f} MB of memory"
    )
    print(f"  the file has {place.stat().st_size / 1e6:.0f} MB", flush=True)


def _measure_questions(place: Path) -> None:
    from xlsengine.library.store import Library

    _timed("opening, checked for writing", lambda: Library(place).make().close())
    with Library(place) as library:
        _timed("opening", lambda: library.engine)
        tests = _timed("the tests of a class", lambda: library.tests(stator_diameter=22.0, label_kv=(1800.0, 2000.0)))
        print(f"    {len(tests)} tests")
        _timed("their propellers and readings", lambda: library.kept(tests))
        _timed("all tests", library.tests)
        _timed("all propellers", library.groups)
        _timed("all readings", library.steps)
        _measure_answers(library)


def _measure_answers(library: Library) -> None:
    """Measure a motor held against its class, and finds; each once, after one that loads what is loaded once."""
    from xlsengine.library.peers import against_class
    from xlsengine.study.assessment import assess

    against_class(library, assess(generated_test(0)))
    assessment = assess(generated_test(1))
    comparison = _timed("a motor against its class", lambda: against_class(library, assessment))
    print(f"    {comparison.peers} peers; {' '.join(comparison.told)}")
    find_for("narrow", library)
    for name in NEEDS:
        found = _timed(f"a find, limits {name}", partial(find_for, name, library))
        print(f"    {found}")
    print(f"  {_megabytes():.0f} MB of memory")


def _measure_workbooks(folder: Path, count: int) -> None:
    paths = []
    for number in range(count):
        paths.append(xlsengine.write_input_workbook(generated_test(number), folder / f"{number}.xlsx"))
    from xlsengine.library.adding import add_workbooks
    from xlsengine.library.store import Library

    with Library(folder / "second") as library:
        at, began = time.perf_counter(), _children() + time.process_time()
        outcomes = list(add_workbooks(library, paths))
        clock, processor = time.perf_counter() - at, _children() + time.process_time() - began
    assert all(outcome.added for outcome in outcomes)
    each = f"{processor / count * 1000:.0f} ms of a processor each"
    print(f"{count} workbooks by two processes: {count / clock:.1f} a second by the clock, {each}")


def _timed(what: str, ask: Callable[[], Any]) -> Any:
    at, began = time.perf_counter(), time.process_time()
    found = ask()
    print(
        f"  {what}: {time.process_time() - began:.2f} s of the processor, {time.perf_counter() - at:.2f} by the clock",
        flush=True,
    )
    return found


def _children() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def _megabytes() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000


if __name__ == "__main__":
    main(*(int(given) for given in sys.argv[1:]))
