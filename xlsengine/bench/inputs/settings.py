"""Every factor and limit the engine uses, each a named cell that the reader may change: the rows of settings.csv.

A row that names a topic begins it. `source` is a name of `sources`, and `detail` what is said to it. A row without a value
may be left blank. `settings.coverage` is the cell of the row of that name.
"""

import csv
from collections.abc import Callable
from pathlib import Path

import xlsengine.sources as sources
from xlsengine.bench.declaring.declare import Field, Form, Table
from xlsengine.expression import Named
from xlsengine.sources import practice

SETTINGS = Form("Settings", "Factors and limits used in every formula; change one and the workbook follows.")
TOPICS: dict[str, list[str]] = {}
"""Names of the settings by heading, in the order of the sheet."""


def rows_of(name: str) -> list[dict[str, str]]:
    """Return the rows of a table that stands beside this file, each by its headers; what is blank is left out."""
    with Path(__file__).with_name(name).open(encoding="utf-8", newline="") as file:
        return [{header: cell for header, cell in row.items() if cell} for row in csv.DictReader(file)]


def _number(text: str) -> float:
    return int(text) if text.isdecimal() else float(text)


def _declared(
    name: str,
    label: str,
    meaning: str,
    source: str,
    detail: str = "",
    unit: str = "",
    symbol: str = "",
    value: str = "",
    low: str = "",
    high: str = "",
    choices: str = "",
) -> Field:
    said, named = (name, label, unit, meaning), getattr(sources, source)
    required, origin = bool(value), named(detail) if callable(named) else named
    if choices:
        words = tuple(choices.split("; "))
        return Field(*said, "choice", symbol, choices=words, required=required, default=value, source=origin)
    default = _number(value) if value else None
    limits = _number(low), _number(high)
    return Field(*said, "number", symbol, *limits, required=required, default=default, source=origin)


def _declare() -> None:
    for row in rows_of("settings.csv"):
        topic = row.pop("topic", "") or next(reversed(TOPICS))
        TOPICS.setdefault(topic, []).append(row["name"])
        SETTINGS.input(_declared(**row))


_declare()


def _cell(name: str) -> Named:
    """Return the cell of a setting; raises AttributeError where there is none."""
    if name not in SETTINGS.fields:
        raise AttributeError(f"there is no setting {name}")
    return Named(name, SETTINGS.fields[name].is_text)


__getattr__: Callable[[str], Named] = _cell


BUDGET_FIGURES = SETTINGS.fields["budget_figure"].choices
lift_ratios = tuple(Named(f"lift_ratio_{place}") for place in range(1, 6))
wing_ratios = tuple(Named(f"wing_ratio_{place}") for place in range(1, 5))
SETTINGS.keep(Named("reference_density"), Named("reference_cell_voltage"), Named("mass_accuracy"))

_SIZES = "6 10 12 15 20 25 30 35 40 45 50 55 60 65 70 80 100 120 150"
ESC_SIZES = Table(
    "EscSizes",
    "Continuous ratings in which ESCs are sold.",
    rows=tuple({"esc_size": float(size)} for size in _SIZES.split()),
)
esc_size = ESC_SIZES.number(
    "esc_size", "ESC size", "A", (1, 1000), "Continuous rating.", required=True, source=practice()
)

_GRAMS = "5 10 15 20 30 50 75 100 150 200 300 500 750 1000 1500 2000 3000 5000 7500 10000"
ROUND_THRUSTS = Table(
    "RoundThrusts",
    "Thrusts at which grams per watt may be compared: the six largest that the motor reaches are used.",
    rows=tuple({"round_thrust": float(thrust)} for thrust in _GRAMS.split()),
)
round_thrust = ROUND_THRUSTS.number(
    "round_thrust", "Round thrust", "g", (1, 100000), "Compared at equal thrust.", required=True, source=practice()
)
