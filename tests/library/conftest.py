"""Where the libraries of the tests lie: in a file, and on a private server."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import create_engine, text

from tests.instruments.postgresql import private_server


@pytest.fixture(scope="session")
def server() -> Iterator[str]:
    """Give the address of a private PostgreSQL server."""
    with private_server() as address:
        yield address


@pytest.fixture(params=["file", "server"])
def place(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """Give the place of a library that is not there yet: a file's path, then an empty server's address."""
    if request.param == "file":
        yield str(tmp_path / "tests.library")
        return
    address = request.getfixturevalue("server")
    yield address
    engine = create_engine(address.replace("postgresql:", "postgresql+psycopg:"))
    with engine.begin() as connection:
        for statement in ("DROP SCHEMA public CASCADE", "CREATE SCHEMA public"):
            connection.execute(text(statement))
    engine.dispose()
