import math
from typing import Any

import numpy as np
import pytest
from scipy.stats import linregress
from scipy.stats import t as student

from demo_inputs.bench_simulator import Supply, operating_point
from tests.bench.ideal_bench import DENSITY, MOTOR, PROPELLERS, STEPS, SWING, reading, scope_of
from xlsengine.bench.inputs.no_load import PEAK_TO_PEAK
from xlsengine.study.evaluation import Scope

SPIN = [{"driven_speed": 2400.0, "driven_voltage": SWING, "driven_as": PEAK_TO_PEAK}]
AIR = {"air_temperature": 25.0, "air_pressure": 990.0, "air_humidity": 60.0}
DAY = float(scope_of([], AIR).named("moist_density"))


def normal(scope: Scope, name: str, row: int = 0) -> Any:
    return scope.column("Normalised", name)[row]


@pytest.mark.parametrize("propeller", PROPELLERS, ids=lambda each: each.name)
@pytest.mark.parametrize("volts", [3.75, 4.15])
def test_it_is_what_the_motor_would_do_there(propeller: Any, volts: float) -> None:
    """The simulated motor, run at the reference volts and density, shows what was estimated for them."""
    row = reading(propeller, 4, volts=volts, density=DAY)
    scope = scope_of([row], AIR, DrivenSpins=SPIN)
    there = operating_point(MOTOR, propeller, Supply(4, 3.7, leads_mohm=0.0), 1.0, DENSITY, held=True)
    assert normal(scope, "normal_thrust") == pytest.approx(there.thrust_g, rel=0.012)
    assert normal(scope, "normal_current") == pytest.approx(there.current_a, rel=0.012)
    assert normal(scope, "normal_power") == pytest.approx(there.current_a * 14.8, rel=0.012)
    assert abs(normal(scope, "raw_thrust") / there.thrust_g - 1) > 0.012


@pytest.mark.parametrize(
    ("fields", "given"),
    [
        ({"reference_cell_voltage": 3.6}, True),
        ({"reference_cell_voltage": 3.0}, False),
        ({"reference_cell_voltage": 3.0, "volts_reach": 25.0}, True),
        (AIR | {"air_pressure": 900.0}, False),
        (AIR | {"air_pressure": 900.0, "density_reach": 20.0}, True),
    ],
)
def test_reach_is_limited(fields: dict[str, Any], given: bool) -> None:
    scope = scope_of([reading(PROPELLERS[0], 4)], fields)
    assert math.isfinite(normal(scope, "normal_thrust")) == given
    assert normal(scope, "normal_note").startswith("estimated: " if given else "too far for an estimate: ")


def test_words_say_what_was_assumed() -> None:
    row = reading(PROPELLERS[0], 4) | {"speed": None}
    note = normal(scope_of([row]), "normal_note")
    assert note.endswith("air not read and left as it was; speed ratio assumed")
    assert normal(scope_of([row]), "normal_ratio") == 0.75
    read = normal(scope_of([reading(PROPELLERS[0], 4)], AIR), "normal_note")
    assert "assumed" not in read
    assert "air not read" not in read


def test_an_impossible_speed_gives_no_exponent() -> None:
    row = reading(PROPELLERS[0], 4)
    scope = scope_of([row | {"speed": 2 * row["speed"]}], DrivenSpins=SPIN)
    assert normal(scope, "normal_ratio") == 0.75


def noisy_bench(**fields: Any) -> Scope:
    """Return one propeller over its throttle steps on 4 cells, and at full throttle three times, with scatter."""
    rng = np.random.default_rng(12)
    rows = [reading(PROPELLERS[0], 4, duty, density=DAY) for duty in (1.0, 1.0, *STEPS)]
    for row in rows:
        for name in ("voltage", "current", "thrust", "speed"):
            row[name] *= 1 + float(rng.normal(0, 0.006))
    accuracies = {"voltage_accuracy": 0.5, "current_accuracy": 1.0, "thrust_accuracy": 5.0, "speed_accuracy": 0.4}
    return scope_of(rows, AIR | accuracies | fields, DrivenSpins=SPIN)


