"""Reading a box of motors: a workbook of serials, bench tests of one model a serial each, or both together."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from xlsengine.bench.boxes.batch import BATCH, SERIALS, note, serial
from xlsengine.bench.boxes.batch import model as batch_model
from xlsengine.bench.declaring.declare import Field
from xlsengine.bench.inputs.bench_test import Array, Value, columns_of
from xlsengine.bench.inputs.motor import MOTOR, label_kv, model
from xlsengine.errors import Fault, Reason, WorkbookFaulty
from xlsengine.study.assessment import assess
from xlsengine.study.batch import KV_BY, fields_of, new_fields, serial_of, with_rows
from xlsengine.workbook.layout import form_table
from xlsengine.workbook.reading.contents import Contents, read_contents
from xlsengine.workbook.reading.findings import Findings, key
from xlsengine.workbook.reading.form_reader import read_form
from xlsengine.workbook.reading.package import Area
from xlsengine.workbook.reading.reader import read_workbook
from xlsengine.workbook.reading.table_reader import locate, read_table
from xlsengine.workbook.reading.versions import cells_under

WRITE_ONE = "write a new one (xlsengine batch --new FILE) and copy the serials into it"
_FORM = form_table(BATCH)
_MODEL, _KV = batch_model.name, "kv_promised"
_NAMES = {_FORM.casefold(), SERIALS.name.casefold()}
Step = Callable[[str], None]


@dataclass(frozen=True)
class Box:
    """A box of motors: the form by field name, columns with one value a motor, and what else is to be said.

    `places` are the cells in which the model and the Kv of the label stand in its file.
    """

    fields: Mapping[str, Value]
    serials: Mapping[str, Array]
    told: tuple[str, ...]
    places: Mapping[str, str] = field(default_factory=dict)


def gather(files: Sequence[Path], step: Step = lambda name: None) -> Box:
    """Read a box from its files, in their order; `step` is told each one's name.

    Raises `WorkbookFaulty` with the faults of all files, those between them included, or `WorkbookUnreadable`.
    """
    faults: list[Fault] = []
    box = Box({}, columns_of(SERIALS, ()), ())
    for path in files:
        step(path.name)
        contents = read_contents(path, _NAMES, lambda first: False)
        areas = {area.name.casefold(): area for area in reversed(contents.areas)}
        more, found = _typed(contents, areas) if _NAMES & set(areas) else _tested(path)
        faults += [_in_file(fault, path, len(files)) for fault in (*found, *_against(box, more))]
        box = _joined(box, more)
    faults += _doubled(box) if not faults else []
    if faults:
        raise WorkbookFaulty(faults)
    return replace(box, fields={**new_fields(), **box.fields}, told=(*box.told, *_mixed(box)))


def _mixed(box: Box) -> Iterator[str]:
    """Tell where the bench tests have their Kv by different methods."""
    notes = sorted({str(each) for each in box.serials[note.name].tolist() if str(each or "").startswith(KV_BY)})
    if len(notes) > 1:
        yield f"{'; '.join(notes)}: methods differ by some percent, so the spread of Kv is partly theirs"


def _in_file(fault: Fault, path: Path, files: int) -> Fault:
    return replace(fault, place=f"{path.name} {fault.place}") if files > 1 else fault


def _joined(box: Box, more: Box) -> Box:
    """Return a box with more motors; what its form says already stays."""
    said = {name: value for name, value in box.fields.items() if value is not None}
    rows = [
        dict(zip(more.serials, row, strict=True))
        for row in zip(*(c.tolist() for c in more.serials.values()), strict=True)
    ]
    return Box({**more.fields, **said}, with_rows(box.serials, rows), (*box.told, *more.told))


# --- a workbook of serials -------------------------------------------------------------------------------------


def _typed(contents: Contents, areas: Mapping[str, Area]) -> tuple[Box, Sequence[Fault]]:
    findings = Findings()
    missing = [name for name in (_FORM, SERIALS.name) if name.casefold() not in areas]
    for name in missing:
        findings.fault(
            Reason.MISSING_TABLE, contents.areas[0].sheet, "", f"no table {name}", f"the table {name}", WRITE_ONE
        )
    if missing:
        return Box({}, columns_of(SERIALS, ()), ()), findings.faults
    form, table = areas[_FORM.casefold()], areas[SERIALS.name.casefold()]
    fields = read_form(BATCH, form, contents.grids[form.sheet], findings)
    cells = contents.grids[table.sheet]
    neighbours = [area for area in contents.areas if area.sheet == table.sheet and area is not table]
    serials = read_table(SERIALS, table, cells, neighbours, findings, carried=False)
    _same_twice(table, cells, neighbours, findings)
    if not len(serials[serial.name]):
        findings.fault(
            Reason.NO_READINGS,
            table.place(table.first, table.left),
            "",
            "no row filled in",
            f"at least one motor in the table {SERIALS.name}",
            "type the motors, one row each",
        )
    findings.tell_unlisted()
    places = _places(contents, form, {_MODEL: BATCH.fields[_MODEL], _KV: BATCH.fields[_KV]})
    return Box(fields, serials, tuple(findings.told), places), findings.faults


def _places(contents: Contents, form: Area, fields: Mapping[str, Field]) -> dict[str, str]:
    """Return the cells of a form in which fields stand, by the names given."""
    found = {
        name: list(cells_under(form, contents.grids[form.sheet], declared.label)) for name, declared in fields.items()
    }
    return {name: form.place(*cells[0]) for name, cells in found.items() if cells}


def _same_twice(area: Area, cells: Any, neighbours: Sequence[Area], findings: Findings) -> None:
    """Keep a fault for each serial that stands there a second time."""
    reader, places, filled = locate(SERIALS, area, cells, neighbours, Findings())
    declared, first = SERIALS.fields[serial.name], dict[str, str]()
    for row in filled if serial.name in places else ():
        column = places[serial.name].column
        said, where = key(str(reader.content(row, column) or "")), area.place(row, column)
        if said in first:
            _twice(findings, where, declared.header, str(reader.content(row, column)), first[said])
        elif said:
            first[said] = where


def _twice(findings: Findings, where: str, header: str, said: str, before: str) -> None:
    findings.fault(
        Reason.CONTRADICTION,
        where,
        header,
        f'"{said}", which stands in {before} already',
        "each motor once",
        "type this motor's own serial, or delete the row that is not meant",
    )


def _doubled(box: Box) -> list[Fault]:
    """Return a fault for each serial that comes from two files."""
    findings, seen = Findings(), dict[str, int]()
    for row, said in enumerate(box.serials[serial.name].tolist(), start=1):
        if key(str(said)) in seen:
            before = f"motor {seen[key(str(said))]} of all files"
            _twice(findings, f"motor {row} of all files", SERIALS.fields[serial.name].header, str(said), before)
        seen.setdefault(key(str(said)), row)
    return findings.faults


# --- bench tests -----------------------------------------------------------------------------------------------


def _tested(path: Path) -> tuple[Box, Sequence[Fault]]:
    """Return a bench test as a box of one motor."""
    reading = read_workbook(path)
    if reading.faults:
        return Box({}, columns_of(SERIALS, ()), ()), reading.faults
    assessment = assess(reading.test)
    row, told = serial_of(assessment, path.stem), list(reading.told)
    blank = [declared.header for name, declared in SERIALS.fields.items() if name in row and row[name] != row[name]]
    if blank:
        told.append(f"{path.name}: no {', '.join(blank)} was measured")
    form = next(area for area in reading.contents.areas if area.name.casefold() == form_table(MOTOR).casefold())
    places = _places(reading.contents, form, {_MODEL: MOTOR.fields[model.name], _KV: MOTOR.fields[label_kv.name]})
    return Box(fields_of(assessment), columns_of(SERIALS, [row]), tuple(told), places), ()


def _against(box: Box, more: Box) -> Iterator[Fault]:
    """Yield a fault where a file speaks of another model, or of another Kv on the label, than those before it."""
    for name in (_MODEL, _KV):
        before, now = box.fields.get(name), more.fields.get(name)
        if before is not None and now is not None and key(str(before)) != key(str(now)):
            shown = [f"{value:g}" if isinstance(value, float) else f'"{value}"' for value in (now, before)]
            yield Fault(
                Reason.CONTRADICTION,
                more.places.get(name, ""),
                BATCH.fields[name].label,
                shown[0],
                f"{shown[1]}, as in the files before it",
                "correct it, or leave this file out: all motors of a box are of one model",
            )
