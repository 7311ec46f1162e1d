"""What a comparison with other motors needs: their figures, typed once, beside the live values of this test."""

from collections.abc import Callable, Iterator, Mapping
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
