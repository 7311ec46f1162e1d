"""What a workbook's formulas come to: as stored, in IronCalc and in Gnumeric, recalculated (LibreOffice: `office_edit`).

All of them give a dict from (sheet, A1 place) to the value of every formula cell, so that they compare.
"""

import math
import os
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from typing import Any, TypeVar

import ironcalc
import pytest

from tests.instruments.editing import Edit, checked, edited_copy
from tests.instruments.grid import Area, cell_name
from tests.instruments.parts import Book, Cell, Sheet, read_book, read_sheets
from tests.instruments.plain_names import without_names

__all__ = [
    "Edit",
    "ErrorValue",
    "IronSheet",
    "Place",
    "Value",
    "cell_values",
    "differences",
    "edited_copy",
    "gnumeric_values",
    "iron_edit",
    "iron_values",
    "python_with_uno",
    "requires_gnumeric",
    "requires_libreoffice",
    "run_program",
    "soffice_missing",
    "stored_values",
]


@dataclass(frozen=True)
class ErrorValue:
    """An error a formula came to, such as ``#N/A``."""

    name: str


Place = tuple[str, str]
Value = float | str | bool | ErrorValue | None
Test = TypeVar("Test", bound=Callable[..., object])


def stored_values(path: Path | str) -> dict[Place, Value]:
    """Return the stored value of every formula cell; an empty text and a missing value are None."""
    return dict(_stored(Path(path), Path(path).stat().st_mtime_ns))


@lru_cache(maxsize=64)
def _stored(path: Path, written: int) -> dict[Place, Value]:
    """Read a workbook once, however many tests ask for it."""
    book = _book(path)
    return _values(book, formula_places(book))


def cell_values(path: Path | str, places: Iterable[Place]) -> dict[Place, Value]:
    """Return the stored value of some cells, with or without a formula; blank ones are None."""
    places = list(places)
    return _values(read_sheets(Path(path), {sheet for sheet, _ in places}), places)


def formula_places(book: Book) -> list[Place]:
    """Return every cell that a formula fills, those an array formula spills into too."""
    places: dict[Place, None] = {}
    for sheet in book.sheets.values():
        for cell in sheet.cells:
            if cell.formula is not None:
                spilled = cell.array.cells() if cell.array else [(cell.row, cell.column)]
                places |= {(sheet.name, cell_name(*at)): None for at in spilled}
    return list(places)


@lru_cache(maxsize=48)
def _loaded(path: Path, written: int, by_name: bool) -> bytes:
    """Take a workbook in once: in IronCalc's own form it is there again in a fifth of the time."""
    with tempfile.TemporaryDirectory(prefix="recalculate-") as folder:
        taken = path if by_name else without_names(path, Path(folder, "in.xlsx"))
        model: Any = ironcalc.load_from_xlsx(str(taken))
    content: bytes = model.to_bytes()
    return content


class IronSheet:
    """A workbook held open in IronCalc, to be edited and recalculated many times.

    Its formulas speak of cells instead of their names, which IronCalc takes three times as long over, unless `by_name`.
    """

    def __init__(self, path: Path | str, by_name: bool = False) -> None:
        self._places = list(stored_values(path))
        self._model: Any = ironcalc.load_from_bytes(_loaded(Path(path), Path(path).stat().st_mtime_ns, by_name))
        named = self._model.get_worksheets_properties()
        self._sheets = {each["name"]: number for number, each in enumerate(named)}

    def values(self) -> dict[Place, Value]:
        """Return what every formula of the file comes to now."""
        self._model.evaluate()
        return {place: self._value(*self._at(*place)) for place in self._places}

    def edit(self, edits: Iterable[Edit]) -> dict[Place, Value]:
        """Type new contents into cells and return what every formula comes to; None and "" make blank.

        Texts go in as texts: "5-4" stays no date and "=1" no formula. ValueError for numbers not finite.
        """
        self.type(edits)
        return self.values()

    def type(self, edits: Iterable[Edit]) -> None:
        """Type new contents into cells, and let them be computed when they are asked for."""
        for sheet, place, value in edits:
            self._type(self._at(sheet, place), checked(value))

    def _at(self, sheet: str, place: str) -> tuple[int, int, int]:
        if sheet not in self._sheets:
            raise ValueError(f"no sheet {sheet!r}")
        area = Area.parse(place)
        return self._sheets[sheet], area.top, area.left

    def _type(self, at: tuple[int, int, int], value: float | str | bool | None) -> None:
        match value:
            case None:
                self._model.range_clear_contents(*at, *at[1:])
            case bool():
                self._model.update_cell_with_bool(*at, value)
            case str():
                self._model.update_cell_with_text(*at, value)
            case _:
                self._model.update_cell_with_number(*at, float(value))

    def _value(self, *at: int) -> Value:
        value: float | str | bool | None = self._model.get_cell_value(*at)
        if self._model.get_cell_type(*at) == ironcalc.CellType.ErrorValue:
            return ErrorValue(str(value))
        return None if value == "" else value


