"""Kept figures brought up to date: a newer engine makes them again from what was typed.

The tables of kept figures are made empty in one transaction, and filled a test at a time: a run that is killed loses
nothing, and the next one goes on.
"""

import zlib
from collections.abc import Callable
from typing import Any

from sqlalchemy import Connection, Engine, MetaData, inspect, select

from xlsengine.bench.inputs.bench_test import BenchTest
from xlsengine.errors import LibraryError
from xlsengine.library.kept import Kept, kept_of
from xlsengine.library.opening import state, stated, writing
from xlsengine.library.tables import ENGINE, KEPT, entry, group, kept_names, step, test
from xlsengine.workbook.input_copy import decoded

Progress = Callable[[int, int], None]
_UNREADABLE = "what was typed of the test {} cannot be read; the library is damaged, bring an earlier copy back"


def is_older(engine: Engine) -> bool:
    """Tell whether another engine kept the figures of a library, or one that kept others."""
    said = stated(engine)
    return (said.get("engine"), said.get("kept")) != (ENGINE, kept_names())


def renew(engine: Engine, progress: Progress = lambda done, of: None) -> int:
    """Compute again what an older engine kept, and what a killed run left; returns how many tests that were.

    `progress` is told how many are done, of how many. Raises `LibraryError` where a test's inputs cannot be read.
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
