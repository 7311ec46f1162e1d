"""The operations an expression may use, each stated once for every reading of the tree.

One row holds the numpy function, the spreadsheet template, the method text, the binding strength and what kind of value
comes out. A blank is NaN among numbers and None among texts, while a text that is
there and empty is ""; an operation is *strict* when a blank argument makes its result blank, which the live formula
obtains with a guard around it.
"""

import math
import operator
from collections.abc import Callable
from dataclasses import dataclass
from decimal import ROUND_DOWN, ROUND_HALF_UP, ROUND_UP
from functools import partial
from typing import Any, Literal

import numpy as np

from xlsengine.text_operations import LONGEST_NAME, fixed_text, in_short, in_thousands, joined, rounded, same, trimmed

Kind = Literal["number", "text", "logical"]
SAME_DIGITS = 3e-15  # spreadsheets compare the first 15 digits
ATOM = 100
_NOTHING: Any = None
POWER = 60


@dataclass(frozen=True)
class Operation:
    """How one operation is computed and written.

    `excel` and `words` are templates with ``{0}``, ``{1}``; `binding` is the strength with which an infix template
    holds its arguments, and a `phrase` is bracketed in words wherever it is a part of more. `lazy` names
    the arguments that get a guard of their own because the operation is not strict in them.
    """

    name: str
    numpy: Callable[..., Any]
    excel: str
    words: str
    binding: int = ATOM
    phrase: bool = False
    kind: Kind = "number"
    fails: bool = False
    lazy: tuple[int, ...] = ()


def _propagating(test: Callable[[Any, Any], Any]) -> Callable[[Any, Any], Any]:
    """Make a test pass a blank on: NaN > 1 is neither true nor false."""

    def propagating(left: Any, right: Any) -> Any:
        if isinstance(left, float) and isinstance(right, float):
            return math.nan if left != left or right != right else 1.0 if test(left, right) else 0.0
        return test(left, right) + (left - left) + (right - right)  # a number less itself is 0, a blank stays blank

    return propagating


def _compared(compare: Callable[[Any, Any], Any]) -> Callable[[Any, Any], Any]:
    """Compare as spreadsheets do, which take 0.1 * 3 and 0.3 for equal."""

    def to_15_digits(left: Any, right: Any) -> Any:
        apart = left - right
        return compare(apart * (abs(apart) > SAME_DIGITS * abs(right)), 0.0)

    return _propagating(to_15_digits)


def _quotient(left: Any, right: Any) -> Any:
    """Divide; blank by zero."""
    return left * math.nan if isinstance(right, float) and right == 0.0 else left / right


def _power(base: Any, exponent: Any) -> Any:
    """Raise to a power; of a negative number take the real cube root, fifth root and so on, as spreadsheets do."""
    raised = (np.float64(base) if isinstance(base, float) else base) ** exponent
    if isinstance(exponent, float) and not _is_odd(1.0 / exponent if exponent else math.inf):
        return raised
    odd = np.vectorize(_is_odd, otypes=[bool])(np.divide(1.0, exponent))
    return np.where(odd & np.less(base, 0), -np.power(np.abs(base), exponent), raised)


def _is_odd(root: float) -> bool:
    """Tell whether a number is odd and whole, but for a rounding error."""
    return math.isfinite(root) and abs(root - round(root)) < 1e-9 and round(root) % 2 == 1


def _elementwise(function: Callable[..., Any], arguments: int, number: bool = False) -> Callable[..., Any]:
    universal: Callable[..., Any] = np.frompyfunc(function, arguments, 1)
    if not number:
        return universal

    def numbers(*values: Any) -> Any:
        found = universal(*values)
        return found.astype(float) if isinstance(found, np.ndarray) else float(found)

    return numbers


def _quantile(exceeded: Callable[[Any, Any, Any], Any]) -> Callable[[Any, Any], Any]:
    """Return what is exceeded with a probability; decimals of the degrees of freedom are dropped.

    What lies a rounding error below a whole number counts as that, since programs add up in another order.
    """

    def quantile(beyond: Any, freedom: Any) -> Any:
        from scipy import special  # here, because loading it takes twice as long as numpy

        whole = np.floor(np.add(freedom, 1e-9))
        sensible = (np.greater(beyond, 0)) & (np.less_equal(beyond, 1)) & (np.greater_equal(whole, 1))
        return np.where(sensible, exceeded(special, whole, beyond), np.nan)

    return quantile


