"""What stands on Craft of the uses: three texts each, and what heads them."""

from xlsengine.bench.advice import suits as s
from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.inputs.uses import USES, use_name
from xlsengine.expression import Named, Node

MOST_SHOWN = len(USES.rows) + USES.spare
TITLE = f"What it suits, of what was tested (the first {MOST_SHOWN} uses)"
LIMITS = (
    "All limits are common practice, no source: put in those of your own craft (table Uses, at the foot of Settings)"
)
HEADERS = (
    "What for",
    "How it stands",
    "Why: what it needs, what was tested that comes nearest, and what of it is not sure",
)
_EARLIER = "Why: the first limit that is not met, else what it gives"
HEADS = (TITLE, LIMITS, *HEADERS, _EARLIER)
"""What stands above the uses, in earlier results too."""
NOT_YET = "make the results again"
"""Of a use that was typed beyond the workings, which have one spare row."""
SUITS_SHOWN = Figures("What it suits", "How the motor stands for each use on Settings.")


def _shown(part: str, words: str, place: int, node: Node) -> Named:
    return SUITS_SHOWN.figure(f"use_{place}_{part}", f"Use {place}: {words}").derive(node, "As judged.")


def _line(place: int) -> tuple[Named, Named, Named]:
    name = _shown("name", "what for", place, use_name.at(place))
    told = s.verdict.at(place).otherwise(name.present().where(NOT_YET, ""))
    verdict = _shown("verdict", "how it stands", place, told)
    return name, verdict, _shown("reason", "why", place, s.reason.at(place))


LINES = tuple(_line(place) for place in range(1, MOST_SHOWN + 1))
