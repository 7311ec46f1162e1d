import io

import pytest

from xlsengine.workbook.reading import limits
from xlsengine.workbook.reading.streams import pieces

SHEETS = b"""<?xml version="1.0" encoding="UTF-8"?>
<book xmlns="urn:made:up"><page name="a"><line n="1"><c>x</c></line><line n="2"/><other/></page>
<page name="b"><group><line n="3"><c/><c>y</c></line></group></page><page name="c"/></book>"""


def said(part: bytes) -> list[tuple[str, str | None, int]]:
    """Return each piece with what names it and how many elements it holds when it is given."""
    return [
        (name, piece.get("n") or piece.get("name"), len(piece))
        for name, piece in pieces(io.BytesIO(part), ("line", "page"))
    ]


def test_a_small_part_gives_what_is_given_piece_by_piece(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = said(SHEETS)
    monkeypatch.setattr(limits, "READ_WHOLE", 16)
    assert said(SHEETS) == whole
    assert [(name, named) for name, named, _ in whole] == [
        ("line", "1"),
        ("line", "2"),
        ("page", "a"),
        ("line", "3"),
        ("page", "b"),
        ("page", "c"),
    ]