def is_text(value: Any) -> bool:
    """Tell whether a value of the numpy reading is text: a str, None or an array of those."""
    return isinstance(value, str) or value is None or getattr(value, "dtype", None) == np.dtype(object)


def filled(texts: Any) -> Any:
    """Make every blank among texts an empty text, which is what a cell or a branch of a formula gives on."""
    if isinstance(texts, str) or texts is None:
        return texts or ""
    absent = np.equal(texts, _NOTHING)
    return np.where(absent, "", texts) if absent.any() else texts


def finite(result: Any) -> Any:
    """Return numbers, one or an array of them, with NaN in place of what is infinite."""
    if isinstance(result, float):
        return result if math.isfinite(result) else math.nan
    return result + (result - result)  # less itself, what is infinite is NaN


def choose_where(condition: Any, yes: Any, no: Any) -> Any:
    """Take `yes` where `condition` is true, `no` where false, blank where the condition is blank."""
    blank = None if is_text(yes) or is_text(no) else math.nan
    if isinstance(condition, float):
        return blank if condition != condition else yes if condition else no
    if blank is None:
        yes, no = (np.asarray(part, dtype=object) for part in (yes, no))
        return np.where(np.isnan(condition), blank, np.where(condition != 0, yes, no))
    return np.where(condition != 0, yes, no) + (condition - condition)


def _first_of(first: Any, second: Any) -> Any:
    if is_text(first):
        return choose_where(_present(first), first, second)
    if isinstance(first, float):
        return second if first != first else first
    return np.where(np.isnan(first), second, first)


def _present(value: Any) -> Any:
    if isinstance(value, float):
        return 0.0 if value != value else 1.0
    if value is None or isinstance(value, str):
        return 1.0 if value else 0.0
    if is_text(value):
        return value.astype(bool).astype(float)
    return (value == value) * 1.0


def _pick(index: Any, *options: Any) -> Any:
    text = is_text(options[0])
    result: Any = None if text else np.nan
    for number, option in enumerate(options, start=1):
        option = np.asarray(option, dtype=object) if text else option
        result = np.where(np.trunc(index) == number, option, result)
    return result


def _length(text: str | None) -> float:
    return math.nan if text is None else float(len(text))


def _odd(number: Any) -> Any:
    return _equal(np.fmod(np.trunc(np.abs(number)), 2.0), 1.0)


def _link(target: str | None, label: str | None) -> str | None:
    return None if target is None else label or ""


def _logical(combine: Callable[[Any, Any], Any]) -> Callable[[Any, Any], Any]:
    return _propagating(lambda a, b: combine(a != 0, b != 0))


_equal = _propagating(operator.eq)


def _infix(name: str, numpy: Callable[..., Any], sign: str, words: str, binding: int, **more: Any) -> Operation:
    return Operation(name, numpy, "{0}" + sign + "{1}", "{0} " + words + " {1}", binding, **more)


def _compare(name: str, compare: Callable[[Any, Any], Any], sign: str, words: str) -> Operation:
    return _infix(name, _compared(compare), sign, words, 20, kind="logical")


def _round(name: str, function: str, how: str) -> Operation:
    number = _elementwise(partial(rounded, how=how), 2, number=True)
    words = name.replace("round", "{0} rounded") + " to {1} decimals"
    return Operation(name, number, function + "(ROUND({0},9),{1})", words, phrase=True)


def _text(name: str, function: Callable[..., Any], arguments: int, excel: str, words: str) -> Operation:
    return Operation(name, _elementwise(function, arguments), excel, words, phrase=True, kind="text")


