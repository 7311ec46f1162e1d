"""Change input cells of a written .xlsx in its XML, everything else in the file left as it is."""

import math
import re
import zipfile
from collections import defaultdict
from collections.abc import Iterable
from pathlib import Path
from xml.sax.saxutils import escape

from tests.instruments.grid import Area
from tests.instruments.parts import escaped, sheet_parts

# (sheet, A1 place, new content); None and "" make the cell blank, as a person would.
Edit = tuple[str, str, float | str | bool | None]

_ROW = re.compile(r'<row\b[^>]*?\br="(\d+)"[^>]*?(?:/>|>.*?</row>)', re.DOTALL)
_CELL = re.compile(r'<c\b[^>]*?\br="([A-Z]+\d+)"[^>]*?(?:/>|>.*?</c>)', re.DOTALL)
_STYLE = re.compile(r'<c\b[^>]*?\bs="(\d+)"')
_DATA = re.compile(r"<sheetData\s*/>|<sheetData>(.*)</sheetData>", re.DOTALL)


def edited_copy(path: Path | str, out: Path | str, edits: Iterable[Edit]) -> Path:
    """Write a copy of a workbook with some cells changed; stored formula results stay and are stale.

    A formula that is edited is overwritten, as by a person who types over it. ValueError for a sheet that
    is not there, a number that is not finite, or an array or shared formula, which others may lean on.
    """
    changes: dict[str, dict[str, float | str | bool | None]] = defaultdict(dict)
    with zipfile.ZipFile(path) as source:
        parts = sheet_parts(source)
        for sheet, place, value in edits:
            if sheet not in parts:
                raise ValueError(f"no sheet {sheet!r} in {path}")
            changes[parts[sheet]][place] = checked(value)
        with zipfile.ZipFile(out, "w") as target:
            for item in source.infolist():
                content = source.read(item)
                if item.filename in changes:
                    content = _edited(content.decode("utf-8"), changes[item.filename]).encode("utf-8")
                target.writestr(item, content, zipfile.ZIP_STORED)  # five times as fast as packed again
    return Path(out)


def checked(value: float | str | bool | None) -> float | str | bool | None:
    """Return a cell's new content with "" as None; ValueError for a number that no cell can hold."""
    if not isinstance(value, (str, bool, type(None))) and not math.isfinite(value):
        raise ValueError(f"a cell cannot hold {value}")
    return None if value == "" else value


def _edited(xml: str, changes: dict[str, float | str | bool | None]) -> str:
    data = _DATA.search(xml)
    if data is None:
        raise ValueError("a sheet without sheetData")
    by_row: dict[int, dict[str, float | str | bool | None]] = defaultdict(dict)
    for place, value in changes.items():
        by_row[Area.parse(place).top][place] = value
    rows = {int(number): row for number, row in _split(_ROW, data[1] or "").items()}
    for number, cells in by_row.items():
        rows[number] = _edited_row(rows.get(number, f'<row r="{number}"/>'), cells)
    body = "".join(rows[number] for number in sorted(rows))
    return f"{xml[: data.start()]}<sheetData>{body}</sheetData>{xml[data.end() :]}"


def _split(pattern: re.Pattern[str], xml: str) -> dict[str, str]:
    """Return the elements that make up a stretch of XML by their ``r``; ValueError if anything is left."""
    rest = pattern.sub("", xml).strip()
    if rest:
        raise ValueError(f"rows or cells written in another manner: {rest[:80]}")
    return {match[1]: match[0] for match in pattern.finditer(xml)}


def _edited_row(row: str, changes: dict[str, float | str | bool | None]) -> str:
    start = row.index(">")
    cells = _split(_CELL, row[start + 1 :].removesuffix("</row>"))
    for place, value in changes.items():
        cells[place] = _cell(place, value, cells.get(place, ""))
    opening = row[:start].removesuffix("/")
    ordered = sorted(cells, key=lambda place: Area.parse(place).left)
    return f"{opening}>{''.join(cells[place] for place in ordered)}</row>"


def _cell(place: str, value: float | str | bool | None, before: str) -> str:
    if re.search(r"<f\b[^>]*\bt=\"(array|shared)\"", before):
        raise ValueError(f"{place} holds an array or shared formula")
    style = _STYLE.match(before)
    opening = f'<c r="{place}"' + (f' s="{style[1]}"' if style else "")
    match value:
        case None:
            return f"{opening}/>"
        case bool():
            return f'{opening} t="b"><v>{value:d}</v></c>'
        case str():
            return f'{opening} t="inlineStr"><is><t xml:space="preserve">{escape(escaped(value))}</t></is></c>'
        case _:
            return f"{opening}><v>{float(value)!r}</v></c>"
