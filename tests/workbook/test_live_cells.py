"""What one unreadable cell does to a live results workbook: only what depends on that reading goes blank.

A text or an error typed over a reading acts as a blank there, on every sheet: the workbook recalculated by another
program holds what the engine gives for the blank.
"""

from collections.abc import Callable, Mapping
from itertools import cycle
from typing import Any

import pytest

from tests.bench.test_esc import judged, row
from tests.instruments.office_edit import LOOK, Act, Work, do_in_libreoffice
from tests.instruments.recalculate import IronSheet, differences, requires_libreoffice
from tests.workbook.engine_values import WrittenResults, write
from xlsengine.bench.checks.fingerprint import FINGERPRINT
from xlsengine.bench.inputs.bench_test import BenchTest, bench_test
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.bench.inputs.uses import USES

ROWS = [
    row("peak", 30.0),
    row("peak", 41.0, prop="6x5", pitch=5.0),
    row("peak", 38.0, cells=3),
    row("steady", 25.0),
    row("steady", 9.0, throttle=40.0),
]
READING = 2
TYPED = ("voltage", "current", "thrust", "throttle", "speed", "diameter", "pitch", "cells")


def session(**changed: Any) -> BenchTest:
    rows = [dict(each) for each in ROWS]
    rows[READING - 1] |= changed
    return judged(*rows).test


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> WrittenResults:
    return write(session(), tmp_path_factory.mktemp("live") / "results.xlsx")


@pytest.fixture(scope="module")
def iron(written: WrittenResults) -> IronSheet:
    """Return the workbook held open; what a test types it takes back."""
    return IronSheet(written.path)


def blanked(columns: Mapping[int, str]) -> BenchTest:
    """Return the session without one entry in some of its rows."""
    return judged(*({**each, columns.get(row, "note"): None} for row, each in enumerate(ROWS, start=1))).test


def cell(written: WrittenResults, column: str, reading: int = READING) -> str:
    return written.layout.blocks[READINGS.name].local(column, reading - 1).replace("$", "")


def elsewhere(written: WrittenResults, found: list[str]) -> list[str]:
    """Leave out the fingerprint, which counts what is typed: a text is, a blank is not."""
    own = {"!".join(written.place(name)) for name in FINGERPRINT.quantities if name in written.layout.cells}
    return [each for each in found if each.partition(":")[0] not in own]


@pytest.mark.parametrize(("column", "content"), list(zip(TYPED, cycle(("n/a", "#REF!", "#N/A")), strict=False)))
def test_a_cell_that_cannot_be_read_is_a_blank(
    written: WrittenResults, iron: IronSheet, column: str, content: str
) -> None:
    place, before = cell(written, column), ROWS[READING - 1].get(column)
    found = iron.edit([("Readings", place, content)])
    iron.type([("Readings", place, before)])
    assert elsewhere(written, differences(written.values(session(**{column: None})), found)) == []


@requires_libreoffice
def test_libreoffice_takes_it_for_a_blank_too(written: WrittenResults) -> None:
    """Two columns at a time: one of them in the row below, of the same propeller on fewer cells."""
    pairs = [{READING: one, READING + 1: other} for one, other in zip(TYPED[::2], TYPED[1::2], strict=True)]
    acts: list[Act] = []
    for pair in pairs:
        acts += [("type", "Readings", cell(written, name, row), "n/a") for row, name in pair.items()]
        acts.append(LOOK)
        acts += [("type", "Readings", cell(written, name, row), ROWS[row - 1].get(name)) for row, name in pair.items()]
    (looks,) = do_in_libreoffice([Work(str(written.path), acts=acts)])
    for pair, look in zip(pairs, looks, strict=True):
        wanted = written.values(blanked(pair))
        assert elsewhere(written, differences(wanted, look.values(wanted))) == [], pair


