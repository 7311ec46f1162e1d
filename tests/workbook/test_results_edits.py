"""A changed reading or setting: the recalculated workbook holds what the engine gives for the changed input."""

import random
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.instruments.office_edit import libreoffice_values
from tests.instruments.recalculate import IronSheet, Value, differences, edited_copy, requires_libreoffice
from tests.workbook.engine_values import ResultsOf, WrittenResults
from tests.workbook.made_edits import Cells, Change, content, made_change, place_of
from tests.workbook.made_tests import ALL, DEMOS, FULL
from xlsengine.bench.inputs.bench_test import BenchTest
from xlsengine.bench.inputs.craft import BURSTS, HELD, HOVER
from xlsengine.bench.inputs.forms import FIELDS
from xlsengine.bench.inputs.readings import PEAK, READINGS
from xlsengine.study.assessment import assess
from xlsengine.study.evaluation import Scope
from xlsengine.study.group_checks import group_checks

CHANGES = {
    "colander-2306": (20, 1),
    "thimble-2207": (15, 0),
    "made 1": (25, 1),
    "one reading": (70, 4),
    "no full throttle": (70, 4),
}
"""How many changes are made to a workbook for IronCalc, and how many for LibreOffice, which is slower and sees Thimble's in
`test_rows_moved`."""


def changes(written: WrittenResults, name: str, count: int) -> list[Change]:
    """Return changes of one workbook; the same name gives the same changes."""
    rng = random.Random(name)
    return [made_change(written.assessment.test, written.layout, rng) for _ in range(count)]


def gathered(made: list[Change]) -> list[Change]:
    """Return four changes each as one: a recalculation, which takes long, then sees what they do to each other as well."""
    return [
        Change({at: value for change in made[start : start + 4] for at, value in change.cells.items()})
        for start in range(0, len(made), 4)
    ]


@pytest.mark.parametrize("name", CHANGES)
def test_ironcalc_follows_every_change(results_of: ResultsOf, name: str) -> None:
    written = results_of(name)
    test, iron = written.assessment.test, IronSheet(written.path)
    undo = Change({})
    for change in gathered(changes(written, name, CHANGES[name][0])):
        found = iron.edit([*undo.edits(written.layout), *change.edits(written.layout)])
        assert differences(written.values(change.applied(test)), found) == [], str(change)
        undo = change.undone(test)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("all_up_mass", "All-up mass on Craft must be a number from 5 to 100,000 g (0.42 kg is 420)"),
        ("motor_count", "Number of motors on Craft must be a whole number from 1 to 16"),
    ],
)
def test_ironcalc_names_a_number_on_craft_that_is_text(results_of: ResultsOf, name: str, words: str) -> None:
    written = results_of("thimble-2207")
    iron, place = IronSheet(written.path), place_of(written.layout, "", 0, name)
    filled = {"all_up_mass": 900.0, "motor_count": 4.0}
    numbers = [(*place_of(written.layout, "", 0, each), value) for each, value in filled.items()]
    assert words not in iron.edit(numbers).values()
    assert words in iron.edit([(*place, "900 g")]).values()


CRAFTS: tuple[dict[str, float | str | None], ...] = (
    {"way_of_flying": HOVER, "all_up_mass": 900.0, "motor_count": 4.0, "pack_cells": 4.0, "craft_propeller": None},
    {"way_of_flying": None, "all_up_mass": 90000.0, "motor_count": 4.0, "pack_cells": None, "pack_capacity": 300.0},
    {"way_of_flying": BURSTS, "all_up_mass": 1200.0, "motor_count": 1.0, "pack_cells": 5.0, "pack_capacity": None},
    {"way_of_flying": HELD, "all_up_mass": None, "motor_count": None, "pack_cells": 3.0},
)


@pytest.mark.parametrize("name", ["thimble-2207", "colander-2306"])
def test_ironcalc_follows_another_craft(results_of: ResultsOf, name: str) -> None:
    """One that hovers, cannot hover, flies on a wing, or is not told; with more rows than there is room for, too."""
    written = results_of(name)
    iron, changed = IronSheet(written.path), written.assessment.test
    for craft in CRAFTS:
        change = Change({("", 0, field): value for field, value in craft.items()})
        found = iron.edit(change.edits(written.layout))
        changed = change.applied(changed)
        assert differences(written.values(changed), found) == [], str(change)


@requires_libreoffice
def test_libreoffice_follows_every_change(results_of: ResultsOf, tmp_path: Path) -> None:
    made = [
        (results_of(name), change)
        for name, (_, few) in CHANGES.items()
        for change in gathered(changes(results_of(name), name, few))
    ]
    copies = [
        edited_copy(written.path, tmp_path / f"{place}.xlsx", change.edits(written.layout))
        for place, (written, change) in enumerate(made)
    ]
    for (written, change), found in zip(made, libreoffice_values(copies, timeout=900), strict=True):
        assert differences(written.values(change.applied(written.assessment.test)), found) == [], str(change)


@pytest.mark.parametrize("name", CHANGES)
def test_the_length_of_a_table_changes_no_figure(results_of: ResultsOf, name: str) -> None:
    """What the sheet's longer or shorter tables hold is what a fresh evaluation of the changed test gives."""
    written = results_of(name)
    for change in changes(written, name, 5):
        changed = change.applied(written.assessment.test)
        fresh, kept = Scope(changed, written.assessment.scope.written), written.scope(changed)
        for figure, value in fresh.figures().items():
            here = kept.named(figure)
            near = pytest.approx(here, rel=1e-12) if isinstance(here, float) else here  # added in another order
            same = value == near
            assert same or (value is None and is_blank(here)), f"{change}: {figure}"


def is_blank(value: object) -> bool:
    return value is None or value != value or value == ""


