"""The invented motors: how each was tested, and the fields of its sheets.

Every club, person, maker, motor, propeller and figure here is invented.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from demo_inputs.bench_simulator import Motor, Propeller, Supply

Sheet = dict[str, tuple[object, ...]]

MEASURED = ("voltage_v", "current_a", "thrust_g", "speed_rpm", "torque_n_m", "motor_temperature_c")
SWEEP = (20, 35, 50, 65, 80)
HIGH_SWEEP = (30, 45, 60, 75, 90)  # the park-flyer motor draws too little at 20 % for a display of 0.1 A
FINE_SWEEP = (20, 30, 40, 50, 60, 70, 80, 90)


@dataclass(frozen=True)
class Series:
    """One propeller on one pack: the first-second peak, the steady repeats, then the throttle steps."""

    propeller: Propeller
    cells: int
    repeats: int = 1
    steps: tuple[int, ...] = ()
    speed_read: bool = True


@dataclass(frozen=True)
class Plan:
    """How one motor was tested; `set_aside` holds the runs that the tester marked as not for use, and why."""

    motor: Motor
    supplies: tuple[Supply, ...]
    series: tuple[Series, ...]
    measured: tuple[str, ...] = MEASURED
    driven_rpm: tuple[int, ...] = (3000, 6000)
    driven_as: str = "line to line true rms"
    free_spin_v: tuple[float, ...] = (8.0, 10.0, 14.0)
    set_aside: dict[int, str] = field(default_factory=dict)


A = Propeller("5x4.3x3 A", 5.0, 4.3, 3)
B = Propeller("5.1x4.6x3 B", 5.1, 4.6, 3)
C = Propeller("5x4x2 C", 5.0, 4.0, 2)
D = Propeller("5x3.5x3 D", 5.0, 3.5, 3, fineness=1.02)
F = Propeller("8x4x2 F", 8.0, 4.0, 2)
G = Propeller("8x6x2 G", 8.0, 6.0, 2)
H = Propeller("9x4.5x2 H", 9.0, 4.5, 2)
J = Propeller("9x6x2 J", 9.0, 6.0, 2, fineness=0.97)
K = Propeller("10x4.7x2 K", 10.0, 4.7, 2)
L = Propeller("7x3.5x2 L", 7.0, 3.5, 2, fineness=0.97)
M = Propeller("6.5x4x3 M", 6.5, 4.0, 3)
N = Propeller("6.5x3.5x2 N", 6.5, 3.5, 2)


def _pack(cells: int, rest_per_cell_v: float = 4.15, mohm_per_cell: float = 3.5) -> Supply:
    return Supply(cells, rest_per_cell_v, mohm_per_cell, leads_mohm=7.0, hold_loss_per_cell_v=0.07)


def _pack_read_at_its_plug(cells: int) -> Supply:
    """Volts are read before the battery leads, which then belong to the motor's circuit."""
    return Supply(cells, 4.15, mohm_per_cell=3.5, leads_mohm=0.0, hold_loss_per_cell_v=0.07)


def _bench_supply(cells: int) -> Supply:
    """A stiff supply set to a sagged pack's volts; plugs and leads that warm cost a little in a hold."""
    return Supply(cells, 3.85, leads_mohm=5.0, hold_loss_per_cell_v=0.025)


PLANS = {
    "colander-2306": Plan(
        Motor(2360, 54, 24, 0.50, 0.035, heating_k_per_w=0.2),
        (_pack(3), _pack(4)),
        (
            Series(A, 3),
            Series(A, 4, repeats=5, steps=SWEEP),
            Series(B, 3),
            Series(B, 4, steps=SWEEP),
            Series(C, 3),
            Series(C, 4, repeats=3, steps=SWEEP),
            Series(D, 3),
            Series(D, 4),
        ),
        measured=("voltage_v", "current_a", "thrust_g", "speed_rpm", "motor_temperature_c"),
    ),
    "gherkin-2207": Plan(
        Motor(2430, 50, 22, 0.55, 0.035, heating_k_per_w=0.35),
        (_bench_supply(3), _bench_supply(4)),
        (
            Series(A, 3, repeats=3),
            Series(A, 4, repeats=3, steps=FINE_SWEEP),
            Series(B, 3),
            Series(B, 4, steps=SWEEP),
            Series(C, 3),
            Series(C, 4, steps=SWEEP),
            Series(D, 3),
            Series(D, 4),
        ),
        driven_as="line to line peak to peak",
    ),
    "thimble-2207": Plan(
        Motor(1295, 106, 18, 0.45, 0.04, heating_k_per_w=0.2),
        (_pack(4, 4.19, 2.4), _pack(5, 4.05, 7.2)),
        (
            Series(L, 4, repeats=3, steps=SWEEP),
            Series(L, 5, repeats=3, steps=SWEEP),
            Series(M, 4),
            Series(M, 5, steps=SWEEP),
            Series(N, 4),
            Series(N, 5),
        ),
        measured=("voltage_v", "current_a", "thrust_g"),
        driven_rpm=(),
        free_spin_v=(9.0, 13.0, 17.0),
    ),
    "doorstop-2207": Plan(
        Motor(1780, 80, 28, 0.35, 0.025, heating_k_per_w=0.15),
        (_pack(4), _pack(6)),
        (
            Series(A, 4, steps=SWEEP),
            Series(A, 6, repeats=3, steps=SWEEP),
            Series(B, 4),
            Series(B, 6),
            Series(C, 4),
            Series(C, 6, steps=SWEEP),
        ),
        measured=("voltage_v", "current_a", "thrust_g", "speed_rpm"),
        driven_rpm=(6000, 9000),
        driven_as="bridge rectified mean",
        free_spin_v=(10.0, 16.0, 22.0),
        set_aside={16: "a gust through the open door"},
    ),
    "marmalade-2826": Plan(
        Motor(1070, 80, 29, 0.35, 0.05, heating_k_per_w=0.12),
        (_pack_read_at_its_plug(3), _pack_read_at_its_plug(4)),
        (
            Series(F, 3, steps=HIGH_SWEEP),
            Series(F, 4),
            Series(G, 3),
            Series(G, 4, speed_read=False),
            Series(H, 3, repeats=3, steps=HIGH_SWEEP),
            Series(H, 4, steps=HIGH_SWEEP),
            Series(J, 3),
            Series(K, 3, repeats=2, speed_read=False),
        ),
        measured=("voltage_v", "current_a", "thrust_g", "speed_rpm"),
        free_spin_v=(8.0, 10.0, 12.0),
    ),
}

