"""What a propeller's name says of its diameter, pitch and blades: every reading that makes a propeller.

Names run from ``5x4.3x3`` to bare digits such as ``5043`` (5.0 by 4.3) and ``1340`` (13 by 4.0); common practice, no
source. Bare digits of five or more can often be read in two ways, and then nothing is taken.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache
from typing import NamedTuple

from xlsengine.bench.inputs.readings import READINGS
from xlsengine.workbook.reading.cells import number_text
from xlsengine.workbook.reading.number_texts import would_take
from xlsengine.workbook.reading.unit_words import plain_signs

# Pitch over diameter of what is sold for small motors; common practice, no source.
LEAST_RATIO, LARGEST_RATIO = 0.25, 1.6
MOST_BLADES = 6
_WHOLE_PITCH_FROM, _WHOLE_PITCH_TO = 8, 22
_FIGURE = r"(\d++(?:[.,]\d++)?+)"
_BLADES_NEXT = r"(?:\s*+\"?\s*+x\s*+(\d++)(?![.,]\d))?+(?!\s*+\"?\s*+x)"
_NAMED = re.compile(rf"(?<![\w.,]){_FIGURE}\s*+\"?\s*+x\s*+{_FIGURE}{_BLADES_NEXT}", re.IGNORECASE)
_DIGITS = re.compile(r"(\d{3,6})(?:\s+(\S.*))?")
_BLADES = re.compile(r"(?:^|[\s\d-])([2-6])[\s-]*(?:b|bl|blades?|blatt|pales?)\b", re.I)
_BLADE_WORDS = {
    "tri": 3,
    "tripale": 3,
    "triblade": 3,
    "tri-blade": 3,
    "dreiblatt": 3,
    "bi": 2,
    "bipale": 2,
    "biblade": 2,
    "zweiblatt": 2,
    "quad": 4,
    "quadpale": 4,
    "vierblatt": 4,
    "twin": 2,
}
# Digits of diameter, of its decimals, of pitch, of its decimals, and whether a digit for blades follows.
_SPLITS: dict[int, tuple[tuple[int, int, int, int, bool], ...]] = {
    3: ((1, 0, 1, 1, False), (1, 1, 1, 0, False)),
    4: ((1, 1, 1, 1, False), (2, 0, 1, 1, False), (2, 0, 2, 0, False)),
    5: ((1, 1, 1, 2, False), (1, 1, 1, 1, True), (2, 0, 1, 2, False), (2, 1, 1, 1, False), (2, 0, 1, 1, True)),
    6: ((1, 1, 1, 2, True), (2, 1, 1, 2, False), (2, 1, 1, 1, True), (2, 0, 1, 2, True)),
}


class Geometry(NamedTuple):
    """Diameter and pitch in inches, blades where the name states them, and how far the printed digits may be off."""

    diameter: float
    pitch: float
    blades: float | None
    diameter_within: float
    pitch_within: float

    def agrees(self, diameter: float | None, pitch: float | None, blades: float | None) -> bool:
        """Tell whether typed values may be those of this propeller; None stands for blank."""
        far = diameter is not None and abs(diameter - self.diameter) > self.diameter_within
        off = pitch is not None and abs(pitch - self.pitch) > self.pitch_within
        return not far and not off and (None in (blades, self.blades) or blades == self.blades)

    def __str__(self) -> str:
        blades = "" if self.blades is None else f", {number_text(self.blades)} blades"
        return f"{number_text(self.diameter)} by {number_text(self.pitch)}{blades}"


class Named(NamedTuple):
    """What a name can mean, and whether it says so with a sign between the figures rather than in bare digits.

    `beyond` is what it says with a sign that no propeller can have.
    """

    readings: tuple[Geometry, ...]
    plain: bool
    beyond: Geometry | None = None


@lru_cache(maxsize=4096)
def named(name: str) -> Named:
    """Return what a propeller's name can mean.

    >>> [str(reading) for reading in named("5,2×3.5x3").readings], [str(reading) for reading in named("1045").readings]
    (['5.2 by 3.5, 3 blades'], ['10 by 4.5'])
    >>> [str(reading) for reading in named("52353").readings]
    ['5.2 by 3.53', '5.2 by 3.5, 3 blades']
    """
    text = plain_signs(name)
    spelt = [_spelt(found, text) for found in _NAMED.finditer(text)]
    if spelt:
        alone = spelt[0] if len(spelt) == 1 else None
        possible = alone is not None and _possible(alone)
        return Named((alone,) if alone and possible else (), plain=True, beyond=None if possible else alone)
    digits = _DIGITS.fullmatch(text)
    found = (g for g in _split(digits[1], _blades(text)) if _possible(g) and _usual(g)) if digits else iter(())
    return Named(tuple(dict.fromkeys(found)), plain=False)


def _spelt(found: re.Match[str], text: str) -> Geometry:
    diameter, pitch, blades = found.groups()
    count = float(blades) if blades else _blades(text[: found.start()] + " " + text[found.end() :])
    return Geometry(_number(diameter), _number(pitch), count, _within(diameter), _within(pitch))


def _blades(text: str) -> float | None:
    found = _BLADES.search(text)
    if found:
        return float(found[1])
    words = {word.casefold(): None for word in re.split(r"[\s_()]+", text)}
    return next((float(count) for word, count in _BLADE_WORDS.items() if word in words), None)


def _split(digits: str, blades: float | None) -> Iterator[Geometry]:
    for before, after, whole, decimals, counted in _SPLITS[len(digits)]:
        cut = before + after
        diameter = int(digits[:cut]) / 10**after
        pitch = int(digits[cut : cut + whole + decimals]) / 10**decimals
        if whole == 2 and not _WHOLE_PITCH_FROM <= diameter <= _WHOLE_PITCH_TO:
            continue
        if counted and (blades is not None or not 2 <= int(digits[-1]) <= MOST_BLADES):
            continue
        count = float(digits[-1]) if counted else blades
        yield Geometry(diameter, pitch, count, max(0.1, 0.5 / 10**after), max(0.1, 0.5 / 10**decimals))


def _number(text: str) -> float:
    return float(text.replace(",", "."))


def _within(text: str) -> float:
    """Return half of the last printed digit, and never less than a tenth of an inch: names are rounded."""
    decimals = len(text.replace(",", ".").partition(".")[2])
    return float(max(0.1, 0.5 / 10**decimals))


def _possible(geometry: Geometry) -> bool:
    fields = READINGS.fields
    blades = geometry.blades is None or would_take(fields["blades"], geometry.blades)
    return blades and would_take(fields["diameter"], geometry.diameter) and would_take(fields["pitch"], geometry.pitch)


def _usual(geometry: Geometry) -> bool:
    return LEAST_RATIO <= geometry.pitch / geometry.diameter <= LARGEST_RATIO
