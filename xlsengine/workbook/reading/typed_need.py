"""A need as texts by field, from a page or a command line: taken as cells are."""

from collections.abc import Callable, Collection, Mapping

from xlsengine.bench.inputs.bench_test import Value
from xlsengine.bench.inputs.need import NEED
from xlsengine.errors import Fault, Reason
from xlsengine.workbook.reading.typed_values import ReadAs, Refusal, typed_value


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
