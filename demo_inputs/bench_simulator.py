"""A simulated static bench, for inventing readings that obey physics.

Motor: rpm = Kv (d V - I R) and Q = Kt (I - I0) with Kt = 60 / (2 pi Kv), the DC motor of constant
field (Fitzgerald, Kingsley, Umans, Electric Machinery; from memory), d being the ESC's duty. Magnets are taken as
constant in temperature, copper is not.
Propeller: T = CT rho n^2 D^4, P = CP rho n^3 D^5, figure of merit sqrt(2/pi) CT^1.5 / CP, as in the UIUC
propeller data (Brandt, Deters, Ananda, Dantsker, Selig). Coefficients are invented inside their range.
The engine is deliberately not imported: readings must not inherit a mistake from what they are to try.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

METRE_PER_INCH = 0.0254
NEWTON_PER_GRAM = 0.00980665
COPPER_PER_K = 0.00393
REFERENCE_TIP_M_S = 40.0  # n D at which a propeller has its nominal coefficients
START_TEMPERATURE_C = 25.0
CASE_SHARE_OF_RISE = 0.6  # an outrunner's case follows its winding only in part during a short hold
ESC_STANDING_A = 0.1
ESC_SWITCHING_SHARE = 0.02
DIODE_V = 0.6


@dataclass(frozen=True)
class Motor:
    """A motor with its ESC: `kv` in rpm/V, cold resistances in mΩ, no-load current as a line in speed (A).

    `heating_k_per_w` is the winding's rise at the end of a steady hold, per watt lost in its copper.
    """

    kv: float
    winding_mohm: float
    esc_and_leads_mohm: float
    no_load_at_rest_a: float
    no_load_per_1000_rpm_a: float
    heating_k_per_w: float = 0.35

    @property
    def torque_constant(self) -> float:
        """Return Kt in N·m/A."""
        return 60.0 / (2.0 * math.pi * self.kv)

    def no_load_current(self, rpm: float) -> float:
        """Return the current (A) that friction and iron take at `rpm`."""
        return self.no_load_at_rest_a + self.no_load_per_1000_rpm_a * rpm / 1000.0

    def winding_rise(self, current_a: float) -> float:
        """Return the winding's temperature rise (K) after a steady hold at a motor current."""
        return self.heating_k_per_w * current_a**2 * self.winding_mohm / 1000.0

    def resistance(self, rise_k: float) -> float:
        """Return winding, ESC and leads together (Ω) with the winding `rise_k` above its start."""
        return (self.winding_mohm * (1.0 + COPPER_PER_K * rise_k) + self.esc_and_leads_mohm) / 1000.0


@dataclass(frozen=True)
class Propeller:
    """A propeller by its label; `fineness` scales the figure of merit for a better or poorer moulding."""

    name: str
    diameter_in: float
    pitch_in: float
    blades: int
    fineness: float = 1.0

    @property
    def diameter_m(self) -> float:
        """Return the diameter in metres."""
        return self.diameter_in * METRE_PER_INCH

    @property
    def nominal_figure_of_merit(self) -> float:
        """Return the figure of merit at the reference tip speed; steep and many blades cost some."""
        pitch_ratio = self.pitch_in / self.diameter_in
        return self.fineness * (0.60 - 0.15 * (pitch_ratio - 0.5) - 0.02 * (self.blades - 2))

    @property
    def nominal_ct(self) -> float:
        """Return the static thrust coefficient at the reference tip speed."""
        return (0.095 + 0.06 * self.pitch_in / self.diameter_in) * math.pow(self.blades / 2.0, 0.25)

    def ct(self, rpm: float) -> float:
        """Return CT at `rpm`: it grows a little with the Reynolds number."""
        return self.nominal_ct * math.pow(self._reynolds_ratio(rpm), 0.05)

    def cp(self, rpm: float) -> float:
        """Return CP at `rpm`: it falls a little with the Reynolds number."""
        nominal = math.sqrt(2.0 / math.pi) * math.pow(self.nominal_ct, 1.5) / self.nominal_figure_of_merit
        return nominal * math.pow(self._reynolds_ratio(rpm), -0.03)

    def thrust_n(self, rpm: float, density: float) -> float:
        """Return static thrust (N) in air of `density` (kg/m³)."""
        return self.ct(rpm) * density * (rpm / 60.0) ** 2 * self.diameter_m**4

    def torque_n_m(self, rpm: float, density: float) -> float:
        """Return shaft torque (N·m) in air of `density` (kg/m³)."""
        return self.cp(rpm) * density * (rpm / 60.0) ** 2 * self.diameter_m**5 / (2.0 * math.pi)

    def _reynolds_ratio(self, rpm: float) -> float:
        return max(rpm, 1.0) / 60.0 * self.diameter_m / REFERENCE_TIP_M_S


