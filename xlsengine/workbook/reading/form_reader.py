"""Reading a form: its fields by the label in the column Field, whatever their order."""

from __future__ import annotations

from collections.abc import Sequence

from xlsengine.bench.bench_test import Value
from xlsengine.bench.declare import Field, Form
from xlsengine.errors import Reason
from xlsengine.workbook.layout import FORM_HEADERS, SOURCE_HEADER
from xlsengine.workbook.reading.area_reader import AreaReader, Findings, closest, key
from xlsengine.workbook.reading.cells import Grid, number_text
from xlsengine.workbook.reading.package import Area
from xlsengine.workbook.reading.typed_values import plain_text, shown

LABEL, VALUE, UNIT = FORM_HEADERS[:3]
REQUIRED_MARK = "*"


def read_form(form: Form, area: Area, grid: Grid, findings: Findings) -> dict[str, Value]:
    """Return a form's values by field name, None where blank; fields that it does not know are not read."""
    reader = AreaReader(area, grid, (*FORM_HEADERS, SOURCE_HEADER), findings)
    labels, values = reader.column(LABEL), reader.column(VALUE)
    if labels is None or values is None:
        return dict.fromkeys(form.fields)
    filled = FilledForm(form, reader, labels, values)
    content = {name: filled.value(declared) for name, declared in form.fields.items()}
    filled.tell_unknown_fields()
    reader.tell_unknown_columns()
    reader.close()
    return content


class FilledForm:
    """A form as it stands on its sheet: which row holds which label."""

    def __init__(self, form: Form, reader: AreaReader, labels: int, values: int) -> None:
        self.form, self.reader = form, reader
        self.labels, self.values = labels, values
        self.units = next((column for column, text in reader.headers.items() if key(text) == key(UNIT)), None)
        self.known = {key(declared.label) for declared in form.fields.values()}
        self.written = {row: plain_text(reader.content(row, labels)).strip() for row in reader.rows}

    def value(self, declared: Field) -> Value:
        """Return a field's value; keeps a fault and returns None where it cannot be had."""
        rows = [row for row, label in self.written.items() if _label_key(label) == key(declared.label)]
        if not rows:
            self._missing_field(declared)
        elif len(rows) > 1:
            self._doubled_field(declared, rows)
        elif self._unit_is_kept(declared, rows[0]):
            return self.reader.value(declared, rows[0], self.values, declared.label, _fill_in(declared))
        return None

    def tell_unknown_fields(self) -> None:
        """Tell of values beside labels that the form does not have."""
        for row, label in self.written.items():
            if _label_key(label) not in self.known and self.reader.content(row, self.values) is not None:
                named = f'the field "{label}" is not known' if label else "a value without a field's name"
                self.reader.findings.tell(f"{self._place(row, self.values)}: {named} and was not read")

    def _unit_is_kept(self, declared: Field, row: int) -> bool:
        """Keep a fault where somebody wrote another unit beside the value: it would be misread in silence."""
        unit = None if self.units is None else self.reader.content(row, self.units)
        if self.units is None or unit is None or key(plain_text(unit)) == key(declared.unit):
            return True
        wanted = f'the unit "{declared.unit}"' if declared.unit else "no unit"
        mend = f'type "{declared.unit}" there' if declared.unit else "clear that cell"
        self.reader.findings.fault(
            Reason.WRONG_TYPE, self._place(row, self.units), declared.label, f"the unit {shown(unit)}", wanted,
            f"{mend}, and give the value so",
        )  # fmt: skip
        return False

    def _doubled_field(self, declared: Field, rows: Sequence[int]) -> None:
        places = [self._place(row, self.labels) for row in rows]
        self.reader.findings.fault(
            Reason.DOUBLED_FIELD, places[0], declared.label, f"the field in {' and '.join(places)}",
            "it once in the form", "delete one of the rows",
        )  # fmt: skip

    def _missing_field(self, declared: Field) -> None:
        misspelt = {row: label for row, label in self.written.items() if _label_key(label) not in self.known}
        close = closest(declared.label, misspelt)
        found, mend = "no such field", f'add a row with "{declared.label}" in the column {LABEL}'
        if close is not None:
            place = self._place(close, self.labels)
            found, mend = f'no such field, but "{misspelt[close]}"', f'type "{declared.label}" into {place}'
        where = self._place(self.reader.area.top if close is None else close, self.labels)
        wanted = f'the field "{declared.label}" in the table {self.reader.area.name}'
        self.reader.findings.fault(Reason.MISSING_FIELD, where, declared.label, found, wanted, mend)

    def _place(self, row: int, column: int) -> str:
        return self.reader.area.place(row, column)


def _label_key(label: str) -> str:
    return key(label.removesuffix(REQUIRED_MARK))


def _fill_in(declared: Field) -> str:
    if isinstance(declared.default, float | int):
        return f"fill it in; {number_text(declared.default)} is what a new workbook holds"
    return "fill it in"
