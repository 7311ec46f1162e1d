"""Whole blocks of readings that are wrong in one way, planted in a table worked by hand; what is told of them.

The readings are made up: thrust and amps as the volts to a power of about 1.6 from two cells to three, a pack that sags by
some 20 mV an ampere, repeats within 2 %. What is expected follows from them by hand: 7.96 V on three cells are 2.65 V a cell.
"""

from collections.abc import Callable
from typing import Any

import pytest

from tests.study.planted_benches import LARGE, SMALL
from tests.study.round_benches import bench_of, rounds
from xlsengine import BenchTest, bench_test
from xlsengine.bench.checks.row_checks import Severity
from xlsengine.errors import Fault, Reason, fault_lines
from xlsengine.study.evaluation import Scope
from xlsengine.study.flags import Flag
from xlsengine.study.group_checks import checked, group_checks
from xlsengine.units import GRAM_FORCE

Row = dict[str, Any]
OUNCE, POUND = 28.349523125, 453.59237  # grams: NIST SP 811
"""Grams (international yard and pound agreement, 1959: exact)."""

SIZES = {"8x4": 8.0, "8x6": 8.0, "9x5": 9.0, "9x6": 9.0}
READ = {
    2: [(8.00, 7.0, 400), (7.94, 8.7, 402), (7.87, 10.9, 548), (7.85, 10.6, 500)],
    3: [(11.86, 13.2, 760), (11.75, 16.3, 752), (11.60, 20.3, 1020), (11.57, 19.7, 931)],
}
AGAIN = {
    2: [(7.96, 6.9, 396), (7.90, 8.6, 399), (7.83, 10.8, 544), (7.81, 10.5, 496)],
    3: [(11.80, 13.1, 754), (11.69, 16.2, 745), (11.54, 20.1, 1011), (11.51, 19.5, 923)],
}
FIRST_2S, FIRST_3S, AGAIN_2S, AGAIN_3S = range(1, 5), range(5, 9), range(9, 13), range(13, 17)
"""Rows of Readings, from 1; runs have the same numbers."""
ALL = range(1, 17)


def table() -> list[Row]:
    """Return four propellers on two and on three cells, and all of it again: 16 good readings."""
    rows: list[Row] = []
    for read in (READ, AGAIN):
        for cells, figures in read.items():
            for (prop, diameter), (volts, amps, grams) in zip(SIZES.items(), figures, strict=True):
                row = {
                    "prop": prop,
                    "diameter": diameter,
                    "pitch": float(prop[-1]),
                    "blades": 2.0,
                    "cells": float(cells),
                }
                row |= {"run": len(rows) + 1.0, "voltage": volts, "current": amps, "thrust": float(grams)}
                rows.append(row)
    return rows


def with_mistake(at: range | list[int], change: Callable[[Row], Row]) -> list[Row]:
    return [row | change(row) if place in at else row for place, row in enumerate(table(), start=1)]


def made_test(rows: list[Row], **fields: Any) -> BenchTest:
    known: dict[str, Any] = {"label_kv": 1100.0, "readings_are": "peak", **fields}
    return bench_test(known, {"Readings": rows})


def flags_of(rows: list[Row], **fields: Any) -> list[Flag]:
    """Return one flag a reading."""
    return checked(made_test(rows, **fields))[1]


def told(rows: list[Row], **fields: Any) -> tuple[str, str, str, str, Severity, list[int]]:
    """Return the words of the one line that is told, its severity, and the rows that it speaks of."""
    flags = flags_of(rows, **fields)
    ((title, found, expected, fix, severity),) = {
        (flag.title, flag.found, flag.expected, flag.fix, flag.severity) for flag in flags
    }
    return title, found, expected, fix, severity, [flag.row for flag in flags]


def test_the_good_table_is_clean() -> None:
    assert flags_of(table()) == []
    assert flags_of(table(), supply="pack") == []


# --- cell counts ---------------------------------------------------------------------------------------------------


def test_a_round_typed_with_a_cell_too_many() -> None:
    """7.81 to 7.96 V on three cells are 2.60 to 2.65 V a cell, on two 3.90 (3.905, as binary numbers have it) to 3.98 V."""
    title, found, expected, fix, severity, rows = told(with_mistake(AGAIN_2S, lambda row: {"cells": 3.0}))
    assert (title, severity, rows) == ("Cells perhaps 2", Severity.IMPOSSIBLE, list(AGAIN_2S))
    assert found == "3 in runs 9-12: 2.60 to 2.65 V a cell"
    assert expected == "2: 3.90 to 3.98 V a cell, and thrust and amps as on 2S"
    assert fix.startswith(
        "Check Cells first: if the pack had 2, type 2. If it had 3, stop and measure the pack: below 3.0 V"
    )


def test_a_whole_cell_count_typed_with_one_too_many_is_not_published_as_that() -> None:
    rows = with_mistake([*FIRST_3S, *AGAIN_3S], lambda row: {"cells": 4.0})
    title, found, expected, _, _, at = told(rows)
    assert (title, at) == ("Cells perhaps 3", [*FIRST_3S, *AGAIN_3S])
    assert found == "4 in runs 5-8, 13-16: 2.88 to 2.96 V a cell"
    assert expected == "3: 3.84 to 3.95 V a cell"
    scope, _ = checked(made_test(rows))
    assert scope.named("highest_thrust") == 548.0


