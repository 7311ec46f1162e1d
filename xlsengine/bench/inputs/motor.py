"""The motor as it came: what the label says, what it weighs, what was seen inside, and its leads."""

import math

from xlsengine.bench.declaring.declare import Field, Figures, Form, Table
from xlsengine.bench.inputs.settings import lead_mass_tolerance
from xlsengine.bench.inputs.wire import gauge, wire_mass, wire_resistance
from xlsengine.expression import Constant, Named, Node, greater
from xlsengine.sources import definition, worked_out

LEADS = 3
STATOR, CAN = "stator", "can"

MOTOR = Form("Motor", "What was tested and where it came from.")

test_id = MOTOR.text("test_id", "Test id", "Short name of this test; it heads the report. Blank: the file's name.")
test_date = MOTOR.input(
    Field("test_date", "Test date", "", "Day of the bench runs.", kind="date", without="no date on the report")
)
tester = MOTOR.text("tester", "Tester", "Who ran the bench.")
sample_origin = MOTOR.choice(
    "sample_origin", "How the sample was obtained", ("bought", "lent", "supplied by its maker"), "Stated on the Report."
)
maker_saw_results = MOTOR.choice(
    "maker_saw_results", "Maker saw the results first", ("no", "yes"), "Before publication."
)
maker = MOTOR.text("maker", "Maker", "As on the label.")
model = MOTOR.text("model", "Model", "As on the label.", without="the report names no motor")
size_code_means = MOTOR.choice(
    "size_code_means",
    "Size refers to",
    (STATOR, CAN),
    "Some makers give the stator, some the can; only a stator size gives thrust per stator volume.",
)
stator_diameter = MOTOR.number("stator_diameter", "Diameter", "mm", (4, 120), "Of stator or can, as said above.")
stator_height = MOTOR.number("stator_height", "Height", "mm", (1, 80), "Of stator or can, as said above.")
label_kv = MOTOR.number(
    "label_kv",
    "Labelled Kv",
    "rpm/V",
    (50, 30000),
    "As printed on the motor or its box.",
    symbol="Kv_label",
    decimals=0,
    without="no measured Kv against the label, no share of the no-load speed, and speeds are not held against it",
)
poles = MOTOR.number(
    "poles",
    "Magnet poles",
    "",
    (2, 60),
    "Number of magnets, always even: 14 on most small outrunners.",
    kind="whole",
    multiple=2,
)
slots = MOTOR.number(
    "slots", "Stator slots", "", (3, 60), "Count the teeth: 12 on most small outrunners.", kind="whole"
)
mass_as_supplied = MOTOR.number(
    "mass_as_supplied",
    "Mass as supplied",
    "g",
    (0.5, 3000),
    "With its full leads, excluding propeller nut and mounting screws.",
    symbol="m_full",
    without="no thrust or power per motor mass",
)
lead_length_as_supplied = MOTOR.number(
    "lead_length_as_supplied",
    "Lead length as supplied",
    "mm",
    (0, 1000),
    "One lead, from the motor's edge.",
    symbol="l_full",
)
lead_gauge = MOTOR.number(
    "lead_gauge", "Lead gauge", "AWG", (8, 30), "Only even gauges from 10 to 26 can be estimated.", kind="whole"
)
trimmed_lead_length = MOTOR.number(
    "trimmed_lead_length", "Trimmed lead length", "mm", (0, 1000), "One lead, as mounted in a craft.", symbol="l_trim"
)
trimmed_mass_measured = MOTOR.number(
    "trimmed_mass_measured",
    "Trimmed mass, measured",
    "g",
    (0.5, 3000),
    "With trimmed leads; leave blank and it is estimated from the wire.",
    symbol="m_meas",
)
price = MOTOR.number("price", "Price", "", (0, 100_000), "Of one motor, in the currency that all your tests use.")

_PARTS = ("Shaft", "Bell retention and play", "Bearings", "Magnets", "Air gap")
_MORE_PARTS = ("Laminations", "Winding", "Leads and joints", "Mount and screw depth", "Balance marks")
GRADES = ("as expected", "note", "concern")
INSPECTION = Table(
    "Inspection",
    "What was seen when the motor was opened: what you saw, not how you like it.",
    spare=6,
    rows=tuple({"inspected": item} for item in (*_PARTS, *_MORE_PARTS)),
)
INSPECTION.text("inspected", "Item", "Part looked at.")
INSPECTION.text("observation", "Observation", "What was seen or measured, in a few words.")
INSPECTION.choice("grade", "Grade", GRADES, "As expected, worth a note, or a concern.")
INSPECTION.text("inspection_remark", "Remark", "Anything else, such as a photo's name.")

MASS_AND_LEADS = Figures(
    "Mass and leads", "Mass with trimmed leads, and what the leads add in resistance.", source=worked_out("wire table")
)
_row_of_gauge = gauge.position(lead_gauge)
lead_mass_per_metre = MASS_AND_LEADS.figure(
    "lead_mass_per_metre", "Lead wire mass", "g/m", symbol="m′_lead", decimals=2
).derive(wire_mass.at(_row_of_gauge), "Of one lead, from the wire table on Settings.")
lead_resistance_per_metre = MASS_AND_LEADS.figure(
    "lead_resistance_per_metre", "Lead wire resistance", "mΩ/m", symbol="R′_lead", decimals=2
).derive(wire_resistance.at(_row_of_gauge), "Of one lead at 20 °C, from the wire table on Settings.")
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


def _line_to_line(length: Named) -> Node:
    """Resistance of two leads in series, in mΩ."""
    return Constant(2.0) * length / 1000 * lead_resistance_per_metre


leads_full_resistance = MASS_AND_LEADS.figure(
    "leads_full_resistance", "Lead resistance as supplied, line to line", "mΩ", symbol="R_full", decimals=2
).derive(_line_to_line(lead_length_as_supplied), "Two leads in series at 20 °C.")
leads_trimmed_resistance = MASS_AND_LEADS.figure(
    "leads_trimmed_resistance", "Lead resistance trimmed, line to line", "mΩ", symbol="R_trim", decimals=2
).derive(_line_to_line(trimmed_lead_length), "Two leads in series at 20 °C.")
stator_volume = MASS_AND_LEADS.figure("stator_volume", "Stator volume", "cm³", symbol="V_stator", decimals=2).derive(
    size_code_means.equals(STATOR).where(
        (math.pi / 4 / 1000) * (stator_diameter * stator_diameter) * stator_height, Constant(math.nan)
    ),
    "Cylinder of stator diameter and height; blank when the size is of the can.",
    definition(),
)

MOTOR.keep(
    test_id,
    test_date,
    tester,
    sample_origin,
    maker,
    model,
    size_code_means,
    stator_diameter,
    stator_height,
    label_kv,
    poles,
    slots,
    mass_as_supplied,
    price,
    lead_gauge,
    lead_length_as_supplied,
    trimmed_lead_length,
)
MASS_AND_LEADS.keep(trimmed_mass, trimmed_mass_basis, stator_volume)
