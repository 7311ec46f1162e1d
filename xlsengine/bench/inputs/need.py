"""What somebody needs of a motor and propeller: the form that is filled to search a library of tests, and its factors."""

from collections.abc import Callable, Mapping
from dataclasses import replace

from xlsengine.bench.declaring.declare import Field, Form
from xlsengine.bench.inputs.craft import CRAFT
from xlsengine.bench.inputs.settings import SETTINGS
from xlsengine.bench.inputs.typed import cells_of, field_of, rows_for
from xlsengine.expression import Named

NEED = Form("Need", "What the craft needs; only the fields marked * have to be filled. A blank limit rejects nothing.")


def _asked(row: Mapping[str, str]) -> Field:
    """Return the field of a row of typed.csv; without a label it is one of Craft, so that what holds there holds here too."""
    if "label" in row:
        return field_of(row)
    return replace(CRAFT.fields[row["name"]], meaning=row["meaning"], required="required" in row)


for _row in rows_for(NEED.name):
    NEED.input(_asked(_row))
NEED.input(SETTINGS.fields["usable_capacity"])
__getattr__: Callable[[str], Named] = cells_of(NEED)

FACTORS = Form("NeedFactors", "What the judgement goes by, as on Settings of a test.")
"""Settings that the declarations of hovering, ESC and uncertainty ask for; usable capacity stands on Need."""
_FACTORS = (
    "avionics_power reference_cell_voltage flight_time_range hover_gap hover_range current_exponent_low "
    "current_exponent_high esc_steady_share esc_burst_ratio esc_launch_limit flight_share_low flight_share_high "
    "pitch_ratio_limit pack_rate_most default_scatter least_repeats coverage"
)
for _name in _FACTORS.split():
    FACTORS.input(SETTINGS.fields[_name])

NEED_FORMS: tuple[Form, ...] = (NEED, FACTORS)
NEED_FIELDS: dict[str, Field] = {name: field for form in NEED_FORMS for name, field in form.fields.items()}
