"""Reading a form: its fields by the label in the column Field, whatever their order."""

from xlsengine.bench.declaring.declare import Field, Form
from xlsengine.bench.inputs.bench_test import Value
from xlsengine.errors import Reason
from xlsengine.workbook.layout import FORM_HEADERS, SOURCE_HEADER
from xlsengine.workbook.reading.area_reader import AreaReader, Place, Position, closest
from xlsengine.workbook.reading.cells import number_text
from xlsengine.workbook.reading.contents import Held
from xlsengine.workbook.reading.findings import Findings, key
from xlsengine.workbook.reading.trade_words import header_meant, unit_of
from xlsengine.workbook.reading.typed_values import plain_text, shown

LABEL, VALUE, UNIT = FORM_HEADERS[:3]
REQUIRED_MARK = "*"


def read_form(form: Form, held: Held, findings: Findings) -> tuple[dict[str, Value], Position]:
    """Return a form's values by field name, None where blank, and where they stand; unknown fields are not read."""
    reader = AreaReader(held.area, held.cells, (*FORM_HEADERS, SOURCE_HEADER), findings)
    labels, values = reader.column(LABEL), reader.column(VALUE)
    if labels is None or values is None:
        return dict.fromkeys(form.fields), Position(form, reader, [-1] * len(form.fields))
    filled = FilledForm(form, reader, labels, values)
    content = {name: filled.value(declared) for name, declared in form.fields.items()}
    filled.refuse_exchanged(content)
    filled.tell_unknown_fields()
    reader.tell_unknown_columns()
    reader.close()
    return content, Position(form, reader, [filled.found[name] for name in form.fields])


def default_of(declared: Field, sheet: str, findings: Findings) -> Value:
    """Return what a field holds that a workbook does not have, and tell so."""
    taken = "it stays blank" if declared.default is None else f"{plain_text(declared.default)} is used"
    findings.tell(f'{sheet}: "{declared.label}" is not in this workbook; {taken}')
    return declared.default


