"""One propeller against itself: its coefficient and grams per amp across voltages, and its powers of speed."""

from __future__ import annotations

from xlsengine.bench import normalising as n
from xlsengine.bench import readings as r
from xlsengine.bench import speed_figures as f
from xlsengine.bench import speed_rows as t
from xlsengine.bench import summary as g
from xlsengine.bench.declare import Quantity, Table
from xlsengine.bench.grouped_line import GroupedLine
from xlsengine.bench.settings import (
    current_exponent_high,
    current_exponent_low,
    grams_per_amp_limit,
    power_exponent_high,
    power_exponent_low,
    thrust_coefficient_limit,
    thrust_exponent_high,
    thrust_exponent_low,
)
from xlsengine.expression import BLANK, Aggregate, Column, Condition, Constant, Named, Node, call, join
from xlsengine.sources import PROPELLER_COEFFICIENTS, Source, definition, worked_out

PROPELLERS = Table(
    "PropellerFigures", "One row for each propeller: what should be the same at every voltage.", spare=4,
    per=(f.prop_first,),
)  # fmt: skip
EXPONENTS = Table(
    "Exponents", "One row for each propeller and cell count: powers over its steady readings.", spare=g.SUMMARY.spare,
    per=(r.group_first,),
)  # fmt: skip
LEAST_ROWS = 4
SPREAD = 0.1
"""Readings whose logarithms scatter by less than this (a factor of about 1.3 from end to end) give no exponent."""


def _derive(
    table: Table, name: str, label: str, symbol: str, unit: str, shown: int, expression: Node, meaning: str,
    source: Source, helper: bool = False,
) -> Column:  # fmt: skip
    return table.derive(Quantity(name, label, expression, meaning, source, symbol, unit, shown, helper))


# --- one row for each propeller ----------------------------------------------------------------------------

_coefficient = PROPELLER_COEFFICIENTS
_amp = worked_out("T/I = 2π·Kt·CT/(CP·D) at full throttle")


def _own(name: str, label: str, unit: str, shown: int, expression: Node, meaning: str, source: Source, **more: str |
         bool) -> Column:  # fmt: skip
    return _derive(
        PROPELLERS, name, label, str(more.get("symbol", "")), unit, shown, expression, meaning, source,
        bool(more.get("helper", False)),
    )  # fmt: skip


_place = _own(
    "propeller_place", "Place", "", 0, Aggregate("row", (Column(PROPELLERS.name, "propeller_place"),)), "Place.",
    definition(), helper=True,
)  # fmt: skip
first_row = _own(
    "propeller_first", "First row", "", 0, Aggregate("smallest", (f.prop_first,), (), _place),
    "Row of Readings where the propeller is first used.", definition(), helper=True,
)  # fmt: skip
propeller = _own(
    "propeller_name", "Prop", "", 0, Aggregate("text at", (t.prop,), (), first_row), "The propeller.", definition()
)
_OF_PROPELLER = Condition(f.prop_number, "=", first_row)
_WITH_SPEED = Condition(f.full_coefficient, ">", Constant(0.0))
coefficient_rows = _own(
    "coefficient_rows", "Full-throttle readings with speed", "", 0,
    Aggregate("count", (f.prop_number,), (_OF_PROPELLER, _WITH_SPEED)), "In the median.", definition(),
)  # fmt: skip


def _nth_coefficient(place: Node) -> Node:
    return Aggregate("largest", (f.full_coefficient,), (_OF_PROPELLER,), place)


median_coefficient = _own(
    "median_coefficient", "Thrust coefficient, median", "", 4,
    (coefficient_rows > 0).where(
        (_nth_coefficient(((coefficient_rows + 1) / 2).whole_part())
         + _nth_coefficient(((coefficient_rows + 2) / 2).whole_part())) / 2,
        BLANK,
    ),
    "Of the full-throttle readings at every voltage.", _coefficient, symbol="CT_med",
)  # fmt: skip
coefficient_spread = _own(
    "coefficient_spread", "Thrust coefficient, largest over smallest", "%", 1,
    (coefficient_rows > 1).where(
        (_nth_coefficient(Constant(1.0)) / _nth_coefficient(coefficient_rows) - 1) * 100, BLANK
    ),
    "Less one.", _coefficient,
)  # fmt: skip

# --- its row on Normalised and the amps --------------------------------------------------------------------

own_propeller = n.NORMALISED.derive(
    Quantity(
        "normal_propeller", "Propeller",
        Aggregate("at", (f.prop_number,), (), Aggregate("smallest", (r.group_first,), (), n.summary_row)),
        "First row of Readings that uses the propeller.", definition(), shown=0, helper=True,
    )
)  # fmt: skip
own_grams_per_amp = n.NORMALISED.derive(
    Quantity(
        "normal_grams_per_amp", "Grams per amp", (n.raw_thrust / n.raw_current).otherwise(0.0),
        "At full throttle; 0 where not read.", definition(), "", "g/A", 2, helper=True,
    )
)  # fmt: skip
_GROUPS = Condition(own_propeller, "=", first_row)
amp_groups = _own(
    "amp_groups", "Cell counts", "", 0,
    Aggregate("count", (own_propeller,), (_GROUPS, Condition(own_grams_per_amp, ">", Constant(0.0)))),
    "With a full-throttle reading.", definition(),
)  # fmt: skip


def _nth_grams(place: Node) -> Node:
    return (amp_groups > 0).where(Aggregate("largest", (own_grams_per_amp,), (_GROUPS,), place), BLANK)


most_grams = _own("most_grams", "Grams per amp, most", "g/A", 1, _nth_grams(Constant(1.0)), "Of the cell counts.", _amp)
least_grams = _own("least_grams", "Grams per amp, least", "g/A", 1, _nth_grams(amp_groups), "Of the cell counts.", _amp)
grams_spread = _own(
    "grams_spread", "Grams per amp, most over least", "%", 1,
    (amp_groups > 1).where((most_grams / least_grams - 1) * 100, BLANK), "Less one; blank with one cell count.", _amp,
)  # fmt: skip
_amps_apart = flag_above = (grams_spread > grams_per_amp_limit).where(
    "Grams per amp differ across cell counts: a thrust or current reading, the cell count or the tare. ", ""
).otherwise("")
_coefficients_apart = (coefficient_spread > thrust_coefficient_limit).where(
    "Thrust coefficients differ: a speed or thrust reading, or the pole count. ", ""
).otherwise("")
_nothing = (grams_spread.present() | coefficient_spread.present()).where(
    "as one propeller should be", "read at one voltage only"
)
_found = call("trim", join(_amps_apart, _coefficients_apart))
propeller_verdict = _own(
    "propeller_verdict", "Verdict", "", 0, first_row.present().where(_found.otherwise(_nothing), ""),
    "Against the limits on Settings.", definition(),
)  # fmt: skip

# --- each reading against its propeller --------------------------------------------------------------------

coefficient_off = t.derive(
    "coefficient_off", "Thrust coefficient against the propeller's median", "ΔCT", "%", 1,
    (f.full_coefficient > 0).where(
        (
            f.thrust_coefficient
            / Aggregate("at", (_judged := _own(
                "judged_coefficient", "Thrust coefficient, judged by", "", 4,
                (coefficient_rows >= 3).where(median_coefficient, BLANK), "Blank with fewer than three readings.",
                _coefficient, helper=True,
            ),), (), Aggregate("position", (first_row,), (), f.prop_number))
            - 1
        ) * 100,
        BLANK,
    ),
    "At full throttle, where the propeller has at least three such readings.", _coefficient,
)  # fmt: skip
