"""What days a text or a bare number in a date's place can mean."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator

from xlsengine.workbook.layout import FIRST_DATE, LAST_DATE
from xlsengine.workbook.reading.cells import moment
from xlsengine.workbook.reading.unit_words import plain_signs

# Months by the first letters that tell them apart, in English, German and French.
_MONTHS = (
    "january jan januar jan. janvier janv janv. jänner",
    "february feb februar feb. février févr fevrier fév",
    "march mar märz mrz mars maerz",
    "april apr avril avr apr. avr.",
    "may mai",
    "june jun juni juin",
    "july jul juli juillet juil juil.",
    "august aug août aug. aout",
    "september sep sept septembre sept. sep.",
    "october oct oktober okt octobre oct. okt.",
    "november nov novembre nov.",
    "december dec dezember dez décembre déc decembre dec. dez.",
)
_MONTH_OF = {word: number for number, words in enumerate(_MONTHS, start=1) for word in words.split()}
_IN_NUMBERS = re.compile(r"(\d{1,2})\s*[./-]\s*(\d{1,2})\s*[./-]\s*(\d{4})")
_YEAR_FIRST = re.compile(r"(\d{4})\s*[./-]\s*(\d{1,2})\s*[./-]\s*(\d{1,2})|(\d{4})(\d\d)(\d\d)")
_DAY_FIRST_IN_WORDS = re.compile(r"(\d{1,2})(?:\.|st|nd|rd|th|er)?\s*([^\W\d]+\.?),?\s*(\d{4})")
_MONTH_FIRST_IN_WORDS = re.compile(r"([^\W\d]+\.?)\s*(\d{1,2})(?:st|nd|rd|th)?,?\s*(\d{4})")


def days_of(text: str) -> list[datetime.date]:
    """Return the days that a written date can mean, within the limits of dates, the likeliest first.

    >>> [str(day) for day in days_of("04.05.2026")], [str(day) for day in days_of("4. Mai 2026")]
    (['2026-05-04', '2026-04-05'], ['2026-05-04'])
    """
    days = (_day(*parts) for parts in _parts(plain_signs(text).casefold()))
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


def _parts(text: str) -> Iterator[tuple[int, int, int]]:
    if found := _YEAR_FIRST.fullmatch(text):
        year, month, day = (int(part) for part in found.groups() if part)
        yield year, month, day
    elif found := _IN_NUMBERS.fullmatch(text):
        first, second, year = (int(part) for part in found.groups())
        yield from ((year, second, first), (year, first, second))
    elif (found := _DAY_FIRST_IN_WORDS.fullmatch(text)) and found[2] in _MONTH_OF:
        yield int(found[3]), _MONTH_OF[found[2]], int(found[1])
    elif (found := _MONTH_FIRST_IN_WORDS.fullmatch(text)) and found[1] in _MONTH_OF:
        yield int(found[3]), _MONTH_OF[found[1]], int(found[2])


def _day(year: int, month: int, day: int) -> datetime.date | None:
    try:
        return datetime.date(year, month, day)
    except ValueError:
        return None
