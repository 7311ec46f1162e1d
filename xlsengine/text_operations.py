"""What operations do with texts, and with numbers as texts; a blank text is None."""

from decimal import ROUND_HALF_UP, Decimal
from functools import cache

_HAIR = Decimal("1e-9")
LONGEST_NAME = 20
"""Letters of a name that stands whole in a column of names."""


def joined(left: str | None, right: str | None) -> str | None:
    """Put two texts together; None where one is blank."""
    return None if left is None or right is None else left + right


def same(left: str | None, right: str | None) -> float:
    """Return 1 where two texts are the same but for capitals, NaN where one is blank."""
    if left is None or right is None:
        return float("nan")
    return float(left.lower() == right.lower())


def fixed_text(value: float, decimals: float) -> str | None:
    """Write a number with so many decimals, halves away from zero, as FIXED does; None when `value` is NaN.

    >>> fixed_text(2.345, 2), fixed_text(-0.04, 1), fixed_text(0.5, 0)
    ('2.35', '0.0', '1')
    """
    if value != value:
        return None
    rounded = _near(value).quantize(_step(decimals), ROUND_HALF_UP)
    return f"{rounded + 0:f}" if rounded else f"{abs(rounded):f}"


def _near(value: float) -> Decimal:
    # 34.5 − 27.85 is a hair below 6.65: programs differ on such ties unless the hair is rounded away first
    return Decimal(f"{float(value):.15g}").quantize(_HAIR, ROUND_HALF_UP)


def rounded(value: float, decimals: float, how: str = ROUND_HALF_UP) -> float:
    """Round in the way that is named, a hair beside a step counted as that; NaN of NaN.

    >>> rounded(2.345, 2), rounded(0.3 * 8, 1, "ROUND_DOWN"), rounded(-2.39, 0, "ROUND_DOWN")
    (2.35, 2.4, -2.0)
    >>> rounded(2.31, 1, "ROUND_UP"), rounded(3 * 0.8, 1, "ROUND_UP"), rounded(-2.31, 0, "ROUND_UP")
    (2.4, 2.4, -3.0)
    """
    return float(_near(value).quantize(_step(decimals), how)) if value == value else value


def in_thousands(value: float) -> str | None:
    """Write a whole number with a mark between thousands, one below 1,000 without; None when `value` is NaN.

    >>> in_thousands(1772.4), in_thousands(999.5), in_thousands(-1772.0)
    ('1,772', '1,000', '-1772')
    """
    text = fixed_text(value, 0)
    return text if text is None or len(text) < 4 or text.startswith("-") else f"{text[:-3]},{text[-3:]}"


@cache
def _step(decimals: float) -> Decimal:
    return Decimal(1).scaleb(-int(decimals))


def trimmed(text: str | None) -> str | None:
    """Leave one space between words."""
    return None if text is None else " ".join(part for part in text.split(" ") if part)


def in_short(text: str | None) -> str | None:
    """Leave out the middle of a long name: the end of what a propeller is called tells it from the next.

    >>> in_short("6x4"), in_short("Longwinded Special Edition N")
    ('6x4', 'Longwind…l Edition N')
    """
    if text is None or len(text) <= LONGEST_NAME:
        return text
    return f"{text[:8]}…{text[-11:]}"
