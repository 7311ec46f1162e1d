"""Reading a need back, from its form or from ranked pairs that were written for it, with all its faults at once."""

from __future__ import annotations

from pathlib import Path

from xlsengine.bench.inputs.bench_test import Value
from xlsengine.bench.inputs.need import NEED, NEED_FIELDS, NEED_FORMS
from xlsengine.errors import Fault, Reason
from xlsengine.workbook.layout import form_table
from xlsengine.workbook.reading.contents import Contents, read_contents
from xlsengine.workbook.reading.findings import Findings
from xlsengine.workbook.reading.form_reader import read_form

WRITE_ONE = "write a new one with xlsengine find --new FILE"


class NeedReading:
    """What was read of a need: its values by field name, its faults, and what else is to be said."""

    def __init__(self, fields: dict[str, Value], findings: Findings) -> None:
        self.fields = fields
        self.faults: tuple[Fault, ...] = tuple(findings.faults)
        self.told: tuple[str, ...] = tuple(findings.told)


def read_need(path: str | Path) -> NeedReading:
    """Read the workbook of a need. Raises `WorkbookUnreadable` when it cannot be opened as a workbook."""
    wanted = {form_table(form).casefold() for form in NEED_FORMS}
    return _understood(read_contents(Path(path), wanted, lambda first: False))


def _understood(contents: Contents) -> NeedReading:
    findings = Findings()
    fields: dict[str, Value] = {name: declared.default for name, declared in NEED_FIELDS.items()}
    for form in NEED_FORMS:
        name = form_table(form)
        held = contents.held().get(name.casefold())
        if held is not None:
            fields |= read_form(form, held, findings)
        elif form is NEED:
            findings.fault(Reason.MISSING_TABLE, form.name, "", f"no table {name}", f"the table {name}", WRITE_ONE)
    findings.tell_unlisted()
    return NeedReading(fields, findings)
