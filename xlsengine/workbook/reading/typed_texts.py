"""What numbers and days a text in their place can mean: every reading that limits leave, and no guesses."""

import datetime
import math
import re
from collections.abc import Iterator

from xlsengine.bench.declaring.declare import Field
from xlsengine.workbook.layout import FIRST_DATE, LAST_DATE
from xlsengine.workbook.reading.cells import moment
from xlsengine.workbook.reading.trade_words import converted, plain_signs, unit_of, words_of

NOT_MEASURED, BLANK_OR_ZERO = map(frozenset, words_of("blank").values())
"""Words for “not measured”; those that may as well mean zero are not among them."""
LONGEST_READ = 80
_ABOUT = re.compile(r"^(~|≈|∼|ca\.?|circa|about|approx\.?|etwa|env\.?|environ|rund)\s*(?=[-+.,\d])", re.IGNORECASE)
_IN_DOUBT = re.compile(r"(?<=[\w.%])\s*(\?|\(\?\))$")
_PACK_VOLTS = re.compile(r"(\d{1,2}[.,]\d{1,2})\s*v(?:olts?)?", re.IGNORECASE)
_VOLTS_OF_A_CELL = (3.7, 3.8, 3.85, 4.2)
"""What labels say of a cell, and a charger of a full one (common practice, no source)."""
_NUMBER_AND_WORD = re.compile(r"([-+]?\s?[\d.,' ]*\d(?:[eE][-+]?\d{1,3})?)\s*(\D.*)?", re.DOTALL)
_POUNDS_AND_OUNCES = re.compile(
    r"(\d+)\s*(?:lbs?|pounds?|#)\.?[\s,]*(\d+(?:[.,]\d+)?)\s*(?:oz|ounces?)\.?", re.IGNORECASE
)
_OF_TWO_MEANINGS = re.compile(r"[.,]\d{3}(?!\d)")
_PLAIN = re.compile(r"\d+|\d*[.,]\d+")
_GROUPED = {",": r"\d{1,3}(,\d{3})+", ".": r"\d{1,3}(\.\d{3})+", " ": r"\d{1,3}( \d{3})+", "'": r"\d{1,3}('\d{3})+"}


def would_take(declared: Field, number: float) -> bool:
    """Tell whether a number is finite and keeps to a field's limits, and to whole numbers where those are wanted."""
    low = declared.low is None or number >= declared.low
    high = declared.high is None or number <= declared.high
    return math.isfinite(number) and low and high and (declared.kind != "whole" or number % declared.multiple == 0)


def readings_of(declared: Field, text: str, given: str | None = None) -> list[float]:
    """Return what a text can mean in a cell, in the unit of its field and within limits; `given` is what its header states.

    >>> amps, grams = Field("current", "Current", "A", low=0, high=500), Field("t", "Thrust", "g", low=0, high=5000)
    >>> readings_of(amps, "38,2 A"), readings_of(grams, "1,250")
    ([38.2], [1.25, 1250.0])
    >>> [round(grams) for grams in readings_of(grams, "2 lb 15 oz")]
    [1332]
    """
    if len(text) > LONGEST_READ:
        return []
    plain = plain_signs(text)
    if declared.name == "throttle" and plain.casefold() in words_of("number")["100"]:
        return [100.0]
    if declared.name == "cells" and (packs := _PACK_VOLTS.fullmatch(plain)):
        return _cells_of(float(packs[1].replace(",", ".")))
    pounds = _POUNDS_AND_OUNCES.fullmatch(plain)
    if pounds:
        plain = f"{16 * int(pounds[1]) + float(pounds[2].replace(',', '.'))} oz"
    parts = _NUMBER_AND_WORD.fullmatch(_without_doubt(plain))
    if not parts:
        return []
    unit = unit_of(parts[2], declared) if parts[2] else (declared.unit if given is None else given)
    if unit is None:
        return []
    numbers = (converted(number, unit, declared) for number in _numbers(parts[1]))
    return list(dict.fromkeys(number for number in numbers if would_take(declared, number)))


