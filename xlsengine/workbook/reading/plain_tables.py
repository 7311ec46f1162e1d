"""Taking in a table of readings that never saw a template, from a workbook or text: what fits is placed, the rest told."""

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate
from pathlib import Path

import numpy as np

from xlsengine.bench.declaring.declare import Field
from xlsengine.bench.inputs.bench_test import Array, BenchTest, Value, bench_test
from xlsengine.bench.inputs.conditions import BENCH
from xlsengine.bench.inputs.craft import CRAFT
from xlsengine.bench.inputs.extras import Extras, ExtraValue
from xlsengine.bench.inputs.motor import MOTOR
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.errors import Fault, Reason, WorkbookFaulty, WorkbookUnreadable, fault_lines
from xlsengine.workbook.layout import cell_address, quoted
from xlsengine.workbook.reading import limits
from xlsengine.workbook.reading.area_reader import Position
from xlsengine.workbook.reading.cells import Found, Row, SheetCells, content_of
from xlsengine.workbook.reading.contents import Held
from xlsengine.workbook.reading.extras import own_columns
from xlsengine.workbook.reading.findings import Findings, key
from xlsengine.workbook.reading.kinds import sheets_of
from xlsengine.workbook.reading.package import Area
from xlsengine.workbook.reading.table_reader import read_table
from xlsengine.workbook.reading.trade_words import LONGEST_WORD, header_meant, unit_of
from xlsengine.workbook.reading.typed_texts import readings_of, would_take
from xlsengine.workbook.reading.typed_values import ReadAs, Refusal, plain_text, shown, typed_value

_LEAST_KNOWN, _LEAST_FIGURES, _LEAST_UNITS = 3, 2, 2
_LOOKED_AT = 200  # rows in which a header is looked for
_CORE = ("voltage", "current", "thrust")
_AMPS = READINGS.fields["current"].header
_WATTS = frozenset(
    map(key, ("watt", "watts", "w", "power", "power (w)", "watts (w)", "leistung", "leistung (w)", "puissance (w)"))
)
"""Headers of power in watts (see also `words.csv`)."""
_QUOTED = re.compile(r'"[^"]*"')


@dataclass(frozen=True)
class Taken:
    """A test filled from a plain table, and all that was not placed or was read in other words."""

    test: BenchTest
    told: tuple[str, ...]


@dataclass(frozen=True)
class _Found:
    """A sheet with a row of headers, and which columns name which field."""

    sheet: str
    cells: SheetCells
    row: int
    columns: Mapping[str, int]

    def place(self, row: int, column: int) -> str:
        """Return the address of a cell with its sheet."""
        return f"{quoted(self.sheet)}!{cell_address(row, column)}"

    def held(self, row: int) -> dict[int, Found]:
        """Return what stands in a row, by column."""
        cells = sorted(self.cells.get(row, {}).items())
        return {column: content for column, stored in cells if (content := content_of(stored)) is not None}


def take_in(path: str | Path, sheet: str = "") -> Taken:
    """Return a test filled from the plain table of readings in a file, the best one found or that of a sheet.

    Raises `WorkbookUnreadable` for other files, and `WorkbookFaulty` where no table of readings is found.
    """
    findings = Findings()
    sheets, how = sheets_of(Path(path), sheet)
    tables = [found for name, cells in sheets.items() if (found := _header(name, cells))]
    if not tables:
        raise WorkbookFaulty([_no_table(Path(path))])
    best = max(tables, key=lambda found: (len(found.columns), len(found.cells)))
    for found in tables:
        if found is not best:
            findings.tell(f'the sheet "{found.sheet}" holds a table of readings too; take it in with --sheet')
    for name, cells in sheets.items():
        if cells and name not in {found.sheet for found in tables}:
            findings.tell(f'the sheet "{name}" was not taken in')
    if how:
        findings.tell(how)
    return _taken(best, findings)


def _no_table(path: Path) -> Fault:
    headers = ", ".join(READINGS.fields[name].header for name in _CORE)
    return Fault(
        Reason.NO_READINGS,
        path.name,
        "",
        "no header row of a table of readings",
        f"one row with at least {_LEAST_KNOWN} headers such as {headers}",
        "give the columns such headers",
    )


def _header(sheet: str, cells: SheetCells) -> _Found | None:
    """Return the row that names most of a reading's columns, the first of several alike.

    It is sought in the first rows, as far as they are no longer than a table's.
    """
    rows = sorted(cells)[:_LOOKED_AT]
    ends = accumulate(len(cells[row]) for row in rows)
    near = [row for row, end in zip(rows, ends, strict=True) if end <= limits.MOST_LOOKED_AT]
    found = [_Found(sheet, cells, row, columns) for row in near if (columns := _named_columns(cells[row]))]
    return max(found, key=lambda one: len(one.columns), default=None)


