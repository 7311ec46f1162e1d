"""The class of a motor in a library: the same stator size and about the same Kv, those nearest in Kv first."""

from __future__ import annotations

import math
from typing import Any

from xlsengine.bench.inputs import motor as m
from xlsengine.bench.inputs.settings import class_kv_band, class_size_band
from xlsengine.library.kept import Row, kept_of
from xlsengine.library.peers import compared
from xlsengine.library.store import Library
from xlsengine.study.assessment import Assessment
from xlsengine.study.comparison import Comparison
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.reading.findings import key

MOST_PEERS = 30
"""Motors that are compared; of a larger class those nearest in Kv."""
_NOT_SAID = "not compared with the library: Motor does not say {}, which the class of a motor goes by"
_ALONE = "not compared: the library has no other motor of its class (stator {} by {} mm, Kv {} to {} rpm/V)"


def against_class(library: Library, assessment: Assessment) -> Comparison:
    """Return the comparison of a test with its class in a library; without peers, where there are none, and it says why.

    Raises `LibraryError` where the library cannot be read.
    """
    scope, own = assessment.scope, kept_of(assessment.test, assessment)
    limits = _limits(scope)
    missing = [m.MOTOR.fields[name].label.lower() for name in _BY_SIZE if limits[name] is None]
    if missing:
        return Comparison({}, 0, (_NOT_SAID.format(", ".join(missing)),))
    found = [row for row in library.tests(**limits) if not _same(own.test, row)]
    if not found:
        return Comparison({}, 0, (_alone(limits),))
    kv = scope.named(m.label_kv.name)
    found.sort(key=lambda row: (abs(math.log(row["label_kv"] / kv)), row["id"]))
    more = f"of {len(found)} motors of its class in the library the {MOST_PEERS} nearest in Kv are compared"
    return compared(scope, own, library.kept(found[:MOST_PEERS]), [more] * (len(found) > MOST_PEERS))


_BY_SIZE = (m.stator_diameter.name, m.stator_height.name, m.label_kv.name)


def _limits(scope: Scope) -> dict[str, Any]:
    """Return within which limits each figure of a peer must lie; None where this motor's is not known."""
    size, kv = scope.named(class_size_band.name), scope.named(class_kv_band.name) / 100
    bands: dict[str, Any] = {m.size_code_means.name: scope.named(m.size_code_means.name)}
    for name in _BY_SIZE:
        value = scope.named(name)
        wide = value * kv if name == m.label_kv.name else size
        bands[name] = None if value != value else (value - wide - _HAIR, value + wide + _HAIR)
    return bands


_HAIR = 1e-9
"""So that a figure on the limit is inside, whatever rounding does."""


def _alone(limits: dict[str, Any]) -> str:
    diameter, height, (low, high) = (limits[name] for name in _BY_SIZE)
    return _ALONE.format(*(f"{sum(each) / 2:g}" for each in (diameter, height)), f"{low:.0f}", f"{high:.0f}")


def _same(own: Row, row: Row) -> bool:
    """Tell whether a row is an earlier version of this test: of the same id and model."""
    return all(key(str(own[name] or "")) == key(str(row[name] or "")) for name in ("test_id", "model"))
