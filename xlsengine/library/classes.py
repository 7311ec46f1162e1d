"""The class of a motor in a library: the same stator size and about the same Kv, those nearest in Kv first."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import numpy as np

from xlsengine.bench.inputs import motor as m
from xlsengine.bench.inputs.settings import class_kv_band, class_size_band
from xlsengine.library.kept import Kept, KeptValue, kept_of
from xlsengine.library.peers import compared
from xlsengine.library.store import Library
from xlsengine.study.assessment import Assessment
from xlsengine.study.comparison import Comparison
from xlsengine.study.evaluation import Scope

if TYPE_CHECKING:
    import pandas as pd

MOST_PEERS = 30
"""Motors that are compared; of a larger class those nearest in Kv."""
_NOT_SAID = "not compared with the library: Motor does not say {}, which the class of a motor goes by"
_ALONE = "not compared: the library has no other motor of its class (stator {} by {} mm, Kv {} to {} rpm/V)"


class Peers:
    """What a library says of a motor's class."""

    def __init__(self, library: Library) -> None:
        """Take a library; nothing is read before a test is compared."""
        self._library = library

    def comparison(self, assessment: Assessment) -> Comparison:
        """Return the comparison of a test with its class; without peers, where there are none, and it says why.

        Raises `LibraryError` where the library cannot be read.
        """
        scope, own = assessment.scope, kept_of(assessment.test, assessment)
        limits = _limits(scope)
        missing = [
            declared.label.lower() for name in _BY_SIZE if limits[name] is None for declared in [m.MOTOR.fields[name]]
        ]
        if missing:
            return Comparison({}, 0, (_NOT_SAID.format(", ".join(missing)),))
        found = self._class(scope, own, limits)
        if not len(found):
            return Comparison({}, 0, (_alone(limits),))
        told = []
        if len(found) > MOST_PEERS:
            told = [f"of {len(found)} motors of its class in the library the {MOST_PEERS} nearest in Kv are compared"]
        return compared(scope, own, self._kept(found.head(MOST_PEERS)), told)

    def _class(self, scope: Scope, own: Kept, limits: dict[str, Any]) -> pd.DataFrame:
        """Return the tests of the class without this one, the nearest in Kv first; the library is asked for no others."""
        found = self._library.tests(**limits)
        rows = enumerate(found.to_dict("records"))
        found = found.iloc[[place for place, row in rows if not _same(own.test, _plain(row))]]
        off = np.abs(np.log(found["label_kv"] / scope.named(m.label_kv.name)))
        return found.iloc[np.lexsort((found["id"], off))]

    def _kept(self, tests: pd.DataFrame) -> list[Kept]:
        """Return the kept figures of some tests, in their order."""
        ids = [int(number) for number in tests["id"]]
        groups, steps = (_by_test(frame) for frame in (self._library.groups(ids), self._library.steps(ids)))
        rows = [_plain(row) for row in tests.to_dict("records")]
        return [Kept(row, groups.get(id, []), steps.get(id, [])) for id, row in zip(ids, rows, strict=True)]


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


def _same(own: dict[str, KeptValue], row: dict[str, Any]) -> bool:
    """Tell whether a row is an earlier version of this test: of the same id and model."""
    return all(_alike(own[name]) == _alike(row[name]) for name in ("test_id", "model"))


def _alike(name: Any) -> str:
    return " ".join(str(name or "").casefold().split())


def _by_test(frame: pd.DataFrame) -> dict[int, list[dict[str, KeptValue]]]:
    rows: dict[int, list[dict[str, KeptValue]]] = {}
    for row in frame.to_dict("records"):
        rows.setdefault(int(row["test"]), []).append(_plain(row))
    return rows


def _plain(row: Iterable[Any] | dict[Any, Any]) -> dict[str, KeptValue]:
    """Return a row with None for blanks."""
    return {str(name): None if value != value else value for name, value in dict(row).items()}