def shown(written: WrittenResults, test: BenchTest, pick: Callable[[Any], bool]) -> list[str]:
    return [str(value) for place, value in written.values(test).items() if place[0] == "Report" and pick(value)]


def test_the_others_keep_their_figures_and_the_report_names_the_cell(written: WrittenResults) -> None:
    lost = written.scope(session(current=None))
    assert lost.column("Summary", "full_grams_per_watt")[0] == pytest.approx(ROWS[0]["thrust"] / (14.8 * 30.0), abs=0.5)
    assert lost.named("esc_held_size") == 50.0  # 38 A on 3S, the peak standing in: 38 · 1.037 / 0.80 = 49.3
    assert lost.named("esc_uncovered") == "No size for 6x5 on 4S: its reading is left out."
    said = shown(written, session(current=None), lambda value: "left out" in str(value))
    assert any(
        f"1 of 5 readings left out: 1 that cannot be read (Readings {cell(written, 'current')})." in text
        for text in said
    )


def test_an_answer_that_a_cleared_cell_shrinks_says_so_on_every_sheet(written: WrittenResults) -> None:
    """Of 6x5 on 4S no current is left, so that the size goes by 38 A on 3S."""
    found = written.values(session(current=None))
    wanted = f"Not counted: 6x5 on 4S (Readings {cell(written, 'current')}, cannot be read)."
    places = [sheet for (sheet, *_), value in found.items() if str(value).startswith(wanted)]
    assert sorted(places) == ["Craft", "ESC", "Report"]
    assert not any(str(value).startswith("Not counted") for value in written.values(session()).values())


def test_a_date_in_a_cell_of_amps_is_no_current(written: WrittenResults) -> None:
    """Day numbers of these years are about 46,000; no bench shows so many amps."""
    lost = written.scope(session(current=46_172.0))
    assert lost.column("Readings", "full_kind")[READING - 1] < 0
    assert lost.column("Summary", "static_current")[1] != lost.column("Summary", "static_current")[1]


def test_an_impossible_reading_and_one_left_out_are_named(written: WrittenResults) -> None:
    rows = [dict(each) for each in ROWS]
    rows[READING - 1]["thrust"], rows[0]["use"] = 9000.0, "no"
    test = bench_test(written.assessment.test.fields, {"Readings": rows})
    said = shown(written, test, lambda value: "left out" in str(value))
    assert any(
        f"2 of 5 readings left out: 1 impossible (Readings {cell(written, 'thrust')}), 1 by the tester." in text
        for text in said
    )


def test_a_use_typed_below_the_others_is_judged(written: WrittenResults) -> None:
    """One row below the eight uses is worked out: what is typed there as the eighth is judged as the eighth."""
    block, sheet = written.layout.blocks["Uses"], IronSheet(written.path)
    typed = {name: block.local(name, 8).replace("$", "") for name in USES.rows[7]}
    found = sheet.edit([("Settings", typed["use_name"], "Glider tug")])
    assert found[written.place("use_9_verdict")] == "not judged"
    found = sheet.edit([("Settings", place, USES.rows[7][name]) for name, place in typed.items()])
    for part in ("name", "verdict", "reason"):
        assert found[written.place(f"use_9_{part}")] == found[written.place(f"use_8_{part}")] is not None


def test_a_use_beyond_the_workings_asks_for_new_results(written: WrittenResults) -> None:
    """Eight uses and one spare row are worked out; Settings has room for four more."""
    block = written.layout.blocks["Uses"]
    typed = {number: block.local("use_name", number - 1).replace("$", "") for number in (9, 10)}
    found = IronSheet(written.path).edit([("Settings", place, "Glider tug") for place in typed.values()])
    stands = {number: found[written.place(f"use_{number}_verdict")] for number in (8, 9, 10, 11)}
    assert (stands[9], stands[10], stands[11]) == ("not judged", "make the results again", None)
    assert stands[8] in ("suits", "borderline", "does not", "not tested")
