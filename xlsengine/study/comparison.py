"""A motor beside others: their figures, typed once, beside its live values; and two to four side by side, which differ by
more than noise.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from xlsengine.bench.comparison.peers import PEERS
from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.model import COMPARISON_PARTS
from xlsengine.expression import Column
from xlsengine.study.assessment import Assessment
from xlsengine.study.evaluation import Scope


@dataclass(frozen=True)
class Comparison:
    """Columns that are typed once, by table and name, how many peers they are of, and what is to be told."""

    written: Mapping[tuple[str, str], Any] = field(repr=False)
    peers: int
    told: tuple[str, ...] = ()


Comparing = Callable[[Assessment], Comparison]
"""What compares a new test with earlier ones; raises XlsEngineError where those cannot be read."""


def compared_with(assessment: Assessment, comparison: Comparison) -> Assessment:
    """Return the assessment with the peers beside it; nothing that was found before changes."""
    return replace(assessment, scope=with_peers(assessment.scope, comparison.written))


def with_peers(scope: Scope, written: Mapping[tuple[str, str], Any]) -> Scope:
    """Return the values of a test with what is written of its peers; what else was computed stays."""
    return scope.with_written({**scope.written, **written}, frozenset(_cells()))


def _cells() -> Iterator[Column | str]:
    """Yield every column and figure of a comparison."""
    for part in COMPARISON_PARTS:
        if isinstance(part, Table):
            yield from (Column(part.name, name, each.is_text) for name, each in part.columns.items())
        else:
            yield from part.quantities


def is_compared(scope: Scope) -> bool:
    """Tell whether there are peers."""
    return any(table == PEERS.name for table, _ in scope.written)


# --- side by side ------------------------------------------------------------------------------------------------


NO_DIFFERENCE = "no difference that counts"
NOT_COMPARED = "not compared: read of one alone"
ESC_SIZE = "ESC size, full throttle held"
NOTHING_IN_COMMON = "No propeller and cell count was read with two of these motors: only mass and Kv are compared."


@dataclass(frozen=True)
class Line:
    """A figure of each motor with its ±, None where it is not known; who is ahead, and from which difference on (%).

    `best` says what it is to be ahead, `ahead` who is and `lead` by how much, "" and 0 where nobody is by more than noise.
    """

    label: str
    unit: str
    decimals: int
    values: Sequence[float | str | None]
    margins: Sequence[float | None] = ()
    verdict: str = ""
    least: float | None = None
    best: str = ""
    ahead: str = ""
    lead: float = 0.0


@dataclass(frozen=True)
class Part:
    """Lines under a title, and what differs in the conditions."""

    title: str
    lines: Sequence[Line]
    notes: Sequence[str] = ()


@dataclass(frozen=True)
class Sides:
    """The motors by name, and the parts of what is said of them."""

    motors: Sequence[str]
    parts: Sequence[Part]
    notes: Sequence[str] = ()

    def summary(self) -> list[str]:
        """Return who is ahead of all others in what, and the ESC sizes of each, in a line or two."""
        lines = [line for part in self.parts for line in part.lines]
        compared = [line for line in lines if line.best and not line.verdict.startswith(NOT_COMPARED)]
        said = "; ".join(
            f"{best}: {_led([line for line in compared if line.best == best])}"
            for best in dict.fromkeys(line.best for line in sorted(compared, key=lambda line: line.least is None))
        )
        alone = [] if any(line.least is not None for line in compared) else [NOTHING_IN_COMMON]
        return [*alone, *([said] if said else []), *self._sizes()]

    def _sizes(self) -> list[str]:
        """Say the largest ESC size of each motor for each cell count that was read with two."""
        found: dict[str, dict[str, float]] = {}
        for part in self.parts:
            cells = part.title.rpartition(" on ")[2]
            for line in (line for line in part.lines if line.label == ESC_SIZE):
                for motor, size in zip(self.motors, line.values, strict=True):
                    held = found.setdefault(motor, {})
                    held |= {cells: max(size, held.get(cells, 0.0))} if isinstance(size, float) else {}
        each = (
            f"{motor} {', '.join(f'{size:.0f} A on {cells}' for cells, size in of.items())}"
            for motor, of in found.items()
        )
        return [f"{ESC_SIZE}: {'; '.join(each)}"] if found else []

    def verdicts(self) -> list[str]:
        """Return who is ahead in what, as lines: the summary, then a line for each propeller and cell count."""
        told = {
            part.title: [f"{line.label}: {line.verdict}" for line in part.lines if line.verdict] for part in self.parts
        }
        return [*self.summary(), *(f"{title}: {'; '.join(lines)}" for title, lines in told.items() if lines)]


def _led(lines: Sequence[Line]) -> str:
    """Say who is ahead in a figure, by how much, with how many propellers and cell counts, and from where on it counts."""
    said = []
    for name in sorted(dict.fromkeys(line.ahead for line in lines), key=lambda name: not name):
        leads = [line.lead for line in lines if line.ahead == name]
        share = f" with {len(leads)} of {len(lines)}" * (len(leads) < len(lines))
        unit = "%" if lines[0].least is not None else lines[0].unit
        amount = " to ".join(dict.fromkeys(f"{lead:.1f}" for lead in (min(leads), max(leads))))
        said.append(f"{name or NO_DIFFERENCE}{share}" + f" by {amount} {unit}" * bool(name))
    least = max((line.least or 0.0 for line in lines), default=0.0)
    return ", ".join(said) + f" (counts from {least:.1f} %)" * (least > 0)
