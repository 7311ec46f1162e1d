"""XML that is read piece by piece: each piece is let go of before the next, and no more is held than a row needs.

Small parts are read whole, in half the time.
"""

from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import IO
from xml.etree.ElementTree import XML, Element, iterparse

from xlsengine.errors import WorkbookUnreadable
from xlsengine.workbook.reading import limits

_TOO_MUCH = "a row or another piece of it holds more than a bench test can"


class _Held:
    """A stream of which so much is held at once: bytes that were read, and elements, since the last piece was let go of."""

    def __init__(self, beginning: bytes, part: IO[bytes]) -> None:
        self._beginning, self._part = beginning, part
        self._given = self._let_go = self._elements = 0
        self._cleared: set[str] = set()
        self._least: dict[str, int] = {}
        self._before = Element("none")

    def read(self, size: int = -1) -> bytes:
        """Return the next bytes; raises `WorkbookUnreadable` where too many are held."""
        if self._given - self._let_go > limits.LARGEST_HELD:
            raise WorkbookUnreadable(_TOO_MUCH)
        chunk, self._beginning = self._beginning or self._part.read(size), b""
        self._given += len(chunk)
        return chunk

    def hold(self) -> None:
        """Count an element; raises `WorkbookUnreadable` where too many are held."""
        self._elements += 1
        if self._elements > limits.MOST_HELD:
            raise WorkbookUnreadable(_TOO_MUCH)

    def clear(self, name: str, piece: Element) -> None:
        """Let go of a piece and of what follows the piece before; bytes count again where nothing else is held."""
        self._cleared.add(piece.tag)
        self._elements -= sum(1 for each in piece.iter() if each.tag not in self._cleared)
        piece.clear()
        self._before.tail, self._before = None, piece
        if self._elements <= self._least.setdefault(name, self._elements):
            self._let_go = self._given


def pieces(part: IO[bytes], names: Sequence[str]) -> Iterator[tuple[str, Element]]:
    """Yield the elements of some local names as they end, and clear them afterwards.

    Each of `names` may hold those that stand before it. Raises `WorkbookUnreadable` where more piles up than a row of a
    workbook needs: in one piece, between pieces, or in pieces inside each other.
    """
    beginning = part.read(limits.READ_WHOLE)
    if len(beginning) < limits.READ_WHOLE:
        yield from _inside(XML(beginning), names)
        return
    held = _Held(beginning, part)
    for _, element in iterparse(held):
        name = _local_name(element.tag)
        if name in names:
            yield name, element
            held.clear(name, element)
        else:
            held.hold()


def _inside(whole: Element, names: Sequence[str]) -> Iterator[tuple[str, Element]]:
    for element in whole:
        name = _local_name(element.tag)
        held = names[: names.index(name)] if name in names else names
        if held and len(element):
            yield from _inside(element, held)
        if name in names:
            yield name, element


@lru_cache(1024)
def _local_name(tag: str) -> str:
    """Return the name of an element without its namespace."""
    return tag.rpartition("}")[2]
