"""What stands on Craft of the uses: three texts each, and what heads them."""

from xlsengine.bench.advice import suits as s
from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.inputs.uses import use_name
from xlsengine.expression import Column, Named

MOST_SHOWN = 12
TITLE = f"What it suits, of what was tested (the first {MOST_SHOWN} uses)"
LIMITS = (
    "All limits are common practice, no source: put in those of your own craft (table Uses, at the foot of Settings)"
)
HEADERS = (
    "What for",
    "How it stands",
    "Why: what it needs, what was tested that comes nearest, and what of it is not sure",
)
HEADS = (TITLE, LIMITS, *HEADERS)
SUITS_SHOWN = Figures("What it suits", "How the motor stands for each use on Settings.")


def _shown(part: str, words: str, place: int, column: Column) -> Named:
    return SUITS_SHOWN.figure(f"use_{place}_{part}", f"Use {place}: {words}").derive(column.at(place), "As judged.")


LINES = tuple(
    (
        _shown("name", "what for", place, use_name),
        _shown("verdict", "how it stands", place, s.verdict),
        _shown("reason", "why", place, s.reason),
    )
    for place in range(1, MOST_SHOWN + 1)
)
