"""The motor as it came: what the label says, what it weighs, what was seen inside, and its leads."""

from __future__ import annotations

import math

from xlsengine.bench.declare import Field, Figures, Form, Quantity, Table
from xlsengine.bench.settings import lead_mass_tolerance
from xlsengine.bench.wire import gauge, wire_mass, wire_resistance
from xlsengine.expression import Aggregate, Constant, Named, Node, greater
from xlsengine.sources import definition, worked_out

LEADS = 3
STATOR, CAN = "stator", "can"

MOTOR = Form("Motor", "What was tested and where it came from.")


def _text(name: str, label: str, meaning: str, without: str = "") -> Named:
    return MOTOR.input(Field(name, label, "", meaning, kind="text", without=without))


def _choice(name: str, label: str, choices: tuple[str, ...], meaning: str) -> Named:
    return MOTOR.input(Field(name, label, "", meaning, kind="choice", choices=choices))


def _number(name: str, label: str, unit: str, limits: tuple[float, float], meaning: str, **more: object) -> Named:
    low, high = limits
    return MOTOR.input(Field(name, label, unit, meaning, low=low, high=high, **more))  # type: ignore[arg-type]


test_id = _text("test_id", "Test id", "Short name of this test; it heads the report. Blank: the file's name.")
test_date = MOTOR.input(
    Field("test_date", "Test date", "", "Day of the bench runs.", kind="date", without="no date on the report")
)  # fmt: skip
tester = _text("tester", "Tester", "Who ran the bench.")
sample_origin = _choice(
    "sample_origin", "Sample was", ("bought", "lent", "supplied by its maker"),
    "How the motor was obtained; readers should know.",
)  # fmt: skip
maker_saw_results = _choice("maker_saw_results", "Maker saw the results first", ("no", "yes"), "Before publication.")
maker = _text("maker", "Maker", "As on the label.")
model = _text("model", "Model", "As on the label.", without="the report names no motor")
size_code_means = _choice(
    "size_code_means", "Size is of the", (STATOR, CAN),
    "Some makers give the stator, some the can; only a stator size gives thrust per stator volume.",
)  # fmt: skip
stator_diameter = _number("stator_diameter", "Diameter", "mm", (4, 120), "Of stator or can, as said above.")
stator_height = _number("stator_height", "Height", "mm", (1, 80), "Of stator or can, as said above.")
label_kv = _number(
    "label_kv", "Labelled Kv", "rpm/V", (50, 30000), "As printed on the motor or its box.",
    symbol="Kv_label", decimals=0,
    without="no measured Kv against the label, no share of the no-load speed, and speeds are not held against it",
)  # fmt: skip
poles = _number(
    "poles", "Magnet poles", "", (2, 60), "Count the magnets, of which there are always pairs: 14 on most small outrunners.",
    kind="whole", multiple=2,
)  # fmt: skip
slots = _number("slots", "Stator slots", "", (3, 60), "Count the teeth: 12 on most small outrunners.", kind="whole")
mass_as_supplied = _number(
    "mass_as_supplied", "Mass as supplied", "g", (0.5, 3000), "With its full leads, without propeller nut and screws.",
    symbol="m_full", without="no thrust or power per motor mass",
)  # fmt: skip
lead_length_as_supplied = _number(
    "lead_length_as_supplied", "Lead length as supplied", "mm", (0, 1000), "One lead, from the motor's edge.",
    symbol="l_full",
)  # fmt: skip
lead_gauge = _number("lead_gauge", "Lead gauge", "AWG", (8, 30), "Even gauges 10 to 26 are known.", kind="whole")
trimmed_lead_length = _number(
    "trimmed_lead_length", "Trimmed lead length", "mm", (0, 1000), "One lead, as mounted in a craft.", symbol="l_trim"
)
trimmed_mass_measured = _number(
    "trimmed_mass_measured", "Trimmed mass, measured", "g", (0.5, 3000),
    "With trimmed leads; leave blank and it is estimated from the wire.", symbol="m_meas",
)  # fmt: skip
price = _number("price", "Price", "", (0, 100_000), "Of one motor, in the currency that all your tests use.")

GRADES = ("as expected", "note", "concern")
INSPECTION = Table(
    "Inspection",
    "What was seen when the motor was opened; observations, not taste.",
    spare=6,
    rows=tuple(
        {"inspected": item}
        for item in (
            "Shaft", "Bell retention and play", "Bearings", "Magnets", "Air gap", "Laminations", "Winding",
            "Leads and joints", "Mount and screw depth", "Balance marks",
        )
    ),
)  # fmt: skip
INSPECTION.input(Field("inspected", "Item", meaning="Part looked at.", kind="text"))
INSPECTION.input(Field("observation", "Observation", meaning="What was seen or measured, in a few words.", kind="text"))
INSPECTION.input(
    Field("grade", "Grade", meaning="As expected, worth a note, or a concern.", kind="choice", choices=GRADES)
)
INSPECTION.input(Field("inspection_remark", "Remark", meaning="Anything else, such as a photo's name.", kind="text"))

