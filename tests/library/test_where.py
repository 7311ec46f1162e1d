"""Where the library is: asked for, else in the environment, else in the user's own configuration file."""

from pathlib import Path

import pytest

from xlsengine.errors import LibraryError
from xlsengine.library import where
from xlsengine.library.where import library_place, wanted_place


@pytest.fixture
def configured(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give the place of a configuration file that is not there yet, and an environment that names no library."""
    path = tmp_path / "settings" / "config.toml"
    path.parent.mkdir()
    monkeypatch.setattr(where, "configuration_file", lambda: path)
    monkeypatch.delenv(where.VARIABLE, raising=False)
    return path


def test_each_goes_before_the_next(configured: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    configured.write_text('library = "/srv/third.library"\n')
    assert library_place() == "/srv/third.library"
    monkeypatch.setenv(where.VARIABLE, "second.library")
    assert library_place() == "second.library"
    assert library_place("first.library") == "first.library"


def test_where_nobody_names_one(configured: Path) -> None:
    assert library_place() is None
    with pytest.raises(
        LibraryError, match=r"no library is named; say --library FILE, .*XLSENGINE_LIBRARY.*config\.toml"
    ):
        wanted_place()
    for nothing in ("", "# nothing\n", 'library = ""\n', 'other = "x"\n'):
        configured.write_text(nothing)
        assert library_place() is None


def test_a_path_is_taken_from_beside_the_file_and_an_address_as_it_is(configured: Path) -> None:
    configured.write_text('library = "tests.library"\n')
    assert library_place() == str(configured.parent / "tests.library")
    configured.write_text('library = "~/tests.library"\n')
    assert library_place() == str(Path.home() / "tests.library")
    configured.write_text('library = "postgresql://there/tests"\n')
    assert library_place() == "postgresql://there/tests"


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b'library = "unfinished', r"config.toml cannot be read \(.*\); correct it"),
        (b"library = 5\n", r'found library = 5; wanted a text; write library = "FILE"'),
        (b'library = "\xff"\n', "config.toml cannot be read"),
    ],
)
def test_a_configuration_file_that_cannot_be_read_is_told(configured: Path, content: bytes, said: str) -> None:
    configured.write_bytes(content)
    with pytest.raises(LibraryError, match=said):
        library_place()


def test_the_configuration_file_is_the_users_own() -> None:
    assert where.configuration_file().name == "config.toml"
    assert where.configuration_file().parent.name == "xlsengine"
