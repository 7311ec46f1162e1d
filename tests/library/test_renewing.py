"""A library of an older engine: its figures are made again from what was typed, whatever happens meanwhile."""

from typing import Any

import pytest
from sqlalchemy import text

from tests.library.made import small_test
from xlsengine.library import store
from xlsengine.library.kept import kept_of
from xlsengine.library.opening import stated, writing
from xlsengine.library.store import Library
from xlsengine.library.tables import ENGINE, kept_names

COUNT = 4


def made_older(place: str) -> None:
    """Make a library in which an older engine kept other figures, and computed another thrust."""
    with Library(place) as library:
        for number in range(COUNT):
            library.add(small_test(f"test {number}", extra=number), "x")
        with writing(library.engine) as connection:
            for statement in (
                "ALTER TABLE xlsengine_test DROP COLUMN best_kv",
                "ALTER TABLE xlsengine_group ADD COLUMN colour TEXT",
                "UPDATE xlsengine_group SET full_thrust = 1",
                "DROP TABLE xlsengine_step",
                "UPDATE xlsengine_about SET value = 'earlier names' WHERE name = 'kept'",
                "UPDATE xlsengine_about SET value = '0.0.1' WHERE name = 'engine'",
            ):
                connection.execute(text(statement))


def assert_new(place: str) -> None:
    with Library(place) as library:
        assert [row["full_thrust"] for row in library.groups()] == [
            kept_of(small_test(f"test {number}", extra=number)).groups[0]["full_thrust"] for number in range(COUNT)
        ]
        assert len(library.tests()) == COUNT
        assert len(library.steps()) == 5 * COUNT
        said = stated(library.engine)
    assert (said["engine"], said["kept"]) == (ENGINE, kept_names())


def test_figures_are_made_again(place: str) -> None:
    made_older(place)
    told: list[tuple[int, int]] = []
    with Library(place, lambda done, of: told.append((done, of))) as library:
        assert len(library.tests()) == COUNT
    assert told == [(done, COUNT) for done in range(COUNT)]
    assert_new(place)


def test_a_run_that_is_killed_meanwhile_loses_nothing(place: str, monkeypatch: pytest.MonkeyPatch) -> None:
    made_older(place)
    whole, calls = store.put_kept, iter(range(COUNT))

    def put_two(*given: Any) -> None:
        whole(*given)
        if next(calls) == 2:
            raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(store, "put_kept", put_two)
        with Library(place) as library, pytest.raises(KeyboardInterrupt):
            library.tests()
    assert_new(place)
