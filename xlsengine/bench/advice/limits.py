"""Whether what is typed on Craft, and the settings that its answers go by, can be: where not, there is no answer.

The reader refuses such a workbook; a cell that is changed in the results is asked here.
"""

import operator
from functools import reduce

from xlsengine.bench.declaring.declare import Field, Figures, Form
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.inputs.craft import CRAFT
from xlsengine.bench.inputs.settings import SETTINGS
from xlsengine.expression import Named, Node, call, first_holding, flag
from xlsengine.sources import definition

ESC_SETTINGS = (
    *(s.flight_share_low, s.flight_share_high, s.pitch_ratio_limit, s.esc_steady_share),
    *(s.esc_burst_ratio, s.esc_peak_over_steady, s.esc_launch_limit),
)
"""What the ESC advice goes by."""
_CRAFT_SETTINGS = (s.usable_capacity, s.avionics_power, s.reference_cell_voltage, s.pack_rate_high, s.pack_rate_most)
_HINTS = {"all_up_mass": " (0.42 kg is 420)"}
BEYOND = " must be "
CRAFT_HOLDS = "Change a cream cell; the rest follows."
SETTINGS_HOLD = "What the answers on Report, Craft and ESC go by lies within what is wanted."
ASKED = frozenset((*CRAFT.fields, *(cell.name for cell in (*ESC_SETTINGS, *_CRAFT_SETTINGS))))
"""Names of the cells that are asked."""
LIMITS = Figures("Limits", "What was typed that cannot be.", source=definition())


def _is_possible(cell: Named, declared: Field) -> Node:
    """Return 1 where a cell that is filled in holds what its field takes, else 0."""
    if declared.choices:
        return flag(reduce(operator.or_, map(cell.equals, declared.choices)))
    assert declared.low is not None
    assert declared.high is not None
    within = (cell >= declared.low) & (cell <= declared.high)
    if declared.kind == "whole":
        within = within & cell.equals(cell.whole_part())
    return flag(within).otherwise(0.0)


def _beyond(form: Form, cell: Named) -> tuple[Node, str]:
    """Return when a cell holds what its field does not take, and the words for it; a required one may not be blank."""
    declared = form.fields[cell.name]
    possible = _is_possible(cell, declared)
    asked = possible if declared.required else call("written", cell).where(possible, 1.0)
    return asked < 1, f"{declared.label} on {form.name}{BEYOND}{declared.wanted}{_HINTS.get(cell.name, '')}"


_craft = (CRAFT.typed(name) for name, one in CRAFT.fields.items() if one.kind != "text")
craft_state = LIMITS.figure("craft_state", "What was typed on Craft").derive(
    first_holding([_beyond(CRAFT, cell) for cell in _craft], CRAFT_HOLDS)
)
settings_state = LIMITS.figure("settings_state", "What the answers go by on Settings").derive(
    first_holding([_beyond(SETTINGS, cell) for cell in (*ESC_SETTINGS, *_CRAFT_SETTINGS)], SETTINGS_HOLD)
)
settings_hold: Node = settings_state.equals(SETTINGS_HOLD)
craft_holds: Node = craft_state.equals(CRAFT_HOLDS)
all_holds: Node = settings_hold & craft_holds
"""Without it there is no size, no range in flight and no answer for the craft."""
