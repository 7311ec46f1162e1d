"""Opening the database that a library lies in: what is no library of this program, is damaged, or was written by a newer
version, is told and left alone.
"""

import re
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import quote

from sqlalchemy import URL, Connection, Engine, create_engine, event, inspect, make_url, text
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError, SQLAlchemyError
from sqlalchemy.pool import QueuePool

from xlsengine.errors import LibraryError
from xlsengine.library.tables import BASE, ENGINE, KEPT, MARKED, about, kept_names

PATIENCE = 60.0
"""Seconds that a run waits for another to finish writing one test."""
_WRITES = "xlsengine_writes"
_POSTGRESQL = {"postgresql", "postgres", "postgresql+psycopg"}
_LOCK = 0x584D4C42


def place_of(where: str | Path) -> Path | URL:
    """Return a library's file, or the address of its server; raises `LibraryError` for an address of another kind."""
    if isinstance(where, Path) or "://" not in where:
        return Path(where)
    try:
        url = make_url(where)
    except ArgumentError as error:
        raise LibraryError("the library's address cannot be read; write postgresql://USER@SERVER/DATABASE") from error
    if url.drivername == "sqlite":
        return Path(url.database or "")
    if url.drivername not in _POSTGRESQL:
        raise LibraryError(
            f"{url.drivername}: a library lies in a file, or in a database of PostgreSQL (postgresql://…)"
        )
    return url.set(drivername="postgresql+psycopg")


def shown(place: Path | URL) -> str:
    """Return a library's place as it may be printed: without a password, wherever in the address that stands."""
    return str(place) if isinstance(place, Path) else place.set(query={}).render_as_string(hide_password=True)


def opened(place: Path | URL, create: bool) -> Engine:
    """Return the engine of a library, checked; with `create` it is made where there is none.

    Raises `LibraryError` where there is none, where it is another program's or a newer version's, or damaged.
    """
    with telling(place):
        engine = _file_engine(place, create) if isinstance(place, Path) else _server_engine(place)
        try:
            _check(engine, place, create)
        except BaseException:
            engine.dispose()
            raise
        return engine


def _check(engine: Engine, place: Path | URL, create: bool) -> None:
    """Raise `LibraryError` for what is no library or a newer one's; with `create` an empty database becomes one."""
    with engine.connect() as connection:
        tables = _tables(connection, place)
    if create and not tables:
        _make(engine, place)
        tables = set(BASE.tables)
    if not tables:
        raise LibraryError(f"{shown(place)}: {_NONE_THERE}")
    said = stated(engine) if {table.name for table in BASE.sorted_tables} <= tables else {}
    if said.get("format") != MARKED:
        raise LibraryError(
            f"{shown(place)} holds tables of another program, and nothing was written to it; name another (--library)"
        )
    if _parts(said.get("engine", "")) > _parts(ENGINE):
        raise LibraryError(
            f"{shown(place)} is kept by a newer version of this program ({said['engine']}; this is {ENGINE}), and nothing "
            "was written to it; bring the program up to date"
        )


def _tables(connection: Connection, place: Path | URL) -> set[str]:
    """Return the tables that are there; on a server, which others may have theirs in, those of this program's names."""
    names = set(inspect(connection).get_table_names())
    return {name for name in names if name.startswith("xlsengine_")} if isinstance(place, URL) else names


def _make(engine: Engine, place: Path | URL) -> None:
    with writing(engine) as connection:
        if not _tables(connection, place):  # else another run was faster
            for metadata in (BASE, KEPT):
                metadata.create_all(connection)
            state(connection, format=MARKED, engine=ENGINE, kept=kept_names())


def _parts(version: str) -> tuple[int, ...]:
    return tuple(int(part) for part in re.findall(r"\d+", version))