def test_cell_counts_of_two_packs_exchanged() -> None:
    """8.00 V on three cells are 2.67 V a cell, 11.86 V on two 5.93 V a cell: each pack is told with its cure."""
    flags = flags_of(with_mistake(ALL, lambda row: {"cells": 5.0 - row["cells"]}))
    assert {(flag.title, flag.found, flag.expected, flag.severity) for flag in flags} == {
        (
            "Cells perhaps 3",
            "2 in runs 5-8, 13-16: 5.75 to 5.93 V a cell",
            "3: 3.84 to 3.95 V a cell",
            Severity.IMPOSSIBLE,
        ),
        (
            "Cells perhaps 2",
            "3 in runs 1-4, 9-12: 2.60 to 2.67 V a cell",
            "2: 3.90 to 4.00 V a cell",
            Severity.IMPOSSIBLE,
        ),
    }
    assert [flag.row for flag in flags] == [*ALL]
    assert all(f"if the pack had {flag.title[-1]}, type {flag.title[-1]}." in flag.fix for flag in flags)


def test_a_pack_that_sags_too_far_is_no_wrong_cell_count() -> None:
    """The two that draw most go below 3.0 V a cell, and the others lie near them: 9.3 V and less on three cells."""

    def weak(row: Row) -> Row:
        volts = round(10.2 - 0.07 * row["current"], 2)
        share = (volts / row["voltage"]) ** 1.6
        return {"voltage": volts, "current": round(row["current"] * share, 1), "thrust": round(row["thrust"] * share)}

    flags = flags_of(with_mistake([*FIRST_3S, *AGAIN_3S], weak))
    assert not [flag for flag in flags if "Cells" in flag.title]


# --- volts ---------------------------------------------------------------------------------------------------------


def test_one_reading_with_volts_per_cell() -> None:
    """11.60 V are 3.87 V a cell; three times 3.87 V are 11.61 V."""
    title, found, expected, fix, severity, rows = told(with_mistake([7], lambda row: {"voltage": 3.87}))
    assert (title, severity, rows) == ("Voltage looks like volts per cell", Severity.IMPOSSIBLE, [7])
    assert (found, expected) == ("3.87 V in run 7", "volts of the whole pack, 11.61 V")
    assert fix.startswith("If your bench notes agree, type Cells times as much: in run 7 11.6 V for 3.87 V.")


def test_volts_per_cell_throughout() -> None:
    rows = with_mistake(ALL, lambda row: {"voltage": round(row["voltage"] / row["cells"], 2)})
    title, _, expected, _, severity, at = told(rows)
    assert (title, severity, at) == ("Voltage looks like volts per cell", Severity.IMPOSSIBLE, list(ALL))
    assert expected.startswith("volts of the whole pack")


@pytest.mark.parametrize("per_cell", [4.2, 3.7])
def test_volts_of_charger_or_label(per_cell: float) -> None:
    rows = with_mistake([*FIRST_3S, *AGAIN_3S], lambda row: {"voltage": round(3 * per_cell, 1)})
    title, found, _, fix, severity, at = told(rows, supply="pack")
    assert (title, severity, at) == ("Volts do not fall under load", Severity.DOUBTFUL, [*FIRST_3S, *AGAIN_3S])
    assert found == f"{3 * per_cell:.10g} V at 13.1 A and at 20.3 A, in runs 5-8, 13-16 on 3S"
    assert "type them" in fix


@pytest.mark.parametrize(("supply", "volts", "notes"), [("bench supply", 12.6, 0), (None, 11.7, 0), (None, 12.45, 8)])
def test_a_bench_supply_may_hold_its_volts(supply: str | None, volts: float, notes: int) -> None:
    """Where Bench names no supply, what a charged pack has at rest is asked about."""
    rows = with_mistake([*FIRST_3S, *AGAIN_3S], lambda row: {"voltage": volts})
    found = [flag.severity for flag in flags_of(rows, supply=supply) if flag.title.startswith("Volts do not")]
    assert found == [Severity.NOTE] * notes


def test_a_pack_that_hardly_sags_is_believed() -> None:
    """Four times as few amps: at 4 mΩ a cell 8 mV less on two cells, which a display of 0.1 V does not show."""
    small = [row | {"current": row["current"] / 4, "thrust": row["thrust"] / 4, "diameter": 4.0} for row in table()]
    rows = [row | {"voltage": 7.9 if row["cells"] == 2 else 11.7} for row in small]
    assert not [flag for flag in flags_of(rows, supply="pack") if flag.title.startswith("Volts do not")]


