"""Putting a finished file in its place whole: written beside it, brought to the disk, then moved there.

Until the move the old output stands; the move itself is one step of the file system. What is unfinished lies in a
hidden folder beside the output, with everything that writing needs on the way, and goes away with it.
"""

import csv
import errno
import filecmp
import os
import re
import shutil
import tempfile
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from io import StringIO
from pathlib import Path

from xlsxwriter.exceptions import FileCreateError

from xlsengine.errors import OutputRefused

UNFINISHED = ".writing-xlsengine-"
LEFT_BEHIND_AFTER = 3600.0
"""Seconds after which an unfinished folder belongs to a run that was killed."""
_ELSEWHERE = "or name another place with -o"
_CAUSES = {
    errno.ENOSPC: "the disk is full; make room, " + _ELSEWHERE,
    errno.EDQUOT: "your share of the disk is used up; make room, " + _ELSEWHERE,
    errno.EFBIG: "the file is larger than may be written there; name another place with -o",
    errno.EROFS: "it can only be read from there; name another place with -o",
    errno.EACCES: "there is no permission to write there, or the file is open in another program; close it, "
    + _ELSEWHERE,
    errno.ENAMETOOLONG: "the name is too long; name a shorter one with -o",
    errno.ENOMEM: "it takes too much memory; close other programs, and try again",
}
_CAUSES[errno.EPERM] = _CAUSES[errno.ETXTBSY] = _CAUSES[errno.EBUSY] = _CAUSES[errno.EACCES]


# --- names of files beside each other --------------------------------------------------------------------------

_BEFORE = " (before)"
_HIDING = (".", "~$")  # hidden files and unfinished outputs; lock files of Excel, and of LibreOffice: .~lock.NAME#


def before_name(path: Path) -> Path:
    """Return where a file that is replaced is kept: ``a results.xlsx`` as ``a results (before).xlsx``.

    A path without a name, which no file can have, stays as it is.
    """
    return path.with_name(f"{path.stem}{_BEFORE}{path.suffix}") if path.name else path


def is_hidden(name: str) -> bool:
    """Tell whether a file or folder of that name hides, or is there while a program is at work."""
    return name.startswith(_HIDING)


def is_somebodys(path: Path) -> bool:
    """Tell by its name whether a file may be a person's work: neither hidden, nor kept when it was replaced."""
    return not is_hidden(path.name) and not path.stem.endswith(_BEFORE)


def numbered(stem: str, word: str = "results") -> tuple[str, int]:
    """Return of what a name without ending is the ``<name> <word>``, and its number; 0 where it is none.

    >>> numbered("thimble results 2"), numbered("thimble results"), numbered("thimble")
    (('thimble', 2), ('thimble', 1), ('thimble', 0))
    """
    found = re.fullmatch(rf"(.*) {word}(?: (\d+))?", stem)
    return (found[1], int(found[2] or 1)) if found else (stem, 0)


def next_name(file: Path, word: str = "results") -> Path:
    """Return ``<name> <word>.xlsx`` beside a file; beside one that has such a name the next number.

    A workbook that comes back is an input too and is never written to. A path without a name stays as it is.
    """
    name, number = numbered(file.stem, word)
    return file.with_name(f"{name} {word}{f' {number + 1}' if number else ''}.xlsx") if file.name else file


_COMMANDS = ("=", "+", "-", "@", "\t", "\r")


def as_csv(rows: Iterable[Iterable[object]]) -> str:
    """Return rows as .csv (RFC 4180); a text that a spreadsheet program would take for a formula gets an apostrophe before.

    >>> as_csv([("=1+1", "-4.5", -4.5, "5x4")])
    "'=1+1,-4.5,-4.5,5x4\\r\\n"
    """
    text = StringIO()
    csv.writer(text).writerows([_harmless(cell) if isinstance(cell, str) else cell for cell in row] for row in rows)
    return text.getvalue()


def _harmless(text: str) -> str:
    try:
        float(text)
    except ValueError:
        return f"'{text}" if text.startswith(_COMMANDS) else text
    return text


# --- writing ---------------------------------------------------------------------------------------------------


@contextmanager
def whole_file(path: Path, overwrite: bool) -> Iterator[Path]:
    """Give a path to write to; move it to `path` when the block ends well, and leave nothing behind otherwise.

    The file that is replaced is kept beside it under the name that `before_name` gives; where the new one is the same
    byte by byte, nothing is moved. Raises `OutputRefused` when `path` exists and may not be replaced (a file that
    another run put there meanwhile included), or cannot be written to for whatever reason; the old file then stands as
    it was, and so does the one that was kept before.
    """
    with _refusing(path):
        target = _target(path, overwrite)
        sweep(target.parent, UNFINISHED, LEFT_BEHIND_AFTER)
        folder = Path(tempfile.mkdtemp(prefix=UNFINISHED, dir=target.parent))
        try:
            yield folder / target.name
            _put(folder / target.name, target, overwrite)
        finally:
            shutil.rmtree(folder, ignore_errors=True)


