"""What the trade's words mean in English, German and French: units, headers and choices (words.csv, which has them all).

In a header row of that table a word that is a unit as well (volts, amps, rpm) states its unit; none stands under two labels
of one table. A “second header” names a field where no other column does: of a maximum, of a pack. What is “computed”
follows from other columns. A “count” is what people write behind a bare number.
"""

import csv
import re
import unicodedata
from collections.abc import Sequence
from functools import cache, lru_cache
from pathlib import Path
from typing import NamedTuple

from xlsengine.bench.declaring.declare import Field
from xlsengine.units import UNITS, convert

_DASHES = "−–—‐‑‒﹣－"
_BLANKS = "\t\u00a0\u2000\u2001\u2002\u2003\u2004\u2005\u2006\u2007\u2008\u2009\u200a\u202f\u205f\u3000"
_NOTHING = "\u200b\u2060\ufeff"
LONGEST_WORD = 200  # signs: beyond them nothing is a number, a unit or a header
LOOKALIKES = str.maketrans(
    dict.fromkeys(_DASHES, "-")
    | dict.fromkeys(_BLANKS, " ")
    | dict.fromkeys(_NOTHING, "")
    | dict.fromkeys("×✕╳*", "x")
    | dict.fromkeys("⋅•∙‧", "·")
    | dict.fromkeys("’‘´`", "'")
    | dict.fromkeys("″”“", '"')
    | {"＋": "+", "，": ",", "．": ".", "％": "%", "µ": "μ", "Ω": "Ω"}
)
# Where capitals decide, the exact spelling goes first; some are units far from any bench.
_AS_WRITTEN, _FAR = "mV mA mΩ mN mN·m mW mbar mg ms", "MV MA MΩ MN MNm MN·m MW Mg"
_EXACT = {**{unit: unit for unit in _AS_WRITTEN.split()}, **dict.fromkeys(_FAR.split(), ""), "mNm": "mN·m"}
_UNIT_STATED = re.compile(r"(?P<label>.*?)\s*(?:[(\[{]\s*(?:in\s+)?(?P<closed>[^()\[\]{}]*?)\s*[)\]}]|(?:,\s*|\s+in\s+|\s+/\s*)(?P<open>\S+)|(?:\s+|(?=%))(?P<bare>\S+))")  # fmt: skip # noqa: E501


@cache
def words_of(kind: str) -> dict[str, tuple[str, ...]]:
    """Return the words of one kind by what they mean."""
    with Path(__file__).with_name("words.csv").open(encoding="utf-8", newline="") as file:
        return {name: tuple(words.split("|")) for each, name, words in csv.reader(file) if each == kind}


@cache
def _units() -> dict[str, list[str]]:
    """Return the units that each word may mean."""
    units: dict[str, list[str]] = {}
    for symbol, words in words_of("unit").items():
        for word in words:
            units.setdefault(word.casefold(), []).append(symbol)
    return units


@lru_cache(4096)
def plain_signs(text: str) -> str:
    """Return a text with one way of writing each sign: dashes, blanks, marks, digits of other alphabets.

    Longer texts stay as they are: putting many marks of one letter in order takes the square of their number.
    """
    if len(text) > LONGEST_WORD:
        return text.strip()
    composed = unicodedata.normalize("NFC", text).translate(LOOKALIKES)
    return "".join(str(unicodedata.decimal(sign)) if sign.isdecimal() else sign for sign in composed).strip()


def unit_of(word: str, declared: Field) -> str | None:
    """Return the unit that a word means for a field, or None where it is none of the field's kind.

    >>> volts = Field("volts", "Volts", "V")
    >>> [unit_of(word, volts) for word in ("volts", "mV", "MV", "Amps")]
    ['V', 'mV', None, None]
    """
    written = "".join(plain_signs(word).split())
    exact, squeezed = _EXACT.get(written), written.casefold()
    if squeezed in words_of("count").get(declared.name, ()):
        return declared.unit
    named = _units().get(squeezed, []) if exact is None else [exact]
    fitting = [unit for unit in named if unit and _fits(unit, declared)]
    return declared.unit if declared.unit in fitting else fitting[0] if fitting else None


def is_unit(word: str) -> bool:
    """Tell whether a word is a unit of anything.

    >>> is_unit("Amps"), is_unit("windy")
    (True, False)
    """
    return "".join(plain_signs(word).split()).casefold() in _units()


