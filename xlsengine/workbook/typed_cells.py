"""What a typed cell takes: limits, choices and help, and in results the marks of what formulas cannot take."""

from typing import Any

from xlsengine.bench.advice.limits import ASKED, BEYOND
from xlsengine.bench.declaring.declare import Field
from xlsengine.bench.inputs.craft import CRAFT, craft_propeller
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Sheet
from xlsengine.workbook.formats import BAD_FILL, RED
from xlsengine.workbook.layout import FIRST_DATE, LAST_DATE, cell_address

_OTHERS = "Other words may be understood; checking the workbook shows it."
_PLAIN = "No unit, no other words: formulas take it as it is."
_ONE_TESTED = "Wanted: one of the propellers that were tested, as named on Readings."
_LONGEST_LIST = 255  # letters that Excel takes
_LOOK: dict[str, Any] = {"bg_color": BAD_FILL, "font_color": RED, "bold": True}


def validate(sheet: Sheet, first: int, last: int, column: int, declared: Field, told_beside: bool = False) -> None:
    """Put the field's limits or choices and its help on cells; raises ValueError where XlsxWriter refuses them.

    They warn and do not forbid: the reader understands more than they do, such as "38,2 A". In results, where nobody but
    formulas reads it, a cell that answers go by takes nothing else. What is `told_beside` the cell, its label and help, is
    not put over it once more.
    """
    live = sheet.book.scope is not None
    of_tested = live and declared.name == craft_propeller.name
    limits = _tested(sheet.scope) if of_tested else _rule(declared)
    if told_beside and limits["validate"] == "any":
        return
    forbids = live and declared.name in ASKED and declared.kind != "text"
    rule = {**limits, "ignore_blank": True, "error_type": "stop" if forbids else "warning"}
    if not told_beside:
        rule["error_title"] = rule["input_title"] = declared.label[:32]
        rule["input_message"] = f"{declared.meaning} Wanted: {declared.wanted}."[:255]
    told = f"Wanted: {declared.wanted}. {_PLAIN if live else _OTHERS}"
    rule["error_message"] = _ONE_TESTED if of_tested else told[:255]
    if sheet.worksheet.data_validation(first, column, last, column, rule) != 0:
        raise ValueError(f"validation of {declared.name} was refused")


def _tested(scope: Scope) -> dict[str, Any]:
    """Return the propellers that were tested as choices, if a drop-down can hold them."""
    names = dict.fromkeys(name for name in scope.column(READINGS.name, "prop").tolist() if name)
    plain = all(name[0].isalnum() and not {*name} & {*',"'} for name in names)  # as a list stands in a formula
    fits = plain and 0 < len(",".join(names)) <= _LONGEST_LIST
    return {"validate": "list", "source": list(names)} if fits else {"validate": "any"}


def _rule(declared: Field) -> dict[str, Any]:
    match declared.kind:
        case "choice":
            return {"validate": "list", "source": list(declared.choices)}
        case "text":
            return {"validate": "any"}
        case "date":
            return {"validate": "date", "criteria": "between", "minimum": FIRST_DATE, "maximum": LAST_DATE}
    kind = "integer" if declared.kind == "whole" else "decimal"
    if declared.low is None or declared.high is None:
        return {"validate": "any"}
    limits = [int(limit) if kind == "integer" else limit for limit in (declared.low, declared.high)]
    return {"validate": kind, "criteria": "between", "minimum": limits[0], "maximum": limits[1]}


def shade_beyond(sheet: Sheet, row: int, column: int, declared: Field) -> None:
    """Shade, in results, what is pasted into the cell of a number on Craft and is none within its limits."""
    if sheet.book.scope is None or declared.name not in CRAFT.fields or declared.is_text:
        return
    cell = cell_address(row, column, fixed=True)
    beyond = f'AND({cell}<>"",OR(ISTEXT({cell}),{cell}<{declared.low},{cell}>{declared.high}))'
    sheet.shade((row, column, row, column), _LOOK, beyond)


def shade_words_beyond(sheet: Sheet, row: int) -> None:
    """Shade the words in the first cell of a row where they say so."""
    sheet.shade((row, 0, row, 0), _LOOK, f'ISNUMBER(SEARCH("{BEYOND}",{cell_address(row, 0, fixed=True)}))')
