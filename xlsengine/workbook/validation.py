"""Limits, choices and help on typed cells, as spreadsheet programs show them."""

from typing import Any

from xlsengine.bench.declaring.declare import Field
from xlsengine.workbook.book import Sheet
from xlsengine.workbook.layout import FIRST_DATE, LAST_DATE


def validate(sheet: Sheet, first: int, last: int, column: int, declared: Field) -> None:
    """Put the field's limits or choices and its help on cells; raises ValueError where XlsxWriter refuses them.

    They warn and do not forbid: the reader understands more than they do, such as "38,2 A".
    """
    rule = {**_rule(declared), "ignore_blank": True, "error_title": declared.label[:32], "error_type": "warning"}
    rule["input_title"] = declared.label[:32]
    rule["input_message"] = f"{declared.meaning} Wanted: {declared.wanted}."[:255]
    rule["error_message"] = (
        f"Wanted: {declared.wanted}. Other words may be understood; checking the workbook shows it."[:255]
    )
    if sheet.worksheet.data_validation(first, column, last, column, rule) != 0:
        raise ValueError(f"validation of {declared.name} was refused")


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
