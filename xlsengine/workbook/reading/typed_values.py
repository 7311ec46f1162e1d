"""From what stands in a cell to the value that a field takes, or the reason why it takes none. Nothing is guessed."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable
from typing import NamedTuple

from xlsengine.bench.bench_test import Value
from xlsengine.bench.declare import Field, FieldKind
from xlsengine.errors import Reason
from xlsengine.workbook.layout import FIRST_DATE, LAST_DATE, LONGEST_CELL
from xlsengine.workbook.reading.cells import ErrorValue, Found, Percent, Unstored, number_text
from xlsengine.workbook.reading.mends import choice_mend, date_mend, number_mend, would_take

LONGEST = {"prop": 60}
LONGEST_QUOTED = 80
LEAVE_BLANK = "leave the cell blank where nothing was measured"


class Refusal(NamedTuple):
    """Why a cell's content is not taken: what was found, what to do, and what was wanted where the field's own words
    are too wide."""

    reason: Reason
    found: str
    mend: str
    wanted: str = ""


def typed_value(declared: Field, content: Found) -> Value | Refusal:
    """Return the value of a cell that holds something: a number, stripped text, choice or date, or a refusal."""
    match content:
        case ErrorValue(text):
            instead = "mend the formula or type the value"
            return Refusal(Reason.ERROR_VALUE, text, instead if declared.required else f"{instead}, or clear the cell")
        case Unstored():
            mend = "open the workbook in a spreadsheet program, save it and send it again"
            return Refusal(Reason.NO_STORED_VALUE, "a formula that was never computed", mend)
    return _TAKERS[declared.kind](declared, content)


def shown(content: Found) -> str:
    """Return what stands in a cell as a person would point at it: texts in quotes, numbers as they are."""
    match content:
        case str():
            signs = "".join(sign if sign.isprintable() else " " if sign.isspace() else "\ufffd" for sign in content)
            return f'"{signs}"' if len(signs) <= LONGEST_QUOTED else f'"{signs[:LONGEST_QUOTED]}…"'
        case datetime.date() | datetime.time():
            return _when(content)
    return plain_text(content)


def plain_text(content: Found) -> str:
    """Return a cell's content as the text that it shows; dates are not among them."""
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


def _take_number(declared: Field, content: Found) -> Value | Refusal:
    if type(content) is not float:
        return _no_number(declared, content)
    if would_take(declared, content):
        return content
    if declared.kind == "whole" and math.isfinite(content) and not content.is_integer():
        below = math.floor(content)
        return Refusal(Reason.WRONG_TYPE, shown(content), f"type {below} or {below + 1}")
    return Refusal(Reason.OUT_OF_LIMITS, shown(content), "check the reading, its unit and its decimal mark")


def _no_number(declared: Field, content: Found) -> Refusal:
    match content:
        case str():
            instead = "type the value" if declared.required else LEAVE_BLANK
            mend = number_mend(declared, content, instead)
        case datetime.date() | datetime.time():
            mend = f"{_what_turned(content)}; format the cell as a number and type the reading again"
        case Percent(number):
            amount = number_text(number * 100 if declared.unit == "%" else number)
            mend = f"format the cell as a number and type {amount}"
        case _:
            mend = "type a plain number"
    return Refusal(Reason.WRONG_TYPE, shown(content), mend)


def _take_text(declared: Field, content: Found) -> Value | Refusal:
    if isinstance(content, datetime.date | datetime.time):
        mend = f"{_what_turned(content)}; format the cell as text and type it again"
        return Refusal(Reason.WRONG_TYPE, shown(content), mend)
    text = content.strip() if isinstance(content, str) else plain_text(content)
    longest = LONGEST.get(declared.name, LONGEST_CELL)
    if len(text) <= longest:
        return text
    wanted = f"text of at most {longest} characters"
    return Refusal(Reason.OUT_OF_LIMITS, f"{shown(text)}, {len(text)} characters", "shorten it", wanted)


def _take_choice(declared: Field, content: Found) -> Value | Refusal:
    text = _take_text(declared, content)
    if isinstance(text, Refusal):
        return text
    key = " ".join(str(text).casefold().split())
    for choice in declared.choices:
        if choice.casefold() == key:
            return choice
    return Refusal(Reason.NOT_A_CHOICE, shown(content), choice_mend(declared.choices, str(text)))


def _take_date(declared: Field, content: Found) -> Value | Refusal:
    match content:
        case datetime.datetime():
            day = content.date()
        case datetime.date():
            day = content
        case str():
            try:
                day = datetime.datetime.strptime(content.strip(), "%Y-%m-%d").date()
            except ValueError:
                return Refusal(Reason.WRONG_TYPE, shown(content), date_mend(content))
        case _:
            return Refusal(Reason.WRONG_TYPE, shown(content), "format the cell as a date and type the day again")
    if FIRST_DATE <= day <= LAST_DATE:
        return day
    wanted = f"a date from {FIRST_DATE} to {LAST_DATE}"
    return Refusal(Reason.OUT_OF_LIMITS, shown(content), "check the year", wanted)


_TAKERS: dict[FieldKind, Callable[[Field, Found], Value | Refusal]] = {
    "number": _take_number,
    "whole": _take_number,
    "text": _take_text,
    "choice": _take_choice,
    "date": _take_date,
}