def _named_columns(row: Row) -> dict[str, int]:
    columns: dict[str, int] = {}
    for column, stored in row.items():
        text = content_of(stored)
        if isinstance(text, str) and len(text) <= LONGEST_WORD:
            named = (n for n, d in READINGS.fields.items() if n not in columns and _names(text, d))
            columns.update({name: column for name in (next(named, None),) if name})
    known = len(columns) >= _LEAST_KNOWN and sum(name in columns for name in _CORE) >= _LEAST_KNOWN - 1
    return columns if known else {}


def _names(text: str, declared: Field) -> bool:
    return key(text) == key(declared.header) or header_meant(text, declared) is not None


def _taken(found: _Found, findings: Findings) -> Taken:
    """Read the table below a header row, the single values above it, and tell of everything else."""
    cells, titles = found.cells, _with_units(found, findings)
    fields = _values_above(found, findings)
    _leave_out(found, titles + 1, findings)
    last, filled = max(titles + 1, *cells), {column for row in cells.values() for column in row}
    if len(filled) > limits.MOST_COLUMNS:
        raise WorkbookUnreadable(f"the table of readings has more than {limits.MOST_COLUMNS} columns")
    used = range(min(found.columns.values()), max(filled) + 1)
    headers = tuple(plain_text(content_of(cells[titles].get(column))).strip() for column in used)
    area = Area(READINGS.name, found.sheet, titles + 1, last, last, used.start, headers)
    columns, where = read_table(READINGS, Held(area, cells), findings)
    without_rows = [fault for fault in findings.faults if fault.reason is Reason.NO_READINGS]
    if without_rows:
        raise WorkbookFaulty(without_rows)
    _keep_refused(where, columns, findings)
    own = own_columns(where, findings, plain=True)
    worked_out = {_AMPS} if "current" not in where.typed and _amps_of_watts(own, columns, findings) else set[str]()
    if "throttle" not in where.typed:
        _tell_no_throttle(own, findings)
    test = bench_test(fields)
    extras = Extras({READINGS.name: own} if own else {})
    test = replace(test, tables={**test.tables, READINGS.name: columns}, extras=extras)
    return Taken(
        test, (*folded(findings.told), *_to_fill([fault for fault in findings.faults if fault.label not in worked_out]))
    )


def _amps_of_watts(own: Mapping[str, Sequence[ExtraValue]], columns: dict[str, Array], findings: Findings) -> bool:
    """Work out amps where no column holds them, from volts and the first column of watts; tell whether there is one."""
    watts = next((header for header in own if key(header) in _WATTS), None)
    if watts is None:
        return False
    read = np.array([value if isinstance(value, float) else np.nan for value in own[watts]])
    with np.errstate(divide="ignore", invalid="ignore"):
        amps = np.round(read / columns["voltage"], 2)
    columns["current"] = np.where(np.isfinite(amps), amps, np.nan)
    findings.tell(f'no column holds "{_AMPS}": worked out from "{watts}" and the volts of each row, to 0.01 A')
    return True


def folded(told: Sequence[str]) -> Iterator[str]:
    """Yield sentences, those that differ in quoted words and places alone as one that lists the words.

    >>> list(folded(['A1: "Lauf" was read as "Run"', 'B1: "Gas" was read as "Throttle"']))
    ['A1: "Lauf" was read as "Run"; likewise "Gas": "Throttle" (2 in all)']
    """
    alike: dict[str, list[str]] = {}
    for sentence in told:
        alike.setdefault(_QUOTED.sub('""', sentence.partition(": ")[2] or sentence), []).append(sentence)
    for first, *rest in alike.values():
        words = (": ".join(_QUOTED.findall(sentence.partition(": ")[2] or sentence)) for sentence in rest)
        listed = ", ".join(dict.fromkeys(words))
        yield f"{first}; likewise {listed} ({1 + len(rest)} in all)" if listed else first


def _tell_no_throttle(own: Mapping[str, Sequence[ExtraValue]], findings: Findings) -> None:
    """Tell that all rows count as full throttle, and which columns that were not placed may be their throttle."""
    header = READINGS.fields["throttle"].header
    may_be = [f'"{own_header}"' for own_header, values in own.items() if "%" in own_header or _may_be_throttle(values)]
    hint = f'; if it is {" or ".join(may_be)}, head that column "{header}" and take the table in again'
    findings.tell("no throttle was taken in: blank counts as full throttle" + hint * bool(may_be))


