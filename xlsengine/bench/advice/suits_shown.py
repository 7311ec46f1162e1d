"""What stands on Craft of the uses: three texts each, and what heads them."""

from __future__ import annotations

from xlsengine.bench.advice import suits as s
from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.inputs.uses import USES
from xlsengine.expression import Column, Constant, Named

MOST_SHOWN = len(USES.rows) + USES.spare
"""Uses that stand on Craft; of any further ones on Settings only the workings stand in the workbook."""
TITLE = f"What it suits, of what was tested (the first {MOST_SHOWN} uses)"
LIMITS = (
    "All limits are common practice, no source: put in those of your own craft (table Uses, at the foot of Settings)"
)
HEADERS = ("What for", "How it stands", "Why: the first limit that is not met, else what it gives")
HEADS = (TITLE, LIMITS, *HEADERS)
SUITS_SHOWN = Figures("What it suits", "How the motor stands for each use on Settings.")


def _shown(part: str, words: str, place: int, column: Column) -> Named:
    node = column.at(Constant(float(place)))
    return SUITS_SHOWN.figure(f"use_{place}_{part}", f"Use {place}: {words}", decimals=2).derive(node, "As judged.")


LINES = tuple(
    (
        _shown("name", "what for", place, s.name),
        _shown("verdict", "how it stands", place, s.verdict),
        _shown("reason", "why", place, s.reason),
    )
    for place in range(1, MOST_SHOWN + 1)
)
