"""From what stands in a cell to the value that a field takes, or the reason why it takes none. Nothing is guessed."""

import datetime
import difflib
import math
import re
from collections.abc import Iterator
from typing import NamedTuple

from xlsengine.bench.declaring.declare import Field
from xlsengine.bench.inputs.bench_test import LONGEST_PROPELLER, LONGEST_TEXT, PROPELLER, Value, plain_lines
from xlsengine.errors import Reason
from xlsengine.workbook.layout import FIRST_DATE, LAST_DATE
from xlsengine.workbook.reading.cells import ErrorValue, Found, Percent, Unstored, number_text
from xlsengine.workbook.reading.trade_words import choice_meant, converted, is_unit, plain_signs
from xlsengine.workbook.reading.typed_texts import (
    BLANK_OR_ZERO,
    LONGEST_READ,
    NOT_MEASURED,
    day_of_number,
    days_of,
    plain_numbers,
    readings_of,
    would_take,
)

_LONGEST_COMPARED, _LONGEST_QUOTED, _DIGITS = 100, 80, 3
_LIKELY_UNITS = {
    "hPa": {"inHg": "inches of mercury", "kPa": "kilopascals", "Pa": "pascals"},
    "g": {"kg": "kilograms"},
    "°C": {"°F": "°F"},
    "m": {"ft": "feet"},
    "mAh": {"Ah": "ampere-hours"},
    "mΩ": {"Ω": "ohms"},
    "A": {"mA": "milliamps"},
}
"""In which units a bare number was likely read that no field in the first unit can take, by the words for them."""
_IF_ELECTRICAL = "type it divided by half the number of magnets if this is electrical speed (eRPM), else "
_LIKELY_PAIRS = (5, 7, 9, 11)
"""Pairs of magnets that motors have (common practice, no source); even counts of pairs pass for poles."""
_LIKELY_DAYS = range(2000, 2051)
_LETTERS_FOR_DIGITS = str.maketrans({"O": "0", "o": "0", "l": "1", "I": "1"})
_RANGE = re.compile(r"([\d.,]+)\s*(?:-|to|bis|à|\.\.\.?|…|±|\+/?-|/)\s*([\d.,]+)\s*\S*")
_NOTED = re.compile(r"([-+]?\d[\d.,]*)\s+([^\W\d].*)")
_REMARKED = re.compile(r"(.*\d.*?)\s*[(\[].*[)\]]?")


class Refusal(NamedTuple):
    """Why a cell's content is not taken: what was found, what to do, and what was wanted where the field's own words
    are too wide."""

    reason: Reason
    found: str
    fix: str
    wanted: str = ""


class ReadAs(NamedTuple):
    """A value that its cell holds in other words; `news` is whether its sender is to be told, which `changed` come first.

    A number that was typed with its unit or another decimal mark is no news.
    """

    value: Value
    words: str
    news: bool = True
    changed: bool = False


def typed_value(declared: Field, content: Found, given: str | None = None) -> Value | ReadAs | Refusal:
    """Return the value of a cell that holds something, as it is or in other words, or a refusal.

    `given` is the unit that the cell's header states, where it is not the field's own.
    """
    match content:
        case ErrorValue(text):
            instead = "fix the formula or type the value"
            return Refusal(Reason.ERROR_VALUE, text, instead if declared.required else f"{instead}, or clear the cell")
        case Unstored():
            fix = "open the workbook in a spreadsheet program, save it and send it again"
            return Refusal(Reason.NO_STORED_VALUE, "a formula that was never computed", fix)
        case str() if declared.kind != "text" and plain_signs(content).casefold() in NOT_MEASURED:
            if not declared.required:
                return ReadAs(None, "blank")
            found = f"{shown(content)}, which says that nothing was measured"
            return Refusal(Reason.REQUIRED_BLANK, found, "type the value")
    match declared.kind:
        case "text":
            return _take_text(declared, content)
        case "choice":
            return _take_choice(declared, content)
        case "date":
            return _take_date(content)
    return _take_number(declared, content, given) if type(content) is float else _no_number(declared, content, given)


def shown(content: Found) -> str:
    """Return what stands in a cell as a person would point at it: texts in quotes, numbers as they are."""
    match content:
        case str():
            signs = (
                sign if sign.isprintable() else " " if sign.isspace() else "\ufffd"
                for sign in content[:_LONGEST_QUOTED]
            )
            return f'"{"".join(signs)}{"…" * (len(content) > _LONGEST_QUOTED)}"'
        case datetime.date() | datetime.time():
            return _when(content)
    return plain_text(content)