@contextmanager
def telling(place: Path | URL) -> Iterator[None]:
    """Turn what a database or the system complains of into words for a person: raises `LibraryError`."""
    try:
        yield
    except DBAPIError as error:
        raise LibraryError(f"{shown(place)}: {_reason(str(error.orig).strip())}") from error
    except (SQLAlchemyError, OSError) as error:
        raise LibraryError(f"{shown(place)}: {error}") from error


def _reason(said: str) -> str:
    if "not a database" in said:
        return "the file is no library of tests, and nothing was written to it; name another (--library)"
    if "malformed" in said:
        return _DAMAGED
    if "locked" in said or "busy" in said or "lock timeout" in said:
        return f"another run has been writing to the library for more than {PATIENCE:.0f} s; run this again once it is done"
    if "readonly" in said or "read-only" in said:
        return "the library can only be read from here; ask for the right to write to it, or name another (--library)"
    if "disk is full" in said or "disk I/O" in said:
        return f"{said}; make room on the disk, and run this again"
    return said


_NONE_THERE = "found no library there; make it with xlsengine library add FILE --library LIB"
_DAMAGED = (
    "the library is damaged, and nothing was written to it; bring an earlier copy of the file back, or start a new one "
    "(xlsengine library add FOLDER --library NEW) from the workbooks"
)


# --- a file ------------------------------------------------------------------------------------------------


def _file_engine(path: Path, create: bool) -> Engine:
    """Return an engine on a file: writers take their turn from the beginning, and every commit reaches the disk."""
    if not create and not path.exists():
        raise LibraryError(f"{path}: {_NONE_THERE}")
    if not path.parent.is_dir():
        raise LibraryError(f"{path}: there is no folder {path.parent}; make it, or name another place (--library)")
    if path.exists() and not path.is_file():
        raise LibraryError(f"{path} is no ordinary file; name the library's file")
    address = f"file:{quote(str(path.absolute()))}?mode={'rwc' if create else 'rw'}"
    engine = create_engine("sqlite://", creator=lambda: _connect(address), poolclass=QueuePool)

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        writes = connection.get_execution_options().get(_WRITES)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine


def _connect(address: str) -> sqlite3.Connection:
    connection = sqlite3.connect(address, uri=True, timeout=PATIENCE, isolation_level=None, check_same_thread=False)
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA trusted_schema = OFF")
    return connection


def check_sound(engine: Engine, place: Path | URL) -> None:
    """Raise `LibraryError` where the pages of a library's file do not hang together; a server looks after its own."""
    if isinstance(place, Path):
        with telling(place), engine.connect() as connection:
            found = connection.exec_driver_sql("PRAGMA quick_check(1)").scalar()
        if found != "ok":
            raise LibraryError(f"{place}: {_DAMAGED}")


# --- a server ----------------------------------------------------------------------------------------------


def _server_engine(url: URL) -> Engine:
    try:
        waits = {"connect_timeout": 10, "options": f"-c lock_timeout={PATIENCE * 1000:.0f}"}
        return create_engine(url, pool_pre_ping=True, connect_args=waits)
    except (ModuleNotFoundError, NoSuchModuleError) as error:
        raise LibraryError(
            'a library on a server needs one package more; install it with: pip install "xlsengine[server]"'
        ) from error


# --- both --------------------------------------------------------------------------------------------------


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """Give a connection in a transaction that no other writer shares: all of it is kept when it ends well, or nothing."""
    with engine.connect().execution_options(**{_WRITES: True}) as connection, connection.begin():
        if engine.dialect.name == "postgresql":
            connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _LOCK})
        yield connection


def stated(engine: Engine) -> dict[str, str]:
    """Return what a library says of itself."""
    with engine.connect() as connection:
        return {row.name: row.value for row in connection.execute(about.select())}


def state(connection: Connection, **said: Any) -> None:
    """Have a library say something else of itself."""
    for name, value in said.items():
        connection.execute(about.delete().where(about.c.name == name))
        connection.execute(about.insert().values(name=name, value=str(value)))
