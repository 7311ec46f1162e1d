"""A library of bench tests: one SQLite file, or a database on a server that a group shares.

A test is kept whole, as it was typed, with its kept figures. Every test is added in one transaction that no other writer
shares, so that two runs at once do no harm and a run that is killed loses none that was finished.
"""

from __future__ import annotations

import datetime
import re
import zlib
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from pathlib import Path
from typing import Any

from sqlalchemy import Column, ColumnElement, Connection, Engine, MetaData, Row, Select, Table, inspect, or_, select

from xlsengine.bench.inputs.bench_test import BenchTest
from xlsengine.errors import LibraryError
from xlsengine.library.kept import TEST_COLUMNS, Kept, Prepared, kept_of, prepared
from xlsengine.library.opening import check_sound, opened, place_of, shown, state, stated, telling, writing
from xlsengine.library.tables import ENGINE, KEPT, earlier, entry, group, kept_names, step, test
from xlsengine.workbook.input_copy import decoded

Figures = dict[str, Any]
Progress = Callable[[int, int], None]
ABOUT_ENTRY = (entry.c.id, entry.c.source, entry.c.added)


class How(StrEnum):
    """What became of a test that was added."""

    NEW = "added"
    UNCHANGED = "unchanged"
    REPLACED = "replaced its earlier version"


@dataclass(frozen=True)
class Added:
    """What became of a test: its number in the library, and for a new one the numbers of others with its id."""

    id: int
    how: How
    alike: tuple[int, ...] = ()


