"""Reading a form: its fields by the label in the column Field, whatever their order."""

from xlsengine.bench.declaring.declare import Field, Form
from xlsengine.bench.inputs.bench_test import Value
from xlsengine.errors import Reason
from xlsengine.workbook.layout import FORM_HEADERS, SOURCE_HEADER
from xlsengine.workbook.reading.area_reader import FIELDS, AreaReader, Labels, Place, Position
from xlsengine.workbook.reading.cells import number_text
from xlsengine.workbook.reading.contents import Held
from xlsengine.workbook.reading.findings import Findings, key
from xlsengine.workbook.reading.trade_words import unit_of
from xlsengine.workbook.reading.typed_values import Refusal, plain_text, shown

LABEL, VALUE, UNIT = FORM_HEADERS[:3]


def read_form(form: Form, held: Held, findings: Findings) -> tuple[dict[str, Value], Position]:
    """Return a form's values by field name, None where blank, and where they stand; unknown fields are not read."""
    reader = AreaReader(held.area, held.cells, (*FORM_HEADERS, SOURCE_HEADER), findings)
    labels, values = (reader.place_of(Field(header, header, required=True)) for header in (LABEL, VALUE))
    if labels is None or values is None:
        return dict.fromkeys(form.fields), Position(form, reader, [-1] * len(form.fields))
    filled = FilledForm(form, reader, labels.column, values.column)
    content = {name: filled.value(declared) for name, declared in form.fields.items()}
    filled.refuse_exchanged(content)
    for row, label in filled.labels.unknown.items():
        if filled.labels.is_filled(row):
            named = f'the field "{label}" is not known' if label else "a value without a field's name"
            findings.tell(f"{held.area.place(row, values.column)}: {named} and was not read")
    reader.tell_unknown_columns()
    reader.close()
    return content, Position(form, reader, [filled.found[name] for name in form.fields])


class FilledForm:
    """A form as it stands on its sheet: which row holds which label."""

    def __init__(self, form: Form, reader: AreaReader, labels: int, values: int) -> None:
        self.form, self.reader, self.values = form, reader, values
        self.units = next(iter(reader.labels.labelled(UNIT)), None)
        self.labels = Labels(
            FIELDS,
            {row: plain_text(reader.content(row, labels)).strip() for row in reader.rows},
            frozenset(key(declared.label) for declared in form.fields.values()),
            lambda row: reader.area.place(row, labels),
            lambda row: reader.content(row, values) is not None,
            reader.findings,
        )
        self.found: dict[str, int] = {}

    def value(self, declared: Field) -> Value:
        """Return a field's value; keeps a fault and returns None where it cannot be had."""
        row, meant = self.labels.find(declared, declared.label) or (-1, None)
        self.found[declared.name] = row
        if row < 0:
            return self._missing_field(declared)
        if meant:
            told = f'the field "{self.labels.texts[row]}" was read as "{declared.label}"'
            self.reader.findings.tell(f"{self.labels.place(row)}: {told}")
        place = self._place_of_value(declared, row, meant and meant.unit)
        return self.reader.value(declared, row, place, declared.label, _fill_in(declared)) if place else None

    def refuse_exchanged(self, content: dict[str, Value]) -> None:
        """Keep a fault for every lower limit above its upper one."""
        for name, low in content.items():
            other = name.removesuffix("_low") + "_high"
            high, row = content.get(other), self.found[name]
            if name.endswith("_low") and isinstance(low, float) and isinstance(high, float) and low > high and row >= 0:
                wanted = f"at most {number_text(high)}, which is {self.form.fields[other].label}"
                fix = "check both; were they exchanged?"
                refusal = Refusal(Reason.CONTRADICTION, number_text(low), fix, wanted)
                self.reader.refuse(self.form.fields[name], row, self.values, self.form.fields[name].label, refusal)

    def _place_of_value(self, declared: Field, row: int, stated: str | None) -> Place | None:
        """Return the column of a value, with the unit that the cell beside it gives or its label `stated`, and tell so.

        Keeps a fault and returns None where somebody wrote a unit of another kind there.
        """
        written = None if self.units is None else self.reader.content(row, self.units)
        unit: str | None = stated or declared.unit
        if self.units is not None and written is not None and key(plain_text(written)) != key(declared.unit):
            unit = unit_of(plain_text(written), declared) if declared.unit else None
            if unit is None:
                wanted = f'the unit "{declared.unit}"' if declared.unit else "no unit"
                fix = f'type "{declared.unit}" there' if declared.unit else "clear that cell"
                refusal = Refusal(
                    Reason.WRONG_TYPE, f"the unit {shown(written)}", f"{fix}, and give the value so", wanted
                )
                self.reader.refuse(declared, row, self.units, declared.label, refusal)
                return None
        if unit == declared.unit:
            return Place(self.values)
        if self.labels.is_filled(row):
            where = f"{self.reader.area.place(row, self.values)} {declared.label}"
            self.reader.findings.tell(f"{where}: converted from {unit} to {declared.unit}")
        return Place(self.values, unit)

    def _missing_field(self, declared: Field) -> Value:
        """Take the default or blank of a field that is not there, and tell so.

        Keeps a fault where a value stands beside a label that looks like it, and a blank would be missed.
        """
        if declared.without and self.labels.misspelt(declared.label) is not None:
            wanted = f'the field "{declared.label}" in the table {self.reader.area.name}'
            self.labels.miss(declared.label, "", wanted, "")
            return None
        taken = "it stays blank" if declared.default is None else f"{plain_text(declared.default)} is used"
        told = f'{self.reader.area.sheet}: "{declared.label}" is not in this workbook; {taken}'
        self.reader.findings.tell(told)
        return declared.default


def _fill_in(declared: Field) -> str:
    if isinstance(declared.default, float | int):
        return f"fill it in; {number_text(declared.default)} is what a new workbook holds"
    return "fill it in"
