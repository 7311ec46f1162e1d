"""One row for each propeller and cell count: full-throttle figures, equal-thrust efficiency, flight and ESC."""

from collections.abc import Callable

from xlsengine.bench.checks.row_checks import FLAGGED_ROWS, UNFLAGGED_BUT_SPEED, UNFLAGGED_ROWS
from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.conditions import readings_are
from xlsengine.bench.inputs.motor import stator_volume, trimmed_mass
from xlsengine.bench.inputs.settings import widest_gap
from xlsengine.bench.judging import counting
from xlsengine.bench.judging.round_thrusts import compared_thrust, round_thrusts
from xlsengine.bench.physics import group_rows as rows
from xlsengine.expression import Column, Condition, Constant, Node, Operand, greater, say
from xlsengine.sources import worked_out
from xlsengine.units import GRAM_FORCE

SUMMARY, summary_row, first_row = rows.SUMMARY, rows.summary_row, rows.first_row
prop, cells = rows.prop, rows.cells
diameter = SUMMARY.take(r.diameter, "summary_diameter", decimals=2, helper=True)
pitch_ratio = SUMMARY.take(r.pitch_ratio, "summary_pitch_ratio", helper=True)
label = SUMMARY.helper("summary_label", "Propeller and cells").derive(say("{} on {:.0f}S", prop, cells))


def _in_group(*more: Condition) -> tuple[Condition, ...]:
    return (Condition(r.group, "=", first_row), *more)


def _at(kind: float, point: Column = counting.point) -> Condition:
    """Ask for a kind at full throttle: of what counts, or by `full_kind` whether it counts or not."""
    return Condition(point, "=", Constant(kind))


def _mean(column: Column, *conditions: Condition) -> Node:
    return column.mean(*_in_group(*conditions))


def _count(*conditions: Condition) -> Node:
    return r.group.count(*_in_group(*conditions))


_Block = dict[str, Column]
_FIGURES = (
    ("voltage", "V", r.voltage),
    ("current", "A", r.current),
    ("power", "W", r.power),
    ("thrust", "g", r.thrust),
)


def _block(word: str, point: float) -> _Block:
    """Derive the full-throttle figures of one kind of reading."""
    at = _at(point)
    block = {"count": SUMMARY.helper(f"{word}_count", f"Readings, {word}").derive(_count(at))}
    for part, unit, column in _FIGURES:
        block[part] = SUMMARY.column(f"{word}_{part}", f"{part.capitalize()}, {word}", unit).derive(
            _mean(column, at), "Mean over those that count."
        )
    block["top_current"] = SUMMARY.column(f"{word}_top_current", f"Highest current, {word}", "A").derive(
        counting.full_current.largest(*_in_group(at)), "Highest single reading."
    )
    return block


peak = _block(r.PEAK, r.AT_PEAK)
steady = _block(r.STEADY, r.AT_STEADY)
_of_no_kind = counting.full_current.largest(*_in_group(_at(r.AT_PEAK), Condition(r.kind, "=", Constant(""))))
unstated_current = (~readings_are.present() & (_of_no_kind > 0)).where(_of_no_kind)
"""Of a reading that neither Kind nor Bench calls steady or peak: it counts as a peak, and may be a steady one whose peak was
not read."""


full_point = SUMMARY.helper("full_point", "Kind, code").derive((steady["count"] > 0).where(r.AT_STEADY, r.AT_PEAK))


full_kind = SUMMARY.column("summary_kind", "Kind").derive(
    (Column(SUMMARY.name, "full_count") > 0).where(full_point.equals(r.AT_STEADY).where(r.STEADY, r.PEAK), "")
)
_UNSAID = (Condition(r.full_kind, "=", Constant(r.AT_PEAK)), Condition(r.kind, "=", Constant("")))
kind_unsaid = ~readings_are.present() & (r.full_kind.count(*_UNSAID) > 0)
"""Whether a full-throttle reading counts as a peak only because nobody said what it is."""


def spoken_kind(row: Operand) -> Node:
    """Name the kind of the figures quoted for a row as it was said."""
    kind = full_kind.at(row)
    return (kind_unsaid & kind.equals(r.PEAK)).where("peak or steady", kind)


