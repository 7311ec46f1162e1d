"""Rules on table parts and defined names."""

import re
from collections import Counter
from collections.abc import Iterator
from itertools import combinations

from tests.instruments.findings import Finding, Rule
from tests.instruments.formula_text import AreaUse, FormulaError, parse, table_use, tokens
from tests.instruments.grid import LAST_COLUMN, column_letters, column_number
from tests.instruments.parts import Book, DefinedName, Sheet, Table
from tests.instruments.references import Home, judge, targets

_NAME = re.compile(r"[^\W\d][\w.]*|\\[\w.]*")
_LIKE_A_CELL = re.compile(r"([A-Za-z]{1,3})\d+")
_LIKE_R1C1 = re.compile(r"[Rr]\d*([Cc]\d*)?|[Cc]\d*")
_BUILT_IN = "_xlnm."


def table_findings(book: Book) -> Iterator[Finding]:
    """Judge every table: name, shape, headers, calculated columns, overlap."""
    names = Counter(table.name.lower() for table in book.tables)
    numbers = Counter(table.number for table in book.tables)
    for table in book.tables:
        sheet = book.sheets[table.sheet.lower()]
        if names[table.name.lower()] > 1 or numbers[table.number] > 1:
            yield Finding(table.part, "", Rule.TABLE_NAME, f"{table.name} (id {table.number}) is there twice")
        if not _is_name(table.name):
            yield Finding(table.part, "", Rule.TABLE_NAME, f"{table.name!r} is no valid name")
        yield from _shape(table)
        yield from _headers(table, sheet, book)
        yield from _formulas(table, sheet)
    for one, other in combinations(book.tables, 2):
        if one.sheet == other.sheet and one.area.overlaps(other.area):
            yield Finding(other.part, str(other.area), Rule.TABLE_OVERLAP, f"overlaps {one.name}")


def name_findings(book: Book) -> Iterator[Finding]:
    """Judge every defined name and what it points at."""
    seen: set[tuple[str, str | None]] = set()
    for name in book.names:
        key = (name.name.lower(), name.scope)
        bare = name.name.removeprefix(_BUILT_IN)
        if key in seen or not _is_name(bare) or book.table(name.name):
            yield _of_name(Rule.NAME_INVALID, name, "taken already, or no valid name")
        seen.add(key)
        for message in _target_faults(name, book):
            yield _of_name(Rule.NAME_TARGET, name, message)


def _of_name(rule: Rule, name: DefinedName, message: str) -> Finding:
    return Finding("xl/workbook.xml", name.name, rule, f"={name.text}: {message}")


def _is_name(text: str) -> bool:
    cell = _LIKE_A_CELL.fullmatch(text)
    in_grid = cell is not None and column_number(cell[1].upper()) <= LAST_COLUMN
    return bool(_NAME.fullmatch(text)) and not in_grid and not _LIKE_R1C1.fullmatch(text)


def _target_faults(name: DefinedName, book: Book) -> list[str]:
    home = Home(name.scope)
    faults = [message for _, message in judge(name.text, book, home, array=True, union=True)]
    if faults:
        return faults
    uses = parse(name.text, union=True).uses
    if not uses:
        return ["it points at no cell"]
    moving = [use.text for use in uses if isinstance(use, AreaUse) and not _is_fixed(use.text)]
    if moving:
        return [f"{moving[0]} moves with the cell that uses it"]
    if name.name == f"{_BUILT_IN}Print_Area":
        return []  # an empty cell prints nothing, as it is meant to
    empty = [target for target in targets(name.text, book, home) if not target.written_cells()]
    return ["the file holds no cell there"] if empty else []


def _is_fixed(text: str) -> bool:
    return all(re.fullmatch(r"(\$[A-Z]+)?(\$\d+)?", corner) for corner in text.split(":"))


def _shape(table: Table) -> Iterator[Finding]:
    def fault(message: str) -> Finding:
        return Finding(table.part, str(table.area), Rule.TABLE_SHAPE, message)

    if len(table.columns) != table.area.columns:
        yield fault(f"{len(table.columns)} columns on a range {table.area.columns} wide")
    if table.data.rows < 1:
        yield fault("no data row")


def _headers(table: Table, sheet: Sheet, book: Book) -> Iterator[Finding]:
    def fault(cell: str, message: str) -> Finding:
        return Finding(table.part, cell, Rule.TABLE_HEADER, message)

    counted = Counter(header.lower() for header, _ in table.columns)
    for offset, (header, _) in enumerate(table.columns):
        wrongs = {"blank": not header.strip(), "twice": counted[header.lower()] > 1, "@ in it": "@" in header}
        yield from (fault(header, wrong) for wrong, is_so in wrongs.items() if is_so)
        if table.has_header:
            cell = sheet.at.get((table.area.top, table.area.left + offset))
            if cell is None or cell.kind not in ("s", "inlineStr"):
                yield fault(header, "its cell in the sheet holds no text")
            elif book.words(cell) != header:
                yield fault(cell.place, f"sheet says {book.words(cell)!r}, table says {header!r}")


def _formulas(table: Table, sheet: Sheet) -> Iterator[Finding]:
    rows = range(table.data.top, table.data.bottom + 1)
    grows = any(declared is not None for _, declared in table.columns)
    for offset, (header, declared) in enumerate(table.columns):
        column = table.area.left + offset
        written = [cell.formula if (cell := sheet.at.get((row, column))) else None for row in rows]
        differing = _column_fault(declared, written, table) if grows else None
        if differing:
            yield Finding(table.part, header, Rule.TABLE_FORMULA, differing)


def _column_fault(declared: str | None, written: list[str | None], table: Table) -> str | None:
    """Say where cells hold another formula than the table fills into new rows, by names or by plain references."""
    if declared is None:
        alike = len(written) > 1 and len(set(written)) == 1 and written[0]
        return "one formula in every row, yet no calculatedColumnFormula" if alike else None
    plain = _plain_pattern(declared, table)
    top = table.data.top
    differing = [
        row
        for row, formula in enumerate(written, start=top)
        if formula != declared and formula != plain.replace(_ROW, str(row))
    ]
    return f"{len(differing)} rows differ from it, first row {differing[0]}" if differing else None


_ROW = "\x00"


def _plain_pattern(declared: str, table: Table) -> str:
    """Write a table's formula with plain references to its cells, `_ROW` standing for the row."""
    try:
        return "".join(_plain(token.text, table) if token.kind == "table" else token.text for token in tokens(declared))
    except (FormulaError, ValueError):
        return declared


def _plain(text: str, table: Table) -> str:
    """Write a reference by name as a plain one; ValueError for another table and for unknown headers."""
    name, _, body = text.partition("[")
    use = table_use(name, body[:-1])
    if name != table.name:
        raise ValueError(text)
    headers = [header for header, _ in table.columns]
    letters = [column_letters(table.area.left + headers.index(header)) for header in use.headers]
    first, last = letters[0], letters[-1]
    match sorted(use.keywords):
        case ["#This Row"]:
            return f"${first}{_ROW}"
        case ["#Headers"]:
            return f"${first}${table.area.top}"
        case ["#All"]:
            return f"${first}${table.area.top}:${last}${table.area.bottom}"
        case []:
            return f"${first}${table.data.top}:${last}${table.data.bottom}"
    raise ValueError(text)
