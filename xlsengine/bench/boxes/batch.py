"""A box of motors of one model: what its label promises, and what each serial measured."""

from collections.abc import Callable
from dataclasses import dataclass

from xlsengine.bench.declaring.declare import Form, Table
from xlsengine.bench.inputs.typed import cells_of, filled
from xlsengine.expression import BLANK, Column, Named

BATCH = filled(Form("Batch", "Which motors these are, what their label promises, and how sure the answers have to be."))
SERIALS = filled(Table("Serials", "One row a motor, in any order; what was not measured stays blank.", spare=20))
__getattr__: Callable[[str], Named] = cells_of(BATCH)
serial, tested, note = map(SERIALS.typed, ("serial", "tested", "batch_note"))


@dataclass(frozen=True)
class Characteristic:
    """What is measured of every motor of a box: its column, the label's value, and the allowance on either side."""

    name: str
    label: str
    unit: str
    shown: int
    value: Column
    promised: Named
    below: Named
    above: Named


def _characteristic(name: str) -> Characteristic:
    declared = SERIALS.fields[name]
    by_label = (BATCH.typed(f"{name}_{part}") for part in ("promised", "below", "above"))
    return Characteristic(name, declared.label, declared.unit, declared.decimals, SERIALS.typed(name), *by_label)


CHARACTERISTICS = tuple(map(_characteristic, ("kv", "resistance", "no_load", "mass")))

_TIE = 1e-6
serial_row = SERIALS.numbered("serial_row", "Row")
turn = SERIALS.helper("turn", "Turn", decimals=6).derive(
    serial.present().where(tested.otherwise(serial_row) + serial_row * _TIE, BLANK),
    "What puts the motors in order: as tested, equal ones as they stand.",
)