_quoted = Condition(counting.point, "=", full_point)
full: _Block = {
    "count": SUMMARY.column("full_count", "Readings").derive(_count(_quoted), "How many readings the means are of.")
}
"""The figures that are quoted at full throttle: steady where there is one, else peak."""
for _part, _unit, _ in _FIGURES:
    full[_part] = SUMMARY.column(f"full_{_part}", f"{_part.capitalize()}, full throttle", _unit).derive(
        steady[_part].otherwise(peak[_part]), "Mean of the steady readings; of the peaks where none is steady."
    )
for _per, _unit, _below in (("watt", "g/W", "power"), ("amp", "g/A", "current")):
    _heading = SUMMARY.column(f"full_grams_per_{_per}", f"Thrust per {_below}, full throttle", _unit)
    full[f"grams_per_{_per}"] = _heading.derive(full["thrust"] / full[_below], "Of the means.")
full_speed = SUMMARY.helper("full_speed", "Speed, full throttle", "rpm").derive(_mean(r.speed, _quoted))
full_torque = SUMMARY.helper("full_torque", "Torque, full throttle", "N·m").derive(_mean(r.torque, _quoted))
steady_speed = SUMMARY.helper("steady_speed", "Speed, steady", "rpm").derive(_mean(r.speed, _at(r.AT_STEADY)))
full_thrust_to_mass = SUMMARY.column("full_thrust_to_mass", "Thrust per motor mass", "g/g").derive(
    full["thrust"] / trimmed_mass, "Leads trimmed."
)
full_power_to_mass = SUMMARY.column("full_power_to_mass", "Power per motor mass", "W/g", decimals=2).derive(
    full["power"] / trimmed_mass, "Leads trimmed."
)
full_thrust_to_volume = SUMMARY.column("full_thrust_to_volume", "Thrust per stator volume", "g/cm³").derive(
    full["thrust"] / stator_volume, "Only where the size is that of the stator."
)
full_disk_loading = SUMMARY.column("full_disk_loading", "Disk loading", "N/m²").derive(
    full["thrust"] * GRAM_FORCE / (r.DISK * diameter**2), "Thrust over the propeller's disk."
)
static_current = SUMMARY.column("static_current", "Highest static current", "A").derive(
    (full["count"] > 0).where(greater(peak["top_current"].otherwise(0.0), steady["top_current"].otherwise(0.0))),
    "Highest single reading at full throttle, peak or steady: what in-flight current is estimated from.",
)
# --- equal thrust ----------------------------------------------------------------------------------------

sweep_clean = r.READINGS.helper("sweep_clean", "Sweep thrust, unflagged").derive(
    (counting.point >= r.AT_STEADY).where(UNFLAGGED_BUT_SPEED.where(r.thrust_read, 0.0), 0.0)
)
"""0 in all rows but steady ones that count and are not flagged, unless for their speed alone."""
_STEADY = Condition(r.kind_taken, "=", Constant(r.STEADY))


def equal_thrust(
    table: Table,
    first: Column,
    name: str,
    label: str,
    thrust: Node,
    sweep: Column = r.thrust_read,
    among: tuple[Condition, ...] = (counting.STEADY_POINTS,),
    helper: bool = False,
) -> Column:
    """Add g/W at `thrust` of the group whose first row is `first`: straight in logarithms between neighbouring readings.

    `sweep` holds the thrust of the readings that it is taken from, `among` those that meet these conditions.
    """

    def in_group(*more: Condition) -> tuple[Condition, ...]:
        return (Condition(r.group, "=", first), *among, *more)

    def neighbour(place: str, words: str, found: Node) -> Column:
        return table.helper(f"{name}_{place}", f"{label}, {words}", "g").derive(found)

    above = sweep.count(*in_group(Condition(sweep, ">=", thrust)))
    upper = neighbour("upper", "next thrust up", sweep.largest(*in_group(), place=above))
    lower = neighbour("lower", "next thrust down", sweep.largest(*in_group(Condition(sweep, "<=", thrust))))
    power_up = r.power.mean(*in_group(Condition(sweep, "=", upper)))
    power_down = r.power.mean(*in_group(Condition(sweep, "=", lower)))
    share = ((thrust / lower).ln() / (upper / lower).ln()).otherwise(0.0)
    between = thrust / (power_down * (share * (power_up / power_down).ln()).exp())
    return table.column(name, label, "g/W", helper=helper).derive(
        (upper <= lower * widest_gap).where(between),
        "Interpolated between steady readings, straight in logarithms; blank outside them and across wide gaps.",
        worked_out("power goes nearly as thrust to the power 1.5"),
    )


