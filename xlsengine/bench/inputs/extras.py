"""What a workbook holds beyond its declared cells: columns of its sender's own, notes on cells, and pictures.

Nothing is computed from them; they are carried from the workbook that was read to the one that is written.
"""

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

ExtraValue = float | str | bool | datetime.date | datetime.time | None
EXTRA = "+"
"""Begins the name of a column that is not declared: no declared name does."""


def extra_name(header: str) -> str:
    """Return the column name under which a column that is not declared goes.

    >>> extra_name("Battery")
    '+Battery'
    """
    return EXTRA + header


@dataclass(frozen=True)
class CellNote:
    """A note on a cell.

    `table` and `name` are the input table (or form) and its column (or field), `row` counts its rows from 0 and is -1
    for the header. A note elsewhere has no table: it stands on `sheet` at `row` and `column`, counted from 0.
    """

    text: str
    author: str
    sheet: str
    row: int
    table: str = ""
    name: str = ""
    column: int = 0


@dataclass(frozen=True)
class SheetPicture:
    """A picture on a sheet: its upper left corner (cell from 0, offset and size in pixels at 96 dpi) and its content."""

    sheet: str
    row: int
    column: int
    x_offset: float
    y_offset: float
    width: float
    height: float
    description: str
    content: bytes = field(repr=False)


@dataclass(frozen=True)
class Extras:
    """Columns by table and header, one value a row of the table; notes; pictures."""

    columns: Mapping[str, Mapping[str, Sequence[ExtraValue]]] = field(default_factory=dict)
    notes: tuple[CellNote, ...] = ()
    pictures: tuple[SheetPicture, ...] = ()


NO_EXTRAS = Extras()