def iron_values(path: Path | str, by_name: bool = False) -> dict[Place, Value]:
    """Return what every formula of a workbook comes to in IronCalc."""
    return IronSheet(path, by_name).values()


def iron_edit(path: Path | str, edits: Iterable[Edit]) -> dict[Place, Value]:
    """Return what every formula comes to in IronCalc after some cells were changed."""
    return IronSheet(path).edit(edits)


@cache
def python_with_uno() -> str | None:
    """Return a Python that can talk to LibreOffice, or None: the system's, where Debian puts the bridge."""
    for candidate in ("/usr/bin/python3", shutil.which("python3"), sys.executable):
        if candidate and subprocess.run([candidate, "-c", "import uno"], capture_output=True).returncode == 0:
            return candidate
    return None


def soffice_missing() -> str | None:
    """Return why LibreOffice cannot be asked, or None if it can."""
    if not shutil.which("soffice"):
        return "LibreOffice Calc is not installed: no soffice on the path"
    return None if python_with_uno() else "no Python has uno; Debian: python3-uno"


def libreoffice_demanded() -> bool:
    """Return whether its tests must run: in continuous integration, or when asked for."""
    return os.environ.get("CI") == "true" or os.environ.get("XLSENGINE_NEED_LIBREOFFICE") == "1"


def requires_program(missing: str | None) -> Callable[[Test], Test]:
    """Mark a test that needs a program: skipped where it is `missing` for that reason, failed where it is demanded."""
    return pytest.mark.skipif(missing is not None and not libreoffice_demanded(), reason=str(missing))


def requires_libreoffice(test: Test) -> Test:
    """Mark a test that needs LibreOffice."""
    marked: Test = pytest.mark.libreoffice(requires_program(soffice_missing())(test))
    return marked


def requires_gnumeric(test: Test) -> Test:
    """Mark a test that needs Gnumeric's ssconvert."""
    missing = None if shutil.which("ssconvert") else "Gnumeric is not installed: no ssconvert on the path"
    marked: Test = requires_program(missing)(test)
    return marked


def gnumeric_values(path: Path | str, timeout: float = 300.0) -> dict[Place, Value]:
    """Return what every formula comes to in Gnumeric; RuntimeError where it is missing, too slow or writes nothing."""
    with tempfile.TemporaryDirectory(prefix="recalculate-") as folder:
        out = Path(folder, "out.xlsx")
        told = run_program(["ssconvert", "--recalc", str(Path(path).resolve()), str(out)], timeout)
        if not out.exists():
            raise RuntimeError(f"Gnumeric wrote nothing: {told}")
        return _values(_book(out), stored_values(path))


def differences(
    one: Mapping[Place, Value], other: Mapping[Place, Value], rtol: float = 1e-9, atol: float = 1e-12
) -> list[str]:
    """Return a line for each cell in which two results differ or which only one of them has.

    Texts, truth values and errors must be the same; numbers may differ by the tolerances.
    """
    lines = []
    for place in one.keys() | other.keys():
        where = f"{place[0]}!{place[1]}"
        if place not in one or place not in other:
            lines.append(f"{where}: only in the {'first' if place in one else 'second'}")
        elif not _same(one[place], other[place], rtol, atol):
            lines.append(f"{where}: {one[place]!r} against {other[place]!r}")
    return sorted(lines)


def _same(one: Value, other: Value, rtol: float, atol: float) -> bool:
    one, other = (None if value == "" else value for value in (one, other))
    if _is_number(one) and _is_number(other):
        return math.isclose(one, other, rel_tol=rtol, abs_tol=atol)  # type: ignore[arg-type]
    return type(one) is type(other) and one == other


def _is_number(value: Value) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _book(path: Path | str) -> Book:
    book, findings = read_book(Path(path))
    if book is None:
        raise ValueError(f"{path} cannot be followed: {[str(finding) for finding in findings]}")
    return book


def _values(book: Book, places: Iterable[Place]) -> dict[Place, Value]:
    values: dict[Place, Value] = {}
    for name, place in places:
        sheet: Sheet = book.sheets[name.lower()]
        area = Area.parse(place)
        cell = sheet.at.get((area.top, area.left))
        values[name, place] = _value(cell, book) if cell else None
    return values


def _value(cell: Cell, book: Book) -> Value:
    text = book.words(cell)
    if not text:
        return None
    match cell.kind:
        case "n":
            return float(text)
        case "b":
            return text == "1"
        case "e":
            return ErrorValue(text)
    return text


def run_program(command: Sequence[str], timeout: float) -> str:
    """Run a program and return what it says; RuntimeError where it is missing or takes more than `timeout` seconds."""
    try:
        process = subprocess.Popen(
            command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, start_new_session=True
        )
    except OSError as error:
        raise RuntimeError(f"{command[0]} cannot be run: {error}") from error
    with process:
        try:
            return process.communicate(timeout=timeout)[0]
        except subprocess.TimeoutExpired as error:
            os.killpg(process.pid, signal.SIGKILL)
            raise RuntimeError(f"{command[0]} took more than {timeout:g} s") from error