@pytest.mark.parametrize("at", [ALL, AGAIN_3S])
def test_volts_and_amps_in_each_others_column(at: range) -> None:
    rows = with_mistake(at, lambda row: {"voltage": row["current"], "current": row["voltage"]})
    title, _, expected, fix, severity, found = told(rows)
    assert (title, severity, found) == ("Voltage and current exchanged", Severity.IMPOSSIBLE, list(at))
    assert fix.startswith(
        "Exchange the two headers." if at is ALL else "If your bench notes agree, exchange volts and amps"
    )
    assert ("3.84 to 4.00 V a cell" if at is ALL else "3.84 to 3.93 V a cell") in expected


# --- thrust --------------------------------------------------------------------------------------------------------

UNITS = [
    ("newtons", "N", 1 / GRAM_FORCE),
    ("ounces", "oz", OUNCE),
    ("pounds", "lb", POUND),
    ("kilograms", "kg", 1000.0),
]


@pytest.mark.parametrize(("unit", "symbol", "grams"), UNITS)
@pytest.mark.parametrize("at", [ALL, [*AGAIN_2S, *AGAIN_3S], FIRST_3S])
def test_another_unit(unit: str, symbol: str, grams: float, at: range | list[int]) -> None:
    """A round in ounces: 396 g are 13.97 oz, ten times as many would be 139.7 g, which no repeat reads."""
    rows = with_mistake(at, lambda row: {"thrust": round(row["thrust"] / grams, 3)})
    title, _, _, fix, severity, found = told(rows)
    assert (title, severity, found) == (f"Thrust perhaps in {unit}", Severity.IMPOSSIBLE, list(at))
    first = f"{rows[at[0] - 1]['thrust']:.10g} {symbol}"
    cure = f'Change the header to "Thrust ({symbol})"' if at is ALL else f'the unit behind each number: "{first}"'
    assert cure in fix


def test_a_tare_left_in_the_first_round_on_one_cell_count() -> None:
    title, found, _, fix, severity, rows = told(with_mistake(FIRST_3S, lambda row: {"thrust": row["thrust"] + 60}))
    assert (title, severity, rows) == ("Tare perhaps left in a round", Severity.DOUBTFUL, list(FIRST_3S))
    assert found.startswith("on 3S runs 5-8 read about 6")
    assert "runs 13-16, whatever the propeller" in found
    assert "repeat some points with a fresh zero" in fix


def test_a_tare_left_in_the_second_round_doubts_the_second() -> None:
    rows = with_mistake([*AGAIN_2S, *AGAIN_3S], lambda row: {"thrust": row["thrust"] + 60})
    title, found, *_, at = told(rows)
    assert (title, at) == ("Tare perhaps left in a round", [*AGAIN_2S, *AGAIN_3S])
    assert found.startswith("on 2S and 3S runs 9-16 read about 60 g more than runs 1-8, whatever the propeller")


def test_a_warm_motor_is_no_tare() -> None:
    """Magnets and copper that are warm take as large a share off amps as off thrust, here 4 %."""
    warm = with_mistake(
        [*AGAIN_2S, *AGAIN_3S],
        lambda row: {"thrust": round(row["thrust"] * 0.96), "current": round(row["current"] * 0.96, 1)},
    )
    assert not [flag for flag in flags_of(warm) if "Tare" in flag.title]


# --- simulated benches ---------------------------------------------------------------------------------------------

BLOCKS = ("Cells ", "Voltage looks", "Thrust perhaps", "Voltage and current", "Tare perhaps", "Volts do not")
SEEDS = range(12)


def _blocks(rows: list[Row]) -> dict[str, set[int]]:
    found: dict[str, set[int]] = {}
    for flag in group_checks(Scope(bench_of(rows))):
        if flag.title.startswith(BLOCKS):
            found.setdefault(flag.title, set()).add(flag.row)
    return found


@pytest.mark.parametrize("seed", SEEDS)
def test_sound_benches_have_no_blocks(seed: int) -> None:
    rows = rounds(seed, min(len(SMALL), len(LARGE)))
    assert _blocks(rows) == {}
    assert _blocks([row | {"voltage": round(float(str(row["voltage"])), 1)} for row in rows]) == {}


@pytest.mark.parametrize("seed", SEEDS)
def test_exchanged_cell_counts_are_found_on_every_bench(seed: int) -> None:
    rows: list[Row] = rounds(seed)
    low, high = (pick(row["cells"] for row in rows) for pick in (min, max))
    ends = {place for place, row in enumerate(rows, start=1) if row["cells"] in (low, high)}
    turned = [row | {"cells": low + high - row["cells"]} if at in ends else row for at, row in enumerate(rows, start=1)]
    found = {
        f"Cells perhaps {count:.0f}": {at for at in ends if rows[at - 1]["cells"] == count} for count in (low, high)
    }
    assert _blocks(turned) == found


# --- faults on reading ---------------------------------------------------------------------------------------------


def test_a_column_outside_its_limits_is_one_line() -> None:
    faults = [
        Fault(Reason.OUT_OF_LIMITS, f"Readings!K{6 + at}", "Thrust (g)", f"-{390 + at}", "a number", "type it")
        for at in range(6)
    ]
    assert fault_lines(faults) == ["Readings!K6:K11 Thrust (g): found -390, -391 ...; wanted a number; type it"]
    assert len(fault_lines(faults[:4])) == 4
