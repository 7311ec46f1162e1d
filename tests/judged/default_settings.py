"""What a new workbook holds on Settings, by the labels there: value, unit, and where it comes from.

Trade: common practice, no source. Memory: from memory. The others name their source.
"""

from __future__ import annotations

DEFAULTS: dict[str, tuple[float, str, str]] = {
    "In-flight current reduction, minimum": (25, "%", "trade"),
    "In-flight current reduction, maximum": (40, "%", "trade"),
    "Pitch over diameter without reduction from": (1.0, "", "trade"),
    "ESC: steady current within this share of the continuous rating": (80, "%", "trade"),
    "ESC: burst rating over continuous rating": (1.15, "", "trade, 1.1 to 1.2"),
    "ESC: peak over steady current where no peak was read": (1.25, "", "trade"),
    "ESC: launch current over burst rating, borderline up to": (1.2, "", "trade"),
    "Density of silicone insulation": (1.2, "g/cm³", "memory, 1.15 to 1.35"),
    "Lead mass tolerance": (15, "%", "memory"),
    "Full throttle from": (98, "%", "trade"),
    "Interpolation: largest thrust over smallest, between neighbours": (2.5, "", "trade"),
    "Reference air density": (1.225, "kg/m³", "ISO 2533, sea level"),
    "Relative humidity where none was read": (50, "%", "the middle"),
    "Reference volts per cell, under load": (3.7, "V", "nominal volts of a lithium polymer cell"),
    "Correction to reference volts: largest step": (10, "%", "trade"),
    "Correction to reference air: largest step": (8, "%", "trade"),
    "Speed ratio n/(Kv·V) where no speed was read": (0.75, "", "trade, 0.60 to 0.85"),
    "Volts per cell, highest plausible": (4.25, "V", "trade"),
    "Volts per cell, highest possible": (4.40, "V", "trade"),
    "Volts per cell, lowest plausible under load": (3.0, "V", "trade"),
    "Overall static efficiency, highest plausible": (0.70, "", "0.8 times 0.85"),
    "Overall static efficiency, lowest plausible at full throttle": (0.15, "", "half of the usual 0.25 to 0.60"),
    "Speed ratio n/(Kv·V), highest plausible": (0.97, "", "trade"),
    "Speed ratio n/(Kv·V), lowest plausible at full throttle": (0.50, "", "trade"),
    "Tip Mach number, highest usual": (0.70, "", "memory"),
    "Motor temperature, highest usual": (80, "°C", "trade"),
    "Figure of merit, highest plausible": (0.80, "", "static rows in tests/published/data/uiuc"),
    "Modified z-score, largest usual": (3.5, "", "Iglewicz & Hoaglin 1993"),
    "Significance of the repeat tests": (5, "%", "NIST/SEMATECH e-Handbook 1.3.5.17.1"),
    "Decimal slip: largest misfit after shifting by ten": (30, "%", "trade"),
    "Order of readings: smallest wrong step flagged": (5, "%", "trade"),
    "Kv label tolerance": (5, "%", "trade"),
    "Winding resistance spread between pairs, largest usual": (5, "%", "memory"),
    "Voltage lost in one rectifier diode": (0.6, "V", "silicon at small currents"),
    "Kv line (rpm/V against A/V at full throttle): largest load over smallest, at least": (1.2, "", "trade"),
    "Kv line: largest usual scatter": (2, "%", "0.5 % in volts, 1.5 % in amps, warmth"),
    "Kv line: winding warmer at the largest load than at the smallest, by up to": (30, "K", "memory"),
    "Kv line: farthest that one reading may lie off": (6, "%", "trade"),
    "Wrong pole count: nearness to 7/6 or 6/7": (2.5, "%", "ratio of pole pairs"),
    "Grams per amp of one propeller across cell counts, farthest apart": (7, "%", "T/I = 2π·Kt·CT/(CP·D)"),
    "Thrust as a power of speed, lowest": (1.9, "", "2.0 to 2.15 is usual"),
    "Thrust as a power of speed, highest": (2.3, "", "2.0 to 2.15 is usual"),
    "Shaft power as a power of speed, lowest": (2.6, "", "2.85 to 3.05 is usual"),
    "Shaft power as a power of speed, highest": (3.3, "", "2.85 to 3.05 is usual"),
    "Current as a power of thrust, lowest": (1.15, "", "1.25 to 1.65 is usual"),
    "Current as a power of thrust, highest": (1.8, "", "1.25 to 1.65 is usual"),
    "Resistance of pack and leads, highest usual": (40, "mΩ", "trade, 5 to 40"),
    "Thrust goes with speed to the power": (2.05, "", "static rows in tests/published/data/uiuc"),
    "Prediction: least range on thrust, ±": (3, "%", "trade"),
    "Prediction: least range on current, ±": (4, "%", "trade"),
    "Usable share of a pack's capacity": (80, "%", "trade"),
    "Power of everything but the motors": (5, "W", "trade"),
    "Hover: largest thrust over smallest, between neighbours": (3, "", "4 % across such a gap"),
    "Hover throttle and current: range, ±": (5, "%", "4 % and the scatter of two readings"),
    "Flight time: range, ±": (15, "%", "memory"),
    "Hover throttle, most": (65, "%", "trade"),
    **{
        f"Thrust over weight, hovering craft, class {place}": (value, "", "trade, 2 to 12")
        for place, value in enumerate((2, 3, 5, 8, 12), start=1)
    },
    **{
        f"Thrust over weight, fixed wing, class {place}": (value, "", "memory")
        for place, value in enumerate((0.5, 0.8, 1, 1.5), start=1)
    },
    "Thrust accuracy where Bench leaves it blank, ±": (0.5, "%", "memory"),
    "Voltage accuracy where Bench leaves it blank, ±": (0.5, "%", "memory"),
    "Current accuracy where Bench leaves it blank, ±": (1.5, "%", "memory"),
    "Speed accuracy where Bench leaves it blank, ±": (0.2, "%", "memory"),
    "Torque accuracy, ±": (2, "%", "memory"),
    "Resistance accuracy, ±": (1, "%", "memory"),
    "Propeller diameter, ±": (0.5, "%", "memory"),
    "Motor mass accuracy, ±": (0.2, "g", "memory"),
    "Air density, ±, where the air was read": (0.5, "%", "1 K is 0.34 %, 1 hPa 0.1 %"),
    "Air density, ±, where the air was not read": (8, "%", "memory"),
    "Shaft power from the motor model, ±": (5, "%", "trade, 5 to 10"),
    "Scatter of a repeat until enough were read": (1.5, "%", "trade, 0.5 to 1.5"),
    "Degrees of freedom of that scatter": (8, "", "GUM G.4.2: a scatter known to a quarter of itself"),
    "Repeats that replace that scatter, at least": (6, "", "trade"),
    "Level of confidence of “±”": (95, "%", "GUM 6.2.2"),
    "Zero of the thrust stand: largest usual shift": (0.2, "%", "memory"),
    "Class: stator diameter and height differ by at most": (
        0.5,
        "mm",
        "trade: the same stator size, as labels round it",
    ),
    "Class: labelled Kv differs by at most": (10, "%", "memory"),
    "Percentile from this many peers up": (8, "", "memory; 3rd of 6 below it"),
}
ROUND_THRUSTS = (5, 10, 15, 20, 30, 50, 75, 100, 150, 200, 300, 500, 750, 1000, 1500, 2000, 3000, 5000, 7500, 10000)
SILICONE_WIRE = {26: 1.5, 24: 1.6, 22: 1.7, 20: 1.8, 18: 2.3, 16: 3.0, 14: 3.5, 12: 4.5, 10: 5.5}
"""Outside diameter in mm by gauge: dimension tables of silicone wire; 10 AWG from memory."""