# Sheets: one line a field, one value a motor, in the order of PLANS; None is a cell left blank.
MAKERS = ("Quibblewick", "Umberlint", "Tarrowby", "Fennimoor", "Pluverly")
MOTOR: Sheet = {
    "test_id": tuple(PLANS),
    "test_date": (date(2024, 4, 6), date(2024, 4, 13), date(2024, 4, 20), date(2024, 5, 4), date(2024, 5, 11)),
    "tester": ("Tester One", "Tester One", "Tester Two", "Tester Two", "Tester One"),
    "sample_origin": ("bought", "lent", "bought", "supplied by its maker", "bought"),
    "maker_saw_results": ("no", "no", "no", "yes", "no"),
    "maker": tuple(f"{name} (invented)" for name in MAKERS),
    "model": ("Colander 2306", "Gherkin 2207", "Thimble 2207", "Doorstop 2207", "Marmalade 2826"),
    "size_code_means": ("stator", "stator", "stator", "stator", "can"),
    "stator_diameter_mm": (23.0, 22.0, 22.0, 22.0, 28.0),
    "stator_height_mm": (6.0, 7.0, 7.0, 7.0, 26.0),
    "label_kv": (2400, 2450, 1270, 1800, 1100),
    "poles": (14, 14, 14, 14, 14),
    "slots": (12, 12, None, 12, 12),
    "mass_as_supplied_g": (33.9, 34.6, 36.8, 35.2, 72.2),
    "lead_length_as_supplied_mm": (150, 140, 160, 150, 60),
    "lead_gauge_awg": (20, 20, 18, 20, 18),
    "trimmed_lead_length_mm": (25, 30, 40, 25, 30),
    "trimmed_mass_g": (31.3, 32.3, None, 32.6, None),
}
BENCH: Sheet = {
    "supply": ("pack", "bench supply", "pack", "pack", "pack"),
    "supply_capacity_mah": (2200, None, 3700, 1800, 2200),
    "supply_rest_voltage": (16.60, 15.40, 20.20, 24.90, 16.60),
    "esc_used": ("Club ESC one (invented)",) * 4 + ("Club ESC two (invented)",),
    "esc_rating_a": (60, 60, 40, 60, 50),
    "esc_timing_deg": (16, 16, None, 16, None),
    "voltage_read_at": ("ESC input", "ESC input", "ESC input", "ESC input", "pack"),
    "place_altitude_m": (120, 120, 120, 120, 120),
    "air_temperature_c": (16.0, 18.5, 21.0, 23.5, 19.0),
    "air_pressure_hpa": (1004, 998, 1009, 1001, 995),
    "air_humidity_percent": (55, 60, 45, None, 70),
    "averaging_window_s": (2.0, 2.0, 2.0, 2.0, 3.0),
    "thrust_accuracy_g": (5.0, 5.0, 5.0, 5.0, 5.0),
    "voltage_accuracy_percent": (0.5, 0.5, 0.5, 0.5, 0.5),
    "current_accuracy_percent": (1.5, 1.5, 1.5, 1.5, 1.5),
    "speed_accuracy_percent": (0.2, 0.2, None, 0.2, 0.2),
    "winding_temperature_c": (16.0, 19.0, 21.0, 24.0, 19.0),
}
CRAFT: Sheet = {
    "all_up_mass_g": (640, None, 1940, 690, 1250),
    "motor_count": (4, None, 2, 4, 1),
    "pack_cells": (4, None, 5, 6, 3),
    "pack_capacity_mah": (1500, None, 4600, 1100, 2200),
    "airspeed_m_s": (None, None, 17.0, 30.0, 16.0),
    "craft_propeller": (A.name, None, L.name, None, H.name),
    "way_of_flying": (
        "hover / 3D / ducted",
        None,
        "forward flight with short full throttle",
        "full throttle held",
        "forward flight with short full throttle",
    ),
}
SHAFTS_MM = (("5.0", "0.03"), ("5.0", "0.02"), ("5.0", "0.05"), ("5.0", "0.03"), ("4.0", "0.02"))
INSPECTION: Sheet = {
    "Shaft": tuple(f"{d} mm, runout {r} mm" for d, r in SHAFTS_MM),
    "Bearings": ("smooth", "smooth", "slight texture when turned slowly", "smooth", "smooth"),
    "Magnets": ("14, arc, even",) * 4 + ("14, flat, even",),
    "Winding": ("single strand, even",) * 3 + ("two strands, one bare spot", "multi-strand, tidy"),
    "Axial play (mm)": ("0.10", "0.15", "0.20", "0.10", "0.15"),
    "Leads": ("20 AWG, 150 mm", "20 AWG, 140 mm", "18 AWG, 160 mm", "20 AWG, 150 mm", None),
}
GRADES = {
    ("thimble-2207", "Bearings"): ("note", "to be turned again after the readings"),
    ("doorstop-2207", "Winding"): ("concern", "no contact with the core found with an ohmmeter"),
}
