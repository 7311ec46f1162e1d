"""Every factor and limit the engine uses, each a named cell that the reader may change."""

from __future__ import annotations

from xlsengine.bench.declare import Field, Form, Table
from xlsengine.expression import Named
from xlsengine.sources import (
    GRUBBS,
    IGLEWICZ_HOAGLIN,
    MOMENTUM_THEORY,
    STANDARD_ATMOSPHERE,
    Source,
    practice,
    worked_out,
)

SETTINGS = Form("Settings", "Factors and limits used in every formula; change one and the workbook follows.")


def _setting(
    name: str, label: str, unit: str, value: float, limits: tuple[float, float], meaning: str, source: Source
) -> Named:
    low, high = limits
    return SETTINGS.input(
        Field(name, label, unit, meaning, low=low, high=high, required=True, default=value, source=source)
    )


flight_share_low = _setting(
    "flight_share_low", "In-flight fall of current, least", "%", 25, (0, 90),
    "The smallest share by which current in forward flight stays below the static one.",
    practice("testers speak of 25 to 40 percent"),
)  # fmt: skip
flight_share_high = _setting(
    "flight_share_high", "In-flight fall of current, most", "%", 40, (0, 90),
    "The largest share by which current in forward flight stays below the static one.",
    practice("testers speak of 25 to 40 percent"),
)  # fmt: skip
pitch_ratio_limit = _setting(
    "pitch_ratio_limit", "Pitch over diameter without reduction above", "", 0.8, (0.3, 2),
    "A propeller above this is partly stalled when static and may draw as much or more in flight: no reduction.",
    practice(),
)  # fmt: skip
esc_steady_share = _setting(
    "esc_steady_share", "ESC: steady current within this share of the continuous rating", "%", 80, (30, 100),
    "Static steady current held on the bench or in hover should stay within this share.",
    practice("margins from none to double are in use"),
)  # fmt: skip
esc_burst_ratio = _setting(
    "esc_burst_ratio", "ESC: burst rating over continuous rating", "", 1.15, (1, 3),
    "Assumed where the maker's burst rating is not known; the maker's own figure goes before it.",
    practice("1.1 to 1.2 where none is stated"),
)  # fmt: skip
full_throttle_from = _setting(
    "full_throttle_from", "Full throttle from", "%", 98, (50, 100),
    "A row at or above this throttle, or without a throttle reading, counts as full throttle.", practice(),
)  # fmt: skip
cell_voltage_high = _setting(
    "cell_voltage_high", "Volts per cell, highest plausible", "V", 4.25, (3, 6),
    "4.25 for ordinary lithium polymer packs, 4.40 for high-voltage ones.", practice(),
)  # fmt: skip
cell_voltage_low = _setting(
    "cell_voltage_low", "Volts per cell, lowest plausible under load", "V", 3.0, (0.5, 4),
    "Below this the pack is flat or the cell count is wrong.", practice(),
)  # fmt: skip
efficiency_high = _setting(
    "efficiency_high", "Hover efficiency, highest plausible", "", 0.70, (0.3, 1),
    "Ideal hover power over electrical power; 0.25 to 0.60 is usual.",
    worked_out("figure of merit below 0.8 times motor and ESC efficiency below 0.85"),
)  # fmt: skip
efficiency_low = _setting(
    "efficiency_low", "Hover efficiency, lowest plausible at full throttle", "", 0.15, (0, 0.6),
    "Below this a unit, a decimal or the diameter is usually wrong.",
    worked_out("half of the usual 0.25 to 0.60, rounded"),
)  # fmt: skip
speed_ratio_high = _setting(
    "speed_ratio_high", "Speed over Kv times volts, highest plausible", "", 0.97, (0.5, 1.5),
    "A loaded motor turns slower than Kv times volts.", practice("loaded motors run at 0.60 to 0.85"),
)  # fmt: skip
speed_ratio_low = _setting(
    "speed_ratio_low", "Speed over Kv times volts, lowest plausible at full throttle", "", 0.50, (0, 1),
    "Below this the motor is overloaded, or the poles, the label or the cells are wrong.", practice(),
)  # fmt: skip
tip_mach_high = _setting(
    "tip_mach_high", "Tip Mach number, highest usual", "", 0.70, (0.3, 1.2),
    "Above this drag and noise climb.", Source(practice().standing, "from memory"),
)  # fmt: skip
case_temperature_high = _setting(
    "case_temperature_high", "Motor temperature, highest usual", "°C", 80, (40, 200),
    "A hotter motor has lost magnet strength for the moment and reads low; the maker's limit goes before this.",
    practice(),
)  # fmt: skip
reference_density = _setting(
    "reference_density", "Air density where none was read", "kg/m³", 1.225, (0.5, 1.6),
    "Used when air temperature or pressure is blank on Bench.", STANDARD_ATMOSPHERE,
)  # fmt: skip
kv_tolerance = _setting(
    "kv_tolerance", "Kv label tolerance", "%", 5, (0, 50), "Allowance for the printed Kv.", practice(),
)  # fmt: skip
resistance_spread_limit = _setting(
    "resistance_spread_limit", "Winding resistance spread between pairs, largest usual", "%", 5, (0, 100),
    "More points to a bad joint or a lost strand.", Source(practice().standing, "from memory"),
)  # fmt: skip
silicone_density = _setting(
    "silicone_density", "Density of silicone insulation", "g/cm³", 1.2, (0.8, 2),
    "For the estimate of lead mass.", Source(practice().standing, "1.15 to 1.35, from memory"),
)  # fmt: skip
lead_mass_tolerance = _setting(
    "lead_mass_tolerance", "Lead mass tolerance", "%", 15, (0, 60),
    "Wall thickness differs between makes of wire.", Source(practice().standing, "from memory"),
)  # fmt: skip
headline_thrust = _setting(
    "headline_thrust", "Thrust for the efficiency headline", "g", 500, (1, 100000),
    "Grams per watt are compared at equal thrust, since they fall with load by themselves.", MOMENTUM_THEORY,
)  # fmt: skip
widest_gap = _setting(
    "widest_gap", "Interpolation: largest thrust over smallest, between neighbours", "", 2.5, (1.05, 20),
    "No figure at a round thrust is given across a wider gap between readings.", practice(),
)  # fmt: skip
score_limit = _setting(
    "score_limit", "Modified z-score, largest usual", "", 3.5, (1, 20),
    "Beyond this a reading is flagged against the robust line of its cell count.", IGLEWICZ_HOAGLIN,
)  # fmt: skip
outlier_significance = _setting(
    "outlier_significance", "Significance of the repeat tests", "%", 5, (0.1, 50),
    "For Grubbs' test on repeats and the generalized ESD test on larger groups.", GRUBBS,
)  # fmt: skip
slip_tolerance = _setting(
    "slip_tolerance", "Decimal slip: largest misfit after shifting by ten", "%", 30, (1, 90),
    "A reading that fits its group within this after shifting by ten is called a slip.", practice(),
)  # fmt: skip
ladder_tolerance = _setting(
    "ladder_tolerance", "Order of readings: smallest wrong step flagged", "%", 5, (0, 50),
    "Larger propellers draw more, peaks lie above steady readings: steps the other way beyond this are flagged.",
    practice(),
)  # fmt: skip

ESC_SIZES = Table(
    "EscSizes", "Continuous ratings in which ESCs are sold.",
    rows=tuple(
        {"esc_size": float(size)}
        for size in (6, 10, 12, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 80, 100, 120, 150)
    ),
)  # fmt: skip
esc_size = ESC_SIZES.input(
    Field("esc_size", "ESC size", "A", "Continuous rating.", low=1, high=1000, required=True, source=practice())
)

ROUND_THRUSTS = Table(
    "RoundThrusts", "Thrusts at which grams per watt are compared, six of them.",
    rows=tuple({"round_thrust": float(thrust)} for thrust in (100, 250, 500, 750, 1000, 1500)),
)  # fmt: skip
round_thrust = ROUND_THRUSTS.input(
    Field("round_thrust", "Round thrust", "g", "Compared at equal thrust.", low=1, high=100000, required=True,
          source=practice())
)  # fmt: skip
