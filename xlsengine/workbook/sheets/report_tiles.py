"""The Report's tiles: each figure in the digits that it has in the table below, its ± and where it was seen."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from xlsengine.bench.declaring.spoken import decimals_of, in_thousands
from xlsengine.bench.groups import summary as g
from xlsengine.bench.groups.by_propeller import rowless, tested_cells
from xlsengine.bench.groups.headline import AS_QUOTED, HEADLINE_LIST, Headline
from xlsengine.bench.inputs.craft import pack_cells
from xlsengine.bench.judging.round_thrusts import compared_thrust
from xlsengine.bench.physics.motor_model import best_kv, best_kv_basis
from xlsengine.bench.uncertainty.motor_uncertainty import best_kv_expanded, kv_verdict
from xlsengine.bench.uncertainty.telling_apart import HEADLINE_EXPANDED
from xlsengine.expression import Named, Node, call, join, say
from xlsengine.workbook.book import Sheet
from xlsengine.workbook.formats import GREY, MIST, SLATE, VERMILION
from xlsengine.workbook.sheets.report_grid import LETTERS, SMALLEST, Grid

_LABEL, _VALUE, _SMALL, _LINE = 16, 28, 13.5, 15  # points
_LETTER = 6.1  # pixels of the smallest type
_CARD: dict[str, Any] = {"bg_color": MIST, "indent": 1, "align": "left"}


@dataclass(frozen=True)
class Tile:
    """One figure: `needs` is what would have to be read where it is missing."""

    label: Node
    value: Named
    expanded: Named
    unit: str
    shown: int
    place: Node
    note: Named | None
    needs: str


def _sure(tile: Tile) -> Node:
    unit = "" if tile.unit.startswith(":") else f" {tile.unit}"
    margin = call("fixed", tile.expanded, decimals_of(tile.expanded, tile.shown))
    said = join("± ", margin, f"{unit} · ", tile.place).otherwise(tile.place)
    return tile.value.present().where(said, f"Not measured: needs {tile.needs}")


def _number_format(tile: Tile) -> str:
    return f'#,##0{"." + "0" * tile.shown if tile.shown else ""}" {tile.unit}"'


def _of_other_cells(cells: Node) -> Node:
    """Name the cell count where it is not that of the craft's pack, so that nobody takes the figure for his."""
    same = pack_cells.otherwise(cells).equals(cells)
    return same.where("", say(", on {:.0f}S", cells)).otherwise("")


def _headline(headline: Headline, label: Node, needs: str) -> Tile:
    name = headline.value.name
    return Tile(
        join(label, _of_other_cells(g.cells.at(Named(f"{name}_row")))),
        headline.value,
        HEADLINE_EXPANDED[name],
        AS_QUOTED.get(headline.unit, headline.unit),
        headline.shown,
        headline.place,
        Named(f"{name}_note", text=True),
        needs,
    )


_ROWLESS = say(
    "{:.0f} of the propellers and cell counts typed since have no room in these figures: make the results again. ",
    rowless,
)
_FULL = "a full-throttle reading that counts"
_SAID: tuple[tuple[Node, str], ...] = (
    (join("Highest thrust"), _FULL),
    (join("Highest current"), _FULL),
    (
        join("Best g/W at ", in_thousands(compared_thrust), " g").otherwise("Best g/W at part throttle"),
        "steady readings at part throttle",
    ),
    (join("Best g/W at full throttle"), _FULL),
    (join("Thrust to motor weight"), "the motor's mass"),
)
TILES = (
    *(_headline(headline, *said) for headline, said in zip(HEADLINE_LIST, _SAID, strict=True)),
    Tile(
        best_kv.present().where(join("Kv by ", best_kv_basis), "Kv measured"),
        best_kv,
        best_kv_expanded,
        "rpm/V",
        0,
        kv_verdict,
        None,
        "a spin without propeller",
    ),
)


def write_tiles(sheet: Sheet, grid: Grid, top: int) -> int:
    """Write the tiles of what was read from a row on, and below them what flagged readings and those left out do to them.

    Return the row below.
    """
    tiles = [tile for tile in TILES if not sheet.book.layout.is_left_out(tile.value)]
    spans = grid.spans(*[1.0] * len(tiles))
    lines = max(
        sheet.lines(_sure(tile), grid.span_width(span) / _LETTER) for span, tile in zip(spans, tiles, strict=True)
    )
    heights = (_LABEL, _VALUE, max(2, lines) * _SMALL)
    for row, height in enumerate(heights, start=top):
        sheet.height(row, height)
    for span, tile in zip(spans, tiles, strict=True):
        _write_tile(sheet, top, span, tile)
    row = top + len(heights)
    form = sheet.book.formats.get(**_CARD, font_size=SMALLEST, font_color=VERMILION, text_wrap=True, valign="top")
    sheet.paragraph(row, (0, grid.last), _notes(tiles, grid), form, LETTERS, _LINE)
    return row + 1


def _notes(tiles: Sequence[Tile], grid: Grid) -> Node:
    """Say what has no row here, and behind the name of each tile what is said of it."""
    said = (
        tile.note.present().where(join(tile.label, ": ", tile.note, " "), "") for tile in tiles if tile.note is not None
    )
    beyond = tested_cells[grid.cell_counts :][:1]
    counts = (
        say("No room for {:.0f}S in the table: make the results again. ", cells).otherwise("") for cells in beyond
    )
    return call("trim", join((rowless > 0).where(_ROWLESS, ""), *counts, *said))


def _write_tile(sheet: Sheet, top: int, span: tuple[int, int], tile: Tile) -> None:
    """Write label, value, and ± with the place."""
    formats = sheet.book.formats
    value = {"font_size": 20, "bold": True, "font_color": SLATE, "num_format": _number_format(tile)}
    lines = (
        (tile.label, {"font_size": SMALLEST, "font_color": GREY}),
        (call("round", tile.value, float(tile.shown)), value),
        (_sure(tile), {"font_size": SMALLEST, "text_wrap": True, "valign": "top"}),
    )
    for row, (node, style) in enumerate(lines, start=top):
        form = formats.get(**_CARD, **style)
        sheet.across(row, *span, node, form)