def _cells_of(volts: float) -> list[float]:
    """Return of how many cells a pack's label or charger says such volts; of one count only.

    >>> _cells_of(11.1), _cells_of(15.2), _cells_of(12.0)
    ([3.0], [4.0], [])
    """
    counts = {float(round(volts / each)) for each in _VOLTS_OF_A_CELL if abs(volts - each * round(volts / each)) < 0.06}
    return sorted(counts) if len(counts) == 1 and counts != {0.0} else []


def plain_numbers(text: str) -> tuple[list[float], bool]:
    """Return the numbers that stand in a text as they are, whatever its unit, and whether there is no doubt about them.

    >>> [plain_numbers(text) for text in ("22,0 mm", "22?", "1,250")]
    [([22.0], True), ([22.0], False), ([1.25, 1250.0], False)]
    """
    plain = plain_signs(text)
    bare = _without_doubt(plain)
    parts = _NUMBER_AND_WORD.fullmatch(bare)
    if not parts:
        return [], False
    return list(_numbers(parts[1])), bare == plain and not _OF_TWO_MEANINGS.search(parts[1])


def _without_doubt(text: str) -> str:
    """Return a text without words for “about” and a mark that asks."""
    return _IN_DOUBT.sub("", _ABOUT.sub("", text))


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


# --- days ------------------------------------------------------------------------------------------------------


_MONTH_OF = {word: int(number) for number, words in words_of("month").items() for word in words}
_IN_NUMBERS = re.compile(r"(\d{1,2})\s*[./-]\s*(\d{1,2})\s*[./-]\s*(\d{4})")
_DATES = (
    (re.compile(r"(\d{4})\s*[./-]\s*(\d{1,2})\s*[./-]\s*(\d{1,2})|(\d{4})(\d\d)(\d\d)"), "ymd"),
    (_IN_NUMBERS, "dmy"),
    (_IN_NUMBERS, "mdy"),
    (re.compile(r"(\d{1,2})(?:\.|st|nd|rd|th|er)?\s*([^\W\d]+\.?),?\s*(\d{4})"), "dmy"),
    (re.compile(r"([^\W\d]+\.?)\s*(\d{1,2})(?:st|nd|rd|th)?,?\s*(\d{4})"), "mdy"),
)
"""Ways of writing a day, and in which order they give day, month and year, the likeliest first."""


def days_of(text: str) -> list[datetime.date]:
    """Return the days that a written date can mean, within the limits of dates, the likeliest first.

    >>> [str(day) for day in days_of("04.05.2026")], [str(day) for day in days_of("4. Mai 2026")]
    (['2026-05-04', '2026-04-05'], ['2026-05-04'])
    """
    plain = plain_signs(text).casefold()
    found = ((pattern.fullmatch(plain), order) for pattern, order in _DATES)
    days = (_day(**dict(zip(order, filter(None, hit.groups()), strict=True))) for hit, order in found if hit)
    return list(dict.fromkeys(day for day in days if day and FIRST_DATE <= day <= LAST_DATE))


def day_of_number(number: float) -> datetime.date | None:
    """Return the day that a bare number means: counted by the spreadsheet, or year, month and day in eight digits.

    >>> day_of_number(46146.0), day_of_number(20260504.0), day_of_number(4.0)
    (datetime.date(2026, 5, 4), datetime.date(2026, 5, 4), None)
    """
    if not number.is_integer():
        return None
    written = days_of(f"{number:.0f}")
    counted = moment(number)
    if written or not isinstance(counted, datetime.datetime):
        return written[0] if written else None
    return counted.date() if FIRST_DATE <= counted.date() <= LAST_DATE else None


def _day(d: str, m: str, y: str) -> datetime.date | None:
    try:
        return datetime.date(int(y), _MONTH_OF.get(m) or int(m), int(d))
    except ValueError:
        return None
