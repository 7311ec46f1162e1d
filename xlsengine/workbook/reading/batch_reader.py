"""Reading a box of motors: a workbook of serials, bench tests of one model a serial each, or both together."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from xlsengine.bench.boxes.batch import BATCH, SERIALS, batch_model, note, serial
from xlsengine.bench.inputs.bench_test import Array, Value, columns_of
from xlsengine.bench.inputs.motor import MOTOR, label_kv, model, test_id
from xlsengine.errors import Fault, Reason, WorkbookFaulty
from xlsengine.study.assessment import assess
from xlsengine.study.batch import KV_BY, fields_of, new_fields, serial_of, with_rows
from xlsengine.workbook.layout import form_table
from xlsengine.workbook.reading.area_reader import Position
from xlsengine.workbook.reading.contents import Held, read_contents
from xlsengine.workbook.reading.findings import Findings, key
from xlsengine.workbook.reading.reader import read_parts, read_workbook

WRITE_ONE = "write a new one (xlsengine batch --new FILE) and copy the serials into it"
_FORM = form_table(BATCH)
_MODEL, _KV, _ID = batch_model.name, "kv_promised", test_id.name
_NAMES = {_FORM.casefold(), SERIALS.name.casefold()}
Step = Callable[[str], None]


@dataclass(frozen=True)
class Box:
    """A box of motors: the form by field name, columns with one value a motor, and what else is to be said.

    `places` are the cells in which the model and the Kv of the label stand in its file, and `homes` those of the serials.
    """

    fields: Mapping[str, Value] = field(default_factory=dict)
    serials: Mapping[str, Array] = field(default_factory=lambda: columns_of(SERIALS, ()))
    told: tuple[str, ...] = ()
    places: Mapping[str, str] = field(default_factory=dict)
    homes: tuple[str, ...] = ()


def gather(files: Sequence[Path], step: Step = lambda name: None) -> Box:
    """Read a box from its files, in their order; `step` is told each one's name.

    Raises `WorkbookFaulty` with the faults of all files, those between them included, or `WorkbookUnreadable`.
    """
    faults: list[Fault] = []
    box = Box()
    for path in files:
        step(path.name)
        held = read_contents(path, _NAMES).held()
        more, found = _typed(held) if _NAMES & set(held) else _tested(path)
        where = f"{path.name} " if len(files) > 1 else ""
        faults += [replace(fault, place=where + fault.place) for fault in (*found, *_against(box, more))]
        box = _joined(box, replace(more, homes=tuple(where + home for home in more.homes)))
    faults += _doubled(box)
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
    told, homes = (*box.told, *more.told), (*box.homes, *more.homes)
    return Box({**more.fields, **said}, with_rows(box.serials, rows), told, homes=homes)


def _doubled(box: Box) -> Iterator[Fault]:
    """Yield a fault for each serial that stands there a second time."""
    first: dict[str, str] = {}
    for said, home in zip(box.serials[serial.name].tolist(), box.homes, strict=True):
        if said and key(said) in first:
            found = f'"{said}", which stands in {first[key(said)]} already'
            fix = "type this motor's own serial, or delete the row that is not meant"
            yield Fault(Reason.CONTRADICTION, home, SERIALS.fields[serial.name].header, found, "each motor once", fix)
        elif said:
            first[key(said)] = home


# --- a workbook of serials -------------------------------------------------------------------------------------


def _typed(held: Mapping[str, Held]) -> tuple[Box, Sequence[Fault]]:
    findings = Findings()
    sheet = next(iter(held.values())).area.sheet
    missing = [name for name in (_FORM, SERIALS.name) if name.casefold() not in held]
    for name in missing:
        findings.no_table(sheet, name, WRITE_ONE)
    if missing:
        return Box(), findings.faults
    fields, tables, where = read_parts((BATCH, SERIALS), held, findings, carried=False)
    serials, table = tables[SERIALS.name], where[SERIALS.name]
    if not table.rows:
        findings.no_rows(table.area.place(table.area.first, table.area.left), "motor", SERIALS.name)
    findings.tell_unlisted()
    homes = tuple(
        table.place(row, serial.name) if serial.name in table.columns else "" for row in range(len(table.rows))
    )
    places = _places(where.get(_FORM), {_MODEL: _MODEL, _KV: _KV})
    return Box(fields, serials, tuple(findings.told), places, homes), findings.faults


def _places(form: Position | None, fields: Mapping[str, str]) -> dict[str, str]:
    """Return the cells of a form in which fields stand, by the names given."""
    return {name: cell for name, field in fields.items() if form and (cell := form.field(field))}


# --- bench tests -----------------------------------------------------------------------------------------------


def _tested(path: Path) -> tuple[Box, Sequence[Fault]]:
    reading = read_workbook(path)
    if reading.faults:
        return Box(), reading.faults
    assessment = assess(reading.test)
    row, told = serial_of(assessment, path.stem), list(reading.told)
    blank = [declared.header for name, declared in SERIALS.fields.items() if name in row and row[name] != row[name]]
    if blank:
        told.append(f"{path.name}: no {', '.join(blank)} was measured")
    named = {_MODEL: model.name, _KV: label_kv.name, _ID: _ID}
    places = _places(reading.where.get(form_table(MOTOR)), named)
    return Box(fields_of(assessment), columns_of(SERIALS, [row]), tuple(told), places, (places.get(_ID, ""),)), ()


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
