"""Bench tests made by chance within the declared limits, for what demos never hold; and some made on purpose."""

import datetime
import os
import random
from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

from demo_inputs.make_demo_inputs import bench_test_of
from demo_inputs.scenario import DEMO_TESTS
from xlsengine.bench.declaring.declare import Field, Table
from xlsengine.bench.inputs.bench_test import BenchTest, Value, bench_test
from xlsengine.bench.inputs.craft import BURSTS, HELD, HOVER
from xlsengine.bench.inputs.forms import FIELDS, INPUT_TABLES
from xlsengine.bench.inputs.readings import PEAK, READINGS, STEADY
from xlsengine.bench.inputs.settings import SETTINGS

Row = dict[str, Any]

_ODD = (
    "5x4.3¦5*4.3¦5?4.3¦5~4.3¦~*¦?¦Größe 7×5¦GRÖßE 7×5¦7\"x5\" „slow“¦7'x5'¦=7x5¦+7x5¦-7x5¦@7x5¦"
    "7x5 | 4S¦  7x5  ¦7   x   5¦7X5¦<7x5¦<>7x5¦>=7¦TRUE¦5043¦1e5¦5-4-3¦12/6¦Винт 9¦螺旋桨 8¦6 🙂¦{7}[5]#¦"
    "&quot;<b>¦_x0041_¦a;b,c\\d¦7x5\nnew"
)
ODD_TEXTS = (*_ODD.split("¦"), "x" * 120, '""', "'", "'7x5", "%", "Å", "café", "cafe")
"""Names that mean something to a spreadsheet: wildcards, quotes, operators, numbers, dates, letters with marks."""

BLANKS = 0.3
BLANK_THOUGH_NEEDED = 0.03
UNCHANGED = 0.75
SEEDS = int(os.environ.get("XLSENGINE_MADE_TESTS", "5"))
"""How many tests are made by chance; more of them make a longer search."""


EXACT_IN_IRONCALC: dict[str, tuple[float, ...]] = {"coverage": (95.0, 99.0)}
"""TINV of IronCalc 0.9.1 is off by up to 4.5e-7 of its value at levels between 50 and 80 %; LibreOffice's is not."""


def made_test(seed: int) -> BenchTest:
    """Return a bench test of 1 to 40 readings in 1 to 6 groups; the same seed gives the same test."""
    rng = random.Random(seed)
    fields = {name: made_field(declared, rng) for name, declared in FIELDS.items()}
    fields["test_id"] = fields["test_id"] or "made"  # one without goes by its file's name once it was read
    tables = {table.name: made_rows(table, rng) for table in INPUT_TABLES if table is not READINGS}
    return bench_test(fields, {**tables, READINGS.name: made_readings(rng)})


def made_field(declared: Field, rng: random.Random) -> Value:
    """Return a single cell's value; settings mostly keep what they begin with."""
    if declared.name in SETTINGS.fields and rng.random() < UNCHANGED:
        return declared.default
    return made_value(declared, rng)


def made_value(declared: Field, rng: random.Random) -> Value:
    """Return a value that its limits allow, or a blank; seldom a blank where one is needed."""
    if rng.random() < (BLANK_THOUGH_NEEDED if declared.required else BLANKS):
        return None
    if declared.name in EXACT_IN_IRONCALC:
        return rng.choice(EXACT_IN_IRONCALC[declared.name])
    match declared.kind:
        case "choice":
            return rng.choice(declared.choices)
        case "text":
            return rng.choice(ODD_TEXTS)
        case "date":
            return datetime.date(2026, 1, 1) + datetime.timedelta(days=rng.randrange(1000))
    return made_number(declared, rng)


def made_number(declared: Field, rng: random.Random) -> float:
    """Return a number within the limits: an end, nought, one of any size, or one of any order of magnitude."""
    low, high = declared.low or 0.0, 100.0 if declared.high is None else declared.high
    within = rng.uniform(low, high)
    by_order = min(high, max(low, 10 ** rng.uniform(-2, 4)))
    chosen = rng.choice((within, by_order, by_order, by_order, low, high, min(high, max(low, 0.0))))
    if declared.kind == "whole":
        return float(round(chosen / declared.multiple) * declared.multiple)
    return min(high, max(low, round(chosen, rng.randrange(4))))