headline_efficiency = equal_thrust(
    SUMMARY, first_row, "headline_efficiency", "Thrust per power at headline thrust", compared_thrust
)
round_efficiency = tuple(
    equal_thrust(SUMMARY, first_row, f"round_efficiency_{place}", f"Thrust per power at round thrust {place}", thrust)
    for place, thrust in enumerate(round_thrusts, start=1)
)

# --- what flagged rows decide ----------------------------------------------------------------------------

flagged_points = SUMMARY.column("flagged_points", "Flagged readings").derive(
    _count(FLAGGED_ROWS), "Rows of the group with a doubtful or impossible flag."
)


def _variant(
    part: str,
    words: str,
    full: Callable[[float], tuple[Condition, ...]],
    of_current: tuple[Condition, ...],
    sweep: Column,
    among: tuple[Condition, ...],
) -> dict[str, Node]:
    """Return the largest of the quoted figures over other rows than those that count.

    The conditions say which rows of a kind are at full throttle, and which currents are taken.
    """

    def helps(name: str, label: str, unit: str, expression: Node) -> Column:
        return SUMMARY.helper(f"{name}_{part}", f"{label}, {words}", unit).derive(expression)

    def mean(column: Column) -> Node:
        return _mean(column, *full(r.AT_STEADY)).otherwise(_mean(column, *full(r.AT_PEAK)))

    thrust = helps("full_thrust", "Thrust, full throttle", "g", mean(r.thrust))
    efficiency = helps("full_efficiency", "Thrust per power, full throttle", "g/W", thrust / mean(r.power))
    at_thrust = equal_thrust(
        SUMMARY,
        first_row,
        f"headline_efficiency_{part}",
        f"Thrust per power at headline thrust, {words}",
        compared_thrust,
        sweep,
        among,
        helper=True,
    )
    current = counting.full_current.largest(*of_current)
    return {
        "full_thrust": thrust.largest(),
        "static_current": (current > 0).where(current),
        "headline_efficiency": at_thrust.largest(),
        "full_efficiency": efficiency.largest(),
        "full_thrust_to_mass": thrust.largest() / trimmed_mass,
    }


clean = _variant(
    "clean",
    "unflagged",
    lambda kind: (_at(kind), UNFLAGGED_ROWS),
    (Condition(counting.point, ">", Constant(0.0)), UNFLAGGED_ROWS),
    sweep_clean,
    (),
)
everything = _variant("all", "left out or not", lambda kind: (_at(kind, r.full_kind),), (), r.thrust_read, (_STEADY,))

AT_EQUAL_THRUST = (
    headline_efficiency,
    *round_efficiency,
    *(Column(SUMMARY.name, f"{headline_efficiency.name}_{part}") for part in ("clean", "all")),
)
"""What is blank where no reading is steady."""


def of_everything(part: str, most: Node) -> Node:
    """Name the propeller and cell count whose readings, left out or not, give `most` of a quoted figure."""
    if part == "static_current":
        row = counting.full_current.position(most)
        return say("{} on {:.0f}S", r.prop.at(row), r.cells.at(row))
    if part == "full_thrust_to_mass":
        return of_everything("full_thrust", Column(SUMMARY.name, "full_thrust_all").largest())
    return label.at(Column(SUMMARY.name, f"{part}_all").position(most))


SUMMARY.keep(
    *full.values(),
    full_thrust_to_mass,
    static_current,
    headline_efficiency,
    steady_speed,
    steady["count"],
    peak["count"],
    steady["top_current"],
    peak["top_current"],
    flagged_points,
    pitch_ratio=pitch_ratio,
    kind=full_kind,
)
r.READINGS.keep(sweep_clean)
