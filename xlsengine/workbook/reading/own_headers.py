"""Headers of the sender's own columns, as the table of another workbook can hold them."""

import re
from collections.abc import Iterable

from xlsengine.bench.inputs.bench_test import LONGEST_HEADER, looks_like_markup
from xlsengine.workbook.reading.findings import key

_ROOM = 16  # for what tells headers apart
# Signs that XML cannot hold or that steer whatever shows them: a workbook with one of the former in the header of a table
# cannot be opened.
_NO_HEADER = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff\ufffe\uffff]")


class OwnHeaders:
    """Gives every column a header of its own: on one line, short enough, and different from those taken."""

    def __init__(self, taken: Iterable[str]) -> None:
        self._taken = {key(header) for header in taken}
        self._numbers: dict[str, int] = {}

    def header(self, text: str) -> str:
        """Return the header under which a column headed by a text goes on, and take it."""
        short = plain_header(text)
        own = f"{short} (own)" if looks_like_markup(short) else short
        number = self._numbers.get(key(own), 2)
        while key(own) in self._taken:
            own, number = f"{short} ({number})", number + 1
        self._numbers[key(short)] = number
        self._taken.add(key(own))
        return own


def plain_header(text: str) -> str:
    """Return a header on one line, without signs that no header can hold, cut to what one can hold.

    >>> plain_header(" Wind\\n speed\\x1b[2J ")
    'Wind speed [2J'
    """
    one_line = " ".join(writable_header(text).split())
    return one_line.encode("utf-16-le")[: 2 * (LONGEST_HEADER - _ROOM)].decode("utf-16-le", "ignore").strip()


def writable_header(text: str) -> str:
    """Return a header with blanks in place of the signs that no table's header can hold."""
    return _NO_HEADER.sub(" ", text)
