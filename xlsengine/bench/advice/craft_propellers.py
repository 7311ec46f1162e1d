"""Which propeller for the craft: what each that was tested on the pack's cells does for it, the one of most thrust first.

A craft that hovers is told throttle, amps and minutes aloft; one on a wing, what full throttle takes.
"""

from xlsengine.bench.advice import craft_load as load
from xlsengine.bench.advice import esc_needs as n
from xlsengine.bench.advice import in_flight as f
from xlsengine.bench.advice import rule_of_thumb as rule
from xlsengine.bench.advice.craft_hover import AtRest
from xlsengine.bench.declaring.declare import Figures, Table
from xlsengine.bench.declaring.spoken import if_there
from xlsengine.bench.groups import summary as g
from xlsengine.bench.groups.by_propeller import told_cells, told_thrust
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.craft import (
    all_up_mass,
    craft_propeller,
    motor_count,
    pack_cells,
)
from xlsengine.bench.inputs.settings import esc_peak_over_steady, hover_range, pack_rate_most
from xlsengine.bench.physics.group_rows import prop_first, prop_key
from xlsengine.expression import Column, Condition, Constant, Node, Operand, call, flag, join, say
from xlsengine.sources import worked_out

_TIE = 1e-6
CHOSEN = "(chosen)"
BY_STEPS, ESTIMATE, OUT_OF_REACH = "steps", "estimate", "out of reach"
_flown = g.SUMMARY.helper("flown_key", "Thrust on the cells of the pack").derive(
    (flag(pack_cells.otherwise(told_cells).equals(told_cells)) * (told_thrust + 1 - g.summary_row * _TIE)).otherwise(
        0.0
    )
    * flag(told_cells > 0),
    "And 1 g, so that who has no thrust comes last; 0 on other cell counts.",
)
_room = g.SUMMARY.helper("flown_room", "Row kept on Craft").derive(
    pack_cells.present().where(prop_first, (told_cells > 0).where(g.summary_row)),
    "One for each propeller, or where Pack cells is blank for each propeller and cell count.",
)
FLOWN = Table(
    "CraftPropellers",
    "What each propeller does for the craft, on the cells of its pack.",
    per=(_room,),
    prefix="flown_",
    source=worked_out("as Craft says for the one that it answers for"),
)
_there = Condition(_flown, ">", Constant(0.0))
row = FLOWN.row = FLOWN.helper("row", "Summary row").derive(
    _flown.position(_flown.largest(_there, place=FLOWN.numbered("place")))
)
SAID = Figures("Propellers for the craft", "What is said of them.", source=FLOWN.source)
_hovers = SAID.figure("flown_hovers", "Told of hovering").derive(
    motor_count.present().where(rule.hovers(1.0, 0.0), 0.0),
    "1 for a craft that hovers; 0 on a wing, and where nothing is filled in.",
)


def _by_flying(hover: Operand, wing: Operand) -> Node:
    return _hovers.equals(1).where(hover, wing)


_rest = AtRest(row)
_thrust, _amps = g.full["thrust"].at(row), g.static_current.at(row)


def _either(name: str, hover: tuple[str, Node], wing: tuple[str, Node], unit: str = "", decimals: int = 1) -> Column:
    """Add a column that says one thing of a craft that hovers and another of one on a wing."""
    label = f"{hover[0]}, or on a wing {wing[0]}"
    heading = FLOWN.column(name, label, unit, decimals=decimals)
    column = heading.derive(_by_flying(hover[1], wing[1]), "By what Craft says is flown.")
    HEADERS[column] = _by_flying(hover[0], wing[0])
    return column


def _same(name: str, label: str, node: Node, decimals: int = 1) -> Column:
    column = FLOWN.column(name, label, decimals=decimals).derive(node)
    HEADERS[column] = label
    return column


HEADERS: dict[Column, str | Node] = {}
"""The columns in their order, and what is written above them."""
_chosen = (r.propeller_key(craft_propeller).equals(prop_key.at(row))).where(f" {CHOSEN}", "")
_named = pack_cells.present().where(g.prop.at(row), g.label.at(row))
prop = _same("prop", "Propeller", row.present().where(join(_named, if_there(craft_propeller, _chosen)), ""))
ratio = _same("ratio", "Thrust to weight", _thrust * motor_count / all_up_mass)
thrust = _same("thrust", "Thrust each (g)", _thrust, 0)
first = _either(
    "first",
    ("Hover throttle (%)", _rest.throttle),
    ("g/W at full throttle", g.full["grams_per_watt"].at(row)),
    decimals=2,
)
second = _either("second", ("Hover, each motor (A)", _rest.current), ("Static, each motor (A)", _amps))
third = _either(
    "third",
    ("Minutes hovering", _rest.minutes(_rest.watts)),
    ("Minutes at full throttle, static", load.minutes_at(_amps)),
)
_hover_by = call("choose", _rest.by + 1, OUT_OF_REACH, ESTIMATE, BY_STEPS)
_known = (row * motor_count * all_up_mass > 0).where(1.0, 0.0).otherwise(0.0).equals(1)
_flying_for = load.minutes_said(row).otherwise("")
fourth = _either(
    "fourth", ("Hover by", _known.where(_hover_by, "")), ("Minutes at full throttle, in flight", _flying_for)
)
_in_flight = f.told(f.flight_low.at(row), f.flight_high.at(row), _amps, f.flight_basis.at(row))
in_flight = _same("in_flight", "In flight, each motor (A)", _in_flight.otherwise(""))
pack_amps = _same("pack_amps", "From the pack, all motors (A)", motor_count * load.wiring(row), 0)
pack_rate = _same("pack_rate", "C of the pack", load.rate(motor_count * load.wiring(row)), 0)
size = _same("size", "ESC (A)", rule.flown_in_bursts(n.flight_size.at(row), n.held_size.at(row)), 0)
HEADERS[size] = rule.flown_in_bursts("ESC, bursts (A)", "ESC, held (A)")

# --- what stands above and below ---------------------------------------------------------------------------------

title = SAID.figure("flown_title", "Which propeller").derive(
    join("Which propeller for your craft", pack_cells.present().where(say(" on {:.0f}S", pack_cells), ""), "?")
)


def _filled(yes: Operand, no: Operand) -> Node:
    return motor_count.present().where(all_up_mass.present().where(yes, no), no)


_asked = "All-up mass and Number of motors add the rest. "
note = SAID.figure("flown_note", "What its marks mean").derive(
    say(
        "{}Green: best, or within {:.0f} %.{} Amber: over {:.0f}C, more than packs hold (common practice). "
        "In flight: estimate, often more.{}",
        _filled("", _asked),
        hover_range,
        _by_flying(" Estimate: from full throttle, less sure.", ""),
        pack_rate_most,
        _filled(say(" From the pack: {:.2f} times where no peak was read.", esc_peak_over_steady), ""),
    )
)
_more = _flown.count(_there) - row.count()
unlisted = (_more > 0).where(say("{:.0f} more were tested: make the results again to see them.", _more), "")
"""What a workbook has no row for that was written for other cells of a pack."""
