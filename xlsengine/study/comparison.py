"""What a comparison with other motors needs: their figures, typed once, beside the live values of this test."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from xlsengine.bench.peers import PEERS
from xlsengine.study.assessment import Assessment
from xlsengine.study.evaluation import Scope


@dataclass(frozen=True)
class Comparison:
    """Columns that are typed once, by table and name, how many peers they are of, and what is to be told."""

    written: Mapping[tuple[str, str], Any] = field(repr=False)
    peers: int
    told: tuple[str, ...] = ()


def compared_with(assessment: Assessment, comparison: Comparison) -> Assessment:
    """Return the assessment with the peers beside it; nothing that was found before changes."""
    scope = assessment.scope
    return replace(assessment, scope=Scope(scope.test, {**scope.written, **comparison.written}, dict(scope.placed)))


def is_compared(scope: Scope) -> bool:
    """Tell whether there are peers."""
    return any(table == PEERS.name for table, _ in scope.written)
