"""Names that a slip of one letter turns into one another."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator

SHORTEST_WORD = 4
"""Letters of a word from which on a slip in it is likelier than a mark: A and B, CW and CCW differ on purpose."""

_TWO_DIGITS = re.compile(r"(?=((\d)([.x]?)(\d)))")

LONGEST = 60
"""Letters of a name up to which it is compared, so that time grows with the names."""


class Names:
    """Names among which those that one slip leads to are found without comparing each with each."""

    def __init__(self, names: Iterable[str]) -> None:
        """Take the names that may have been meant."""
        self._by_rest: dict[str, list[str]] = defaultdict(list)
        for name in names:
            for rest in _rests(name):
                self._by_rest[rest].append(name)

    def one_slip_from(self, name: str) -> list[str]:
        """Return the names that one slip turns into this one, each once, in their order of length and letters."""
        near = {other for rest in _rests(name) for other in self._by_rest.get(rest, ()) if is_slip(name, other)}
        return sorted(near, key=lambda other: (len(other), other))


def _rests(name: str) -> Iterator[str]:
    """Yield the name and all that is left of it without one letter: names one slip apart share one of these."""
    if len(name) <= LONGEST:
        yield from {name, *(name[:at] + name[at + 1 :] for at in range(len(name)))}


def is_slip(one: str, other: str) -> bool:
    """Tell whether a letter, space or hyphen added, left out or mistyped, or two exchanged, make one name of the other.

    Figures are never slips, and neither are marks and words of fewer than four letters.

    >>> is_slip("birhc 5x3", "birch 5x3"), is_slip("birch 5x4", "birch 5x5"), is_slip("birch cw", "birch ccw")
    (True, False, False)
    """
    start = _shared(one, other)
    end = min(_shared(one[::-1], other[::-1]), min(len(one), len(other)) - start)
    here, there = one[start : len(one) - end], other[start : len(other) - end]
    exchanged = len(here) == 2 and here == there[::-1]
    if one == other or not (exchanged or max(len(here), len(there)) == 1) or not _are_letters(here + there):
        return False
    return max(_word_at(one, start, len(here)), _word_at(other, start, len(there))) >= SHORTEST_WORD


def digits_exchanged(name: str) -> list[str]:
    """Return the names that two digits make of one when they change places, next to each other or about a point or an x.

    >>> digits_exchanged("birch 6x4.5")
    ['birch 4x6.5', 'birch 6x5.4']
    >>> digits_exchanged("51x3")
    ['15x3', '53x1']
    """
    swapped = (f"{name[: m.start()]}{m[4]}{m[3]}{m[2]}{name[m.end(1) :]}" for m in _TWO_DIGITS.finditer(name))
    return [other for other in swapped if other != name][:LONGEST]


def _shared(one: str, other: str) -> int:
    """Return how many letters two names have in common from their start."""
    pairs = enumerate(zip(one, other, strict=False))
    return next((at for at, (a, b) in pairs if a != b), min(len(one), len(other)))


def _are_letters(text: str) -> bool:
    return all(sign.isalpha() or sign.isspace() or sign == "-" for sign in text)


def _word_at(name: str, start: int, length: int) -> int:
    """Return how many letters the word around a part of a name has."""
    before = next((count for count, sign in enumerate(name[:start][::-1]) if not sign.isalpha()), start)
    rest = name[start + length :]
    after = next((count for count, sign in enumerate(rest) if not sign.isalpha()), len(rest))
    return before + length + after
