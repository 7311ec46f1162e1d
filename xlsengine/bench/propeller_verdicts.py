"""One propeller's grams per amp across cell counts, and the verdict on what should be the same at every voltage."""

from __future__ import annotations

from xlsengine.bench import normalising as n
from xlsengine.bench import readings as r
from xlsengine.bench import speed_figures as f
from xlsengine.bench.declare import Quantity
from xlsengine.bench.propeller_figures import PROPELLERS, coefficient_spread, derive, first_row
from xlsengine.bench.settings import grams_per_amp_limit, thrust_coefficient_limit
from xlsengine.expression import BLANK, Aggregate, Condition, Constant, Node, call, join
from xlsengine.sources import definition, worked_out

__all__ = ["PROPELLERS", "grams_spread", "propeller_verdict"]

_amp = worked_out("T/I = 2π·Kt·CT/(CP·D) at full throttle")

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
_OF_PROPELLER = Condition(own_propeller, "=", first_row)
amp_groups = derive(
    "amp_groups", "Cell counts", "", 0,
    Aggregate("count", (own_propeller,), (_OF_PROPELLER, Condition(own_grams_per_amp, ">", Constant(0.0)))),
    "With a full-throttle reading.", definition(),
)  # fmt: skip


def _nth(place: Node) -> Node:
    grams = Aggregate("largest", (own_grams_per_amp,), (_OF_PROPELLER,), place)
    return (amp_groups > 0).where(grams, BLANK)


most_grams = derive(
    "most_grams", "Thrust per current, most", "g/A", 1, _nth(Constant(1.0)), "Of the cell counts.", _amp
)
least_grams = derive(
    "least_grams", "Thrust per current, least", "g/A", 1, _nth(amp_groups), "Of the cell counts.", _amp
)
grams_spread = derive(
    "grams_spread", "Thrust per current, most over least, less one", "%", 1,
    (amp_groups > 1).where((most_grams / least_grams - 1) * 100, BLANK), "Blank with one cell count.", _amp,
)  # fmt: skip
_amps_apart = (grams_spread > grams_per_amp_limit).where(
    "Grams per amp differ across cell counts: a thrust or current reading, the cell count, the volts or the tare. ", ""
)
_coefficients_apart = (coefficient_spread > thrust_coefficient_limit).where(
    "Thrust coefficients differ: a speed or thrust reading, or the pole count. ", ""
)
_found = call("trim", join(_amps_apart.otherwise(""), _coefficients_apart.otherwise("")))
_nothing = (grams_spread.present() | coefficient_spread.present()).where(
    "as one propeller should be", "read once only: nothing to compare"
)
propeller_verdict = derive(
    "propeller_verdict", "Verdict", "", 0, first_row.present().where(_found.otherwise(_nothing), ""),
    "Against the limits on Settings.", definition(),
)  # fmt: skip
