"""What a library does with tests, in a file and on a server alike."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from demo_inputs.library_motors import SMALL
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
        (back,) = library.kept(library.tests(id=number))
    for name, rows, kept, columns in (
        ("tests", [back.test], [found.test], TEST_COLUMNS),
        ("groups", back.groups, found.groups, GROUP_COLUMNS),
        ("steps", back.steps, found.steps, STEP_COLUMNS),
    ):
        assert [{column: row[column] for column in columns} for row in rows] == kept, name


def test_unchanged_changed_and_new(place: str) -> None:
    with Library(place) as library:
        first = library.add(small_test(), "a.xlsx")
        assert first == Added(1, How.NEW)
        assert library.add(small_test(), "b.xlsx") == Added(1, How.UNCHANGED)
        assert library.add(small_test(extra=10), "c.xlsx") == Added(1, How.REPLACED)
        assert library.add(small_test(model="Other 2207"), "d.xlsx") == Added(2, How.NEW, alike=(1,))
        assert [row["full_thrust"] for row in library.groups([1])] == [pytest.approx(1020.0)]
        assert len(library.steps([1])) == 5
        assert [row["source"] for row in library.tests()] == ["c.xlsx", "d.xlsx"]
        (before,) = library.history()
    assert [before[name] for name in ("entry", "why", "source")] == [1, "replaced", "a.xlsx"]
    assert before["input_hash"] == input_hash(small_test())


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
        assert (library.tests(), library.groups(), library.steps()) == ([], [], [])
        assert [(row["entry"], row["why"]) for row in library.history()] == [(1, "removed")]
        with pytest.raises(LibraryError, match="found no such test"):
            library.get(1)
        with pytest.raises(LibraryError, match="found no such test"):
            library.remove(1)
        assert library.add(small_test(), "a.xlsx") == Added(2, How.NEW), "a number is never given twice"


def test_filters(place: str) -> None:
    with Library(place) as library:
        for name in SMALL:
            library.add(library_test(name), name)
        every = library.tests()
        asked: list[tuple[dict[str, Any], Callable[[dict[str, Any]], bool]]] = [
            ({"label_kv": (1900, 3500)}, lambda row: 1900 <= row["label_kv"] <= 3500),
            ({"label_kv": every[0]["label_kv"]}, lambda row: row["label_kv"] == every[0]["label_kv"]),
            ({"model": every[1]["model"], "id": 2}, lambda row: row["id"] == 2),
            ({"price": None}, lambda row: row["price"] is None),
        ]
        for filters, holds in asked:
            assert library.tests(**filters) == [row for row in every if holds(row)], filters
        assert library.groups([2, 3]) == [row for row in library.groups() if row["test"] in (2, 3)]
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