class Library:
    """Earlier tests, by a file's path or a server's address; nothing is opened before it is needed.

    Every method raises `LibraryError` where the library cannot be opened, is damaged, another program's or newer.
    """

    def __init__(self, where: str | Path, progress: Progress = lambda done, of: None) -> None:
        """Take the place; `progress` is told how far the figures of an older library are computed again."""
        self.place = place_of(where)
        self._progress = progress
        self._creates = False

    @property
    def shown(self) -> str:
        """Where the library is, as it may be printed: without a password."""
        return shown(self.place)

    @cached_property
    def engine(self) -> Engine:
        """Its database, checked, its figures brought up to date."""
        engine = opened(self.place, self._creates)
        try:
            with telling(self.place):
                if self._creates or is_older(engine):
                    check_sound(engine, self.place)
                renew(engine, self._progress)
        except BaseException:
            engine.dispose()
            raise
        return engine

    # --- asking --------------------------------------------------------------------------------------------

    def tests(self, **filters: Any) -> list[Figures]:
        """Return one row a test: `id`, `source`, `added` (UTC) and the kept figures, None where they are blank.

        A filter names a kept figure, or `id`, and asks for a value, for (low, high), both inclusive, or with None for a
        blank. KeyError for names that are not kept.
        """
        query = select(*ABOUT_ENTRY, *(test.c[name] for name in TEST_COLUMNS)).join(test, test.c.id == entry.c.id)
        asked = (_condition(test.c[name], value) for name, value in filters.items())
        return self._rows(query.where(*asked).order_by(entry.c.id))

    def groups(self, ids: Iterable[int] | None = None) -> list[Figures]:
        """Return one row a propeller and cell count of a few tests, or of all: `test` (its id), `place`, kept figures."""
        return self._part(group, ids)

    def steps(self, ids: Iterable[int] | None = None) -> list[Figures]:
        """Return one row a steady reading that counts, of a few tests or of all: `test`, `place`, and what was read."""
        return self._part(step, ids)

    def kept(self, tests: Iterable[Figures]) -> list[Kept]:
        """Return the kept figures of a few tests, which `tests` gave."""
        found = {row["id"]: Kept(row, [], []) for row in tests}
        for row in self.groups(found):
            found[row["test"]].groups.append(row)
        for row in self.steps(found):
            found[row["test"]].steps.append(row)
        return list(found.values())

    def history(self) -> list[Figures]:
        """Return what stood in the library earlier, one row a version: when it ended and why."""
        told = (column for column in earlier.c if column.name != "inputs")
        return self._rows(select(*told).order_by(earlier.c.version))

    def get(self, id: int) -> BenchTest:
        """Return a test as it was typed; raises `LibraryError` where there is none of that id."""
        with telling(self.place), self.engine.connect() as connection:
            held = connection.execute(select(entry.c.inputs).where(entry.c.id == id)).scalar()
        if held is None:
            raise self._no_such(id)
        return typed(id, held)

    def find(self, named: str) -> int:
        """Return the id of a test, by that id or by its typed one; raises `LibraryError` for none, or for several."""
        wanted = [entry.c.test_id == named]
        if re.fullmatch("[0-9]{1,9}", named):
            wanted.append(entry.c.id == int(named))
        with telling(self.place), self.engine.connect() as connection:
            found = list(connection.execute(select(entry.c.id).where(or_(*wanted)).order_by(entry.c.id)).scalars())
        if not found:
            raise self._no_such(named)
        if len(found) > 1:
            raise LibraryError(f"{named}: there are {len(found)} such tests ({_listed(found)}); name one by its number")
        return int(found[0])

    def hashes(self) -> frozenset[str]:
        """Return the hashes of the inputs that stand in the library."""
        with telling(self.place), self.engine.connect() as connection:
            return frozenset(connection.execute(select(entry.c.input_hash)).scalars())

    # --- changing ------------------------------------------------------------------------------------------

    def make(self) -> Library:
        """Make the library where there is none, and check one that is there."""
        self._creates = True
        _ = self.engine
        return self

    def add(self, test: BenchTest | Prepared, source: str | Path) -> Added:
        """Add a test, or replace its earlier version: one of the same typed id and model. The library is made if need be.

        Nothing is done where the same inputs stand in it. `source` is told with the test, and nothing else.
        """
        self._creates = True
        ready = test if isinstance(test, Prepared) else prepared(test)
        with telling(self.place), writing(self.engine) as connection:
            same = select(entry.c.id).where(entry.c.input_hash == ready.input_hash)
            unchanged = connection.execute(same).scalar()
            if unchanged is not None:
                return Added(unchanged, How.UNCHANGED)
            return _put(connection, ready, str(source))

    def remove(self, id: int) -> None:
        """Take a test out of the library; its inputs stay among the earlier ones. `LibraryError` where there is none."""
        with telling(self.place), writing(self.engine) as connection:
            stood = connection.execute(entry.select().where(entry.c.id == id)).one_or_none()
            if stood is None:
                raise self._no_such(id)
            _end(connection, stood, "removed")
            drop_kept(connection, id)
            connection.execute(entry.delete().where(entry.c.id == id))

    def close(self) -> None:
        """Let go of the database."""
        engine = self.__dict__.pop("engine", None)
        if engine is not None:
            engine.dispose()

    def __enter__(self) -> Library:
        """Give the library itself."""
        return self

    def __exit__(self, *failed: object) -> None:
        """Let go of the database."""
        self.close()

    def _part(self, table: Table, ids: Iterable[int] | None) -> list[Figures]:
        query = table.select().order_by(table.c.test, table.c.place)
        return self._rows(query if ids is None else query.where(table.c.test.in_(list(ids))))

    def _rows(self, query: Select[Any]) -> list[Figures]:
        with telling(self.place), self.engine.connect() as connection:
            return [dict(row) for row in connection.execute(query).mappings()]

    def _no_such(self, named: object) -> LibraryError:
        return LibraryError(
            f"{named}: found no such test in {self.shown}; xlsengine library list shows those there are"
        )


def fetched(connection: Connection, query: Select[Any]) -> Sequence[Sequence[Any]]:
    """Return the rows of a query as the driver of the database gives them, which is fastest where there are many."""
    cursor: Any = connection.execute(query).cursor
    return cursor.fetchall()  # type: ignore[no-any-return]


def _condition(column: Column[Any], wanted: Any) -> ColumnElement[bool]:
    """Return what a filter asks of a column: a value, None for blank, or (low, high), both inclusive."""
    return column.between(*wanted) if isinstance(wanted, tuple) else column == wanted


def _put(connection: Connection, ready: Prepared, source: str) -> Added:
    """Write a test that is new or changed, and tell of others with its id."""
    values = {
        "identity": ready.identity,
        "test_id": ready.test_id,
        "model": ready.model,
        "input_hash": ready.input_hash,
        "source": _storable(source),
        "added": _now(),
        "engine": ENGINE,
        "inputs": ready.inputs,
    }
    stood = connection.execute(entry.select().where(entry.c.identity == ready.identity)).one_or_none()
    if stood is None:
        made = connection.execute(entry.insert().values(values)).inserted_primary_key
        number, how = int(made[0] if made else 0), How.NEW
    else:
        _end(connection, stood, "replaced")
        drop_kept(connection, stood.id)
        connection.execute(entry.update().where(entry.c.id == stood.id).values(values))
        number, how = int(stood.id), How.REPLACED
    put_kept(connection, number, ready.kept or kept_of(typed(number, ready.inputs)))
    alike = select(entry.c.id).where(entry.c.test_id == ready.test_id, entry.c.id != number).order_by(entry.c.id)
    is_named_anew = how is How.NEW and ready.test_id
    return Added(number, how, tuple(connection.execute(alike).scalars()) if is_named_anew else ())


