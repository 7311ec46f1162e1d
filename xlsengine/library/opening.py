"""Opening the database that a library lies in: told apart from every other file before anything touches it.

A file is looked at through its first bytes. What is no library of this program, is damaged, or was written by a newer
version, is told and left alone.
"""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from urllib.parse import quote

from sqlalchemy import URL, Connection, Engine, create_engine, event, inspect, make_url, text
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError, SQLAlchemyError
from sqlalchemy.pool import QueuePool

from xlsengine.errors import LibraryError
from xlsengine.library.tables import APPLICATION_ID, BASE, ENGINE, KEPT, MARKED, SCHEMA, about, kept_names

PATIENCE = 60.0
"""Seconds that a run waits for another to finish writing one test."""
_MAGIC, _HEAD = b"SQLite format 3\0", 100
_WRITES = "xlsengine_writes"
_POSTGRESQL = {"postgresql", "postgres", "postgresql+psycopg"}
_LOCK = APPLICATION_ID


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
        if isinstance(place, Path):
            if create and not place.exists():
                _make_file(place)
            _check_file(place)
            return _file_engine(place)
        engine = _server_engine(place)
        try:
            _check_server(engine, place, create)
        except BaseException:
            engine.dispose()
            raise
        return engine


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
    if "malformed" in said or "not a database" in said:
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


def _check_file(path: Path) -> None:
    if not path.exists():
        raise LibraryError(f"{path}: {_NONE_THERE}")
    if not path.is_file():
        raise LibraryError(f"{path} is no ordinary file; name the library's file")
    with path.open("rb") as stream:
        head = stream.read(_HEAD)
    if not head.startswith(_MAGIC) or len(head) < _HEAD:
        raise LibraryError(
            f"{path} is no library of tests, and nothing was written to it; name another file (--library)"
        )
    if int.from_bytes(head[68:72]) != APPLICATION_ID:
        raise LibraryError(
            f"{path} is another program's database, and nothing was written to it; name another file (--library)"
        )
    _check_schema(str(path), int.from_bytes(head[60:64]))


def _check_schema(place: str, schema: int) -> None:
    if schema > SCHEMA:
        raise LibraryError(
            f"{place} was written by a newer version of this program (tables {schema}; this one knows {SCHEMA}), and "
            "nothing was written to it; bring the program up to date"
        )


def _make_file(path: Path) -> None:
    """Make an empty library beside its place and put it there whole; where another run was faster, that one's stands."""
    if not path.parent.is_dir():
        raise LibraryError(f"{path}: there is no folder {path.parent}; make it, or name another place (--library)")
    with TemporaryDirectory(prefix=".making-xlsengine-", dir=path.parent, ignore_cleanup_errors=True) as folder:
        made = Path(folder) / path.name
        engine = _file_engine(made, "rwc")
        with engine.begin() as connection:
            connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
            connection.exec_driver_sql(f"PRAGMA user_version = {SCHEMA}")
            _make_tables(connection)
        engine.dispose()
        _put_new(made, path)


def _put_new(made: Path, path: Path) -> None:
    try:
        os.link(made, path)
    except FileExistsError:
        return
    except OSError:  # a file system without links
        if not path.exists():
            os.replace(made, path)


def _file_engine(path: Path, mode: str = "rw") -> Engine:
    """Return an engine on a file: writers take their turn from the beginning, and every commit reaches the disk."""
    engine = create_engine("sqlite://", creator=lambda: _connect(path, mode), poolclass=QueuePool)

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        writes = connection.get_execution_options().get(_WRITES)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine


def _connect(path: Path, mode: str) -> sqlite3.Connection:
    address = f"file:{quote(str(path.absolute()))}?mode={mode}"
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


def _check_server(engine: Engine, place: URL, create: bool) -> None:
    with writing(engine) as connection:
        present = {name for name in inspect(connection).get_table_names() if name.startswith("xlsengine_")}
        if not present and create:
            _make_tables(connection)
            return
    if not present:
        raise LibraryError(f"{shown(place)}: {_NONE_THERE}")
    said = stated(engine) if about.name in present else {}
    if said.get("format") != MARKED or not {table.name for table in BASE.sorted_tables} <= present:
        raise LibraryError(f"{shown(place)} holds tables of another program; nothing was written to them")
    _check_schema(shown(place), int(said["schema"]))


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


def _make_tables(connection: Connection) -> None:
    for metadata in (BASE, KEPT):
        metadata.create_all(connection)
    state(connection, format=MARKED, schema=SCHEMA, engine=ENGINE, kept=kept_names())