def used(scope: Scope, table: str, name: str) -> Any:
    return scope.column(table, name)[: len(STEPS) + 2]


def test_margins_of_the_sag_line_are_those_of_scipy_and_the_meters() -> None:
    scope = noisy_bench()
    line = linregress(used(scope, "SpeedFigures", "row_current"), used(scope, "SpeedFigures", "row_voltage"))
    volts, amps = 0.005 / math.sqrt(3), 0.01 / math.sqrt(3)
    fitted, meters = line.stderr * 1000, math.hypot(volts, amps) * line.slope * 1000
    combined = math.hypot(fitted, meters)
    freedom = combined**4 / (fitted**4 / (len(STEPS) + 2 - 2))
    expected = combined * float(student.ppf(0.975, math.floor(freedom)))
    assert scope.column("SagLines", "supply_resistance_expanded")[0] == pytest.approx(expected, rel=1e-6)


def test_margins_of_exponents_are_those_of_scipy() -> None:
    scope = noisy_bench()
    thrust, current = (used(scope, "Readings", f"ln_{name}") for name in ("thrust", "current"))
    speed = used(scope, "SpeedFigures", "ln_speed")
    for name, x, y in (("thrust_exponent", speed, thrust), ("current_exponent", thrust, current)):
        line = linregress(x, y)
        expected = line.stderr * float(student.ppf(0.975, len(x) - 2))
        assert scope.column("Exponents", f"{name}_expanded")[0] == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("measured", [True, False])
def test_margins_at_reference_are_those_of_monte_carlo(measured: bool) -> None:
    """Errors of the readings, of the volts' and air's way to the reference, and of the speed ratio, drawn and put in."""
    scope, rng, draws = noisy_bench(reference_cell_voltage=3.55), np.random.default_rng(3), 200_000
    if not measured:
        scope = scope_of([{**reading(PROPELLERS[0], 4, density=DAY), "speed": None}], AIR)

    def limits(percent: float) -> Any:
        return 1 + rng.uniform(-1, 1, draws) * percent / 100

    row = {name: float(scope.column("Uncertainties", f"sure_{name}")[0]) for name in ("thrust", "current")}
    own = {name: float(scope.column("Uncertainties", f"sure_{name}_share")[0]) for name in row}
    volts = limits(float(scope.named("taken_voltage_accuracy")))
    air = limits(float(scope.named("taken_density_accuracy")))
    kv = float(scope.named("best_kv_uncertainty")) / float(scope.named("best_kv"))
    ratio = 0.75 + rng.uniform(-1, 1, draws) * 0.125
    if measured:
        by_meters = limits(float(scope.named("taken_speed_accuracy"))) / limits(scope.named("taken_voltage_accuracy"))
        ratio = normal(scope, "normal_ratio") * by_meters / (1 + rng.normal(0, kv, draws))
    log_volts, log_air = np.log(normal(scope, "volts_share") / volts), np.log(normal(scope, "density_share") / air)
    moved = np.exp(2 / (2 - ratio) * log_volts + ratio / (2 - ratio) * log_air)
    for name in ("thrust", "current"):
        spread = float(np.std(row[name] * (1 + rng.normal(0, own[name], draws)) * moved))
        share = normal(scope, f"normal_{name}_u")
        assert share * normal(scope, f"normal_{name}") == pytest.approx(spread, rel=0.02)


def test_peaks_alone_are_normalised_but_give_no_line() -> None:
    """Means at full throttle can be brought to the reference; a sag and exponents take steady steps, and that is said."""
    peaks = [reading(each, 4) | {"kind": "peak"} for each in PROPELLERS]
    scope = scope_of(peaks)
    assert normal(scope, "raw_thrust") == pytest.approx(peaks[0]["thrust"])
    assert normal(scope, "normal_thrust") > 0
    assert normal(scope, "normal_note").endswith("speed ratio assumed")
    assert scope.column("SagLines", "sag_verdict")[0] == "no line: it takes four steady readings of differing current"
    assert scope.column("Exponents", "exponent_verdict")[0].startswith("not judged: fewer than four unflagged steady")
