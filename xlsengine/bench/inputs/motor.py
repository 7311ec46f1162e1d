"""The motor as it came: what the label says, what it weighs, what was seen inside, and its leads, with the wire by gauge.

Each field of the form (typed.csv) is a name here.
"""

import math
from collections.abc import Callable

from xlsengine.bench.declaring.declare import Figures, Form, Table
from xlsengine.bench.inputs.settings import lead_mass_tolerance, silicone_density
from xlsengine.bench.inputs.typed import cells_of, filled
from xlsengine.expression import Constant, Named, greater
from xlsengine.sources import ASTM_B258, IACS, definition, worked_out

COPPER_DENSITY = 8.89
COPPER_RESISTIVITY = 1 / 58
GAUGE_RATIO = 92 ** (1 / 39)

_OUTSIDE = {26: 1.5, 24: 1.6, 22: 1.7, 20: 1.8, 18: 2.3, 16: 3.0, 14: 3.5, 12: 4.5, 10: 5.5}

WIRES = filled(
    Table(
        "Wires",
        "Silicone lead wire by gauge.",
        rows=tuple({"gauge": float(gauge), "outside_diameter": outside} for gauge, outside in _OUTSIDE.items()),
    )
)
gauge, outside_diameter = map(WIRES.typed, ("gauge", "outside_diameter"))
copper_area = WIRES.column("copper_area", "Copper area", "mm²", symbol="A_Cu", decimals=3).derive(
    (math.pi / 4 * 0.127**2) * ((36 - gauge) * (2 * math.log(GAUGE_RATIO))).exp(),
    "Area of a solid wire of this gauge; stranded wire is made to the same.",
    ASTM_B258,
)
wire_mass = WIRES.column("wire_mass", "Mass", "g/m", symbol="m′", decimals=2).derive(
    COPPER_DENSITY * copper_area
    + silicone_density * (Constant(math.pi / 4) * outside_diameter * outside_diameter - copper_area),
    "Copper and insulation.",
    worked_out("copper area and outside diameter"),
)
wire_resistance = WIRES.column("wire_resistance", "Resistance", "mΩ/m", symbol="R′", decimals=2).derive(
    1000 * COPPER_RESISTIVITY / copper_area, "At 20 °C.", IACS
)

# --- the motor -----------------------------------------------------------------------------------------------------

LEADS = 3
MOTOR = filled(Form("Motor", "What was tested and where it came from."))
__getattr__: Callable[[str], Named] = cells_of(MOTOR)
STATOR, CAN = MOTOR.fields["size_code_means"].choices
size_code_means, stator_diameter, stator_height = map(
    MOTOR.typed, ("size_code_means", "stator_diameter", "stator_height")
)
lead_gauge, lead_length_as_supplied, trimmed_lead_length = map(
    MOTOR.typed, ("lead_gauge", "lead_length_as_supplied", "trimmed_lead_length")
)
mass_as_supplied, trimmed_mass_measured = map(MOTOR.typed, ("mass_as_supplied", "trimmed_mass_measured"))

_PARTS = ("Shaft", "Bell retention and play", "Bearings", "Magnets", "Air gap")
_MORE_PARTS = ("Laminations", "Winding", "Leads and joints", "Mount and screw depth", "Balance marks")
INSPECTION = filled(
    Table(
        "Inspection",
        "What was seen when the motor was opened: what you saw, not how you like it.",
        spare=6,
        rows=tuple({"inspected": item} for item in (*_PARTS, *_MORE_PARTS)),
    )
)

GRADES = INSPECTION.fields["grade"].choices

MASS_AND_LEADS = Figures(
    "Mass and leads", "Mass with trimmed leads, and what the leads add in resistance.", source=worked_out("wire table")
)
lead_mass_per_metre, lead_resistance_per_metre = (
    MASS_AND_LEADS.figure(f"lead_{name}_per_metre", f"Lead wire {name}", unit, symbol, decimals=2).derive(
        of_wire.at(gauge.position(lead_gauge)), f"Of one lead{at}, from the wire table on Settings."
    )
    for name, unit, symbol, of_wire, at in (
        ("mass", "g/m", "m′_lead", wire_mass, ""),
        ("resistance", "mΩ/m", "R′_lead", wire_resistance, " at 20 °C"),
    )
)
lead_mass_removed = MASS_AND_LEADS.figure(
    "lead_mass_removed", "Lead mass cut away, estimated", "g", symbol="Δm", decimals=2
).derive(
    LEADS * (lead_length_as_supplied - trimmed_lead_length) / 1000 * lead_mass_per_metre,
    "Three leads, from length and gauge.",
)
lead_mass_uncertain = MASS_AND_LEADS.figure(
    "lead_mass_uncertain", "Uncertainty of that estimate, ±", "g", symbol="±Δm", decimals=2
).derive(greater(lead_mass_removed, -lead_mass_removed) * lead_mass_tolerance / 100, "From the tolerance on Settings.")
trimmed_mass = MASS_AND_LEADS.figure("trimmed_mass", "Trimmed mass", "g", symbol="m", decimals=1).derive(
    trimmed_mass_measured.otherwise(mass_as_supplied - lead_mass_removed).otherwise(mass_as_supplied),
    "Measured; else estimated from the wire; else the mass as supplied.",
    worked_out("scale or wire table"),
)
trimmed_mass_basis = MASS_AND_LEADS.figure("trimmed_mass_basis", "Trimmed mass is").derive(
    trimmed_mass_measured.present().where(
        "measured",
        mass_as_supplied.present().where(
            lead_mass_removed.present().where(
                "estimated from gauge and length", "the mass as supplied: gauge or lengths are blank"
            ),
            "not known",
        ),
    ),
    "Where the trimmed mass comes from.",
    definition(),
)
trim_mismatch = MASS_AND_LEADS.figure(
    "trim_mismatch", "Measured less estimated trimmed mass", "g", symbol="δm", decimals=2
).derive(
    trimmed_mass_measured - (mass_as_supplied - lead_mass_removed),
    "Beyond the estimate's uncertainty the gauge or a length is usually wrong.",
)


leads_full_resistance, leads_trimmed_resistance = (
    MASS_AND_LEADS.figure(
        f"leads_{name}_resistance", f"Lead resistance {words}, line to line", "mΩ", symbol=symbol, decimals=2
    ).derive(Constant(2.0) * length / 1000 * lead_resistance_per_metre, "Two leads in series at 20 °C.")
    for name, words, symbol, length in (
        ("full", "as supplied", "R_full", lead_length_as_supplied),
        ("trimmed", "trimmed", "R_trim", trimmed_lead_length),
    )
)
stator_volume = MASS_AND_LEADS.figure("stator_volume", "Stator volume", "cm³", symbol="V_stator", decimals=2).derive(
    size_code_means.equals(STATOR).where(
        (math.pi / 4 / 1000) * (stator_diameter * stator_diameter) * stator_height, Constant(math.nan)
    ),
    "Cylinder of stator diameter and height; blank when the size is of the can.",
    definition(),
)

MASS_AND_LEADS.keep(trimmed_mass, trimmed_mass_basis, stator_volume)