def plain_text(content: Found) -> str:
    """Return a cell's content as the text that it shows."""
    match content:
        case bool():
            return str(content).upper()
        case float():
            return number_text(content)
        case ErrorValue() | Percent():
            return content.text
    return str(content or "")


def _when(content: datetime.date | datetime.time) -> str:
    if isinstance(content, datetime.time):
        return f"the time {content.isoformat()}"
    timed = isinstance(content, datetime.datetime) and content.time() != datetime.time()
    return f"the date {str(content) if timed else content.strftime('%Y-%m-%d')}"


def _what_turned(content: datetime.date | datetime.time) -> str:
    """Say what was probably typed: month-day or day.month, which spreadsheet programs take for a day of this year."""
    if isinstance(content, datetime.time):
        return f"a spreadsheet turned something like {content.hour}:{content.minute:02d} into a time"
    if content.year < FIRST_DATE.year:
        return "the cell is formatted as a date, so that it shows a number as a day long ago"
    month, day = content.month, content.day
    return f"a spreadsheet turned something like {month}-{day} or {day}.{month} into a date"


def _with_unit(number: float, declared: Field) -> str:
    return f"{number_text(number)} {declared.unit}".rstrip()


def _read_number(declared: Field, text: str, value: float) -> ReadAs:
    """Tell of a number that stands in a text, whole where its digits are those typed, else with three digits or more."""
    numbers, sure = plain_numbers(text)
    if value in numbers:
        return ReadAs(value, _with_unit(value, declared), news=not sure)
    before = len(f"{abs(value):.0f}".lstrip("0"))
    return ReadAs(value, _with_unit(round(value, max(0, _DIGITS - before)), declared), changed=True)


def _take_number(declared: Field, content: float, given: str | None) -> float | Refusal:
    number = content if given is None else converted(content, given, declared)
    if would_take(declared, number):
        return number
    if declared.kind == "whole" and math.isfinite(number) and number % declared.multiple:
        below = math.floor(number / declared.multiple) * declared.multiple
        either = f"{below} or {below + declared.multiple}"
        is_pairs = declared.multiple == 2 and number in _LIKELY_PAIRS
        fix = f"type {2 * number:.0f} if these are pairs, else {either}" if is_pairs else f"type {either}"
        return Refusal(Reason.WRONG_TYPE, shown(content), fix)
    found = shown(content) if given is None else f"{shown(content)} {given}"
    if number < 0 and would_take(declared, -number):
        fix = "where the instrument counts the other way, type it without the minus"
    else:
        fix = ("" if given else _by_likely_unit(declared, content)) + _outside(content)
    return Refusal(Reason.OUT_OF_LIMITS, found, fix)


def _by_likely_unit(declared: Field, number: float) -> str:
    """Say what to type where a number beyond its limits is within them in another unit that people read."""
    for unit, words in _LIKELY_UNITS.get(declared.unit, {}).items():
        meant = float(f"{converted(number, unit, declared):.{_DIGITS}g}")
        if would_take(declared, meant):
            return f"type {number_text(meant)} if this is in {words}, else "
    return _IF_ELECTRICAL if declared.unit == "rpm" and number > 0 else ""


def _outside(number: float) -> str:
    """Say what to look at in a number beyond its limits; the count of a day is a date that lost its format."""
    day = day_of_number(number) if math.isfinite(number) and number < 1e6 else None
    if day is None or day.year not in _LIKELY_DAYS:
        return "check the reading, its unit and its decimal mark"
    return f"{number_text(number)} is how a spreadsheet counts {day}; {_what_turned(day)}; type the reading again"


def _no_number(declared: Field, content: Found, given: str | None) -> ReadAs | Refusal:
    match content:
        case str():
            readings = readings_of(declared, content, given)
            if len(readings) == 1:
                return _read_number(declared, content, readings[0])
            fix = _number_fix(declared, content)
        case Percent(number):
            meant = float(f"{number * 100:.15g}") if declared.unit == "%" else number
            if declared.unit in ("%", "") and would_take(declared, meant):
                return ReadAs(meant, _with_unit(meant, declared))
            fix = f"format the cell as a number and type {number_text(meant)}"
        case datetime.date() | datetime.time():
            fix = f"{_what_turned(content)}; format the cell as a number and type the reading again"
        case _:
            fix = "type a plain number"
    return Refusal(Reason.WRONG_TYPE, shown(content), fix)


