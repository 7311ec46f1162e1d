"""One propeller's thrust coefficient across voltages, and each reading against it."""

from __future__ import annotations

from xlsengine.bench import speed_figures as f
from xlsengine.bench import speed_rows as t
from xlsengine.bench.declare import Table
from xlsengine.bench.first_rows import FirstRows
from xlsengine.expression import BLANK, Aggregate, Condition, Constant, Node
from xlsengine.sources import PROPELLER_COEFFICIENTS, definition

PROPELLERS = Table(
    "PropellerFigures", "One row for each propeller: what should be the same at every voltage.", spare=1,
    per=(f.prop_first,),
)  # fmt: skip
LEAST_ROWS = 3


_rows = FirstRows(PROPELLERS, f.prop_first)
derive = _rows.derive
first_row = _rows.first_row("propeller", "the propeller")
propeller = derive(
    "propeller_name", "Prop", "", 0, Aggregate("text at", (t.prop,), (), first_row), "The propeller.", definition()
)
_OF_PROPELLER = Condition(f.prop_number, "=", first_row)
_WITH_SPEED = Condition(f.full_coefficient, ">", Constant(0.0))
coefficient_rows = derive(
    "coefficient_rows", "Full-throttle readings with speed", "", 0,
    Aggregate("count", (f.prop_number,), (_OF_PROPELLER, _WITH_SPEED)), "In the median.", definition(),
)  # fmt: skip


def _nth(place: Node) -> Node:
    return Aggregate("largest", (f.full_coefficient,), (_OF_PROPELLER,), place)


median_coefficient = derive(
    "median_coefficient", "Thrust coefficient, median", "", 4,
    (coefficient_rows > 0).where(
        (_nth(((coefficient_rows + 1) / 2).whole_part()) + _nth(((coefficient_rows + 2) / 2).whole_part())) / 2, BLANK
    ),
    "Of the full-throttle readings at every voltage.", PROPELLER_COEFFICIENTS, "CT_med",
)  # fmt: skip
_SOUND = (_OF_PROPELLER, _WITH_SPEED, Condition(t.sound, "=", Constant(1.0)))
sound_coefficients = derive(
    "sound_coefficients", "Full-throttle readings with speed and without a flag of their own", "", 0,
    Aggregate("count", (f.prop_number,), _SOUND), "In the spread.", definition(), helper=True,
)  # fmt: skip


def _sound_nth(place: Node) -> Node:
    return Aggregate("largest", (f.full_coefficient,), _SOUND, place)


coefficient_spread = derive(
    "coefficient_spread", "Thrust coefficient, largest over smallest, less one", "%", 1,
    (sound_coefficients > 1).where((_sound_nth(Constant(1.0)) / _sound_nth(sound_coefficients) - 1) * 100, BLANK),
    "Of the readings that no flag of their own explains.", PROPELLER_COEFFICIENTS,
)  # fmt: skip
judged_by = derive(
    "judged_by", "Thrust coefficient, judged by", "", 4,
    (coefficient_rows >= LEAST_ROWS).where(median_coefficient, BLANK),
    "The median; blank with fewer than three readings.", PROPELLER_COEFFICIENTS, helper=True,
)  # fmt: skip
_own_median = Aggregate("at", (judged_by,), (), Aggregate("position", (first_row,), (), f.prop_number))
coefficient_off = t.derive(
    "coefficient_off", "Thrust coefficient against the median", "ΔCT", "%", 1,
    (t.FULL & (f.thrust_coefficient > 0)).where((f.thrust_coefficient / _own_median - 1) * 100, BLANK),
    "At full throttle, where the propeller has at least three such readings.", PROPELLER_COEFFICIENTS,
)  # fmt: skip
