"""The faults planted in the invented readings, each with the check that finds it."""

from __future__ import annotations

from dataclasses import dataclass

Row = dict[str, object]

WHOLE_READING = ("voltage_v", "current_a", "thrust_g", "speed_rpm")


@dataclass(frozen=True)
class Scale:
    """A reading multiplied, and rounded to `step`."""

    factor: float
    step: float


@dataclass(frozen=True)
class SwapWith:
    """Readings exchanged with those of another run."""

    run: int


@dataclass(frozen=True)
class CopyFrom:
    """Readings typed a second time, from another run."""

    run: int


@dataclass(frozen=True)
class SetTo:
    """A cell filled with something else."""

    value: object


@dataclass(frozen=True)
class PlantedFault:
    """One fault put into a motor's readings on purpose: where, how, and the title of the check that finds it."""

    motor: str
    run: int
    columns: tuple[str, ...]
    deed: Scale | SwapWith | CopyFrom | SetTo
    what_was_done: str
    found_by: str


PLANTED_FAULTS = (
    PlantedFault(
        "colander-2306",
        7,
        ("thrust_g",),
        Scale(0.91, 1.0),
        "one of five full-throttle repeats reads 9 % low",
        "Thrust out of line with its repeats",
    ),
    PlantedFault(
        "colander-2306",
        21,
        ("current_a",),
        Scale(0.1, 0.01),
        "decimal slip: a tenth of the current read",
        "Decimal slip in current",
    ),
    PlantedFault(
        "colander-2306",
        34,
        ("speed_rpm",),
        Scale(1.5, 10.0),
        "tachometer set to two blades on a three-blade propeller: 3/2 of the speed",
        "Speed does not fit thrust and current",
    ),
    PlantedFault(
        "thimble-2207",
        6,
        ("thrust_g",),
        SwapWith(7),
        "thrust exchanged with that of run 7, its neighbour in the throttle steps",
        "Thrust exchanged with run 7",
    ),
    PlantedFault(
        "thimble-2207",
        21,
        ("cells",),
        SetTo(4),
        "a five-cell reading labelled as four cells",
        "Cells perhaps 5",
    ),
    PlantedFault(
        "thimble-2207",
        28,
        ("thrust_g",),
        Scale(10.0, 1.0),
        "decimal slip: ten times the thrust read",
        "Decimal slip in thrust",
    ),
    PlantedFault(
        "doorstop-2207",
        8,
        ("kind",),
        SwapWith(9),
        "labels exchanged with run 9: the peak is called steady, a steady reading peak",
        "Peak and steady exchanged",
    ),
    PlantedFault(
        "doorstop-2207",
        22,
        ("speed_rpm",),
        Scale(7 / 6, 10.0),
        "speed worked out for 12 magnets instead of 14: 7/6 of the speed",
        "Speed fits the wrong pole count",
    ),
    PlantedFault(
        "marmalade-2826",
        20,
        ("current_a",),
        SwapWith(21),
        "current exchanged with that of run 21, its neighbour in the throttle steps",
        "Current exchanged with run 21",
    ),
    PlantedFault(
        "marmalade-2826",
        31,
        WHOLE_READING,
        CopyFrom(16),
        "the readings of run 16, typed again under another propeller",
        "Copied readings",
    ),
)


def faults_of(motor: str) -> tuple[PlantedFault, ...]:
    """Return the faults planted in the readings of one motor."""
    return tuple(fault for fault in PLANTED_FAULTS if fault.motor == motor)


def plant(readings: list[Row], faults: tuple[PlantedFault, ...]) -> list[Row]:
    """Return the readings with the faults in them; the rows given are left alone."""
    rows = {row["run"]: dict(row) for row in readings}
    for fault in faults:
        for column in fault.columns:
            _do(rows, fault, column)
    return list(rows.values())


def _do(rows: dict[object, Row], fault: PlantedFault, column: str) -> None:
    row = rows[fault.run]
    match fault.deed:
        case Scale(factor, step):
            row[column] = round(round(float(str(row[column])) * factor / step) * step, 4)
        case SwapWith(run):
            row[column], rows[run][column] = rows[run][column], row[column]
        case CopyFrom(run):
            row[column] = rows[run][column]
        case SetTo(value):
            row[column] = value