def _number_fix(declared: Field, text: str) -> str:
    """Say what to type for a text in a number's place."""
    plain = plain_signs(text)
    if len(plain) > LONGEST_READ:
        return "type a plain number"
    instead = "type the value" if declared.required else "leave the cell blank where nothing was measured"
    if plain in ("x", "X", "."):
        return instead
    if plain.casefold() in BLANK_OR_ZERO:
        return instead + " and type 0 for a measured zero" * would_take(declared, 0.0)
    if meant := _likely_numbers(declared, plain):
        return f"type {meant}"
    if _RANGE.fullmatch(plain):
        return "a cell holds one number; type one, and the other as a row of its own or under Note"
    noted = _NOTED.fullmatch(plain)
    if noted and not is_unit(noted[2]) and (alone := _likely_numbers(declared, noted[1])):
        return f"type {alone} alone; words go under Note"
    return "type a plain number"


def _likely_numbers(declared: Field, text: str) -> str:
    """Return the numbers that a text may have meant and that its cell would take, the likeliest first."""
    numbers = (number for candidate in _candidates(text) for number in readings_of(declared, candidate))
    return " or ".join(dict.fromkeys(map(number_text, numbers)))


def _candidates(text: str) -> Iterator[str]:
    """Yield a text as it is, and fixed one way after another: marks doubled, spaced or trailing, letters for digits."""
    yield text
    if remarked := _REMARKED.fullmatch(text):
        yield remarked[1]
    single = re.sub(r"([.,])\1+", r"\1", text)
    digits = single.translate(_LETTERS_FOR_DIGITS) if re.search(r"\d", single) else single
    yield re.sub(r"(?<=\d) (?=[.,])|(?<=[.,]) (?=\d)|[.,](?=\s*$|\s*[^\d\s]+$)", "", digits)


def _take_text(declared: Field, content: Found) -> str | Refusal:
    if isinstance(content, datetime.date | datetime.time):
        fix = f"{_what_turned(content)}; format the cell as text and type it again"
        return Refusal(Reason.WRONG_TYPE, shown(content), fix)
    text = plain_lines(content).strip() if isinstance(content, str) else plain_text(content)
    longest = LONGEST_PROPELLER if declared.name == PROPELLER else LONGEST_TEXT
    if len(text) <= longest:
        return text
    wanted = f"text of at most {longest} characters"
    return Refusal(Reason.OUT_OF_LIMITS, f"{shown(text)}, {len(text)} characters", "shorten it", wanted)


def _take_choice(declared: Field, content: Found) -> str | ReadAs | Refusal:
    text = _take_text(declared, content)
    if isinstance(text, Refusal):
        return text
    by_key, key = {choice.casefold(): choice for choice in declared.choices}, " ".join(text.casefold().split())
    if key in by_key:
        return by_key[key]
    if meant := choice_meant(key, declared.choices):
        return ReadAs(meant, f"“{meant}”")
    plain = text.casefold()[:_LONGEST_COMPARED]
    close = [choice for choice in by_key if plain and choice.startswith(plain)]
    close = close if len(close) == 1 else difflib.get_close_matches(plain, by_key, 1)
    fix = f"choose “{by_key[close[0]]}”" if close else "choose from the list in the cell"
    return Refusal(Reason.NOT_A_CHOICE, shown(content), fix)


def _take_date(content: Found) -> Value | ReadAs | Refusal:
    fix = "format the cell as a date and type the day again"
    match content:
        case datetime.date():
            day = content.date() if isinstance(content, datetime.datetime) else content
            if FIRST_DATE <= day <= LAST_DATE:
                return day
            wanted = f"a date from {FIRST_DATE} to {LAST_DATE}"
            return Refusal(Reason.OUT_OF_LIMITS, shown(content), "check the year", wanted)
        case str():
            days = days_of(content)
            if len(days) == 1:
                return days[0] if content.strip() == str(days[0]) else ReadAs(days[0], str(days[0]))
            fix = f"type {' or '.join(map(str, days))}" if days else "type the date as year-month-day"
        case float() if math.isfinite(content) and (counted := day_of_number(content)):
            return ReadAs(counted, str(counted))
    return Refusal(Reason.WRONG_TYPE, shown(content), fix)
