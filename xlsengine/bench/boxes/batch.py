"""A box of motors of one model: what its label promises, and what each serial measured."""

from dataclasses import dataclass

from xlsengine.bench.declaring.declare import Field, Form, Table
from xlsengine.expression import BLANK, Aggregate, Column, Named
from xlsengine.sources import Source, definition, practice

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


def _text(name: str, label: str, meaning: str, **more: object) -> Named:
    return BATCH.input(Field(name, label, "", meaning, **{"kind": "text", **more}))  # type: ignore[arg-type]


model = _text("batch_model", "Model", "As on the label; all motors of one workbook are of one model.", required=True)
maker = _text("batch_maker", "Maker", "As on the label.")
box = _text("batch_box", "Box or delivery", "As it is spoken of.")
received = _text("batch_received", "Received", "Day it came.", kind="date")
tester = _text("batch_tester", "Tester", "Who measured.")

serial = SERIALS.input(
    Field("serial", "Serial", "", "Number or mark of the motor; each one once.", kind="text", required=True)
)
tested = SERIALS.input(
    Field(
        "tested",
        "Tested as number",
        "",
        "Order of the tests, for the run chart; blank: the order of the rows.",
        kind="whole",
        low=1,
        high=99_999,
    )
)


def _number(
    name: str,
    label: str,
    unit: str,
    limits: tuple[float, float],
    meaning: str,
    default: float | None = None,
    decimals: int = 2,
    source: Source = _GUESS,
    required: bool = False,
) -> Named:
    low, high = limits
    return BATCH.input(
        Field(
            name,
            label,
            unit,
            meaning,
            low=low,
            high=high,
            default=default,
            decimals=decimals,
            source=source,
            required=required,
        )
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
    value = SERIALS.input(Field(name, label, unit, how, low=limits[0], high=limits[1], decimals=shown))
    promised = _number(f"{name}_promised", f"{label}, of the label", unit, limits, "Blank: not judged.", decimals=shown)
    side = "Of the label's value; blank: no limit on this side. As new: common practice, no source."
    allowed = (
        _number(f"{name}_{word}", f"{label}, allowed {word} the label", "%", (0, 100), side, default, 1)
        for word, default in (("below", below), ("above", above))
    )
    return Characteristic(name, label, unit, shown, value, promised, *allowed)


CHARACTERISTICS = (
    _characteristic("kv", "Kv", "rpm/V", (50, 30000), 0, "Measured alike for all, by one method.", 5, 5),
    _characteristic("resistance", "Resistance", "mΩ", (0.1, 10000), 1, "Line to line, at one temperature.", None, 10),
    _characteristic("no_load", "No-load current", "A", (0.001, 100), 3, "All at the same volts.", None, 20),
    _characteristic("mass", "Mass", "g", (0.5, 10000), 2, "All with the same length of leads.", 3, 3),
)
wanted_index = _number(
    "wanted_index",
    "Cpk that is wanted",
    "",
    (0.1, 5),
    "A box is called capable where the whole interval lies above it.",
    1.33,
    2,
    practice("1.33 is asked for most often"),
    True,
)
confidence = _number(
    "batch_confidence",
    "Level of confidence",
    "%",
    (50, 99.9),
    "Of all intervals, both sides.",
    95,
    1,
    definition("a choice"),
    True,
)
wanted_mean_width = _number(
    "wanted_mean_width",
    "Wanted ± of a mean",
    "%",
    (0.01, 50),
    "Of the label's value, or of the mean without a label.",
    1,
    2,
    definition("a choice"),
    True,
)
wanted_index_width = _number(
    "wanted_index_width",
    "Wanted ± of Cpk",
    "",
    (0.01, 5),
    "Half the width of its interval.",
    0.3,
    2,
    definition("a choice"),
    True,
)
note = SERIALS.input(Field("batch_note", "Note", "", "Anything worth keeping.", kind="text"))

_TIE = 1e-6
serial_row = SERIALS.helper("serial_row", "Row").derive(Aggregate("row", (serial,)), "In the table, from 1.")
turn = SERIALS.helper("turn", "Turn", decimals=6).derive(
    serial.present().where(tested.otherwise(serial_row) + serial_row * _TIE, BLANK),
    "What puts the motors in order: as tested, equal ones as they stand.",
)
