"""What was changed between two bench tests is told cell by cell, and what it did to the figures."""

import random
from dataclasses import replace

import pytest

from tests.workbook.made_edits import Change as Edit
from tests.workbook.made_tests import ALL, FULL, on_purpose
from xlsengine.bench.inputs.bench_test import BenchTest, Value
from xlsengine.bench.inputs.craft import HELD
from xlsengine.bench.inputs.extras import Extras
from xlsengine.bench.inputs.forms import FIELDS, INPUT_TABLES
from xlsengine.bench.model import FIGURE_QUANTITIES
from xlsengine.study.assessment import assess
from xlsengine.study.changes import Kind, changes, differing, text_of, typed_changes

ADVICE_LABEL = FIGURE_QUANTITIES["esc_held_sentence"].label
DEMO = ALL["thimble-2207"]()


def with_rows(test: BenchTest, order: list[int]) -> BenchTest:
    """Return the test with the readings of these rows, in this order."""
    columns = {name: column[order] for name, column in test.tables["Readings"].items()}
    return replace(test, tables={**test.tables, "Readings": columns})


def test_nothing_changed_is_nothing_told() -> None:
    found = changes(assess(DEMO), assess(DEMO))
    assert found.typed == ()
    assert not any(effect.changed for effect in found.effects)


def test_every_single_field_is_told() -> None:
    for name, declared in FIELDS.items():
        other: Value = "another text" if declared.is_text else None if DEMO.fields[name] is not None else 1.0
        (told,) = typed_changes(DEMO, replace(DEMO, fields={**DEMO.fields, name: other}))
        assert (told.kind, told.name, told.label) == (Kind.CHANGED, name, declared.label)
        assert (told.before, told.after) == (DEMO.fields[name], other)


@pytest.mark.parametrize("seed", range(2))
def test_every_single_cell_of_every_table_is_told(seed: int) -> None:
    """A row keeps more than half of its cells when one of them changes, in every table of the demo."""
    rng = random.Random(seed)
    for table in INPUT_TABLES:
        for name, declared in table.fields.items():
            if not (rows := DEMO.rows(table.name)) or len(table.fields) < 3:
                continue
            row = rng.randrange(rows)
            value = "changed" if declared.is_text else 1234.5
            (told,) = typed_changes(DEMO, Edit({(table.name, row, name): value}).applied(DEMO))
            assert (told.table, told.name, told.row_before, told.row_after) == (table.name, name, row + 1, row + 1)
            assert told.after == value


def test_a_row_added_is_told_with_all_it_holds() -> None:
    (told,) = typed_changes(on_purpose({}), on_purpose({}, {"prop": "9x6", "thrust": 1500.0, "diameter": 9.0}))
    assert (told.kind, told.row_before, told.row_after) == (Kind.ADDED, None, 2)
    assert "Prop: 9x6" in str(told.after)
    assert "Thrust (g): 1500" in str(told.after)


def test_a_row_removed_is_told_with_all_it_held() -> None:
    rows = DEMO.rows("Readings")
    (told,) = typed_changes(DEMO, with_rows(DEMO, [row for row in range(rows) if row != 4]))
    assert (told.kind, told.row_before, told.row_after) == (Kind.REMOVED, 5, None)
    assert str(DEMO.tables["Readings"]["prop"][4]) in str(told.before)


def test_a_row_moved_is_told_once() -> None:
    rows = DEMO.rows("Readings")
    (told,) = typed_changes(DEMO, with_rows(DEMO, [rows - 1, *range(rows - 1)]))
    assert (told.kind, told.row_before, told.row_after) == (Kind.MOVED, rows, 1)


def test_sorted_rows_are_one_line_and_an_edited_one_is_known_by_its_run() -> None:
    rows = DEMO.rows("Readings")
    backwards = Edit({("Readings", 4, "thrust"): 1234.5}).applied(with_rows(DEMO, [*reversed(range(rows))]))
    ordered, edited = typed_changes(DEMO, backwards)
    assert (ordered.kind, ordered.before, ordered.row_after) == (Kind.SORTED, f"row {rows}", 1)
    assert (edited.label, edited.after, edited.row_before, edited.row_after) == ("Thrust (g)", 1234.5, rows - 4, 5)


def test_rows_that_were_numbered_anew_are_no_edited_ones() -> None:
    """One reading is put in before all others, which get the next run each: only their runs changed."""
    runs = DEMO.tables["Readings"]["run"]
    shifted = {("Readings", row, "run"): float(run) for row, run in enumerate([*runs, runs[-1] + 1][1:])}
    told = list(typed_changes(DEMO, Edit(shifted).applied(DEMO)))
    assert {change.name for change in told} == {"run"}


def test_fifteen_digits_are_the_same_number() -> None:
    """LibreOffice saves 15 digits."""
    one, other = on_purpose({"thrust": 0.1 + 0.2}), on_purpose({"thrust": 0.3})
    assert list(typed_changes(one, other)) == []


def test_blank_and_nought_are_two_things() -> None:
    (told,) = typed_changes(on_purpose({"torque": None}), on_purpose({"torque": 0.0}))
    assert (text_of(told.before), text_of(told.after)) == ("blank", "0")


def test_columns_of_the_sender_s_own_are_told_too() -> None:
    one = replace(on_purpose({}, {"thrust": 5.0}), extras=Extras({"Readings": {"Pack": ["a", "b"]}}))
    other = replace(one, extras=Extras({"Readings": {"Pack": ["a", "c"]}}))
    (told,) = typed_changes(one, other)
    assert (told.label, told.before, told.after, told.row_after) == ("Pack", "b", "c", 2)


def test_the_effect_on_the_figures_is_that_of_two_assessments() -> None:
    before, after = on_purpose({}, {"prop": "8x4"}), on_purpose({"thrust": 1300.0}, {"prop": "8x4"})
    effects = {effect.label: effect for effect in changes(assess(before), assess(after)).effects}
    thrust = effects["Highest static thrust"]
    assert (thrust.before, thrust.after, thrust.changed) == (FULL["thrust"], 1300.0, True)
    assert thrust.text(thrust.after) == "1,300 g"
    assert not effects["Highest static current"].changed


def test_a_changed_setting_reaches_the_advice() -> None:
    before = on_purpose({}, way_of_flying=HELD)
    after = replace(before, fields={**before.fields, "esc_steady_share": 40.0})
    (told,) = (effect for effect in changes(assess(before), assess(after)).effects if effect.label == ADVICE_LABEL)
    assert told.changed
    assert str(told.before) != str(told.after)


def test_of_a_sentence_only_what_differs_is_told() -> None:
    """One word was added to the craft; the paragraph around it, 50 words, is not told twice."""
    before = on_purpose({}, way_of_flying=HELD, all_up_mass=820.0)
    after = replace(before, fields={**before.fields, "motor_count": 1.0})
    (effect,) = (effect for effect in changes(assess(before), assess(after)).effects if effect.label == ADVICE_LABEL)
    old, new = effect.told
    assert "(820 g)" in old
    assert "(820 g on 1 motor)" in new
    assert max(len(old.split()), len(new.split())) <= 12
    assert "burst rating" not in f"{old} {new}"
    whole = differing("as it was", "quite another")
    assert whole == ("as it was", "quite another")


def test_tables_of_any_shape_are_compared() -> None:
    shapes = ("nothing typed", "nothing at all", "one reading")
    for one in shapes:
        for other in shapes:
            assert (list(typed_changes(ALL[one](), ALL[other]())) == []) == (one == other)
