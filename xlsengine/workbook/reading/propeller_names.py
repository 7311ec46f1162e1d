"""What a propeller's name says of its diameter, pitch and blades: every reading that makes a propeller.

Names run from ``5x4.3x3`` to bare digits such as ``5043`` (5.0 by 4.3) and ``1340`` (13 by 4.0), and to sizes with a unit,
``31x18mm``, ``40mm-2``, ``1.2 inch``; common practice, no source. Where bare digits can be read in two ways, what the volts,
amps and grams of the row allow is taken, else nothing.
"""

import math
import re
from collections import Counter
from collections.abc import Iterator, Mapping
from functools import lru_cache
from typing import NamedTuple

from xlsengine.bench.inputs.bench_test import Value
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.errors import Reason
from xlsengine.units import GRAM_FORCE, INCH
from xlsengine.workbook.reading.area_reader import AreaReader, Place
from xlsengine.workbook.reading.cells import number_text
from xlsengine.workbook.reading.trade_words import plain_signs, words_of
from xlsengine.workbook.reading.typed_texts import would_take
from xlsengine.workbook.reading.typed_values import Refusal, shown

# Pitch over diameter of what is sold for small motors; common practice, no source.
LEAST_RATIO, LARGEST_RATIO = 0.25, 1.6
MOST_RATIO = 2.0
"""Pitch over diameter beyond which a decimal mark is missing."""
MOST_BLADES = 6
MM_PER_INCH = 1000 * INCH
EFFICIENT = (0.05, 1.0)
"""Overall static efficiency that a reading can have, at any throttle: a diameter of ten times as much makes it ten times."""
_DISK = math.pi / 4 * INCH**2
_AIR = 1.2
_WITHIN = (0.5, 0.1)  # inches by which a figure without and with decimals may be off: names are rounded
_WHOLE_PITCH_FROM, _WHOLE_PITCH_TO = 8, 22
_FIGURE = r"(\d++(?:[.,]\d++)?+)"
_BLADES_NEXT = r"(?:\s*+\"?\s*+x\s*+(\d++)(?![.,]\d))?+(?!\s*+\"?\s*+x)"
_NAMED = re.compile(rf"(?<![\w.,]){_FIGURE}\s*+\"?\s*+x\s*+{_FIGURE}{_BLADES_NEXT}", re.IGNORECASE)
_DIGITS = re.compile(r"(\d{3,6})(?:\s*+[x-]\s*+([2-6])(?![\d.,]))?(?:\s+(\S.*))?", re.IGNORECASE)
_CODE = re.compile(r"\d{4,6}\s*+[x-]\s*+[2-6](?:\s.*)?", re.IGNORECASE)
"""Bare digits with the blades behind: not so many inches by so many."""
_MM, _INCH = r"\s*+mm(?![^\W\d_])", r"\s*+(?:\"|''|(?:inch(?:es)?|zoll|pouces?)(?![^\W\d_])|in(?=\s*$))"
_IN_MM = re.compile(
    rf"(?<![\w.,]){_FIGURE}({_MM})?\s*+x\s*+{_FIGURE}({_MM})?(?:\s*+x\s*+([2-6])(?![\d.,]))?({_MM})?", re.IGNORECASE
)
_WIDE = re.compile(
    rf"(?<![\w.,]){_FIGURE}(?:({_MM})|{_INCH})(?!\s*+x\s*+\d)(?:\s*+-\s*+([2-6])(?![\w.,]))?", re.IGNORECASE
)
"""A diameter alone with its unit, and the blades behind a dash."""
_BLADES = re.compile(r"(?:^|[\s\d-])([2-6])[\s-]*(?:b|bl|blades?|blatt|pales?)\b", re.I)
_BLADE_WORDS = {word: float(count) for count, words in words_of("blades").items() for word in words}
# Digits of diameter, of its decimals, of pitch, of its decimals, and whether a digit for blades follows.
_SPLITS: dict[int, tuple[tuple[int, int, int, int, bool], ...]] = {
    3: ((1, 0, 1, 1, False), (1, 1, 1, 0, False)),
    4: ((1, 1, 1, 1, False), (2, 0, 1, 1, False), (2, 0, 2, 0, False)),
    5: ((1, 1, 1, 2, False), (1, 1, 1, 1, True), (2, 0, 1, 2, False), (2, 1, 1, 1, False), (2, 0, 1, 1, True)),
    6: ((1, 1, 1, 2, True), (2, 1, 1, 2, False), (2, 1, 1, 1, True), (2, 0, 1, 2, True)),
}


