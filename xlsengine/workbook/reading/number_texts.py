"""What numbers a text in a number's place can mean: every reading that its field's limits leave, and no guesses."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from typing import NamedTuple

from xlsengine.bench.declaring.declare import Field
from xlsengine.workbook.reading.unit_words import converted, plain_signs, unit_of

# Words for "not measured"; a word that may as well mean zero is not among them.
NOT_MEASURED = frozenset(
    (
        "-",
        "--",
        "---",
        "/",
        "./.",
        "?",
        "..",
        "...",
        "…",
        "n/a",
        "n.a.",
        "na",
        "n. a.",
        "nan",
        "null",
        "k.a.",
        "k. a.",
        "k/a",
        "n.v.",
        "n.b.",
        "n/b",
        "n.d.",
        "nd",
        "n/d",
        "s.o.",
        "tbd",
        "not measured",
        "not read",
        "unknown",
        "nicht gemessen",
        "unbekannt",
        "keine angabe",
        "entfällt",
        "non mesuré",
        "inconnu",
        "sans objet",
    )
)
BLANK_OR_ZERO = frozenset(("none", "nil", "keine", "keiner", "nichts", "aucun", "aucune", "rien", "nul"))
LONGEST_READ = 80
_ABOUT = re.compile(r"^(~|≈|∼|ca\.?|circa|about|approx\.?|etwa|env\.?|environ|rund)\s*(?=[-+.,\d])", re.IGNORECASE)
_IN_DOUBT = re.compile(r"(?<=[\w.%])\s*(\?|\(\?\))$")
_NUMBER_AND_WORD = re.compile(r"([-+]?\s?[\d.,' ]*\d(?:[eE][-+]?\d{1,3})?)\s*(\D.*)?", re.DOTALL)
_PLAIN = re.compile(r"\d+|\d*[.,]\d+")
_GROUPED = {",": r"\d{1,3}(,\d{3})+", ".": r"\d{1,3}(\.\d{3})+", " ": r"\d{1,3}( \d{3})+", "'": r"\d{1,3}('\d{3})+"}


# What people write in a number's place, by field.
WORDS: dict[str, dict[str, float]] = {
    "throttle": dict.fromkeys(
        ("wot", "full", "max", "full throttle", "wide open", "vollgas", "voll", "plein gaz"), 100.0
    )
}


class NumberReading(NamedTuple):
    """One reading of a text: the number in its field's unit."""

    value: float
    converted: bool


def would_take(declared: Field, number: float) -> bool:
    """Tell whether a number is finite and keeps to a field's limits, and to whole numbers where those are wanted."""
    low = declared.low is None or number >= declared.low
    high = declared.high is None or number <= declared.high
    return math.isfinite(number) and low and high and (declared.kind != "whole" or number % declared.multiple == 0)


def readings_of(declared: Field, text: str, given: str | None = None) -> list[NumberReading]:
    """Return what a text can mean in a field's cell, within its limits; `given` is the unit its header states.

    >>> amps, grams = Field("current", "Current", "A", low=0, high=500), Field("t", "Thrust", "g", low=0, high=5000)
    >>> [reading.value for reading in readings_of(amps, "38,2 A")]
    [38.2]
    >>> [reading.value for reading in readings_of(grams, "1,250")]
    [1.25, 1250.0]
    """
    if len(text) > LONGEST_READ:
        return []
    plain = plain_signs(text)
    word = WORDS.get(declared.name, {}).get(plain.casefold())
    if word is not None:
        return [NumberReading(word, False)]
    parts = _NUMBER_AND_WORD.fullmatch(_IN_DOUBT.sub("", _ABOUT.sub("", plain)))
    if not parts:
        return []
    unit = unit_of(parts[2], declared) if parts[2] else (declared.unit if given is None else given)
    if unit is None:
        return []
    numbers = (converted(number, unit, declared) for number in _numbers(parts[1]))
    taken = dict.fromkeys(number for number in numbers if would_take(declared, number))
    return [NumberReading(number, unit != declared.unit) for number in taken]


def _numbers(text: str) -> Iterator[float]:
    """Yield the numbers that digits and marks can mean: a decimal mark first, then marks of thousands."""
    digits, _, power = text.lower().partition("e")
    sign = -1.0 if digits.startswith("-") else 1.0
    digits = digits.lstrip("-+ ").strip()
    scale = f"e{power}" if power else ""
    if _PLAIN.fullmatch(digits):
        yield sign * float(digits.replace(",", ".") + scale)
    for mark, groups in _GROUPED.items():
        decimals = r"([.,]\d+)?" if mark in " '" else rf"([{'.' if mark == ',' else ','}]\d+)?"
        if not scale and not digits.startswith("0") and re.fullmatch(groups + decimals, digits):
            yield sign * float(digits.replace(mark, "").replace(",", "."))