MASS_AND_LEADS = Figures("Mass and leads", "Mass with trimmed leads, and what the leads add in resistance.")
_row_of_gauge = Aggregate("position", (gauge,), (), lead_gauge)
lead_mass_per_metre = MASS_AND_LEADS.derive(
    Quantity(
        "lead_mass_per_metre", "Lead wire mass", Aggregate("at", (wire_mass,), (), _row_of_gauge),
        "Of one lead, from the wire table on Settings.", worked_out("wire table"), "m′_lead", "g/m", 2,
    )
)  # fmt: skip
lead_resistance_per_metre = MASS_AND_LEADS.derive(
    Quantity(
        "lead_resistance_per_metre", "Lead wire resistance", Aggregate("at", (wire_resistance,), (), _row_of_gauge),
        "Of one lead at 20 °C, from the wire table on Settings.", worked_out("wire table"), "R′_lead", "mΩ/m", 2,
    )
)  # fmt: skip
lead_mass_removed = MASS_AND_LEADS.derive(
    Quantity(
        "lead_mass_removed", "Lead mass cut away, estimated",
        LEADS * (lead_length_as_supplied - trimmed_lead_length) / 1000 * lead_mass_per_metre,
        "Three leads, from length and gauge.", worked_out("wire table"), "Δm", "g", 2,
    )
)  # fmt: skip
lead_mass_uncertain = MASS_AND_LEADS.derive(
    Quantity(
        "lead_mass_uncertain", "Uncertainty of that estimate, ±",
        greater(lead_mass_removed, -lead_mass_removed) * lead_mass_tolerance / 100,
        "From the tolerance on Settings.", worked_out("wire table"), "±Δm", "g", 2,
    )
)  # fmt: skip
trimmed_mass = MASS_AND_LEADS.derive(
    Quantity(
        "trimmed_mass", "Trimmed mass", trimmed_mass_measured.otherwise(mass_as_supplied - lead_mass_removed)
        .otherwise(mass_as_supplied),
        "Measured; else estimated from the wire; else the mass as supplied.", worked_out("scale or wire table"),
        "m", "g", 1,
    )
)  # fmt: skip
trimmed_mass_basis = MASS_AND_LEADS.derive(
    Quantity(
        "trimmed_mass_basis", "Trimmed mass is",
        trimmed_mass_measured.present().where(
            "measured",
            mass_as_supplied.present().where(
                lead_mass_removed.present().where(
                    "estimated from gauge and length", "the mass as supplied: gauge or lengths are blank"
                ),
                "not known",
            ),
        ),
        "Where the trimmed mass comes from.", definition(), "", "",
    )
)  # fmt: skip
trim_mismatch = MASS_AND_LEADS.derive(
    Quantity(
        "trim_mismatch", "Measured less estimated trimmed mass",
        trimmed_mass_measured - (mass_as_supplied - lead_mass_removed),
        "Beyond the estimate's uncertainty the gauge or a length is usually wrong.", worked_out("wire table"),
        "δm", "g", 2,
    )
)  # fmt: skip


def _line_to_line(length: Named) -> Node:
    """Resistance of two leads in series, in mΩ."""
    return Constant(2.0) * length / 1000 * lead_resistance_per_metre


leads_full_resistance = MASS_AND_LEADS.derive(
    Quantity(
        "leads_full_resistance", "Lead resistance as supplied, line to line", _line_to_line(lead_length_as_supplied),
        "Two leads in series at 20 °C.", worked_out("wire table"), "R_full", "mΩ", 2,
    )
)  # fmt: skip
leads_trimmed_resistance = MASS_AND_LEADS.derive(
    Quantity(
        "leads_trimmed_resistance", "Lead resistance trimmed, line to line", _line_to_line(trimmed_lead_length),
        "Two leads in series at 20 °C.", worked_out("wire table"), "R_trim", "mΩ", 2,
    )
)  # fmt: skip
stator_volume = MASS_AND_LEADS.derive(
    Quantity(
        "stator_volume", "Stator volume",
        size_code_means.equals(STATOR).where(
            (math.pi / 4 / 1000) * (stator_diameter * stator_diameter) * stator_height, Constant(math.nan)
        ),
        "Cylinder of stator diameter and height; blank when the size is of the can.", definition(), "V_stator",
        "cm³", 2,
    )
)  # fmt: skip

MOTOR.keep(
    test_id, test_date, tester, sample_origin, maker, model, size_code_means, stator_diameter, stator_height, label_kv,
    poles, slots, mass_as_supplied, price, lead_gauge, lead_length_as_supplied, trimmed_lead_length,
)  # fmt: skip
MASS_AND_LEADS.keep(trimmed_mass, trimmed_mass_basis, stator_volume)
