"""The formulas of a sheet's part written out for each cell, where cells share one."""

from __future__ import annotations

import re
from html import escape, unescape

from openpyxl.formula.translate import Translator

_CELL = re.compile(rb'(<c r="([A-Z]+[0-9]+)"[^>]*>)<f t="shared"( ref="[^"]*")? si="([0-9]+)"(?:/>|>(.*?)</f>)')


def written_out(part: bytes) -> bytes:
    """Return a worksheet's part with each shared formula moved to its cells, by openpyxl's reading of them."""
    first: dict[bytes, tuple[str, str]] = {}

    def own(cell: re.Match[bytes]) -> bytes:
        place = cell[2].decode()
        if cell[3]:
            first[cell[4]] = unescape(cell[5].decode()), place
        text, origin = first[cell[4]]
        moved = Translator(f"={text}", origin).translate_formula(place)[1:]
        return cell[1] + b"<f>" + escape(moved, quote=False).encode() + b"</f>"

    return _CELL.sub(own, part)
