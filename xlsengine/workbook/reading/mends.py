"""What to type instead: guesses at what a person meant, offered in a fault's mend and never taken as a reading."""

from __future__ import annotations

import datetime
import difflib
import math
import re
from collections.abc import Iterator, Sequence

from xlsengine.bench.declare import Field
from xlsengine.workbook.reading.cells import number_text

NOTHING = frozenset(("-", "--", "---", "—", "–", "/", "./.", "?", "x", ".", "n/a", "na", "none", "nil", "nan", "null"))
_UNIT_WORDS = {
    "V": ("v", "volt", "volts"), "A": ("a", "amp", "amps"), "g": ("g", "gr", "gram", "grams"),
    "in": ("in", "inch", "inches", '"', "″"), "mm": ("mm",), "%": ("%", "percent"), "rpm": ("rpm", "r/min", "1/min"),
    "°C": ("°c", "c", "°", "deg c"), "N·m": ("n·m", "nm"), "W": ("w", "watt", "watts"), "s": ("s", "sec"),
    "mΩ": ("mω", "mohm"), "rpm/V": ("rpm/v", "kv"), "AWG": ("awg", "ga"), "°": ("°", "deg"),
}  # fmt: skip
_LOOKALIKES = str.maketrans({
    "−": "-", "–": "-", "—": "-", "\u00a0": " ", "\u2009": " ", "\u202f": " ", "，": ",", "．": ".", "’": "'",
    "~": " ", "≈": " ",
})  # fmt: skip
_LETTERS_FOR_DIGITS = str.maketrans({"O": "0", "o": "0", "l": "1", "I": "1"})
_NUMBER = re.compile(r"[-+]?(\d+(\.\d*)?|\.\d+)(e[-+]?\d{1,3})?", re.IGNORECASE)
_WRITTEN_DAY = re.compile(r"(\d{1,2})[./-](\d{1,2})[./-](\d{4})|(\d{4})[./-](\d{1,2})[./-](\d{1,2})")


def number_mend(declared: Field, text: str, blank_instead: str) -> str:
    """Say what to type for a text in a number's place; `blank_instead` is what to do where nothing was measured."""
    plain = text.strip()
    if plain.casefold() in NOTHING:
        return blank_instead
    meant = likely_numbers(declared, plain)
    if meant and _NUMBER.fullmatch(plain):
        return f"the cell holds it as text; type {meant[0]} as a number"
    return f"type {' or '.join(meant)}" if meant else "type a plain number"


def likely_numbers(declared: Field, text: str) -> list[str]:
    """Return the numbers that a text may have meant and that its cell would take, the likeliest first."""
    plain = _without_unit(text.translate(_LOOKALIKES).strip(), declared.unit)
    numbers = (float(candidate) for candidate in _candidates(plain) if _NUMBER.fullmatch(candidate))
    return list(dict.fromkeys(number_text(number) for number in numbers if would_take(declared, number)))


def would_take(declared: Field, number: float) -> bool:
    """Tell whether a number is finite and keeps to a field's limits, and to whole numbers where those are wanted."""
    low = declared.low is None or number >= declared.low
    high = declared.high is None or number <= declared.high
    return math.isfinite(number) and low and high and (declared.kind != "whole" or number.is_integer())


def _without_unit(text: str, unit: str) -> str:
    for word in sorted({unit.casefold(), *_UNIT_WORDS.get(unit, ())} - {""}, key=len, reverse=True):
        if text.casefold().endswith(word):
            return text[: -len(word)].rstrip()
    return text


def _candidates(text: str) -> Iterator[str]:
    """Yield a text as it is, and mended one way after another: marks doubled, spaced or swapped, letters for digits."""
    single = re.sub(r"([.,])\1+", r"\1", text)
    digits = single.translate(_LETTERS_FOR_DIGITS) if re.search(r"\d", single) else single
    joined = re.sub(r"(?<=\d)[ '](?=\d{3}\b)|(?<=\d) (?=[.,])|(?<=[.,]) (?=\d)", "", digits)
    yield text
    if joined.count(",") == 1 and "." not in joined:
        yield joined.replace(",", ".")
    if re.fullmatch(r"[-+]?\d{1,3}(,\d{3})+(\.\d*)?", joined):
        yield joined.replace(",", "")
    if re.fullmatch(r"[-+]?\d{1,3}(\.\d{3})+,\d*", joined) or re.fullmatch(r"[-+]?\d{1,3}(\.\d{3}){2,}", joined):
        yield joined.replace(".", "").replace(",", ".")
    yield joined


def choice_mend(choices: Sequence[str], text: str) -> str:
    """Say which choice to take for a text that is none of them."""
    plain = text.strip().casefold()
    by_key = {choice.casefold(): choice for choice in choices}
    close = [key for key in by_key if plain and key.startswith(plain)]
    close = close if len(close) == 1 else difflib.get_close_matches(plain, by_key, 1)
    return f"choose “{by_key[close[0]]}”" if close else "choose from the list in the cell"


def date_mend(text: str) -> str:
    """Say how to type a date that was written otherwise; days and months that could change places give both."""
    written = _WRITTEN_DAY.fullmatch(text.strip())
    if not written:
        return "type the date as year-month-day"
    first, second, year, other_year, month, day = (int(part) if part else 0 for part in written.groups())
    orders = ((year, second, first), (year, first, second)) if year else ((other_year, month, day),)
    days = dict.fromkeys(f"{y:04d}-{m:02d}-{d:02d}" for y, m, d in orders if _is_day(y, m, d))
    return f"type {' or '.join(days)}" if days else "type the date as year-month-day"


def _is_day(year: int, month: int, day: int) -> bool:
    try:
        datetime.date(year, month, day)
    except ValueError:
        return False
    return True