def made_rows(table: Table, rng: random.Random) -> list[Row]:
    """Return rows of an input table, none to all of what a new workbook holds and some more."""
    if table.rows and rng.random() < UNCHANGED:
        return list(table.rows)
    fewest = 0 if table.spare else 1
    rows = [made_row(table, rng) for _ in range(rng.randint(fewest, len(table.rows) + 3))]
    return [row for row in rows if any(value is not None for value in row.values())]  # a blank row is no row


def made_row(table: Table, rng: random.Random) -> Row:
    """Return a row whose cells know nothing of each other."""
    return {name: made_value(declared, rng) for name, declared in table.fields.items()}


def made_readings(rng: random.Random) -> list[Row]:
    """Return readings: of a bench that could be, or without any sense, or of both; some of them twice."""
    props = rng.sample(ODD_TEXTS, k=3)
    groups = [(rng.choice(props), float(rng.randint(1, 8))) for _ in range(rng.randint(1, 6))]
    sense = rng.choice((0.0, 0.8, 1.0, 1.0))
    rows = [
        made_reading(*rng.choice(groups), rng) if rng.random() < sense else made_row(READINGS, rng)
        for _ in range(rng.choice((1, 2, rng.randint(3, 40), rng.randint(3, 40))))
    ]
    for _ in range(rng.choice((0, 0, 2))):
        rows[rng.randrange(len(rows))] = dict(rng.choice(rows))
    return rows


def made_reading(prop: str, cells: float, rng: random.Random) -> Row:
    """Return a reading that could have been: thrust as current to the power 2/3, a slipped digit now and then."""
    throttle = float(rng.choice((100, 100, 100, 98, 97.9, 75, 50, 30)))
    current = 0.05 * throttle**1.5 * rng.uniform(0.95, 1.05) * rng.choice((1.0,) * 20 + (0.1, 10.0))
    volts = cells * rng.uniform(3.3, 4.2)
    row: Row = {
        "run": float(rng.randint(1, 99)),
        "prop": rng.choice((prop, prop, prop.upper(), f" {prop}  ")),
        "diameter": 4.0 + cells,
        "pitch": rng.choice((3.0, 4.5, 9.0)),
        "blades": float(rng.randint(2, 5)),
        "cells": cells,
        "throttle": throttle,
        "kind": rng.choice((PEAK, STEADY, STEADY)),
        "voltage": round(volts, 2),
        "current": round(current, 2),
        "thrust": float(round(60 * current ** (2 / 3) * rng.uniform(0.97, 1.03))),
        "speed": float(round(1600 * volts * throttle / 100, -1)),
        "motor_temperature": float(rng.randint(20, 99)),
        "torque": round(0.004 * current, 4),
        "use": rng.choice(("yes", "yes", "no", None)),
        "note": rng.choice(ODD_TEXTS),
    }
    for name in ("throttle", "speed", "pitch", "blades", "torque", "run", "motor_temperature"):
        if rng.random() < BLANKS:
            row[name] = None
    return row


FULL: Row = {
    "run": 1.0,
    "prop": "7x5",
    "diameter": 7.0,
    "pitch": 5.0,
    "blades": 2.0,
    "cells": 4.0,
    "throttle": 100.0,
    "kind": STEADY,
    "voltage": 14.8,
    "current": 30.0,
    "thrust": 1000.0,
    "speed": 20000.0,
}
MOTOR: Row = {
    "test_id": "made-1",
    "test_date": datetime.date(2026, 5, 31),
    "model": "Invented 2207",
    "label_kv": 1750.0,
    "mass_as_supplied": 35.0,
}


SPINS: list[Row] = [
    {"free_voltage": volts, "free_current": 0.8, "free_speed": 1700.0 * volts} for volts in (10.0, 12.0, 14.0)
]


def on_purpose(*rows: Mapping[str, Any], **fields: Value) -> BenchTest:
    """Return a test of these readings, each like `FULL` but for what is given."""
    return bench_test({**MOTOR, **fields}, {"Readings": [{**FULL, **row} for row in rows]})


NEEDED = ("prop", "cells", "voltage", "current", "thrust")