def converted(number: float, given: str, declared: Field) -> float:
    """Return a number in a field's unit, with the twelve digits that conversion keeps.

    >>> converted(1.25, "kg", Field("thrust", "Thrust", "g"))
    1250.0
    """
    if given == declared.unit:
        return number
    wanted = "gf" if UNITS[given].kind == "force" and declared.unit == "g" else declared.unit
    return float(f"{convert(number, given, wanted):.12g}")


def _fits(unit: str, declared: Field) -> bool:
    """Tell whether a unit measures what a field does; thrust in grams is a force, and mass is not."""
    kind, wanted = UNITS[unit].kind, UNITS[declared.unit].kind
    return kind == wanted or (kind == "force" and declared.unit == "g" and "thrust" in declared.name)


# --- headers and choices ----------------------------------------------------------------------------------------


class Meant(NamedTuple):
    """What a header says: the unit that it states (None: none), whether that unit is of another kind, and whether it
    counts only where no other header names the field."""

    unit: str | None
    foreign: bool = False
    second: bool = False


@lru_cache(maxsize=4096)
def word_key(text: str) -> str:
    """Return a header as it is compared: one way of writing each sign, without capitals, marks and spare blanks.

    >>> word_key(" No. of  Blades: ")
    'no of blades'
    """
    return " ".join(re.sub(r"[.:*_]+", " ", plain_signs(text).casefold()).split())


def header_meant(text: str, declared: Field) -> Meant | None:
    """Return what a header says of a field, None where it does not name it.

    >>> volts, thrust = Field("voltage", "Voltage", "V"), Field("thrust", "Thrust", "g")
    >>> header_meant("Spannung [mV]", volts), header_meant("Thrust / N", thrust), header_meant("Wind", thrust)
    (Meant(unit='mV', foreign=False, second=False), Meant(unit='N', foreign=False, second=False), None)
    """
    if meant := _meant(text, declared, _names("header", declared.label) | {word_key(declared.label)}):
        return meant
    second = _meant(text, declared, _names("second header", declared.label))
    return second and second._replace(second=True)


def _meant(text: str, declared: Field, names: frozenset[str]) -> Meant | None:
    header = _header_parts(text) if len(text) <= LONGEST_WORD else None
    if header is None or (header.whole not in names and header.label not in names):
        return None
    if header.whole in names:
        return Meant(unit_of(text, declared) if declared.unit else None)
    unit = unit_of(header.written, declared)
    if unit is None and header.bare:
        return None
    if unit is None and not is_unit(header.written) and not header.closed:
        return None
    return Meant(unit, foreign=unit is None and bool(header.written))


class _Header(NamedTuple):
    """A header as it is compared: whole, and cut into its label and the unit written behind that."""

    whole: str
    label: str | None = None
    written: str = ""
    closed: bool = False
    bare: bool = False


@lru_cache(maxsize=4096)
def _header_parts(text: str) -> _Header:
    whole, stated = word_key(text), _UNIT_STATED.fullmatch(plain_signs(text))
    if not stated:
        return _Header(whole)
    written = next(part for part in stated.group("closed", "open", "bare") if part is not None)
    closed, bare = (stated[way] is not None for way in ("closed", "bare"))
    return _Header(whole, word_key(stated["label"]), written, closed, bare)


@cache
def _names(kind: str, meant: str) -> frozenset[str]:
    return frozenset(map(word_key, words_of(kind).get(meant, ())))


@lru_cache(maxsize=4096)
def computed_meant(text: str) -> str:
    """Return what a header names that follows from other columns, "" where it names no such thing.

    >>> computed_meant("Watts"), computed_meant("Wind")
    ('power, computed from volts and amps', '')
    """
    parts = _header_parts(text) if len(text) <= LONGEST_WORD else _Header("")
    found = (what for what in words_of("computed") if {parts.whole, parts.label} & _names("computed", what))
    return next(found, "")


def choice_meant(text: str, choices: Sequence[str]) -> str | None:
    """Return the choice that a word of the trade means.

    >>> choice_meant("ja", ("yes", "no"))
    'yes'
    """
    return next((choice for choice in choices if text in words_of("choice").get(choice, ())), None)
