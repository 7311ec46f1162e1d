"""One propeller's thrust coefficient across voltages, and each reading against it."""

from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.judging.counting import OVERRULED
from xlsengine.bench.physics import speed_figures as f
from xlsengine.bench.physics import speed_rows as t
from xlsengine.bench.physics.group_rows import prop, prop_first
from xlsengine.expression import Condition, Constant, Node
from xlsengine.sources import PROPELLER_COEFFICIENTS

PROPELLERS = Table(
    "PropellerFigures",
    "One row for each propeller: what should be the same at every voltage.",
    spare=1,
    per=(prop_first,),
)
LEAST_ROWS = 3

first_row = PROPELLERS.starts(prop_first, "propeller")
propeller = PROPELLERS.take(prop, "propeller_name")
_OF_PROPELLER = Condition(f.prop_number, "=", first_row)
_WITH_SPEED = Condition(f.full_coefficient, ">", Constant(0.0))
coefficient_rows = PROPELLERS.column("coefficient_rows", "Full-throttle readings with speed").derive(
    f.prop_number.count(_OF_PROPELLER, _WITH_SPEED), "In the median."
)


def _nth(place: Node) -> Node:
    return f.full_coefficient.largest(_OF_PROPELLER, place=place)


median_coefficient = PROPELLERS.column(
    "median_coefficient", "Thrust coefficient, median", symbol="CT_med", decimals=4
).derive(
    (coefficient_rows > 0).where(
        (_nth(((coefficient_rows + 1) / 2).whole_part()) + _nth(((coefficient_rows + 2) / 2).whole_part())) / 2
    ),
    "Of the full-throttle readings at every voltage.",
    PROPELLER_COEFFICIENTS,
)
_SOUND = (_OF_PROPELLER, _WITH_SPEED, Condition(t.standing, ">=", Constant(OVERRULED)))
sound_coefficients = PROPELLERS.helper(
    "sound_coefficients", "Full-throttle readings with speed and without a flag of their own"
).derive(f.prop_number.count(*_SOUND))


def _sound_nth(place: Node) -> Node:
    return f.full_coefficient.largest(*_SOUND, place=place)


coefficient_spread = PROPELLERS.column(
    "coefficient_spread", "Thrust coefficient, largest over smallest, less one", "%"
).derive(
    (sound_coefficients > 1).where((_sound_nth(Constant(1.0)) / _sound_nth(sound_coefficients) - 1) * 100),
    "Of the readings that no flag of their own explains.",
    PROPELLER_COEFFICIENTS,
)
judged_by = PROPELLERS.helper("judged_by", "Thrust coefficient, judged by", decimals=4).derive(
    (coefficient_rows >= LEAST_ROWS).where(median_coefficient),
    "The median; blank with fewer than three readings.",
    PROPELLER_COEFFICIENTS,
)
_own_median = judged_by.at(first_row.position(f.prop_number))
coefficient_off = t.SPEED_FIGURES.column(
    "coefficient_off", "Thrust coefficient off the others of its propeller", "%", symbol="ΔCT"
).derive(
    (t.FULL & (f.thrust_coefficient > 0)).where((f.thrust_coefficient / _own_median - 1) * 100),
    "At full throttle, where the propeller has at least three such readings.",
    PROPELLER_COEFFICIENTS,
)
