"""Which propeller for the craft: what each that was tested on the pack's cells does for it, the one of most thrust first.

A craft that hovers is told throttle, amps and minutes aloft; one on a wing, or of which nothing is known but full
throttle, what that takes.
"""

from xlsengine.bench.advice import esc_needs as n
from xlsengine.bench.advice import in_flight as f
from xlsengine.bench.advice import rule_of_thumb as rule
from xlsengine.bench.advice import suitability as asks
from xlsengine.bench.advice.limits import all_holds
from xlsengine.bench.advice.short_answers import is_told
from xlsengine.bench.advice.suitability import hover_throttle, minutes_at, of_row
from xlsengine.bench.declaring.declare import Figures, Table
from xlsengine.bench.declaring.spoken import if_there
from xlsengine.bench.groups import summary as g
from xlsengine.bench.groups.by_propeller import told_cells, told_thrust
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.craft import all_up_mass, craft_propeller, motor_count, pack_cells
from xlsengine.bench.inputs.settings import esc_peak_over_steady, hover_range, pack_rate_high, pack_rate_most
from xlsengine.bench.physics.group_rows import prop_first, prop_key
from xlsengine.expression import Column, Condition, Constant, Node, Operand, flag, join, say
from xlsengine.sources import worked_out

_TIE = 1e-6
CHOSEN = "(chosen)"
_on_pack = flag(all_holds & pack_cells.otherwise(told_cells).equals(told_cells))
# and 1 g, so that who has no thrust comes last
_flown = g.SUMMARY.helper("flown_key", "Thrust on the cells of the pack").derive(
    (_on_pack * (told_thrust + 1 - g.summary_row * _TIE)).otherwise(0.0) * flag(told_cells > 0)
)
_room = g.SUMMARY.helper("flown_room", "Row kept on Craft").derive(
    pack_cells.present().where(prop_first, (told_cells > 0).where(g.summary_row))
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
    motor_count.present().where(rule.hovers(flag(is_told).otherwise(0.0), 0.0), 0.0)
)


def _by_flying(hover: Operand, wing: Operand) -> Node:
    return _hovers.equals(1).where(hover, wing)


HEADERS: dict[Column, str | Node] = {}
"""The columns in their order, and what is written above them."""


def _column(name: str, header: str, node: Node, decimals: int = 1, wing: tuple[str, Node] | None = None) -> Column:
    """Add what a row of the summary comes to; a column may say another thing of a craft on a wing."""
    if wing is None:
        column = FLOWN.column(name, header, decimals=decimals).derive(of_row(node, row))
        HEADERS[column] = header
        return column
    other, flown = wing
    heading = FLOWN.column(name, f"{header}, or on a wing {other}", decimals=decimals)
    column = heading.derive(of_row(_by_flying(node, flown), row))
    HEADERS[column] = _by_flying(header, other)
    return column


_amps, _in_all = g.static_current, motor_count * asks.wiring
_chosen = (r.propeller_key(craft_propeller).equals(prop_key)).where(f" {CHOSEN}", "")
_named = join(pack_cells.present().where(g.prop, g.label), if_there(craft_propeller, _chosen))
_known = flag(row * motor_count * all_up_mass > 0).otherwise(0.0).equals(1)
_per_watt, _flying_for = g.full["grams_per_watt"], asks.minutes_said.otherwise("")
prop = _column("prop", "Propeller", row.present().where(_named, ""))
ratio = _column("ratio", "Thrust to weight", g.full["thrust"] * motor_count / all_up_mass)
thrust = _column("thrust", "Thrust each (g)", g.full["thrust"], 0)
first = _column("first", "Hover throttle (%)", hover_throttle, 2, ("g/W at full throttle", _per_watt))
_is_told = asks.hover_by >= asks.ESTIMATED
second = _column(
    "second", "Hover, each motor (A)", _is_told.where(asks.hover_current), 1, ("Static, each motor (A)", _amps)
)
_static = "Minutes at full throttle, static", asks.full_minutes(_amps)
third = _column("third", "Minutes hovering", minutes_at(_is_told.where(asks.hover_watts), g.cells), 1, _static)
_flying = "Minutes at full throttle, in flight", _flying_for
fourth = _column("fourth", "Hover by", _known.where(asks.hover_basis, ""), 1, _flying)
_in_flight = f.told(f.flight_low, f.flight_high, _amps, f.flight_basis).otherwise("")
in_flight = _column("in_flight", "In flight, each motor (A)", _in_flight)
pack_amps = _column("pack_amps", "Pack, all motors (A)", _in_all, 0)
pack_rate = _column("pack_rate", "C of the pack", asks.rate(_in_all), 0)
size = _column("size", "ESC (A)", rule.flown_in_bursts(n.flight_size, n.held_size), 0)
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
        "{}Green: best, or within {:.0f} %.{} Amber: over {:.0f}C, more than packs hold for long; red: over {:.0f}C, more "
        "than any (common practice).{}",
        _filled("", _asked),
        hover_range,
        _by_flying(" Estimate: less sure; rough: not told.", ""),
        pack_rate_high,
        pack_rate_most,
        _filled(say(" From the pack: {:.2f} times where no peak counts.", esc_peak_over_steady), ""),
    )
)
_more = _flown.count(_there) - row.count()
unlisted = (_more > 0).where(say("{:.0f} more were tested: make the results again to see them.", _more), "")
"""What a workbook has no row for that was written for other cells of a pack."""
