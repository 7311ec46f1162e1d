"""What a library does with tests, in a file and on a server alike."""

from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from demo_inputs.library_motors import LIBRARY_MOTORS
from demo_inputs.make_library import library_test
from tests.library.made import small_test
from xlsengine.bench.inputs.bench_test import input_hash
from xlsengine.errors import LibraryError
from xlsengine.library.kept import GROUP_COLUMNS, STEP_COLUMNS, TEST_COLUMNS, kept_of, prepared
from xlsengine.library.store import Added, How, Library


def test_a_test_comes_back_as_it_was_typed(place: str) -> None:
    test = library_test("kettle-2207")
    with Library(place) as library:
        added = library.add(test, "kettle.xlsx")
    with Library(place) as library:
        assert input_hash(library.get(added.id)) == input_hash(test)


def test_figures_come_back_as_they_were_computed(place: str) -> None:
    """Every text and number, blanks included: float64 in both databases."""
    test = library_test("acorn-1806")
    found = kept_of(test)
    with Library(place) as library:
        number = library.add(test, "acorn.xlsx").id
        rows = {"tests": library.tests(), "groups": library.groups([number]), "steps": library.steps([number])}
    for name, kept, columns in (
        ("tests", [found.test], TEST_COLUMNS),
        ("groups", found.groups, GROUP_COLUMNS),
        ("steps", found.steps, STEP_COLUMNS),
    ):
        back = rows[name][list(columns)].astype(object).where(rows[name][list(columns)].notna(), None)
        assert back.to_dict("records") == kept, name


def test_blanks_are_none_among_texts_and_nan_among_numbers(place: str) -> None:
    with Library(place) as library:
        library.add(small_test(model=None, label_kv=None), "a.xlsx")
        (row,) = library.tests().to_dict("records")
        empty = library.tests(model="none such")
    assert row["model"] is None
    assert row["label_kv"] != row["label_kv"]
    assert isinstance(row["id"], int)
    assert [empty[name].dtype.name for name in ("id", "model", "label_kv")] == ["int64", "object", "float64"]


def test_unchanged_changed_and_new(place: str) -> None:
    with Library(place) as library:
        first = library.add(small_test(), "a.xlsx")
        assert first == Added(1, How.NEW)
        assert library.add(small_test(), "b.xlsx") == Added(1, How.UNCHANGED)
        assert library.add(small_test(extra=10), "c.xlsx") == Added(1, How.REPLACED)
        assert library.add(small_test(model="Other 2207"), "d.xlsx") == Added(2, How.NEW, alike=(1,))
        assert library.groups([1])["full_thrust"].tolist() == [pytest.approx(1020.0)]
        assert len(library.steps([1])) == 5
        assert library.tests()["source"].tolist() == ["c.xlsx", "d.xlsx"]
        history = library.history()
    assert history[["entry", "why", "source"]].values.tolist() == [[1, "replaced", "a.xlsx"]]
    assert history["input_hash"].tolist() == [input_hash(small_test())]


def test_the_same_name_is_the_same_with_other_capitals_and_spaces(place: str) -> None:
    with Library(place) as library:
        library.add(small_test("Motor  One", "Made up"), "a.xlsx")
        assert library.add(small_test("motor one ", "MADE UP", extra=1), "b.xlsx").how is How.REPLACED


def test_a_test_without_a_typed_id_replaces_nothing(place: str) -> None:
    with Library(place) as library:
        library.add(prepared(small_test("motor bench"), id_typed=False), "x/motor bench.xlsx")
        other = library.add(prepared(small_test("motor bench", extra=1), id_typed=False), "y/motor bench.xlsx")
    assert other == Added(2, How.NEW, alike=(1,))


def test_what_is_removed_is_gone_and_stays_in_the_history(place: str) -> None:
    with Library(place) as library:
        library.add(small_test(), "a.xlsx")
        library.remove(1)
        assert library.tests().empty
        assert library.groups().empty
        assert library.steps().empty
        assert library.history()[["entry", "why"]].values.tolist() == [[1, "removed"]]
        with pytest.raises(LibraryError, match="found no such test"):
            library.get(1)
        with pytest.raises(LibraryError, match="found no such test"):
            library.remove(1)
        assert library.add(small_test(), "a.xlsx") == Added(2, How.NEW), "a number is never given twice"


def test_filters_give_what_pandas_gives(place: str) -> None:
    with Library(place) as library:
        for name in LIBRARY_MOTORS:
            library.add(library_test(name), name)
        every = library.tests()
        asked: list[tuple[dict[str, Any], Any]] = [
            ({"label_kv": (1900, 2300)}, every["label_kv"].between(1900, 2300)),
            (
                {"label_kv": (None, 1950), "stator_height": 7.0},
                (every["label_kv"] <= 1950) & (every["stator_height"] == 7),
            ),
            ({"model": ["Kettle 2207", "Acorn 1806"]}, every["model"].isin(["Kettle 2207", "Acorn 1806"])),
            ({"best_efficiency_at_thrust": None}, every["best_efficiency_at_thrust"].isna()),
            ({"id": [2, 3]}, every["id"].isin([2, 3])),
        ]
        for filters, rows in asked:
            assert 0 < rows.sum() < len(every), filters
            pd.testing.assert_frame_equal(library.tests(**filters), every[rows].reset_index(drop=True))
        some = every["id"].iloc[2:5]
        pd.testing.assert_frame_equal(
            library.groups(some), (found := library.groups())[found["test"].isin(some)].reset_index(drop=True)
        )
        assert library.tests(["best_kv"]).columns.tolist() == ["id", "source", "added", "best_kv"]
        with pytest.raises(KeyError):
            library.tests(colour="red")


def test_a_test_is_found_by_number_and_by_id(place: str) -> None:
    with Library(place) as library:
        library.add(small_test("seven"), "a")
        library.add(small_test("one", "Other"), "b")
        library.add(small_test("one"), "c")
        assert library.find("seven") == 1
        assert library.find("2") == 2
        with pytest.raises(LibraryError, match=r"there are 2 such tests \(2, 3\)"):
            library.find("one")
        for strange in ("99", "9" * 40, "²", ""):
            with pytest.raises(LibraryError, match="found no such test"):
                library.find(strange)


def test_nothing_is_made_by_asking(place: str, tmp_path: Path) -> None:
    with pytest.raises(LibraryError, match="found no library there"):
        Library(place).tests()
    assert list(tmp_path.iterdir()) == []