class FilledForm:
    """A form as it stands on its sheet: which row holds which label."""

    def __init__(self, form: Form, reader: AreaReader, labels: int, values: int) -> None:
        self.form, self.reader = form, reader
        self.labels, self.values = labels, values
        self.units = next((column for column, text in reader.headers.items() if key(text) == key(UNIT)), None)
        self.written = {row: plain_text(reader.content(row, labels)).strip() for row in reader.rows}
        self.keys = {row: label_key(label) for row, label in self.written.items()}
        self._rows: dict[str, list[int]] = {}
        for row, label in self.keys.items():
            self._rows.setdefault(label, []).append(row)
        self.known = {key(declared.label) for declared in form.fields.values()}
        self.found: dict[str, int] = {}

    def value(self, declared: Field) -> Value:
        """Return a field's value; keeps a fault and returns None where it cannot be had."""
        rows = self._rows.get(key(declared.label), [])
        if not rows:
            rows = self._in_other_words(declared)
        self.found[declared.name] = rows[0] if rows else -1
        if len(rows) > 1:
            places, fix = [self._place(row, self.labels) for row in rows], "delete one of the rows"
            self.reader.findings.doubled(Reason.DOUBLED_FIELD, places, declared.label, "field", "form", fix)
        elif not rows:
            return self._missing_field(declared)
        elif place := self._place_of_value(declared, rows[0]):
            return self.reader.value(declared, rows[0], place, declared.label, _fill_in(declared))
        return None

    def refuse_exchanged(self, content: dict[str, Value]) -> None:
        """Keep a fault for every lower limit above its upper one."""
        for name in content:
            if name.endswith("_low"):
                self._refuse_above(name, name.removesuffix("_low") + "_high", content)

    def _refuse_above(self, name: str, other: str, content: dict[str, Value]) -> None:
        low, high, row = content[name], content.get(other), self.found[name]
        if row >= 0 and isinstance(low, float) and isinstance(high, float) and low > high:
            wanted = f"at most {number_text(high)}, which is {self.form.fields[other].label}"
            where, label = self._place(row, self.values), self.form.fields[name].label
            fix = "check both; were they exchanged?"
            self.reader.findings.fault(Reason.CONTRADICTION, where, label, number_text(low), wanted, fix)

    def tell_unknown_fields(self) -> None:
        """Tell of values beside labels that the form does not have."""
        for row, label in self.written.items():
            if self.keys[row] not in self.known and self.reader.content(row, self.values) is not None:
                named = f'the field "{label}" is not known' if label else "a value without a field's name"
                self.reader.findings.tell(f"{self._place(row, self.values)}: {named} and was not read")

    def _in_other_words(self, declared: Field) -> list[int]:
        """Return the rows whose label names a field in the trade's words."""
        rows = [
            row
            for row, label in self.written.items()
            if self.keys[row] not in self.known and header_meant(label.removesuffix(REQUIRED_MARK), declared)
        ]
        if len(rows) == 1:
            label = self.written[rows[0]]
            self.known.add(self.keys[rows[0]])
            where = self._place(rows[0], self.labels)
            self.reader.findings.tell(f'{where}: the field "{label}" was read as "{declared.label}"')
        return rows

    def _place_of_value(self, declared: Field, row: int) -> Place | None:
        """Return the column of a value, with the unit that its label or the cell beside it gives, and tell so.

        Keeps a fault and returns None where somebody wrote a unit of another kind there.
        """
        written = None if self.units is None else self.reader.content(row, self.units)
        if self.units is None or written is None or key(plain_text(written)) == key(declared.unit):
            meant = header_meant(self.written[row].removesuffix(REQUIRED_MARK), declared)
            return self._converted(declared, row, (meant and meant.unit) or declared.unit)
        unit = unit_of(plain_text(written), declared) if declared.unit else None
        if unit is None:
            wanted = f'the unit "{declared.unit}"' if declared.unit else "no unit"
            fix = f'type "{declared.unit}" there' if declared.unit else "clear that cell"
            place, found = self._place(row, self.units), f"the unit {shown(written)}"
            said = f"{fix}, and give the value so"
            self.reader.findings.fault(Reason.WRONG_TYPE, place, declared.label, found, wanted, said)
            return None
        return self._converted(declared, row, unit)

    def _converted(self, declared: Field, row: int, unit: str) -> Place:
        if unit == declared.unit:
            return Place(self.values)
        if self.reader.content(row, self.values) is not None:
            where = f"{self._place(row, self.values)} {declared.label}"
            self.reader.findings.tell(f"{where}: converted from {unit} to {declared.unit}")
        return Place(self.values, unit)

    def _missing_field(self, declared: Field) -> Value:
        """Take the default or blank of a field that is not there.

        Keeps a fault where a value stands beside a label that looks like it, and a blank would be missed.
        """
        misspelt = {
            row: label
            for row, label in self.written.items()
            if self.keys[row] not in self.known and self.reader.content(row, self.values) is not None
        }
        close = closest(declared.label, misspelt) if declared.without else None
        if close is None:
            return default_of(declared, self.reader.area.sheet, self.reader.findings)
        place = self._place(close, self.labels)
        self.reader.findings.fault(
            Reason.MISSING_FIELD,
            place,
            declared.label,
            f'no such field, but "{misspelt[close]}"',
            f'the field "{declared.label}" in the table {self.reader.area.name}',
            f'type "{declared.label}" into {place}',
        )
        return None

    def _place(self, row: int, column: int) -> str:
        return self.reader.area.place(row, column)


def label_key(label: str) -> str:
    """Return a field's label as it is compared: without its mark."""
    return key(label.strip().removesuffix(REQUIRED_MARK))


def _fill_in(declared: Field) -> str:
    if isinstance(declared.default, float | int):
        return f"fill it in; {number_text(declared.default)} is what a new workbook holds"
    return "fill it in"