def only_needed(**fields: Value) -> BenchTest:
    """Return a test of which nothing is typed but what each reading needs, of three groups, one of them in steps."""
    steps = [{**FULL, "thrust": 10 * t, "current": 0.03 * t**1.5, "throttle": t} for t in (30.0, 60.0, 90.0)]
    full = [FULL, {**FULL, "prop": "wide", "thrust": 1100.0}, {**FULL, "cells": 3.0, "voltage": 11.1, "thrust": 700.0}]
    typed = [{name: row[name] for name in NEEDED} for row in full]
    return bench_test(fields, {"Readings": typed + [{n: row[n] for n in (*NEEDED, "throttle")} for row in steps]})


ON_PURPOSE: dict[str, Callable[[], BenchTest]] = {
    "only what is needed": only_needed,
    "only what is needed, steady": partial(only_needed, readings_are=STEADY),
    "no label, no mass": lambda: on_purpose({}, {"diameter": None, "kind": None}, label_kv=None, mass_as_supplied=None),
    "no diameter anywhere": lambda: on_purpose({"diameter": None, "pitch": None}, {"diameter": None, "thrust": 990.0}),
    "nothing typed": lambda: bench_test({}, {"Readings": []}),
    "nothing at all": lambda: bench_test(dict.fromkeys(FIELDS), {table.name: [] for table in INPUT_TABLES}),
    "one reading": lambda: on_purpose({}),
    "no full throttle": lambda: on_purpose(
        *({"throttle": t, "thrust": 10 * t, "current": 0.02 * t**1.5} for t in (30.0, 50.0, 75.0, 97.9))
    ),
    "nothing used": lambda: on_purpose(*({"use": "no", "thrust": t} for t in (900.0, 1000.0, 1100.0))),
    "no amps, no grams": lambda: on_purpose(
        *({"prop": "no amps", "current": 0.0, "kind": kind} for kind in (STEADY, PEAK)),
        *({"thrust": 0.0, **more} for more in ({}, {"throttle": 0.0}, {"voltage": 0.0})),
    ),
    "one reading five times": lambda: on_purpose(*[{}] * 5),
    "peak alone, held": lambda: on_purpose({"kind": PEAK}, {"kind": PEAK, "prop": "8x4"}, way_of_flying=HELD),
    "hover": lambda: on_purpose({}, {"kind": PEAK, "current": 33.0}, way_of_flying=HOVER),
    "bursts on another pack": lambda: on_purpose({}, way_of_flying=BURSTS, pack_cells=6.0, craft_propeller="7X5 "),
    "names that are patterns": lambda: on_purpose(
        *({"prop": name, "thrust": 900.0 + 10 * place} for place, name in enumerate(ODD_TEXTS[:6]))
    ),
    "signs that XML cannot hold": lambda: on_purpose({"prop": "7\x07x5\ufffe"}, test_id="\x0b1", esc_used="_x0041_"),
    "one ESC size, unnamed": lambda: bench_test(
        MOTOR, {"Readings": [{**FULL, "prop": None}], "EscSizes": [{"esc_size": 40.0}]}
    ),
    "half of what could be": lambda: bench_test(
        {**MOTOR, "coverage": 51.07}, {"Readings": [FULL, {**FULL, "thrust": 1010.0}], "FreeSpins": SPINS}
    ),
    "gaps among ESC sizes": lambda: bench_test(
        MOTOR, {"Readings": [FULL], "EscSizes": [{"esc_size": size} for size in (20.0, None, 60.0)]}
    ),
    "names like formulas": lambda: on_purpose(
        {"prop": "=1+1", "note": "=1+1"},
        {"prop": "+1"},
        {"prop": "-1"},
        {"prop": "@A1"},
        test_id="=1+1",
        model="+1",
        maker="-1",
        tester="@A1",
        esc_used="=NA()",
        craft_propeller="=1+1",
    ),
}

NOT_FOR_IRONCALC = {"half of what could be"}
"""Its level is one of those where IronCalc 0.9.1 is off; see above."""

DEMOS: dict[str, Callable[[], BenchTest]] = {demo.file_name: partial(bench_test_of, demo) for demo in DEMO_TESTS}
MADE: dict[str, Callable[[], BenchTest]] = {f"made {seed}": partial(made_test, seed) for seed in range(SEEDS)}
ALL = {**DEMOS, **ON_PURPOSE, **MADE}