@dataclass(frozen=True)
class Supply:
    """What feeds the ESC: volts at rest, resistances (mΩ), and the volts a cell loses in a hold of seconds.

    A bench supply set to the voltage of a pack is a `Supply` of leads only.
    """

    cells: int
    rest_per_cell_v: float
    mohm_per_cell: float = 0.0
    leads_mohm: float = 6.0
    hold_loss_per_cell_v: float = 0.0

    def voltage(self, current_a: float, held: bool) -> float:
        """Return the volts at the ESC under a current; `held` takes off the loss of a steady hold."""
        per_cell = self.rest_per_cell_v - (self.hold_loss_per_cell_v if held else 0.0)
        resistance = (self.cells * self.mohm_per_cell + self.leads_mohm) / 1000.0
        return self.cells * per_cell - current_a * resistance


@dataclass(frozen=True)
class OperatingPoint:
    """What an unerring bench would see."""

    voltage_v: float
    current_a: float
    thrust_g: float
    speed_rpm: float
    torque_n_m: float
    motor_temperature_c: float


@dataclass(frozen=True)
class Instruments:
    """Scatter (1 sigma) and the smallest step each instrument shows; a share is of the reading."""

    thrust_share: float = 0.004
    thrust_g: float = 0.7
    voltage_share: float = 0.001
    current_share: float = 0.004
    current_a: float = 0.02
    speed_share: float = 0.001
    torque_share: float = 0.004
    torque_n_m: float = 0.0002
    thrust_step_g: float = 1.0
    voltage_step_v: float = 0.01
    current_step_a: float = 0.1
    low_current_step_a: float = 0.01  # the no-load spins use a meter's low range
    speed_step_rpm: float = 10.0
    torque_step_n_m: float = 0.0001


def air_density(temperature_c: float, pressure_hpa: float, humidity_percent: float) -> float:
    """Return the density of moist air (kg/m³): two ideal gases, Magnus vapour pressure (from memory)."""
    kelvin = temperature_c + 273.15
    saturation_pa = 611.2 * math.exp(17.62 * temperature_c / (243.12 + temperature_c))
    vapour_pa = humidity_percent / 100.0 * saturation_pa
    return (pressure_hpa * 100.0 - vapour_pa) / (287.05 * kelvin) + vapour_pa / (461.5 * kelvin)


def battery_current(motor_current_a: float, duty: float) -> float:
    """Return the DC current (A) into an ESC that feeds its motor at `duty` (0 to 1)."""
    switching = ESC_SWITCHING_SHARE * (1.0 - duty) * motor_current_a
    return duty * motor_current_a + switching + ESC_STANDING_A


def operating_point(
    motor: Motor, propeller: Propeller, supply: Supply, duty: float, density: float, held: bool
) -> OperatingPoint:
    """Return the point where motor, propeller and supply agree.

    `held` is a steady reading, with the pack sagged and the winding warm; otherwise the first second.
    """

    def electrics(rpm: float) -> tuple[float, float, float, float]:
        torque = propeller.torque_n_m(rpm, density)
        motor_current = torque / motor.torque_constant + motor.no_load_current(rpm)
        current = battery_current(motor_current, duty)
        rise = motor.winding_rise(motor_current) * duty if held else 0.0
        return motor_current, current, supply.voltage(current, held), rise

    def surplus_speed(rpm: float) -> float:
        motor_current, _, voltage, rise = electrics(rpm)
        return motor.kv * (duty * voltage - motor_current * motor.resistance(rise)) - rpm

    rpm = float(brentq(surplus_speed, 0.0, motor.kv * supply.voltage(0.0, held)))
    _, current, voltage, rise = electrics(rpm)
    return OperatingPoint(
        voltage_v=voltage,
        current_a=current,
        thrust_g=propeller.thrust_n(rpm, density) / NEWTON_PER_GRAM,
        speed_rpm=rpm,
        torque_n_m=propeller.torque_n_m(rpm, density),
        motor_temperature_c=START_TEMPERATURE_C + CASE_SHARE_OF_RISE * rise,
    )