class Geometry(NamedTuple):
    """Diameter and pitch in inches, what the name does not state None, and how far the printed digits may be off."""

    diameter: float
    pitch: float | None
    blades: float | None
    diameter_within: float
    pitch_within: float

    def agrees(self, diameter: float | None, pitch: float | None, blades: float | None) -> bool:
        """Tell whether typed values may be those of this propeller; None stands for blank."""
        far = diameter is not None and abs(diameter - self.diameter) > self.diameter_within
        off = pitch is not None and self.pitch is not None and abs(pitch - self.pitch) > self.pitch_within
        return not far and not off and (None in (blades, self.blades) or blades == self.blades)

    def __str__(self) -> str:
        blades = "" if self.blades is None else f", {number_text(self.blades)} blades"
        by = " in" if self.pitch is None else f" by {number_text(self.pitch)}"
        return f"{number_text(self.diameter)}{by}{blades}"


class Named(NamedTuple):
    """What a name can mean, and whether it says so with a sign between the figures rather than in bare digits.

    `beyond` is what it says with a sign that no propeller can have; with a `unit` of its own the name stays as typed.
    """

    readings: tuple[Geometry, ...]
    plain: bool
    beyond: Geometry | None = None
    unit: bool = False


@lru_cache(maxsize=4096)
def named(name: str) -> Named:
    """Return what a propeller's name can mean.

    >>> [str(reading) for reading in named("5,2×3.5x3").readings], [str(reading) for reading in named("1045").readings]
    (['5.2 by 3.5, 3 blades'], ['10 by 4.5'])
    >>> [str(reading) for reading in named("52353").readings]
    ['5.2 by 3.53', '5.2 by 3.5, 3 blades']
    """
    text = plain_signs(name)
    sized = [*_with_unit(text)]
    spelt = sized or [_spelt(found) for found in _NAMED.finditer(text) if not _CODE.fullmatch(text)]
    if spelt:
        alone = spelt[0] if len(spelt) == 1 else None
        possible = alone is not None and _possible(alone)
        return Named((alone,) if alone and possible else (), True, None if possible else alone, bool(sized))
    digits = _DIGITS.fullmatch(text)
    if not digits:
        return Named((), plain=False)
    blades = float(digits[2]) if digits[2] else _blades(text)
    found = (g for g in _split(digits[1], blades) if _possible(g) and _usual(g))
    return Named(tuple(dict.fromkeys(found)), plain=False)


def _with_unit(text: str) -> Iterator[Geometry]:
    """Yield what a name says in mm, or of a diameter alone in either unit; a pitch too flat for mm is in inches."""
    for found in _IN_MM.finditer(text):
        wide, pitch, blades = found.group(1, 3, 5)
        if any(found.group(2, 4, 6)):
            diameter, steep = _inches(wide, in_mm=True), _inches(pitch, in_mm=True)
            if steep < LEAST_RATIO * diameter:
                steep = _inches(pitch, in_mm=False)
            yield Geometry(diameter, steep, _blades_beside(found, blades), *2 * _WITHIN[1:])
    for found in () if _NAMED.search(text) or _IN_MM.search(text) else _WIDE.finditer(text):
        wide, in_mm, blades = found.groups()
        yield Geometry(_inches(wide, in_mm is not None), None, _blades_beside(found, blades), *2 * _WITHIN[1:])


