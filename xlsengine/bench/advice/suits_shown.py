"""What stands on Craft of the uses: three texts each, and what heads them."""

from xlsengine.bench.advice import suits as s
from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.inputs.uses import USES, use_name
from xlsengine.expression import Constant, Named, Node

MOST_SHOWN = len(USES.rows) + USES.spare
"""Uses that stand on Craft; of any further ones on Settings only the workings stand in the workbook."""
TITLE = f"What it suits, of what was tested (the first {MOST_SHOWN} uses)"
LIMITS = (
    "All limits are common practice, no source: put in those of your own craft (table Uses, at the foot of Settings)"
)
HEADERS = ("What for", "How it stands", "Why: the first limit that is not met, else what it gives")
HEADS = (TITLE, LIMITS, *HEADERS)
NOT_YET = "make the results again"
"""Of a use that was typed beyond the workings, which have one spare row."""
SUITS_SHOWN = Figures("What it suits", "How the motor stands for each use on Settings.")


def _shown(part: str, words: str, place: int, node: Node) -> Named:
    return SUITS_SHOWN.figure(f"use_{place}_{part}", f"Use {place}: {words}", decimals=2).derive(node, "As judged.")


def _line(place: int) -> tuple[Named, Named, Named]:
    row = Constant(float(place))
    name = _shown("name", "what for", place, use_name.at(row))
    told = s.verdict.at(row).otherwise(name.present().where(NOT_YET, ""))
    verdict = _shown("verdict", "how it stands", place, told)
    return name, verdict, _shown("reason", "why", place, s.reason.at(row))


LINES = tuple(_line(place) for place in range(1, MOST_SHOWN + 1))