def _end(connection: Connection, stood: Row[Any], why: str) -> None:
    """Move a version to the earlier ones."""
    kept = {name: value for name, value in stood._mapping.items() if name not in ("id", "identity")}
    connection.execute(earlier.insert().values(entry=stood.id, ended=_now(), why=why, **kept))


def _storable(text: str) -> str:
    """Return a path as a text that every database holds."""
    return text.encode("utf-8", "replace").decode().replace("\0", "\ufffd")


def _now() -> str:
    return datetime.datetime.now(datetime.UTC).isoformat(timespec="seconds")


def _listed(numbers: Sequence[int]) -> str:
    more = len(numbers) - 5
    return ", ".join(str(number) for number in numbers[:5]) + f" and {more} more" * (more > 0)


# --- kept figures made again where another engine kept them ---

_UNREADABLE = "what was typed of the test {} cannot be read; the library is damaged, bring an earlier copy back"


def is_older(engine: Engine) -> bool:
    """Tell whether another engine kept the figures of a library, or one that kept others."""
    said = stated(engine)
    return (said.get("engine"), said.get("kept")) != (ENGINE, kept_names())


def renew(engine: Engine, progress: Progress = lambda done, of: None) -> int:
    """Compute again what an older engine kept, and what a killed run left; returns how many tests that were.

    The tables of kept figures are made empty in one transaction, and filled a test at a time: a run that is killed loses
    nothing, and the next one goes on. `progress` is told how many are done, of how many.
    Raises `LibraryError` where a test's inputs cannot be read.
    """
    if is_older(engine):
        _make_again(engine)
    left = _without_figures(engine)
    for done, number in enumerate(left):
        progress(done, len(left))
        _fill(engine, number)
    return len(left)


def put_kept(connection: Connection, number: int, kept: Kept) -> None:
    """Write the kept figures of a test that has none."""
    connection.execute(test.insert(), {"id": number, **kept.test})
    for table, rows in ((group, kept.groups), (step, kept.steps)):
        numbered = [{"test": number, "place": place, **row} for place, row in enumerate(rows, start=1)]
        if numbered:
            connection.execute(table.insert(), numbered)


def drop_kept(connection: Connection, number: int) -> None:
    """Take the kept figures of a test away."""
    connection.execute(test.delete().where(test.c.id == number))
    for table in (group, step):
        connection.execute(table.delete().where(table.c.test == number))


def typed(number: int, inputs: bytes) -> BenchTest:
    """Return a test from what a library holds of it; raises `LibraryError` where that is damaged."""
    try:
        return decoded(zlib.decompress(inputs).decode())
    except (ValueError, zlib.error) as error:
        raise LibraryError(_UNREADABLE.format(number)) from error


def _make_again(engine: Engine) -> None:
    with writing(engine) as connection:
        present = [name for name in inspect(connection).get_table_names() if name in KEPT.tables]
        old = MetaData()
        old.reflect(connection, only=present)
        old.drop_all(connection)
        KEPT.create_all(connection)
        state(connection, engine=ENGINE, kept=kept_names())


def _without_figures(engine: Engine) -> list[int]:
    missing = (
        select(entry.c.id).outerjoin(test, test.c.id == entry.c.id).where(test.c.id.is_(None)).order_by(entry.c.id)
    )
    with engine.connect() as connection:
        return list(connection.execute(missing).scalars())


def _fill(engine: Engine, number: int) -> None:
    inputs = select(entry.c.inputs).where(entry.c.id == number)
    with engine.connect() as connection:
        held: Any = connection.execute(inputs).scalar()
    if held is None:
        return
    kept = kept_of(typed(number, held))
    with writing(engine) as connection:
        if connection.execute(inputs).scalar() == held:
            drop_kept(connection, number)
            put_kept(connection, number, kept)
