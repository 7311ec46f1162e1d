"""Where the references of a formula lead, and whether that place exists."""

import re
from collections.abc import Iterator
from typing import NamedTuple

from tests.instruments.findings import Rule
from tests.instruments.formula_text import AreaUse, FormulaError, NameUse, TableUse, Use, parse
from tests.instruments.grid import Area
from tests.instruments.parts import Book, Sheet, Table


class Home(NamedTuple):
    """Where a formula stands; a row of 0 means no cell of its own."""

    sheet: str | None
    row: int = 0
    column: int = 0


class Target(NamedTuple):
    """A rectangle of a sheet that exists."""

    sheet: Sheet
    area: Area

    def written_cells(self) -> int:
        """Return how many of its cells the file holds."""
        cells = self.sheet.at
        if self.area.rows * self.area.columns < len(cells):
            return sum(place in cells for place in self.area.cells())
        return sum(self.area.contains(*place) for place in cells)


def judge(text: str, book: Book, home: Home, *, array: bool = False, union: bool = False) -> Iterator[tuple[Rule, str]]:
    """Yield every rule a formula breaks; `array` says that ranges may stand anywhere in it."""
    parsed = parse(_as_in_one_row(text, home.row), union)
    yield from parsed.faults
    found: dict[Use, Target | None] = {}
    for use in dict.fromkeys(parsed.uses):
        try:
            found[use] = resolve(use, book, home)
        except FormulaError as error:
            yield error.rule, str(error)
    for use in dict.fromkeys(parsed.bare) if not array else ():
        if _is_range(use, found.get(use)):
            yield Rule.BARE_RANGE, f"{_written(use)} is a range where one value is wanted"
    for link in parsed.links:
        yield from judge_link(link, book)


_CELL_OF_A_ROW = re.compile(r"(?<![\w.:$])(\$?[A-Z]{1,3})([1-9]\d{0,5})(?![\w.(:!])")
_SAME_ROW = 5000


def _as_in_one_row(text: str, row: int) -> str:
    """Write references to single cells as if the formula stood in one row for all: a column of them is parsed once."""

    def moved(cell: re.Match[str]) -> str:
        there = int(cell[2]) - row + _SAME_ROW
        return f"{cell[1]}{there}" if there > 0 else cell[0]

    return _CELL_OF_A_ROW.sub(moved, text) if row else text


def judge_link(link: str, book: Book) -> Iterator[tuple[Rule, str]]:
    """Yield what is wrong with a link into the workbook; links to elsewhere pass."""
    if link.startswith("#"):
        faults = list(judge(link[1:], book, Home(None), array=True))
        if faults or len(parse(link[1:]).uses) != 1:
            yield Rule.LINK_TARGET, f"{link} leads nowhere"


def resolve(use: Use, book: Book, home: Home) -> Target | None:
    """Return the place a reference means; None for a name that means no single place. Raises FormulaError."""
    match use:
        case AreaUse():
            return _area(use, book, home)
        case NameUse():
            return _name(use, book, home)
        case TableUse():
            return _table(use, book, home)


def targets(text: str, book: Book, home: Home) -> list[Target]:
    """Return the places that a formula reads and that exist."""
    found = []
    for use in parse(text, union=True).uses:
        try:
            found.append(resolve(use, book, home))
        except FormulaError:
            continue
    return [target for target in found if target is not None]


def _area(use: AreaUse, book: Book, home: Home) -> Target:
    name = use.sheet if use.sheet is not None else home.sheet
    sheet = book.sheets.get((name or "").lower())
    if sheet is None:
        raise FormulaError(Rule.UNKNOWN_SHEET, f"no worksheet {name!r} for {use.text}")
    try:
        return Target(sheet, Area.parse(use.text))
    except ValueError as error:
        raise FormulaError(Rule.OUTSIDE_GRID, str(error)) from error


def _name(use: NameUse, book: Book, home: Home) -> Target | None:
    found = book.name(use.name, use.sheet if use.sheet is not None else home.sheet)
    if found is None:
        table = book.table(use.name)
        if table is None or use.sheet is not None:
            raise FormulaError(Rule.UNKNOWN_NAME, f"no defined name {use.name!r}")
        return Target(book.sheets[table.sheet.lower()], table.data)
    places = targets(found.text, book, Home(found.scope))
    return places[0] if len(places) == 1 else None


def _table(use: TableUse, book: Book, home: Home) -> Target:
    table = book.table(use.table)
    if table is None:
        raise FormulaError(Rule.UNKNOWN_TABLE, f"no table {use.table!r}")
    headers = [header for header, _ in table.columns]
    unknown = [header for header in use.headers if header not in headers]
    if unknown:
        raise FormulaError(Rule.UNKNOWN_HEADER, f"table {table.name} has no header {unknown[0]!r}")
    where = [table.area.left + headers.index(header) for header in use.headers]
    where = where or [table.area.left, table.area.right]
    top, bottom = _rows(use.keywords, table, home)
    return Target(book.sheets[table.sheet.lower()], Area(top, min(where), bottom, max(where)))


def _rows(keywords: frozenset[str], table: Table, home: Home) -> tuple[int, int]:
    if "#This Row" in keywords:
        if home.sheet != table.sheet or not table.data.top <= home.row <= table.data.bottom:
            raise FormulaError(Rule.OUTSIDE_TABLE, f"[#This Row] of {table.name} stands outside its rows")
        return home.row, home.row
    if "#Totals" in keywords:
        raise FormulaError(Rule.UNKNOWN_HEADER, f"table {table.name} has no totals row, as none of ours")
    if "#Headers" in keywords and not table.has_header:
        raise FormulaError(Rule.UNKNOWN_HEADER, f"table {table.name} has no header row")
    rows = [
        *((table.area.top, table.area.bottom) if "#All" in keywords else ()),
        *((table.area.top,) if "#Headers" in keywords else ()),
        *((table.data.top, table.data.bottom) if "#Data" in keywords or not keywords else ()),
    ]
    return min(rows), max(rows)


def _is_range(use: Use, found: Target | None) -> bool:
    if isinstance(use, TableUse) and not use.keywords & {"#This Row", "#Headers"}:
        return True
    return found is not None and not found.area.is_one_cell


def _written(use: Use) -> str:
    match use:
        case AreaUse():
            return use.text
        case NameUse():
            return use.name
        case TableUse():
            return f"{use.table}[{':'.join(use.headers)}]"
