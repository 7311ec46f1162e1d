"""What somebody needs of a motor and propeller: the form that is filled to search a library of tests, and its factors."""

from dataclasses import replace

from xlsengine.bench.declaring.declare import Field, Form
from xlsengine.bench.inputs.craft import CRAFT, all_up_mass, motor_count, pack_capacity, pack_cells, way_of_flying
from xlsengine.bench.inputs.settings import SETTINGS
from xlsengine.expression import Named
from xlsengine.sources import practice

NEED = Form("Need", "What the craft needs; only the fields marked * have to be filled. A blank limit rejects nothing.")


def _of_craft(cell: Named, meaning: str, required: bool = False) -> Named:
    """Ask for a field of Craft under the same name, so that what is declared of a craft holds here too."""
    asked = replace(CRAFT.fields[cell.name], meaning=meaning, required=required)
    return NEED.input(asked)


_of_craft(all_up_mass, "Of the whole craft, ready to fly, with its pack.", required=True)
_of_craft(motor_count, "Number of driven propellers that lift or pull together.", required=True)
wanted_ratio = NEED.number(
    "wanted_ratio",
    "Thrust to weight",
    "",
    (0.1, 30),
    "Static thrust of all motors at full throttle over the weight, at least. About 2 for a craft that hovers calmly, 4 and "
    "more for one that is flown hard.",
    required=True,
    source=practice("2 to 12 are spoken of"),
)
_of_craft(pack_cells, "Cell count of the pack; blank: any.")
largest_propeller = NEED.number(
    "largest_propeller", "Largest propeller", "in", (0.5, 60), "Diameter that the frame has room for; blank: any."
)
_CONTINUOUS = "Continuous rating of the largest ESC that may be used, judged"
flight_limit, bench_limit = (
    NEED.number(f"esc_{place}_limit", f"ESC limit {words}", "A", (1, 1000), f"{_CONTINUOUS} {judged}", decimals=0)
    for place, words, judged in (
        ("flight", "in flight", "for short bursts in flight as on the sheet ESC of results; blank: any."),
        ("bench", "on the bench", "with full throttle held; blank: any."),
    )
)
largest_motor_mass = NEED.number(
    "largest_motor_mass", "Largest motor mass", "g", (0.5, 3000), "Of one motor with trimmed leads; blank: any."
)
_of_craft(
    way_of_flying,
    "What it is flown for. Decides how an ESC is judged; blank: as with full throttle held, the safer one.",
)
_of_craft(pack_capacity, "Of the craft's pack, for minutes in hover; blank: ranked by grams per watt in hover.")
NEED.input(SETTINGS.fields["usable_capacity"])

FACTORS = Form("NeedFactors", "What the judgement goes by, as on Settings of a test.")
"""Settings that the declarations of hovering, ESC and uncertainty ask for; usable capacity stands on Need."""
for _name in (
    "avionics_power",
    "reference_cell_voltage",
    "flight_time_range",
    "hover_gap",
    "hover_range",
    "current_exponent_low",
    "current_exponent_high",
    "esc_steady_share",
    "esc_burst_ratio",
    "esc_launch_limit",
    "flight_share_low",
    "flight_share_high",
    "pitch_ratio_limit",
    "default_scatter",
    "least_repeats",
    "coverage",
):
    FACTORS.input(SETTINGS.fields[_name])

NEED_FORMS: tuple[Form, ...] = (NEED, FACTORS)
NEED_FIELDS: dict[str, Field] = {name: field for form in NEED_FORMS for name, field in form.fields.items()}
