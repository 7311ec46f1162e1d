"""A box of motors of one model: what its label promises, and what each serial measured."""

from dataclasses import dataclass
from typing import Any

from xlsengine.bench.declaring.declare import Field, Form, Table
from xlsengine.expression import BLANK, Column, Named
from xlsengine.sources import definition, practice

BATCH = Form("Batch", "Which motors these are, what their label promises, and how sure the answers have to be.")
SERIALS = Table("Serials", "One row a motor, in any order; what was not measured stays blank.", spare=20)
_GUESS = practice("put in what was agreed with the maker")


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


model = BATCH.text(
    "batch_model", "Model", "As on the label; all motors of one workbook are of one model.", required=True
)
maker = BATCH.text("batch_maker", "Maker", "As on the label.")
box = BATCH.text("batch_box", "Box or delivery", "As it is spoken of.")
received = BATCH.input(Field("batch_received", "Received", "", "Day it came.", kind="date"))
tester = BATCH.text("batch_tester", "Tester", "Who measured.")

serial = SERIALS.text("serial", "Serial", "Number or mark of the motor; each one once.", required=True)
tested = SERIALS.number(
    "tested",
    "Tested as number",
    "",
    (1, 99_999),
    "Order of the tests, for the run chart; blank: the order of the rows.",
    kind="whole",
)


def _characteristic(
    name: str,
    label: str,
    unit: str,
    limits: tuple[float, float],
    shown: int,
    how: str,
    below: float | None,
    above: float | None,
) -> Characteristic:
    value = SERIALS.number(name, label, unit, limits, how, decimals=shown)
    promised = BATCH.number(
        f"{name}_promised", f"{label}, of the label", unit, limits, "Blank: not judged.", decimals=shown, source=_GUESS
    )
    side = "Of the label's value; blank: no limit on this side. As new: common practice, no source."
    as_new: dict[str, Any] = {"decimals": 1, "source": _GUESS}
    allowed = (
        BATCH.number(
            f"{name}_{word}", f"{label}, allowed {word} the label", "%", (0, 100), side, default=default, **as_new
        )
        for word, default in (("below", below), ("above", above))
    )
    return Characteristic(name, label, unit, shown, value, promised, *allowed)


CHARACTERISTICS = (
    _characteristic("kv", "Kv", "rpm/V", (50, 30000), 0, "Measured alike for all, by one method.", 5, 5),
    _characteristic("resistance", "Resistance", "mΩ", (0.1, 10000), 1, "Line to line, at one temperature.", None, 10),
    _characteristic("no_load", "No-load current", "A", (0.001, 100), 3, "All at the same volts.", None, 20),
    _characteristic("mass", "Mass", "g", (0.5, 10000), 2, "All with the same length of leads.", 3, 3),
)
wanted_index = BATCH.number(
    "wanted_index",
    "Cpk that is wanted",
    "",
    (0.1, 5),
    "A box is called capable where the whole interval lies above it.",
    default=1.33,
    source=practice("1.33 is asked for most often"),
    required=True,
)
_choice: dict[str, Any] = {"source": definition("a choice"), "required": True}
confidence = BATCH.number(
    "batch_confidence",
    "Level of confidence",
    "%",
    (50, 99.9),
    "Of all intervals, both sides.",
    default=95,
    decimals=1,
    **_choice,
)
wanted_mean_width = BATCH.number(
    "wanted_mean_width",
    "Wanted ± of a mean",
    "%",
    (0.01, 50),
    "Of the label's value, or of the mean without a label.",
    default=1,
    **_choice,
)
wanted_index_width = BATCH.number(
    "wanted_index_width", "Wanted ± of Cpk", "", (0.01, 5), "Half the width of its interval.", default=0.3, **_choice
)
note = SERIALS.text("batch_note", "Note", "Anything worth keeping.")

_TIE = 1e-6
serial_row = SERIALS.numbered("serial_row", "Row")
turn = SERIALS.helper("turn", "Turn", decimals=6).derive(
    serial.present().where(tested.otherwise(serial_row) + serial_row * _TIE, BLANK),
    "What puts the motors in order: as tested, equal ones as they stand.",
)
