"""Factors and limits of advice and of what is compared: in flight, ESC and wire, reference air and volts."""

from xlsengine.bench.inputs.topics import SETTINGS, Topic
from xlsengine.sources import MOMENTUM_THEORY, STANDARD_ATMOSPHERE, Source, practice, published

_FLIGHT = Topic("In flight")
flight_share_low = _FLIGHT.setting("flight_share_low", "In-flight current reduction, minimum", "%", 25, (0, 90)).means(
    "The least by which current in forward flight stays below the static one.", practice("testers speak of 25 to 40 %")
)
flight_share_high = _FLIGHT.setting(
    "flight_share_high", "In-flight current reduction, maximum", "%", 40, (0, 90)
).means(
    "The most by which current in forward flight stays below the static one.", practice("testers speak of 25 to 40 %")
)
pitch_ratio_limit = _FLIGHT.setting(
    "pitch_ratio_limit", "Pitch over diameter without reduction from", "", 1.0, (0.3, 2)
).means(
    "From about this on a propeller is stalled when static and may draw as much or more in flight: no reduction.",
    practice(),
)

_ESC = Topic("ESC and wire")
esc_steady_share = _ESC.setting(
    "esc_steady_share", "ESC: steady current within this share of the continuous rating", "%", 80, (30, 100)
).means(
    "Static steady current held on the bench or in hover should stay within this share.",
    practice("margins from none to double are in use"),
)
esc_burst_ratio = _ESC.setting("esc_burst_ratio", "ESC: burst rating over continuous rating", "", 1.15, (1, 3)).means(
    "Assumed where the maker's burst rating is not known; the maker's figure takes precedence.",
    practice("1.1 to 1.2 where none is stated"),
)
esc_peak_over_steady = _ESC.setting(
    "esc_peak_over_steady", "ESC: peak over steady current where no peak was read", "", 1.25, (1, 2)
).means("Stands in for a peak that was not read.", practice())
esc_launch_limit = _ESC.setting(
    "esc_launch_limit", "ESC: launch current over burst rating, borderline up to", "", 1.2, (1, 2)
).means("Beyond this a size falls short at launch and is not named for flight.", practice())
silicone_density = _ESC.setting("silicone_density", "Density of silicone insulation", "g/cm³", 1.2, (0.8, 2)).means(
    "For the estimate of lead mass.", Source(practice().standing, "1.15 to 1.35, from memory")
)
lead_mass_tolerance = _ESC.setting("lead_mass_tolerance", "Lead mass tolerance", "%", 15, (0, 60)).means(
    "Wall thickness differs between makes of wire.", Source(practice().standing, "from memory")
)

_COMPARED = Topic("What counts, and what is compared")
full_throttle_from = _COMPARED.setting("full_throttle_from", "Full throttle from", "%", 98, (50, 100)).means(
    "A reading at or above this throttle, or without one, counts as full throttle.", practice()
)
headline_thrust = _COMPARED.number(
    "headline_thrust",
    "Thrust for the efficiency headline",
    "g",
    (1, 100000),
    "Grams per watt are compared at equal thrust, since they fall with load by themselves. Blank: a round thrust of "
    "about a third of the motor's highest.",
    source=MOMENTUM_THEORY,
)
widest_gap = _COMPARED.setting(
    "widest_gap", "Interpolation: largest thrust over smallest, between neighbours", "", 2.5, (1.05, 20)
).means("No figure at a round thrust is given across a wider gap between readings.", practice())

_REFERENCE = Topic("Air and volts that figures are brought to")
reference_density = _REFERENCE.setting("reference_density", "Reference air density", "kg/m³", 1.225, (0.5, 1.6)).means(
    "Full-throttle figures are brought to it on Propellers; and it stands in where the air was not read.",
    STANDARD_ATMOSPHERE,
)
assumed_humidity = _REFERENCE.setting(
    "assumed_humidity", "Relative humidity where none was read", "%", 50, (0, 100)
).means("Used when the humidity is blank on Bench.", practice("the middle of what is possible"))
reference_cell_voltage = _REFERENCE.setting(
    "reference_cell_voltage", "Reference volts per cell, under load", "V", 3.7, (1, 5)
).means(
    "Full-throttle figures are brought to it: 14.8 V for four cells.",
    published("nominal voltage of a lithium polymer cell, as packs are labelled (ITWissen: 3.7 V)"),
)
volts_reach = _REFERENCE.setting("volts_reach", "Correction to reference volts: largest step", "%", 10, (0, 50)).means(
    "No corrected figure is given where the measured voltage is farther from the reference.", practice()
)
density_reach = _REFERENCE.setting("density_reach", "Correction to reference air: largest step", "%", 8, (0, 50)).means(
    "No corrected figure is given where the air is farther from the reference.", practice()
)
assumed_speed_ratio = _REFERENCE.setting(
    "assumed_speed_ratio", "Speed ratio n/(Kv·V) where no speed was read", "", 0.75, (0.4, 0.95)
).means(
    "Gives the exponents of the correction; a measured one takes precedence.",
    practice("loaded motors run at 0.60 to 0.85"),
)

SETTINGS.keep(reference_density, reference_cell_voltage)