_ROWS = (
    _infix("add", operator.add, "+", "+", 40),
    _infix("subtract", operator.sub, "-", "−", 40),
    _infix("multiply", operator.mul, "*", "·", 50),
    _infix("divide", _quotient, "/", "/", 50, fails=True),
    Operation("power", _power, "({0})^({1})", "({0})^{1}", POWER, fails=True),
    Operation("negate", operator.neg, "(0-({0}))", "(−({0}))"),  # IronCalc reads 7/(-(2*3)) as 7/-2*3
    Operation("sqrt", np.sqrt, "SQRT({0})", "√({0})", fails=True),
    Operation("exp", np.exp, "EXP({0})", "exp({0})", fails=True),
    Operation("ln", np.log, "LN({0})", "ln({0})", fails=True),
    Operation("absolute", operator.abs, "ABS({0})", "|{0}|"),
    Operation("lesser", np.minimum, "MIN({0},{1})", "the lesser of {0} and {1}", phrase=True),
    Operation("greater", np.maximum, "MAX({0},{1})", "the greater of {0} and {1}", phrase=True),
    _round("round", "ROUND", ROUND_HALF_UP),
    _round("round down", "ROUNDDOWN", ROUND_DOWN),
    _round("round up", "ROUNDUP", ROUND_UP),
    # rounded first, so that 4.35 * 100 is 435 in every program
    Operation("whole part", lambda a: np.floor(np.round(a, 9)), "INT(ROUND({0},9))", "whole part of {0}", phrase=True),
    Operation("odd", _odd, "ISODD({0})", "whole part of {0} is odd", 20, kind="logical"),
    _compare("less", operator.lt, "<", "<"),
    _compare("at most", operator.le, "<=", "≤"),
    _compare("more", operator.gt, ">", ">"),
    _compare("at least", operator.ge, ">=", "≥"),
    _compare("equal", operator.eq, "=", "="),
    _compare("unequal", operator.ne, "<>", "≠"),
    Operation("and", _logical(operator.and_), "AND({0},{1})", "{0} and {1}", 10, kind="logical"),
    Operation("or", _logical(operator.or_), "OR({0},{1})", "{0} or {1}", 9, kind="logical"),
    Operation("not", lambda a: _equal(a, 0.0), "NOT({0})", "not ({0})", kind="logical"),
    _infix("same text", _elementwise(same, 2, number=True), "=", "is", 20, kind="logical"),
    _infix("join", _elementwise(joined, 2), "&", "followed by", 30, kind="text"),
    _text("fixed", fixed_text, 2, "FIXED(ROUND(ROUND({0},9),{1})+0,{1},TRUE)", "{0} with {1} decimals"),
    _text(
        "in thousands",
        in_thousands,
        1,
        "IF(ROUND(ROUND({0},9),0)<1000,FIXED(ROUND(ROUND({0},9),0)+0,0,TRUE),"
        'FIXED(INT(ROUND(ROUND({0},9),0)/1000),0,TRUE)&","&RIGHT(FIXED(ROUND(ROUND({0},9),0),0,TRUE),3))',
        "{0} with a mark between thousands",
    ),
    _text("lower", lambda t: None if t is None else t.lower(), 1, "LOWER({0})", "{0} in small letters"),
    _text(
        "in short",
        in_short,
        1,
        f'IF(LEN({{0}})>{LONGEST_NAME},LEFT({{0}},8)&"…"&RIGHT({{0}},11),{{0}}&"")',
        "{0} without its middle if long",
    ),
    _text("trim", trimmed, 1, "TRIM({0})", "{0} without spare spaces"),
    Operation("length", _elementwise(_length, 1, number=True), "LEN({0})", "length of {0}", phrase=True),
    Operation("cell text", filled, "{0}", "{0}", kind="text", lazy=(0,)),
    Operation("link", _elementwise(_link, 2), "HYPERLINK({0},{1})", "{1} (linked to {0})", kind="text", lazy=(1,)),
    Operation("present", _present, "COUNT({0})=1", "{0} was read", 20, kind="logical", lazy=(0,)),
    Operation("written", _present, '{0}<>""', "{0} was filled in", 20, kind="logical", lazy=(0,)),
    Operation("if", choose_where, "IF({0},{1},{2})", "{1} if {0}, else {2}", phrase=True, lazy=(1, 2)),
    Operation("first of", _first_of, "", "{0}, or else {1}", phrase=True, lazy=(0, 1)),
    Operation("choose", _pick, "CHOOSE", "the choice by {0}", phrase=True, fails=True, lazy=tuple(range(1, 40))),
    Operation(  # what Student's t exceeds either way
        "t quantile",
        _quantile(lambda special, freedom, beyond: np.abs(special.stdtrit(freedom, np.divide(beyond, 2)))),
        "TINV({0},INT({1}+1E-9))",
        "t({0}; {1})",
        fails=True,
    ),
    Operation(
        "chi-square quantile",
        _quantile(lambda special, freedom, beyond: special.chdtri(freedom, beyond)),
        "CHIINV({0},INT({1}+1E-9))",
        "χ²({0}; {1})",
        fails=True,
    ),
)

OPERATIONS: dict[str, Operation] = {row.name: row for row in _ROWS}
STAY_FINITE = frozenset(("if", "first of", "greater", "lesser", "absolute")) | {
    row.name for row in _ROWS if row.kind == "logical"
}
"""Operations that give nothing infinite, since nothing infinite goes in."""
