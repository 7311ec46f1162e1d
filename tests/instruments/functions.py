"""The functions a formula may use: those that Excel 2010 and later and LibreOffice compute alike.

Argument counts: OASIS OpenDocument 1.3 Part 4 (OpenFormula), section 6, narrowed to what Excel 2010 takes
(from memory). Which functions are safe: observed in LibreOffice 7.4.
"""

from typing import NamedTuple

_MANY = 255

# Name, least and most arguments. These take whole ranges as an argument.
_ON_RANGES = """
SUM 1 255  AVERAGE 1 255  COUNT 1 255  COUNTA 1 255  COUNTBLANK 1 1  MIN 1 255  MAX 1 255  MEDIAN 1 255
STDEV 1 255  VAR 1 255  SUMSQ 1 255  DEVSQ 1 255  PRODUCT 1 255  SUBTOTAL 2 255  SUMPRODUCT 1 255  MMULT 2 2
COUNTIF 2 2  SUMIF 2 3  AVERAGEIF 2 3  COUNTIFS 2 254  SUMIFS 3 255  AVERAGEIFS 3 255
LARGE 2 2  SMALL 2 2  PERCENTILE 2 2  QUARTILE 2 2  RANK 2 3
INDEX 2 4  MATCH 2 3  LOOKUP 2 3  VLOOKUP 3 4  ROW 0 1  COLUMN 0 1  ROWS 1 1  COLUMNS 1 1
SLOPE 2 2  INTERCEPT 2 2  RSQ 2 2  STEYX 2 2  CORREL 2 2  FORECAST 3 3  TREND 1 4  LINEST 1 4
AND 1 255  OR 1 255
"""
_ON_VALUES = """
IF 2 3  IFERROR 2 2  NOT 1 1  TRUE 0 0  FALSE 0 0  CHOOSE 2 255  NA 0 0  N 1 1  T 1 1  VALUE 1 1
ISNUMBER 1 1  ISODD 1 1  ISBLANK 1 1  ISTEXT 1 1  ISERROR 1 1  ISERR 1 1  ISNA 1 1  ISLOGICAL 1 1
ROUND 2 2  ROUNDUP 2 2  ROUNDDOWN 2 2  INT 1 1  TRUNC 1 2  MOD 2 2  ABS 1 1  SIGN 1 1  SQRT 1 1  EXP 1 1
LN 1 1  LOG 1 2  LOG10 1 1  PI 0 0  POWER 2 2  SIN 1 1  COS 1 1  TAN 1 1  ATAN 1 1  ATAN2 2 2
RADIANS 1 1  DEGREES 1 1  TINV 2 2  CHIINV 2 2  NORMSINV 1 1
LEN 1 1  MID 3 3  LEFT 1 2  RIGHT 1 2  TRIM 1 1  LOWER 1 1  UPPER 1 1  SUBSTITUTE 3 4  REPT 2 2
FIND 2 3  SEARCH 2 3  EXACT 2 2  CONCATENATE 1 255  FIXED 1 3  CHAR 1 1  HYPERLINK 1 2
"""
# These exist since Excel 2010 or 2013 and are stored with this prefix.
PREFIX = "_xlfn."
_PREFIXED_ON_RANGES = "AGGREGATE 3 253  STDEV.S 1 254  PERCENTILE.INC 2 2"
_PREFIXED_ON_VALUES = "T.INV.2T 2 2  IFNA 2 2  NORM.S.INV 1 1"

_VOLATILE = "OFFSET INDIRECT NOW TODAY RAND RANDBETWEEN CELL INFO"
_TOO_NEW = """
MAXIFS MINIFS IFS SWITCH TEXTJOIN CONCAT XLOOKUP XMATCH LET LAMBDA FILTER SORT SORTBY UNIQUE SEQUENCE RANDARRAY
TEXTSPLIT TEXTBEFORE TEXTAFTER VSTACK HSTACK TOCOL TOROW TAKE DROP MAP REDUCE SCAN BYROW BYCOL
"""

# Inside these, operators work on whole ranges without an array formula. LibreOffice 7.4 does not grant it
# to INDEX; Excel before 2019 takes it away again inside IF and its like (from memory).
ARRAYS = frozenset({"SUMPRODUCT", "MMULT"})
ONE_VALUE = frozenset({"IF", "IFERROR", f"{PREFIX}IFNA", "CHOOSE"})


class Function(NamedTuple):
    """How a function may be called."""

    least: int
    most: int
    takes_ranges: bool


def _table(text: str, prefix: str, takes_ranges: bool) -> dict[str, Function]:
    words = text.split()
    triples = zip(words[::3], words[1::3], words[2::3], strict=True)
    return {prefix + name: Function(int(least), int(most), takes_ranges) for name, least, most in triples}


FUNCTIONS = {
    **_table(_ON_RANGES, "", True),
    **_table(_ON_VALUES, "", False),
    **_table(_PREFIXED_ON_RANGES, PREFIX, True),
    **_table(_PREFIXED_ON_VALUES, PREFIX, False),
}
UNKNOWN = Function(0, _MANY, True)


def refusal(name: str) -> str | None:
    """Return why a function may not be used, or None if it may."""
    bare = name.removeprefix(PREFIX)
    if name in FUNCTIONS:
        return None
    if PREFIX + name in FUNCTIONS:
        return f"{name} must be stored as {PREFIX}{name}"
    if bare in _VOLATILE.split():
        return f"{bare} is volatile"
    if bare in _TOO_NEW.split():
        return f"{bare} needs Excel 2019 or later"
    return f"{name} is not in the list of allowed functions"
