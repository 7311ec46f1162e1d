"""Reading a need: from its workbook, or from texts by field as a page or a command line has them, taken as cells are."""

from collections.abc import Callable, Mapping
from pathlib import Path

from xlsengine.bench.inputs.bench_test import Value
from xlsengine.bench.inputs.need import NEED, NEED_FORMS
from xlsengine.errors import Fault, Reason, WorkbookFaulty
from xlsengine.study.need_pairs import need_values
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


def need_of(
    texts: Mapping[str, str], place: Callable[[str], str], if_missing: str = "", workbook: Path | None = None
) -> tuple[dict[str, Value], tuple[str, ...]]:
    """Return all fields of a need, and what is told: texts by field, taken as cells are, over a workbook's or defaults.

    A fault of a text stands at the `place` of its field. Without a workbook the fields that are wanted and not given are
    faults too; `if_missing` says what to do, with the place as ``{}``; "" where they may be missing.
    Raises `WorkbookFaulty` for all that is wrong in either, `WorkbookUnreadable` as `read_need` does.
    """
    values: dict[str, Value] = {}
    faults: list[Fault] = []
    told: tuple[str, ...] = ()
    for name, text in texts.items():
        declared, taken = NEED.fields[name], typed_value(NEED.fields[name], text)
        if isinstance(taken, Refusal):
            wanted = taken.wanted or declared.wanted
            faults.append(Fault(taken.reason, place(name), declared.label, taken.found, wanted, taken.fix))
        else:
            values[name] = taken.value if isinstance(taken, ReadAs) else taken
    fields = need_values(values)
    if workbook is not None:
        read, findings = read_need(workbook)
        overruled = {NEED.fields[name].label for name in texts}
        faults += [fault for fault in findings.faults if fault.label not in overruled]
        fields, told = {**read, **values}, tuple(findings.told)
    elif if_missing:
        faults += [
            Fault(
                Reason.REQUIRED_BLANK, place(name), each.label, "nothing", each.wanted, if_missing.format(place(name))
            )
            for name, each in NEED.fields.items()
            if each.required and name not in texts and fields[name] is None
        ]
    if faults:
        raise WorkbookFaulty(faults)
    return fields, told