def test_changes_are_what_they_say(results_of: ResultsOf) -> None:
    """A change and its undoing give the test back, and a change fills spare rows, blanks cells and makes groups."""
    written = results_of("colander-2306")
    test = written.assessment.test
    made = changes(written, "many", 300)
    for change in made:
        there = change.undone(test).applied(change.applied(test))
        assert all(content(there, *at) == content(test, *at) for at in change.cells)
    tests = [change.applied(test) for change in made]
    groups = [Scope(changed).used_rows("Summary") for changed in tests]
    assert {table for change in made for table, _, _ in change.cells} >= {"", "Readings", "EscSizes", "FreeSpins"}
    assert max(changed.rows("Readings") for changed in tests) > test.rows("Readings")
    assert max(groups) > groups_of(test)
    assert sum(None in change.cells.values() for change in made) > 30


def groups_of(test: BenchTest) -> int:
    return Scope(test).used_rows("Summary")


def reading(row: int, **values: Value) -> Cells:
    return {("Readings", row, name): value for name, value in values.items()}  # type: ignore[misc]


def field(**values: Value) -> Cells:
    return {("", 0, name): value for name, value in values.items()}  # type: ignore[misc]


MATTERS: dict[str, Cells] = {
    "voltage": reading(3, voltage=11.11),
    "current": reading(3, current=21.37),
    "thrust": reading(3, thrust=901.0),
    "speed": reading(3, speed=15010.0),
    "speed blanked": reading(3, speed=None),
    "throttle": reading(3, throttle=96.0),
    "throttle up to full": reading(3, throttle=None),
    "kind below full throttle": reading(3, kind=PEAK),
    "propeller": reading(3, prop="another 9x9"),
    "cells": reading(3, cells=5.0),
    "diameter": reading(3, diameter=5.55),
    "pitch": reading(3, pitch=5.55),
    "blades": reading(3, blades=7.0),
    "run": reading(3, run=99.0),
    "use": reading(3, use="no"),
    "spare row": reading(7, **FULL),
    "score limit": field(score_limit=4.0),
    "significance": field(outlier_significance=1.0),
    "slip tolerance": field(slip_tolerance=20.0),
    "ladder tolerance": field(ladder_tolerance=6.0),
    "slip and ladder, one up and one down": field(slip_tolerance=31.0, ladder_tolerance=4.0),
    "volts per cell, highest": field(cell_voltage_high=4.4),
    "volts per cell, lowest": field(cell_voltage_low=3.2),
    "grams per amp across cell counts": field(grams_per_amp_limit=9.0),
    "speed ratio, for the power of the volts": field(assumed_speed_ratio=0.7),
    "label": field(label_kv=1000.0),
    "setting blanked": field(score_limit=None),
}
CANNOT_MATTER: dict[str, Cells] = {
    "note": reading(3, note="seen twice"),
    "use, said in words": reading(3, use="yes"),
    "maker": field(maker="Somebody else"),
    "tester": field(tester="Somebody else"),
    "mass": field(mass_as_supplied=33.3),
    "ESC settings": field(esc_burst_ratio=1.3, esc_steady_share=70.0),
    "way of flying": field(way_of_flying=HOVER),
    "headline thrust": field(headline_thrust=600.0),
    "inspection": {("Inspection", 0, "observation"): "looked again"},
    "check weight": {("CheckWeights", 0, "check_reading"): 1.0},
}


@dataclass(frozen=True)
class OpenWorkbook:
    """A results workbook held open in IronCalc."""

    written: WrittenResults
    iron: IronSheet

    def stale_after(self, cells: Cells) -> Value:
        """Return what the workbook says of the state of its group checks after a change; undo the change."""
        change, layout = Change(cells), self.written.layout
        found = self.iron.edit(change.edits(layout))
        self.iron.type(change.undone(self.written.assessment.test).edits(layout))
        return found[self.written.place("checks_stale")]


@pytest.fixture(scope="module")
def four_readings(results_of: ResultsOf) -> OpenWorkbook:
    written = results_of("no full throttle")
    return OpenWorkbook(written, IronSheet(written.path))


@pytest.mark.parametrize("what", MATTERS)
def test_the_group_checks_turn_stale(four_readings: OpenWorkbook, what: str) -> None:
    stale = four_readings.stale_after(MATTERS[what])
    assert isinstance(stale, float)
    assert stale > 0


@pytest.mark.parametrize("what", CANNOT_MATTER)
def test_the_group_checks_stay_up_to_date(four_readings: OpenWorkbook, what: str) -> None:
    assert four_readings.stale_after(CANNOT_MATTER[what]) == 0.0


@pytest.mark.parametrize("name", DEMOS)
def test_other_findings_never_go_unnoticed(name: str) -> None:
    """Wherever the group checks would find something else after a change, the workbook says that they are stale."""
    test, rng = ALL[name](), random.Random(name)
    written, before = assess(test), group_checks(Scope(test))
    others = 0
    for change in [sensible_change(test, rng) for _ in range(20)]:
        changed = change.applied(test)
        if group_checks(Scope(changed)) != before:
            others += 1
            assert Scope(changed, written.scope.written).named("checks_stale") > 0, str(change)
    assert others > 0 or not written.flags


def sensible_change(test: BenchTest, rng: random.Random) -> Change:
    """Return a number changed by a factor: of a reading, of a setting or of another field."""
    numbers = [("", 0, name) for name in FIELDS if isinstance(test.fields[name], float)]
    numbers += [("Readings", row, name) for row in range(test.rows("Readings")) for name in READINGS.fields]
    while True:
        at = rng.choice(numbers)
        old = content(test, *at)
        if isinstance(old, float):
            return Change({at: old * rng.choice((0.1, 0.5, 0.8, 1.25, 1.5, 10.0))})
