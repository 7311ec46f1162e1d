import math
from typing import Any

import numpy as np
import pytest

from tests.bench.ideal_bench import PROPELLERS, SWING, full_throttle, reading, scope_of, spins
from xlsengine.bench.inputs.no_load import PEAK_TO_PEAK
from xlsengine.study.evaluation import Scope

SPIN = [{"driven_speed": 2400.0, "driven_voltage": SWING, "driven_as": PEAK_TO_PEAK}]
KNOWN: dict[str, Any] = {"DrivenSpins": SPIN, "FreeSpins": spins()}


def figure(scope: Scope, name: str, rows: int) -> Any:
    return scope.column("SpeedFigures", name)[:rows]


@pytest.mark.parametrize("missing", ["DrivenSpins", "FreeSpins"])
def test_nothing_is_modelled_without_kv_or_no_load_current(missing: str) -> None:
    known: dict[str, Any] = {"FreeSpins": [{"free_current": 1.0}], "DrivenSpins": SPIN}
    scope = scope_of(full_throttle()[:3], **{name: rows for name, rows in known.items() if name != missing})
    assert np.isnan(figure(scope, "shaft_power", 3)).all()


def test_row_without_speed_is_blank() -> None:
    row = reading(PROPELLERS[0], 4, torque=True) | {"speed": None}
    scope = scope_of([row], **KNOWN)
    for name in ("tip_speed", "thrust_coefficient", "shaft_power", "iron_loss", "unexplained", "line_ratio"):
        assert math.isnan(figure(scope, name, 1)[0])