def shown(value: float, share: float, absolute: float, step: float, rng: np.random.Generator) -> float:
    """Return a value with normal scatter, rounded to a display's step."""
    scattered = value * (1.0 + share * rng.standard_normal()) + absolute * rng.standard_normal()
    return round(round(scattered / step) * step, 4)


def read_off(point: OperatingPoint, instruments: Instruments, rng: np.random.Generator) -> dict[str, float]:
    """Return an operating point as the bench shows it: with scatter, and rounded to each display's step."""
    see = instruments
    torque_n_m = shown(point.torque_n_m, see.torque_share, see.torque_n_m, see.torque_step_n_m, rng)
    return {
        "voltage_v": shown(point.voltage_v, see.voltage_share, 0.0, see.voltage_step_v, rng),
        "current_a": shown(point.current_a, see.current_share, see.current_a, see.current_step_a, rng),
        "thrust_g": shown(point.thrust_g, see.thrust_share, see.thrust_g, see.thrust_step_g, rng),
        "speed_rpm": shown(point.speed_rpm, see.speed_share, 0.0, see.speed_step_rpm, rng),
        "torque_n_m": torque_n_m,
        "motor_temperature_c": shown(point.motor_temperature_c, 0.0, 0.5, 1.0, rng),
    }


def free_spin(motor: Motor, voltage_v: float, instruments: Instruments, rng: np.random.Generator) -> dict[str, float]:
    """Return one spin without a propeller at full throttle: volts, current and speed as shown."""
    resistance = motor.resistance(0.0)
    speed_lost_per_rpm = motor.kv * motor.no_load_per_1000_rpm_a / 1000.0 * resistance
    rpm = motor.kv * (voltage_v - motor.no_load_at_rest_a * resistance) / (1.0 + speed_lost_per_rpm)
    current = battery_current(motor.no_load_current(rpm), 1.0)
    see = instruments
    return {
        "voltage_v": shown(voltage_v, see.voltage_share, 0.0, see.voltage_step_v, rng),
        "current_a": shown(current, 0.01, 0.005, see.low_current_step_a, rng),
        "speed_rpm": shown(rpm, see.speed_share, 0.0, see.speed_step_rpm, rng),
    }


def driven_spin_voltage(motor: Motor, rpm: float, measured_as: str) -> float:
    """Return the volts a sinusoidal motor makes when driven at `rpm`, as the named method shows them.

    An ESC of six steps works against their mean, 3/π of the peak, so that the free spin's Kv goes by that.

    Raises `KeyError` for a method that is not one of the three.
    """
    mean = rpm / motor.kv
    peak = mean * math.pi / 3.0
    shown = {
        "line to line true rms": peak / math.sqrt(2.0),
        "line to line peak to peak": 2.0 * peak,
        "bridge rectified mean": mean - 2.0 * DIODE_V,
    }
    return round(shown[measured_as], 3)


def winding_pairs(motor: Motor, temperature_c: float, rng: np.random.Generator) -> list[dict[str, object]]:
    """Return the three line-to-line resistances, as a four-wire meter shows them on a still, cool motor."""
    cold_mohm = motor.winding_mohm * (1.0 + COPPER_PER_K * (temperature_c - START_TEMPERATURE_C))
    return [{"pair": pair, "resistance_mohm": shown(cold_mohm, 0.006, 0.0, 0.1, rng)} for pair in ("1-2", "2-3", "3-1")]
