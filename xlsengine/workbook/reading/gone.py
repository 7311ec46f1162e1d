"""Computed columns of earlier results workbooks that are no more: what stands below them is nobody's own."""

from xlsengine.bench.inputs.readings import READINGS
from xlsengine.workbook.reading.findings import key

_OF_READINGS = (
    "Thrust to motor mass (g/g)",
    "Thrust per motor mass (g/g)",
    "Power per motor mass (W/g)",
    "Thrust per stator volume (g/cm³)",
    *(f"In-flight power, {end} (W)" for end in ("low", "high", "low, estimate", "high, estimate")),
    "In flight by",
    "Reading judged",
    "Comparisons",
    "Comparisons, order of explanation that holds",
    "Counts",
    "Left out",
    "Left out for column",
    "Sound",
    "Thrust that counts",
    "Flagged",
    "Relied on",
    "Sweep thrust, left out or not",
    "Sweep throttle (%)",
    "Comparisons, severity",
    "Comparisons, column",
    "Comparisons, order of explanation",
)
TEXTS = ("Why: the first limit that is not met, else what it gives",)
"""Heads of computed cells beside an input table that earlier results workbooks have."""
_GONE = {READINGS.name: frozenset(map(key, _OF_READINGS))}


def gone(table: str) -> frozenset[str]:
    """Return the headers, as they are compared, of a table's computed columns that are no more."""
    return _GONE.get(table, frozenset())