def _blades_beside(found: re.Match[str], blades: str | None) -> float | None:
    """Return the blades that a name states in its figures, or in words before or behind them."""
    return float(blades) if blades else _blades(f"{found.string[: found.start()]} {found.string[found.end() :]}")


def _inches(figure: str, in_mm: bool) -> float:
    value = float(figure.replace(",", "."))
    return round(value / MM_PER_INCH, 3) if in_mm else value


def _allowed(readings: list[Geometry], volts: Value, amps: Value, grams: Value) -> list[Geometry]:
    """Return those readings of a name with whose diameter the power can give the thrust."""
    if not (isinstance(volts, float) and isinstance(amps, float) and isinstance(grams, float)):
        return []
    if not min(volts, amps, grams) > 0:
        return []
    force, power = grams * GRAM_FORCE, volts * amps
    ideal = [force * math.sqrt(force / (2 * _AIR * _DISK * each.diameter**2)) for each in readings]
    return [each for each, least in zip(readings, ideal, strict=True) if EFFICIENT[0] <= least / power <= EFFICIENT[1]]


def is_ditto(name: str) -> bool:
    """Tell whether a name only says that it is the one above again."""
    return name.casefold().strip(" .") in _DITTO


@lru_cache(maxsize=4096)
def one_spelling(name: str) -> str:
    """Return a name with its figures spelt as all are that mean them, and its other words as they stand.

    Signs, blanks, inch marks and noughts between and behind the figures, and words for blades, make no other propeller.

    >>> [one_spelling(name) for name in ('7 x 4 * 3', '7.0"x4,0" tri', "10x4,7SF", "Wide 7x4, 3-blade", "7045")]
    ['7x4x3', '7x4x3', '10x4.7 SF', 'Wide 7x4x3', '7045']
    """
    meant = named(name)
    if meant.unit:
        joined = re.sub(r"(?<=[\dm])\s*x\s*(?=\d)", "x", plain_signs(name), flags=re.IGNORECASE)
        return re.sub(r"(?<=\d)\s+(?=mm\b)", "", joined, flags=re.IGNORECASE)
    if not (meant.plain and meant.readings):
        return name
    text, geometry = plain_signs(name), meant.readings[0]
    found = next(_NAMED.finditer(text))
    parts = [text[: found.start()], text[found.end() :]]
    if geometry.blades is not None and found[3] is None:
        parts = [_without_blades(part) for part in parts]
    before, after = parts
    figures = "x".join(number_text(each) for each in geometry[:3] if each is not None)
    after = re.sub(r"^[\s\"]*(?:in|inch|zoll|pouces?)?(?![^\W\d_])[\s\",;-]*", "", after, flags=re.IGNORECASE)
    return " ".join(f"{before.strip(' ,;-')} {figures} {after}".split())


def _without_blades(text: str) -> str:
    if _BLADES.search(text):
        return _BLADES.sub("", text, count=1)
    return re.sub(r"[^\s_()]+", lambda w: "" if w[0].casefold() in _BLADE_WORDS else w[0], text).replace("()", "")


def _spelt(found: re.Match[str]) -> Geometry:
    diameter, pitch, blades = found.groups()
    count = _blades_beside(found, blades)
    wide, steep = (figure.replace(",", ".") for figure in (diameter, pitch))
    return Geometry(float(wide), float(steep), count, _WITHIN["." in wide], _WITHIN["." in steep])


def _blades(text: str) -> float | None:
    found = _BLADES.search(text)
    if found:
        return float(found[1])
    words = {word.casefold() for word in re.split(r"[\s_()]+", text)}
    return next((count for word, count in _BLADE_WORDS.items() if word in words), None)


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
        yield Geometry(diameter, pitch, count, _WITHIN[after > 0], _WITHIN[decimals > 0])


