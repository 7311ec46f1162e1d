"""How sure the motor's constants are: Kv by each method and the resistances, with what “±” stands for.

Of each, the part that scatter or a fit gave is kept apart from what the instruments gave: it alone has few degrees of
freedom, and it alone is not shared with the readings of Readings.
"""

from __future__ import annotations

from xlsengine.bench import motor_model as m
from xlsengine.bench import no_load as n
from xlsengine.bench.accuracies import relative, taken_current_accuracy, taken_voltage_accuracy
from xlsengine.bench.declare import Figures, Quantity
from xlsengine.bench.settings import resistance_accuracy
from xlsengine.bench.uncertainty import effective_freedom, expanded, sum_of_squares
from xlsengine.expression import BLANK, Aggregate, Column, Named, Node
from xlsengine.sources import GUM_FREEDOM, GUM_PROPAGATION, Source, definition

MOTOR_UNCERTAINTY = Figures(
    "Uncertainty of the motor's constants", "U is what stands behind “±”, at the level of confidence on Settings."
)
_VOLTS, _AMPS = relative(taken_voltage_accuracy), relative(taken_current_accuracy)


def _figure(
    name: str, label: str, symbol: str, unit: str, shown: int, expression: Node, meaning: str,
    source: Source = GUM_PROPAGATION,
) -> Named:  # fmt: skip
    return MOTOR_UNCERTAINTY.derive(Quantity(name, label, expression, meaning, source, symbol, unit, shown))


def _count(column: Column) -> Node:
    return Aggregate("count", (column,))


def _first(*options: tuple[Named, Node]) -> Node:
    """Return the value beside the first cell that is filled, blank where none is."""
    result: Node = BLANK
    for cell, value in reversed(options):
        result = cell.present().where(value, result)
    return result


def _kv(name: str, method: str, combined: Named, scatter: Node, freedom: Node) -> tuple[Named, Named, Named]:
    """Derive the part of scatter, its degrees of freedom, and the expanded uncertainty of one method."""
    part = _figure(
        f"{name}_part", f"Kv by {method}: part of scatter or fit", "", "rpm/V", 1,
        combined.present().where(scatter.otherwise(0.0), BLANK),
        "Standard uncertainty without that of the instruments.",
    )  # fmt: skip
    own = _figure(
        f"{name}_own_freedom", f"Kv by {method}: degrees of freedom of that", "", "", 0,
        combined.present().where(freedom, BLANK),
        "Spins less one, or rows of the line less two.", definition(),
    )  # fmt: skip
    whole = _figure(
        f"{name}_expanded", f"Kv by {method}: ±", "U", "rpm/V", 0,
        expanded(combined, effective_freedom(combined, [(part, own)])),
        "Expanded uncertainty.", GUM_FREEDOM,
    )  # fmt: skip
    return part, own, whole


_KV: dict[Named, tuple[Named, Named, Named]] = {
    n.driven_kv: _kv("driven_kv", "driven spin", n.driven_uncertainty, n.driven_scatter, _count(n.kv_driven) - 1),
    n.measured_kv: _kv("free_kv", "free spin", n.free_uncertainty, n.free_scatter, _count(n.kv_free) - 1),
    m.line_kv: _kv("line_kv", "loaded readings", m.line_kv_uncertainty, m.line_kv_fit, m.line_rows - 2),
}


def _best(place: int) -> Node:
    return _first(*((kv, parts[place]) for kv, parts in _KV.items()))


best_kv_part = _figure(
    "best_kv_part", "Kv measured: part of scatter or fit", "", "rpm/V", 1, _best(0), "Of the method that is taken."
)
best_kv_freedom = _figure(
    "best_kv_freedom", "Kv measured: degrees of freedom of that", "", "", 0, _best(1), "Of the method that is taken."
)
best_kv_expanded = _figure(
    "best_kv_expanded", "Kv measured: ±", "U(Kv)", "rpm/V", 0, _best(2), "Of the method that is taken.", GUM_FREEDOM
)

# --- resistance ------------------------------------------------------------------------------------------

hot_resistance = _figure(
    "hot_resistance", "Resistance under load", "R_h", "mΩ", 1, m.loaded_resistance.otherwise(m.line_resistance),
    "With Kv from spins where there were any, else from the loaded line.", definition(),
)  # fmt: skip
_over_kv = (1000 / m.line_mean - m.loaded_resistance) * best_kv_part / m.best_kv
hot_part = _figure(
    "hot_part", "Resistance under load: part of scatter or fit", "", "mΩ", 2,
    m.loaded_resistance.present().where(
        sum_of_squares([m.loaded_resistance_uncertainty, _over_kv]).sqrt(), m.line_resistance_uncertainty
    ),
    "Scatter of the rows and of Kv, which divides their speeds; or the fit's, of slope over intercept.",
)  # fmt: skip
hot_freedom = _figure(
    "hot_freedom", "Resistance under load: degrees of freedom of that", "", "", 0,
    m.loaded_resistance.present().where(
        effective_freedom(
            hot_part, [(m.loaded_resistance_uncertainty, _count(m.row_resistance) - 1), (_over_kv, best_kv_freedom)]
        ),
        m.line_rows - 2,
    ),
    "Welch-Satterthwaite, or rows of the line less two.", GUM_FREEDOM,
)  # fmt: skip
hot_uncertainty = _figure(
    "hot_uncertainty", "Resistance under load: standard uncertainty", "u(R_h)", "mΩ", 2,
    sum_of_squares([hot_part, hot_resistance * _VOLTS, hot_resistance * _AMPS]).sqrt(),
    "With the accuracies of volts and amps; that of speed drops out, since Kv was read by the same instrument.",
)  # fmt: skip
hot_expanded = _figure(
    "hot_expanded", "Resistance under load: ±", "U(R_h)", "mΩ", 1,
    expanded(hot_uncertainty, effective_freedom(hot_uncertainty, [(hot_part, hot_freedom)])), "Expanded uncertainty.",
    GUM_FREEDOM,
)  # fmt: skip
winding_uncertainty = _figure(
    "winding_uncertainty", "Winding resistance: standard uncertainty", "u(R)", "mΩ", 2,
    sum_of_squares(
        [n.resistance_uncertainty.otherwise(0.0), n.winding_resistance * relative(resistance_accuracy)]
    ).sqrt(),
    "Of the mean of the pairs, with the meter's accuracy.",
)  # fmt: skip
winding_expanded = _figure(
    "winding_expanded", "Winding resistance: ±", "U(R)", "mΩ", 1,
    expanded(
        winding_uncertainty,
        effective_freedom(winding_uncertainty, [(n.resistance_uncertainty, _count(n.resistance) - 1)]),
    ),
    "Expanded uncertainty.", GUM_FREEDOM,
)  # fmt: skip