def _may_be_throttle(values: Sequence[ExtraValue]) -> bool:
    held = [value for value in values if value is not None]
    declared = READINGS.fields["throttle"]
    return all(type(value) in (int, float) and would_take(declared, float(str(value))) for value in held)


def _to_fill(faults: Sequence[Fault]) -> Iterator[str]:
    """Say in a line each what is still wanted: a column that is needed and missing, a column's blanks once, other faults."""
    needed = {declared.header for declared in READINGS.fields.values() if declared.required}
    missing = [fault for fault in faults if fault.reason is Reason.MISSING_HEADER and fault.label in needed]
    blanks = Counter(fault.label for fault in faults if fault.reason is Reason.REQUIRED_BLANK)
    for fault in missing:
        yield f'"{fault.label}" has no column and is to be filled in'
    others = [fault for fault in faults if fault.reason is not Reason.REQUIRED_BLANK and fault not in missing]
    yield from fault_lines(others)
    for label, times in blanks.items():
        yield f'"{label}" is blank in {times} {"row" if times == 1 else "rows"} and is to be filled in'


def _leave_out(found: _Found, first: int, findings: Findings) -> None:
    """Take rows that hold fewer than two figures of a reading out of the table, and tell so."""
    named = {column: READINGS.fields[name] for name, column in found.columns.items()}
    numbers = {column: declared for column, declared in named.items() if not declared.is_text}
    for row in sorted(row for row in found.cells if row >= first):
        held = found.held(row)
        if sum(_is_figure(declared, held.get(column)) for column, declared in numbers.items()) < _LEAST_FIGURES:
            if held:
                where, texts = found.place(row, min(held)), ", ".join(map(shown, held.values()))
                findings.tell(f"{where}: {texts} is no row of readings and was not placed")
            del found.cells[row]


def _is_figure(declared: Field, content: Found) -> bool:
    return isinstance(content, float) or (isinstance(content, str) and bool(readings_of(declared, content)))


def _keep_refused(where: Position, columns: Mapping[str, Array], findings: Findings) -> None:
    """Put what a cell held and no field takes under Note, so that it is in the new workbook too."""
    held = {
        where.area.place(row, column): (index, READINGS.fields[name].header, where.reader.content(row, column))
        for index, row in enumerate(where.rows)
        for name, column in where.typed.items()
    }
    for fault in findings.faults:
        index, header, content = held.get(fault.place, (0, "", None))
        if content is not None:
            note = columns["note"][index]
            columns["note"][index] = f"{note}; " * bool(note) + f"{header}: {shown(content)}"


def _with_units(found: _Found, findings: Findings) -> int:
    """Return the row of headers: joined with the units, where those stand in a row of their own below."""
    named = {column: READINGS.fields[name] for name, column in found.columns.items()}
    texts = {column: text for column, text in found.held(found.row + 1).items() if column in named}
    if not all(isinstance(text, str) for text in texts.values()):
        return found.row
    units = {c: unit_of(str(text).strip(" ()[]"), named[c]) for c, text in texts.items() if named[c].unit}
    headers = {column: f"{named[column].label} ({unit})" for column, unit in units.items() if unit}
    if len(headers) < _LEAST_UNITS:
        return found.row
    found.cells[found.row + 1] = {**found.cells[found.row], **headers}
    findings.tell(f"{found.place(found.row + 1, 0)}: the row of units was read with the headers")
    return found.row + 1


def _values_above(found: _Found, findings: Findings) -> dict[str, Value]:
    """Place what stands beside a known label above the table, and tell of all else that stands there."""
    fields: dict[str, Value] = {}
    for row in sorted(row for row in found.cells if row < found.row):
        held = found.held(row)
        texts = list(held.values())
        if held and (placed := _placed(texts, fields)):
            findings.tell(f'{found.place(row, min(held))}: {shown(texts[1])} was placed under "{placed.label}"')
        elif held:
            said = ", ".join(map(shown, texts))
            findings.tell(f"{found.place(row, min(held))}: {said} stands above the table and was not placed")
    return fields


def _placed(texts: Sequence[Found], fields: dict[str, Value]) -> Field | None:
    """Put a label's value into `fields` where a form knows the label and takes the value; returns its field."""
    if len(texts) != 2 or not isinstance(texts[0], str):
        return None
    for declared in (d for form in (MOTOR, BENCH, CRAFT) for d in form.fields.values()):
        meant = header_meant(texts[0].rstrip(": "), declared)
        if meant is None or meant.foreign or declared.name in fields:
            continue
        value = typed_value(declared, texts[1], meant.unit)
        if not isinstance(value, Refusal):
            fields[declared.name] = value.value if isinstance(value, ReadAs) else value
            return declared
    return None
