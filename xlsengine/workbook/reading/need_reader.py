"""Reading a need: from its workbook, or from texts by field as a page or a command line has them, taken as cells are."""

from collections.abc import Callable, Collection, Mapping
from pathlib import Path

from xlsengine.bench.inputs.bench_test import Value
from xlsengine.bench.inputs.need import NEED, NEED_FORMS
from xlsengine.errors import Fault, Reason
from xlsengine.workbook.layout import form_table
from xlsengine.workbook.reading.contents import read_contents
from xlsengine.workbook.reading.findings import Findings
from xlsengine.workbook.reading.reader import read_parts
from xlsengine.workbook.reading.typed_values import ReadAs, Refusal, typed_value

WRITE_ONE = "write a new one with xlsengine find --new FILE"


def read_need(path: str | Path) -> tuple[dict[str, Value], Findings]:
    """Return the fields of a need's workbook, and all that is to be said of it.

    Raises `WorkbookUnreadable` when it cannot be opened as a workbook.
    """
    wanted = {form_table(form).casefold() for form in NEED_FORMS}
    held, findings = read_contents(Path(path), wanted).held(), Findings()
    if form_table(NEED).casefold() not in held:
        findings.no_table(NEED.name, form_table(NEED), WRITE_ONE)
    fields, _, _ = read_parts(NEED_FORMS, held, findings)
    findings.tell_unlisted()
    return fields, findings


def typed_need(texts: Mapping[str, str], place: Callable[[str], str]) -> tuple[dict[str, Value], list[Fault]]:
    """Return the fields of a need that texts by field give, taken as cells are, and what is wrong with others.

    A fault stands at the `place` of its field.
    """
    values: dict[str, Value] = {}
    faults = []
    for name, text in texts.items():
        declared = NEED.fields[name]
        taken = typed_value(declared, text)
        if isinstance(taken, Refusal):
            wanted = taken.wanted or declared.wanted
            faults.append(Fault(taken.reason, place(name), declared.label, taken.found, wanted, taken.fix))
        else:
            values[name] = taken.value if isinstance(taken, ReadAs) else taken
    return values, faults


def not_given(given: Collection[str], place: Callable[[str], str], fix: str) -> list[Fault]:
    """Return what a need wants beyond the fields that are given; `fix` may hold the place as ``{}``."""
    return [
        Fault(Reason.REQUIRED_BLANK, place(name), declared.label, "nothing", declared.wanted, fix.format(place(name)))
        for name, declared in NEED.fields.items()
        if declared.required and name not in given
    ]