def refuse_input(path: Path, source: Path) -> None:
    """Raise `OutputRefused` where `path` is the file that is read, or where that one would give way to what is kept."""
    if _is_same_file(path, source):
        raise OutputRefused(f"{path} is the input itself, which is never written to; name another file with -o")
    kept = before_name(Path(os.path.realpath(path)))
    if _is_same_file(kept, source) and os.path.exists(path):
        raise OutputRefused(
            f"{path} exists already and would be kept as {kept.name}, which is the input itself; name another file with -o"
        )


def _is_same_file(one: Path, other: Path) -> bool:
    try:
        return one.is_file() and os.path.samefile(one, other)
    except (OSError, ValueError):
        return False


@contextmanager
def _refusing(path: Path) -> Iterator[None]:
    """Turn what the system says on writing into words for a person."""
    try:
        yield
    except FileCreateError as error:
        raise _refused(path, error.args[0]) from error
    except OSError as error:
        raise _refused(path, error) from error


def _refused(path: Path, error: object) -> OutputRefused:
    known = _CAUSES.get(getattr(error, "errno", None) or 0)
    reason = known or getattr(error, "strerror", None) or str(error)
    return OutputRefused(f"cannot write {path}: {reason}. Nothing was changed")


def _target(path: Path, overwrite: bool) -> Path:
    """Return the file behind `path`, links followed; refuse what cannot become a file or may not be replaced."""
    if "\0" in str(path):
        raise OutputRefused("the name of the output holds a sign that no file name can hold")
    target = Path(os.path.realpath(path))
    if target.is_dir():
        raise OutputRefused(f"{path} is a folder; name a file in it with -o")
    if not target.parent.is_dir():
        raise OutputRefused(f"cannot write into {target.parent}: there is no such folder; make it, {_ELSEWHERE}")
    if target.exists() and not target.is_file():
        raise OutputRefused(f"{path} is no ordinary file; name another with -o")
    if target.exists() and not overwrite:
        raise _exists(path)
    return target


def _exists(path: Path) -> OutputRefused:
    return OutputRefused(f"{path} exists already; say --overwrite to replace it, or name another file with -o")


def sweep(folder: Path, beginning: str, seconds: float) -> None:
    """Remove what killed runs left behind in a folder: folders whose names begin so, older than so many seconds."""
    for left in folder.glob(f"{beginning}*"):
        with suppress(OSError):
            if left.is_dir() and not left.is_symlink() and time.time() - left.stat().st_mtime > seconds:
                shutil.rmtree(left, ignore_errors=True)


def stamp(path: Path) -> tuple[int, int, int] | None:
    """Return what tells a file of a name from what stood there before, None where there is none."""
    try:
        found = path.stat()
    except (OSError, ValueError):
        return None
    return found.st_ino, found.st_size, found.st_mtime_ns


def _put(finished: Path, target: Path, overwrite: bool) -> None:
    """Bring a finished file to the disk and into its place; raises `OutputRefused` where another run was faster."""
    if overwrite and target.exists() and filecmp.cmp(finished, target, shallow=False):
        return
    _sync(finished)
    if not overwrite:
        _put_new(finished, target)
    elif target.exists():
        _replace(target, finished)
    else:
        os.replace(finished, target)
    _sync(target.parent)


def _put_new(finished: Path, target: Path) -> None:
    """Put a file where none may stand: unlike a move, a link never replaces what came in between."""
    try:
        os.link(finished, target)
    except FileExistsError:
        raise _exists(target) from None
    except OSError:  # a file system without links
        _claim(target)
        os.replace(finished, target)


def _claim(target: Path) -> None:
    try:
        target.open("xb").close()
    except FileExistsError:
        raise _exists(target) from None


def _replace(target: Path, finished: Path) -> None:
    """Put a file over another, which is kept; where that fails, what was kept earlier comes back."""
    kept = before_name(target)
    earlier = _second_name(kept, finished.parent) if kept.exists() else None
    os.replace(_second_name(target, finished.parent), kept)
    try:
        os.replace(finished, target)
    except OSError:
        if earlier is None:
            kept.unlink(missing_ok=True)
        else:
            os.replace(earlier, kept)
        raise


def _second_name(path: Path, folder: Path) -> Path:
    """Give a file another name too, or copy it where that cannot be; returns the other name."""
    other = Path(tempfile.mkdtemp(dir=folder)) / "copy"
    try:
        os.link(path, other)
    except OSError:
        shutil.copy2(path, other)
        _sync(other)
    return other


def _sync(path: Path) -> None:
    """Have the system write a file, or the names in a folder, to the disk; some systems cannot do so for folders."""
    try:
        handle = os.open(path, os.O_RDONLY)
    except PermissionError:
        if path.is_dir():
            return
        raise
    try:
        os.fsync(handle)
    except OSError as error:
        if not (path.is_dir() and error.errno in (errno.EINVAL, errno.EBADF)):
            raise
    finally:
        os.close(handle)
