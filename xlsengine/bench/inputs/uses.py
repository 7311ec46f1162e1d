"""What a motor may be for: a short table of kinds of craft on Settings (uses.csv), every figure of it common practice."""

from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.inputs.typed import filled, rows_of
from xlsengine.expression import Column
from xlsengine.sources import practice

_TEXTS = ("use_name", "use_carried", "use_note")


def _use(row: dict[str, str]) -> dict[str, float | str]:
    cells: dict[str, float | str] = {name: cell if name in _TEXTS else float(cell) for name, cell in row.items()}
    return {**cells, "use_source": practice().text}


USES = filled(
    Table(
        "Uses",
        "What a motor may be for. All figures are common practice, no source: put in those of your own craft.",
        spare=4,
        rows=tuple(map(_use, rows_of("uses.csv"))),
    )
)
ROTORS, WING = USES.fields["use_carried"].choices
use_name, carried, motors, loading = map(USES.typed, ("use_name", "use_carried", "use_motors", "use_loading"))


def _range(name: str) -> tuple[Column, Column]:
    """Return the least and the most."""
    return USES.typed(f"use_{name}_low"), USES.typed(f"use_{name}_high")


cells, diameter, mass, ratio, airspeed = map(_range, ("cells", "diameter", "mass", "ratio", "airspeed"))
