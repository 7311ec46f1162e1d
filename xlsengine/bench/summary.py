"""One row for each propeller and cell count: full-throttle figures, equal-thrust efficiency, flight and ESC."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from xlsengine.bench import counting
from xlsengine.bench import readings as r
from xlsengine.bench.declare import Quantity, Table
from xlsengine.bench.motor import trimmed_mass
from xlsengine.bench.round_thrusts import compared_thrust, round_thrusts
from xlsengine.bench.row_checks import flagged
from xlsengine.bench.settings import widest_gap
from xlsengine.expression import BLANK, Aggregate, Column, Condition, Constant, Node, greater, join
from xlsengine.sources import definition, worked_out

SUMMARY = Table(
    "Summary",
    "One row for each propeller and cell count, in the order of the readings.",
    spare=8,
    per=(r.group_first,),
)

_of_group = definition("mean over the group's full-throttle rows that count")


def _derive(
    name: str, label: str, unit: str, shown: int, expression: Node, meaning: str, source: object = _of_group,
    symbol: str = "", helper: bool = False,
) -> Column:  # fmt: skip
    return SUMMARY.derive(
        Quantity(name, label, expression, meaning, source, symbol, unit, shown, helper)  # type: ignore[arg-type]
    )


summary_row = _derive(
    "summary_row", "Summary row", "", 0, Aggregate("row", (Column("Summary", "summary_prop", True),)), "Place here.",
    helper=True,
)  # fmt: skip
first_row = _derive(
    "first_row", "First row", "", 0, Aggregate("smallest", (r.group_first,), (), summary_row),
    "Row of Readings where the group begins.", helper=True,
)  # fmt: skip


def _fetch(column: Column) -> Node:
    return Aggregate("text at" if column.text else "at", (column,), (), first_row)


prop = _derive("summary_prop", "Prop", "", 0, _fetch(r.prop), "The propeller.")
cells = _derive("summary_cells", "Cells", "", 0, _fetch(r.cells), "Cell count.", symbol="cells")
diameter = _derive("summary_diameter", "Diameter", "in", 2, _fetch(r.diameter), "As on its first row.", helper=True)
pitch_ratio = _derive(
    "summary_pitch_ratio", "Pitch over diameter", "", 2, _fetch(r.pitch_ratio), "Geometry.", helper=True
)
label = _derive(
    "summary_label", "Propeller and cells", "", 0, join(prop, " on ", cells.fixed(0), "S"), "As it is spoken of.",
    helper=True,
)  # fmt: skip


def _in_group(*more: Condition) -> tuple[Condition, ...]:
    return (Condition(r.group, "=", first_row), *more)


def _at(point: float) -> Condition:
    return Condition(counting.point, "=", Constant(point))


def _typed_at(point: float) -> Condition:
    """Ask for a kind at full throttle, whether the reading counts or not."""
    return Condition(r.full_kind, "=", Constant(point))


_UNFLAGGED = Condition(flagged, "=", Constant(0.0))
_FLAGGED = Condition(flagged, "=", Constant(1.0))


def _mean(column: Column, *conditions: Condition) -> Node:
    return Aggregate("mean", (column,), _in_group(*conditions))


def _count(*conditions: Condition) -> Node:
    return Aggregate("count", (r.group,), _in_group(*conditions))


def _highest(column: Column, *conditions: Condition) -> Node:
    """Highest of a column that is 0 in rows of another kind; blank where there is none."""
    found = Aggregate("largest", (column,), _in_group(*conditions), Constant(1.0))
    return (found > 0).where(found, BLANK)


_Block = dict[str, Column]
_FIGURES = (
    ("voltage", "Voltage", "V", 2, r.voltage), ("current", "Current", "A", 1, r.current),
    ("power", "Power", "W", 0, r.power), ("thrust", "Thrust", "g", 0, r.thrust),
)  # fmt: skip


def _block(word: str, point: float, currents: Column) -> _Block:
    """Derive the full-throttle figures of one kind of reading."""
    at = _at(point)
    block = {
        "count": _derive(
            f"{word}_count", f"Readings, {word}", "", 0, _count(at), "How many readings the means are of.", helper=True
        )
    }
    for part, label, unit, shown, column in _FIGURES:
        block[part] = _derive(
            f"{word}_{part}", f"{label}, {word}", unit, shown, _mean(column, at), "Mean over those that count.",
            helper=True,
        )  # fmt: skip
    block["top_current"] = _derive(
        f"{word}_top_current", f"Highest current, {word}", "A", 1, _highest(currents), "Highest single reading."
    )
    return block


peak = _block(r.PEAK, r.AT_PEAK, counting.peak_current)
steady = _block(r.STEADY, r.AT_STEADY, counting.steady_current)
unstated_current = _derive(
    "unstated_current", "Highest current, kind not stated", "A", 1, _highest(counting.unstated_current),
    "Counts as a peak, and may be a steady one whose peak was not read.", helper=True,
)  # fmt: skip


def _full_block() -> _Block:
    """Derive the figures that are quoted at full throttle: steady where there is one, else peak."""
    block = {
        "count": _derive(
            "full_count",
            "Readings",
            "",
            0,
            (steady["count"] > 0).where(steady["count"], peak["count"]),
            "How many readings the means are of.",
        )
    }
    for part, label, unit, shown, _ in _FIGURES:
        block[part] = _derive(
            f"full_{part}", f"{label}, full throttle", unit, shown, steady[part].otherwise(peak[part]),
            "Mean of the steady readings; of the peaks where none is steady.",
        )  # fmt: skip
    thrust, power, current = block["thrust"], block["power"], block["current"]
    block["grams_per_watt"] = _derive(
        "full_grams_per_watt", "Thrust per power, full throttle", "g/W", 2, thrust / power, "Of the means."
    )
    block["grams_per_amp"] = _derive(
        "full_grams_per_amp", "Thrust per current, full throttle", "g/A", 1, thrust / current, "Of the means."
    )
    return block


full_kind = _derive(
    "summary_kind", "Kind", "", 0,
    (steady["count"] > 0).where(r.STEADY, (peak["count"] > 0).where(r.PEAK, "")),
    "Which readings the full-throttle figures are of: steady ones where there are any, else peaks.",
)  # fmt: skip
full = _full_block()
steady_speed = _derive(
    "steady_speed", "Speed, steady", "rpm", 0, _mean(r.speed, _at(r.AT_STEADY)), "Mean.", helper=True
)
full_thrust_to_mass = _derive(
    "full_thrust_to_mass", "Thrust per motor mass", "g/g", 1, full["thrust"] / trimmed_mass, "Leads trimmed.",
)  # fmt: skip
static_current = _derive(
    "static_current", "Highest static current", "A", 1,
    (full["count"] > 0).where(
        greater(peak["top_current"].otherwise(0.0), steady["top_current"].otherwise(0.0)), BLANK
    ),
    "Highest single reading at full throttle, peak or steady: what in-flight current is estimated from.",
)  # fmt: skip
full_label = _derive(
    "full_label", "Propeller, cells and kind", "", 0, full_kind.present().where(join(label, ", ", full_kind), label),
    "As it is spoken of.", helper=True,
)  # fmt: skip

# --- equal thrust ----------------------------------------------------------------------------------------


def _of_readings(name: str, label: str, expression: Node, meaning: str) -> Column:
    return r.READINGS.derive(Quantity(name, label, expression, meaning, definition(), shown=0, helper=True))


sweep_clean = _of_readings(
    "sweep_clean", "Sweep thrust, unflagged", flagged.equals(0).where(counting.sweep_thrust, 0.0),
    "As the sweep thrust, without flagged rows.",
)  # fmt: skip
sweep_typed = _of_readings(
    "sweep_typed", "Sweep thrust, left out or not",
    r.complete.equals(1).where(r.kind_taken.equals(r.PEAK).where(0.0, r.thrust), 0.0), "As the sweep thrust, with every row.",
)  # fmt: skip
full_current = _of_readings(
    "full_current", "Current, full throttle", (counting.point > 0).where(r.current, 0.0), "0 in all other rows."
)
typed_current = _of_readings(
    "typed_current", "Current, full throttle, left out or not", (r.full_kind > 0).where(r.current, 0.0),
    "0 in rows at part throttle.",
)  # fmt: skip


def equal_thrust(
    add: Callable[..., Column], first: Column, name: str, label: str, thrust: Node, sweep: Column = counting.sweep_thrust,
    helper: bool = False,
) -> Column:  # fmt: skip
    """Add g/W at `thrust` of the group whose first row is `first`: straight in logarithms between neighbouring readings.

    `add` derives a column from name, label, unit, decimals, expression and meaning.
    """

    def in_group(*more: Condition) -> tuple[Condition, ...]:
        return (Condition(r.group, "=", first), *more)

    def neighbour(place: str, words: str, nth: Node) -> Column:
        expression = Aggregate("largest", (sweep,), in_group(), nth)
        return add(f"{name}_{place}", f"{label}, {words}", "g", 0, expression, "Neighbouring reading.", helper=True)

    above = Aggregate("count", (sweep,), in_group(Condition(sweep, ">=", thrust)))
    upper = neighbour("upper", "next thrust up", above)
    lower = neighbour("lower", "next thrust down", above + 1)
    power_up = Aggregate("mean", (r.power,), in_group(Condition(sweep, "=", upper)))
    power_down = Aggregate("mean", (r.power,), in_group(Condition(sweep, "=", lower)))
    share = (thrust / lower).ln() / (upper / lower).ln()
    between = thrust / (power_down * (share * (power_up / power_down).ln()).exp())
    inside = (upper <= lower * widest_gap).where(between, BLANK)
    return add(
        name, label, "g/W", 2, (upper.equals(thrust)).where(thrust / power_up, inside),
        "Interpolated between steady readings, straight in logarithms; blank outside them and across wide gaps.",
        worked_out("power goes nearly as thrust to the power 1.5"), helper=helper,
    )  # fmt: skip


def _equal_thrust(name: str, label: str, thrust: Node, sweep: Column, helper: bool = False) -> Column:
    return equal_thrust(_derive, first_row, name, label, thrust, sweep, helper)


headline_efficiency = _equal_thrust(
    "headline_efficiency", "Thrust per power at headline thrust", compared_thrust, counting.sweep_thrust
)
round_efficiency = tuple(
    _equal_thrust(
        f"round_efficiency_{place}", f"Thrust per power at round thrust {place}",
        thrust, counting.sweep_thrust,
    )
    for place, thrust in enumerate(round_thrusts, start=1)
)  # fmt: skip

# --- what flagged rows decide ----------------------------------------------------------------------------

flagged_points = _derive(
    "flagged_points", "Flagged readings", "", 0, _count(_FLAGGED),
    "Rows of the group with a doubtful or impossible flag.",
)  # fmt: skip


@dataclass(frozen=True)
class Variant:
    """The quoted figures of each group over other rows than those that count."""

    full_thrust: Column
    static_current: Column
    headline_efficiency: Column
    full_efficiency: Column
    full_thrust_to_mass: Column


def _variant(
    part: str, words: str, steady_at: tuple[Condition, ...], peak_at: tuple[Condition, ...], currents: Column,
    of_current: tuple[Condition, ...], sweep: Column,
) -> Variant:  # fmt: skip
    """Derive them; the conditions say which rows are steady, which are peaks, and which currents are taken."""

    def helps(name: str, label: str, unit: str, shown: int, expression: Node) -> Column:
        return _derive(
            f"{name}_{part}", f"{label}, {words}", unit, shown, expression, f"With rows {words}.", helper=True
        )

    def mean(column: Column) -> Node:
        return _mean(column, *steady_at).otherwise(_mean(column, *peak_at))

    thrust = helps("full_thrust", "Thrust, full throttle", "g", 0, mean(r.thrust))
    return Variant(
        thrust,
        helps("static_current", "Highest static current", "A", 1, _highest(currents, *of_current)),
        _equal_thrust(
            f"headline_efficiency_{part}", f"Thrust per power at headline thrust, {words}", compared_thrust, sweep, True
        ),
        helps("full_efficiency", "Thrust per power, full throttle", "g/W", 2, thrust / mean(r.power)),
        helps("full_thrust_to_mass", "Thrust per motor mass", "g/g", 1, thrust / trimmed_mass),
    )


clean = _variant(
    "clean", "unflagged", (_at(r.AT_STEADY), _UNFLAGGED), (_at(r.AT_PEAK), _UNFLAGGED), full_current, (_UNFLAGGED,),
    sweep_clean,
)  # fmt: skip
everything = _variant(
    "all", "left out or not", (_typed_at(r.AT_STEADY),), (_typed_at(r.AT_PEAK),), typed_current, (), sweep_typed
)

SUMMARY.keep(
    full["count"], full["voltage"], full["current"], full["power"], full["thrust"], full["grams_per_watt"],
    full["grams_per_amp"], full_thrust_to_mass, static_current, headline_efficiency, steady_speed, steady["count"],
    peak["count"], steady["top_current"], peak["top_current"], flagged_points, pitch_ratio=pitch_ratio, kind=full_kind,
)  # fmt: skip
r.READINGS.keep(sweep_clean)
