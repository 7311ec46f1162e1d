"""What to type instead: guesses at what a person meant, offered in a fault's fix and never taken as a reading."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator, Sequence

from xlsengine.bench.declaring.declare import Field
from xlsengine.workbook.reading.cells import number_text
from xlsengine.workbook.reading.number_texts import (
    BLANK_OR_ZERO,
    LONGEST_READ,
    NOT_MEASURED,
    readings_of,
    would_take,
)
from xlsengine.workbook.reading.unit_words import is_unit, plain_signs

_LONGEST_COMPARED = 100
PLAIN_NUMBER = "type a plain number"
_LETTERS_FOR_DIGITS = str.maketrans({"O": "0", "o": "0", "l": "1", "I": "1"})
_RANGE = re.compile(r"([\d.,]+)\s*(?:-|to|bis|à|\.\.\.?|…|±|\+/?-|/)\s*([\d.,]+)\s*\S*")
_NOTED = re.compile(r"([-+]?\d[\d.,]*)\s+([^\W\d].*)")
_REMARKED = re.compile(r"(.*\d.*?)\s*[(\[].*[)\]]?")


def number_fix(declared: Field, text: str, blank_instead: str) -> str:
    """Say what to type for a text in a number's place; `blank_instead` is what to do where nothing was measured."""
    plain = plain_signs(text)
    word = plain.casefold()
    if len(plain) > LONGEST_READ:
        return PLAIN_NUMBER
    if word in NOT_MEASURED or word in ("x", "."):
        return blank_instead
    if word in BLANK_OR_ZERO:
        zero = " and type 0 for a measured zero" if would_take(declared, 0.0) else ""
        return f"{blank_instead}{zero}"
    meant = likely_numbers(declared, text)
    if meant:
        return f"type {' or '.join(meant)}"
    if _RANGE.fullmatch(plain):
        return "a cell holds one number; type one, and the other as a row of its own or under Note"
    if (noted := _NOTED.fullmatch(plain)) and not is_unit(noted[2]):
        alone = likely_numbers(declared, noted[1])
        return f"type {' or '.join(alone)} alone; words go under Note" if alone else PLAIN_NUMBER
    return PLAIN_NUMBER


def likely_numbers(declared: Field, text: str) -> list[str]:
    """Return the numbers that a text may have meant and that its cell would take, the likeliest first."""
    numbers = (reading.value for candidate in _candidates(text) for reading in readings_of(declared, candidate))
    return list(dict.fromkeys(number_text(number) for number in numbers))


def _candidates(text: str) -> Iterator[str]:
    """Yield a text as it is, and fixed one way after another: marks doubled, spaced or trailing, letters for digits."""
    plain = plain_signs(text)
    yield plain
    if remarked := _REMARKED.fullmatch(plain):
        yield remarked[1]
    single = re.sub(r"([.,])\1+", r"\1", plain)
    digits = single.translate(_LETTERS_FOR_DIGITS) if re.search(r"\d", single) else single
    yield re.sub(r"(?<=\d) (?=[.,])|(?<=[.,]) (?=\d)|[.,](?=\s*$|\s*[^\d\s]+$)", "", digits)


def choice_fix(choices: Sequence[str], text: str) -> str:
    """Say which choice to take for a text that is none of them."""
    plain = text.strip().casefold()[:_LONGEST_COMPARED]
    by_key = {choice.casefold(): choice for choice in choices}
    close = [key for key in by_key if plain and key.startswith(plain)]
    close = close if len(close) == 1 else difflib.get_close_matches(plain, by_key, 1)
    return f"choose “{by_key[close[0]]}”" if close else "choose from the list in the cell"


def date_fix(days: Sequence[object]) -> str:
    """Say how to type a date that was written otherwise, given the days that it may mean."""
    return f"type {' or '.join(map(str, days))}" if days else "type the date as year-month-day"