def _possible(geometry: Geometry) -> bool:
    fields = READINGS.fields
    blades = geometry.blades is None or would_take(fields["blades"], geometry.blades)
    pitch = geometry.pitch is None or (
        would_take(fields["pitch"], geometry.pitch) and geometry.pitch <= MOST_RATIO * geometry.diameter
    )
    return blades and pitch and would_take(fields["diameter"], geometry.diameter)


def _usual(geometry: Geometry) -> bool:
    return geometry.pitch is None or LEAST_RATIO <= geometry.pitch / geometry.diameter <= LARGEST_RATIO


# --- names among the readings ----------------------------------------------------------------------------------


GEOMETRY = ("diameter", "pitch", "blades")
MOST_NAMES = 12
_DITTO = frozenset(
    ('"', "''", "'", "”", "„", "“", "″", '""', "-", "--", "–", "—", "do", "dto", "ditto", "same", "idem", "id")
)
_STEEPEST = "a pitch of at most twice the diameter"
_PROP = READINGS.fields["prop"]


class NameFiller:
    """Fills blank diameters, pitches and blades of readings from the names of their propellers."""

    def __init__(self, reader: AreaReader, places: Mapping[str, Place]) -> None:
        self._reader, self._places, self._column = reader, places, places["prop"].column
        self._told: set[str] = set()
        self._filled: Counter[tuple[str, str]] = Counter()
        self._respelt: dict[str, str] = {}

    def complete(self, row: int, columns: Mapping[str, list[Value]], index: int) -> None:
        """Fill what is blank in a row, the one at `index` of the values, from a name that has one reading.

        Keeps a fault where the name contradicts what was typed, and where it would fill a blank diameter with what no
        propeller has.
        """
        name, places = columns["prop"][index], self._places
        if not isinstance(name, str):
            return
        if is_ditto(name):
            self._refuse(
                row, Refusal(Reason.WRONG_TYPE, f"{shown(name)}, for the same again", "type its name", "a name")
            )
            return
        name = columns["prop"][index] = self._one_spelling(row, name)
        blank = [p for p in GEOMETRY if p not in places or self._reader.content(row, places[p].column) is None]
        typed = [value if isinstance(value := columns[part][index], float) else None for part in GEOMETRY]
        meant = named(name)
        agreeing = [reading for reading in meant.readings if reading.agrees(*typed)]
        if len(agreeing) > 1:
            agreeing = (
                _allowed(agreeing, *(columns[part][index] for part in ("voltage", "current", "thrust"))) or agreeing
            )
        if (
            meant.unit
            and meant.readings
            and not any(reading.agrees(typed[0], None, None) for reading in meant.readings)
        ):
            self._wrong_diameter(row, name, typed[0], meant.readings[0])
        elif meant.readings and not agreeing:
            self._contradicted(row, name, meant)
        if len(agreeing) == 1:
            self._fill(row, name, agreeing[0], {part: columns[part] for part in blank}, index)
        if meant.beyond and "diameter" in blank:
            self._no_propeller(row, name, meant.beyond)
        elif len(agreeing) > 1 and ("diameter" in blank or "pitch" in blank):
            self._tell_once(row, name, f"can mean {' or '.join(map(str, agreeing))}; what it leaves open stays blank")

    def told(self) -> Iterator[str]:
        """Yield in a line each which names were spelt alike and what names filled, name by name as far as a few."""
        if self._respelt:
            names = [f"{name} as {respelt}" for name, respelt in self._respelt.items()]
            yield f"{READINGS.name}, Prop: one spelling for each propeller: {_first_of(names)}"
        names = [f"{name} as {geometry}" for name, geometry in self._filled]
        rows = self._filled.total()
        if names:
            yield (
                f"{READINGS.name}, Prop: blank diameter, pitch and blades of {rows} "
                f"{'reading' if rows == 1 else 'readings'} filled from the names: {_first_of(names)}"
            )

    def _fill(self, row: int, name: str, geometry: Geometry, blank: Mapping[str, list[Value]], index: int) -> None:
        """Fill the cells of which the name states what they hold."""
        stated = {part: value for part in blank if (value := getattr(geometry, part)) is not None}
        for part, value in stated.items():
            blank[part][index] = value
            where = self._reader.area.place(row, self._places[part if part in self._places else "prop"].column)
            header, found = READINGS.fields[part].header, f"nothing, but {shown(name)} under Prop,"
            self._reader.findings.read(where, header, found, number_text(value), told=False)
        if stated:
            self._filled[shown(name), str(geometry)] += 1

    def _one_spelling(self, row: int, name: str) -> str:
        respelt = one_spelling(name)
        if respelt != name:
            if respelt.casefold() != name.casefold():
                self._respelt[shown(name)] = respelt
            where = self._reader.area.place(row, self._column)
            self._reader.findings.read(where, _PROP.header, shown(name), respelt, told=False)
        return respelt

    def _contradicted(self, row: int, name: str, meant: Named) -> None:
        """Keep a fault where a name with signs says otherwise than its row; bare digits may be any name, and are told."""
        said = " or ".join(map(str, meant.readings))
        if not meant.plain:
            self._tell_once(row, name, f"looks like {said}; the row's own figures were taken")
            return
        found, fix = f"{shown(name)}, which says {said}", "fix the name or the figures"
        wanted = "a name that agrees with diameter, pitch and blades of its row"
        self._refuse(row, Refusal(Reason.CONTRADICTION, found, fix, wanted))

    def _wrong_diameter(self, row: int, name: str, typed: float | None, meant: Geometry) -> None:
        """Keep a fault for a diameter in inches that is not that of a name with a unit."""
        diameter = READINGS.fields["diameter"]
        found = (
            f"{number_text(typed or 0.0)} beside {shown(name)} under Prop, which is {number_text(meant.diameter)} in"
        )
        fix = f"type {number_text(meant.diameter)}, or fix the name"
        why = Refusal(Reason.CONTRADICTION, found, fix, "the diameter in inches that the name says")
        self._reader.refuse(diameter, row, self._places["diameter"].column, diameter.header, why)

    def _no_propeller(self, row: int, name: str, beyond: Geometry) -> None:
        """Keep a fault for a name whose figures are beyond their limits: usually a decimal mark is missing."""
        wanted = ", ".join(
            f"{one.label.lower()} {one.low:g} to {one.high:g}{f' {one.unit}' * bool(one.unit)}"
            for one in (READINGS.fields[part] for part in GEOMETRY)
        )
        fix = "check the name's decimal mark, or type the diameter in its own cell"
        if beyond.pitch is not None and _possible(
            turned := beyond._replace(diameter=beyond.pitch, pitch=beyond.diameter)
        ):
            fix = f"exchanged? type {number_text(turned.diameter)}x{number_text(beyond.diameter)} if so; else {fix}"
        found = f"{shown(name)}, which says {beyond}"
        self._refuse(row, Refusal(Reason.OUT_OF_LIMITS, found, fix, f"a name that says {wanted}, and {_STEEPEST}"))

    def _refuse(self, row: int, why: Refusal) -> None:
        self._reader.refuse(_PROP, row, self._column, _PROP.header, why)

    def _tell_once(self, row: int, name: str, said: str) -> None:
        """Tell of a name in the first of its rows."""
        if name not in self._told:
            self._told.add(name)
            self._reader.findings.tell(f"{self._reader.area.place(row, self._column)} Prop: {shown(name)} {said}")


def _first_of(names: list[str]) -> str:
    more = f"; and {len(names) - MOST_NAMES} more names (--json lists each)" if len(names) > MOST_NAMES else ""
    return "; ".join(names[:MOST_NAMES]) + more
