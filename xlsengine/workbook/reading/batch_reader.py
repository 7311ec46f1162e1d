"""Reading a box of motors: a workbook of serials, bench tests of one model a serial each, or both together."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from xlsengine.bench.boxes.batch import BATCH, SERIALS, note, serial
from xlsengine.bench.boxes.batch import model as batch_model
from xlsengine.bench.inputs.bench_test import Array, Value, columns_of
from xlsengine.bench.inputs.motor import MOTOR, label_kv, model
from xlsengine.errors import Fault, Reason, WorkbookFaulty
from xlsengine.study.assessment import assess
from xlsengine.study.batch import KV_BY, fields_of, new_fields, serial_of, with_rows
from xlsengine.workbook.layout import form_table
from xlsengine.workbook.reading.contents import Contents, Held, read_contents
from xlsengine.workbook.reading.findings import Findings, key
from xlsengine.workbook.reading.form_reader import read_form
from xlsengine.workbook.reading.reader import read_workbook
from xlsengine.workbook.reading.table_reader import Position, locate, position, read_table

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
        held = contents.held()
        more, found = _typed(contents, held) if _NAMES & set(held) else _tested(path)
        where = f"{path.name} " if len(files) > 1 else ""
        faults += [replace(fault, place=where + fault.place) for fault in (*found, *_against(box, more))]
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


def _joined(box: Box, more: Box) -> Box:
    """Return a box with more motors; what its form says already stays."""
    said = {name: value for name, value in box.fields.items() if value is not None}
    rows = [
        dict(zip(more.serials, row, strict=True))
        for row in zip(*(c.tolist() for c in more.serials.values()), strict=True)
    ]
    return Box({**more.fields, **said}, with_rows(box.serials, rows), (*box.told, *more.told))


# --- a workbook of serials -------------------------------------------------------------------------------------


def _typed(contents: Contents, held: Mapping[str, Held]) -> tuple[Box, Sequence[Fault]]:
    findings = Findings()
    missing = [name for name in (_FORM, SERIALS.name) if name.casefold() not in held]
    for name in missing:
        findings.no_table(contents.areas[0].sheet, name, WRITE_ONE)
    if missing:
        return Box({}, columns_of(SERIALS, ()), ()), findings.faults
    form, table = held[_FORM.casefold()], held[SERIALS.name.casefold()]
    fields = read_form(BATCH, form, findings)
    serials = read_table(SERIALS, table, findings, carried=False)
    _same_twice(table, findings)
    if not len(serials[serial.name]):
        findings.no_rows(table.area.place(table.area.first, table.area.left), "motor", SERIALS.name)
    findings.tell_unlisted()
    places = _places(position(BATCH, form), {_MODEL: _MODEL, _KV: _KV})
    return Box(fields, serials, tuple(findings.told), places), findings.faults


def _places(form: Position, fields: Mapping[str, str]) -> dict[str, str]:
    """Return the cells of a form in which fields stand, by the names given."""
    return {name: cell for name, field in fields.items() if (cell := form.field(field))}


def _same_twice(table: Held, findings: Findings) -> None:
    """Keep a fault for each serial that stands there a second time."""
    reader, places, filled = locate(SERIALS, table, Findings())
    declared, first = SERIALS.fields[serial.name], dict[str, str]()
    for row in filled if serial.name in places else ():
        column = places[serial.name].column
        said, where = key(str(reader.content(row, column) or "")), table.area.place(row, column)
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
    reading = read_workbook(path)
    if reading.faults:
        return Box({}, columns_of(SERIALS, ()), ()), reading.faults
    assessment = assess(reading.test)
    row, told = serial_of(assessment, path.stem), list(reading.told)
    blank = [declared.header for name, declared in SERIALS.fields.items() if name in row and row[name] != row[name]]
    if blank:
        told.append(f"{path.name}: no {', '.join(blank)} was measured")
    form = reading.contents.held()[form_table(MOTOR).casefold()]
    places = _places(position(MOTOR, form), {_MODEL: model.name, _KV: label_kv.name})
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
