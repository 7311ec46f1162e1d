"""What a check of a whole table has to say about a reading, in words for somebody with the spreadsheet open."""

import math
from dataclasses import dataclass

from xlsengine.bench.checks.row_checks import Explains, Severity
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.study.outliers import FloatArray


@dataclass(frozen=True)
class Flag:
    """One finding: where it is, what was found and expected, what usually causes it and what to do.

    `row` counts the rows of Readings from 1; `column` is a column's name there; `also_rows` are other rows that
    the finding speaks of; `explains` says how well it explains the reading. One that `settles_volts` says itself when to
    stop for them; one that `settles_speed` says what made a speed look like that of a motor out of step.
    """

    title: str
    row: int
    column: str
    found: str
    expected: str
    cause: str
    fix: str
    severity: Severity
    also_rows: tuple[int, ...] = ()
    explains: Explains = Explains.READING
    settles_volts: bool = False
    settles_speed: bool = False

    @property
    def rank(self) -> Explains:
        """Return its place in the order of explanation."""
        return Explains.REMARK if self.severity is Severity.NOTE else self.explains

    @property
    def text(self) -> str:
        """Return the flag as it stands beside its row."""
        return f"{self.title} ({self.severity.word})."

    @property
    def order(self) -> tuple[int, int, int]:
        """Return what flags are sorted by: their row, then what explains it best, then the most severe first."""
        return self.row, self.rank, -self.severity


def label_of(column: str) -> str:
    """Return a column of Readings as it is called in a sentence: "thrust", "speed".

    >>> label_of("motor_temperature")
    'motor temperature'
    """
    return READINGS.columns[column].label.lower()


def typed(value: float, column: str) -> str:
    """Return a reading with all digits that were typed and its unit, thousands marked.

    >>> typed(8870.0, "thrust"), typed(12.04, "voltage")
    ('8,870 g', '12.04 V')
    """
    return f"{in_thousands(f'{value:.10g}')} {READINGS.columns[column].unit}"


def to_type(value: float, column: str) -> str:
    """Return a reading as it is to be typed into its cell, with its unit.

    >>> to_type(8870.0, "thrust")
    '8870 g'
    """
    return f"{value:.10g} {READINGS.columns[column].unit}"


def in_thousands(number: str) -> str:
    """Mark the thousands of a number, as "30,500.5"; one with an exponent stays as it is.

    >>> in_thousands("30500.5"), in_thousands("1e+12")
    ('30,500.5', '1e+12')
    """
    whole, dot, rest = number.partition(".")
    return f"{int(whole):,}{dot}{rest}" if whole.lstrip("-").isdigit() else number


def about(value: float, column: str) -> str:
    """Return an estimate to three digits, with its unit.

    >>> about(1318.4, "thrust"), about(13.36, "current")
    ('about 1,320 g', 'about 13.4 A')
    """
    return f"about {in_thousands(_to_three_digits(value))} {READINGS.columns[column].unit}"


def _to_three_digits(value: float) -> str:
    decimals = 2 - math.floor(math.log10(abs(value))) if value else 0
    return f"{round(value, decimals):.{max(decimals, 0)}f}"


def span(values: FloatArray, decimals: int) -> str:
    """Write the lowest and the highest of some values: "2.61 to 2.65".

    >>> import numpy as np
    >>> span(np.array([2.65, 2.61]), 2), span(np.array([2.65]), 2)
    ('2.61 to 2.65', '2.65')
    """
    ends = list(dict.fromkeys(f"{end:.{decimals}f}" for end in (values.min(), values.max())))
    return " to ".join(ends)
