"""Pairs for a need, against values worked by hand; limits from both sides, and within the ±."""

from typing import Any

import numpy as np
import pytest

from tests.need_samples import found, of_first, pairs_of, steps_of
from xlsengine.bench.inputs.craft import BURSTS, HELD, HOVER
from xlsengine.study.evaluation import Scope
from xlsengine.study.need_pairs import MOST_LISTED, judged, need_values

FITS, NEAR, NOT = "fits", "borderline", "does not fit"


@pytest.mark.parametrize(
    ("thrust", "ratio", "verdict"),
    [(620.0, 4.1333, FITS), (610.0, 4.0667, NEAR), (590.0, 3.9333, NEAR), (580.0, 3.8667, NOT)],
)
def test_thrust_to_weight(thrust: float, ratio: float, verdict: str) -> None:
    """620 g on four motors over 600 g is 4.133; ± 12 g of thrust is ± 0.08, so that 4.067 and 3.933 are borderline."""
    scope = found({}, {"thrust": thrust})
    assert of_first(scope, "ratio") == pytest.approx(ratio, abs=1e-4)
    assert of_first(scope, "ratio_doubt") == pytest.approx(0.08)
    assert of_first(scope, "verdict") == verdict


@pytest.mark.parametrize(("limit", "verdict"), [(33.3, FITS), (33.1, NEAR), (32.9, NEAR), (32.7, NOT), (None, FITS)])
def test_motor_mass(limit: float | None, verdict: str) -> None:
    """A motor of 33.0 ± 0.2 g."""
    assert of_first(found({"largest_motor_mass": limit}, {}), "verdict") == verdict


@pytest.mark.parametrize(("limit", "verdict"), [(5.0, FITS), (5.1, FITS), (4.9, NOT), (None, FITS)])
def test_largest_propeller(limit: float | None, verdict: str) -> None:
    assert of_first(found({"largest_propeller": limit}, {}), "verdict") == verdict


@pytest.mark.parametrize(("cells", "verdict"), [(4.0, FITS), (3.0, NOT), (None, FITS)])
def test_cells(cells: float | None, verdict: str) -> None:
    assert of_first(found({"pack_cells": cells}, {}), "verdict") == verdict


@pytest.mark.parametrize(
    ("limit", "verdict", "spare"),
    [(40.0, FITS, 1.1), (38.7, FITS, 0.06), (38.0, NEAR, -0.5), (30.0, NEAR, -6.9), (29.0, NOT, -7.7)],
)
def test_esc_on_the_bench(limit: float, verdict: str, spare: float) -> None:
    """30 A steady with room for 3 % is 30.9 A, 80 % of 38.6 A; an ESC below the 30 A that were read falls short."""
    scope = found({"esc_bench_limit": limit}, {})
    assert (of_first(scope, "verdict"), of_first(scope, "bench_esc_spare")) == (verdict, pytest.approx(spare, abs=0.01))


@pytest.mark.parametrize(("limit", "verdict"), [(31.0, FITS), (30.5, FITS), (30.4, NEAR), (24.7, NEAR), (24.6, NOT)])
def test_esc_in_flight(limit: float, verdict: str) -> None:
    """34 A at launch with room for 3 % is 35.02 A, 1.15 times 30.45 A; borderline up to 1.2 times the burst rating."""
    assert of_first(found({"esc_flight_limit": limit, "way_of_flying": BURSTS}, {}), "verdict") == verdict


@pytest.mark.parametrize(
    ("capacity", "static", "verdict"),
    [(1370.0, 34.0, FITS), (1350.0, 34.0, NOT), (1350.0, 27.2, NEAR), (1080.0, 27.2, NOT), (None, 34.0, FITS)],
)
def test_what_no_pack_holds(capacity: float | None, static: float, verdict: str) -> None:
    """4 · 34 A at launch of 1.36 Ah are 100C; where they stand in for a peak not read, 27.2 A are 100C of 1.088 Ah."""
    scope = found({"pack_capacity": capacity}, {"static_current": static, "peak_current": np.nan})
    assert of_first(scope, "verdict") == verdict
    if capacity is not None:
        assert of_first(scope, "pack_rate") == pytest.approx(136_000 / capacity)
    if verdict != FITS:
        assert "C of the pack, more than any holds (about 100C)" in of_first(scope, "first_reason")


@pytest.mark.parametrize("way", [HELD, HOVER])
def test_hover_and_held_flying_get_no_burst_answer(way: str) -> None:
    """The static current counts in full: 38.6 A as on the bench, and 34 A in flight."""
    assert of_first(found({"esc_flight_limit": 35.0, "way_of_flying": way}, {}), "verdict") == NEAR
    scope = found({"esc_flight_limit": 39.0, "way_of_flying": way}, {})
    assert of_first(scope, "verdict") == FITS
    assert [of_first(scope, f"pair_flight_{end}") for end in ("low", "high")] == [34.0, 34.0]


@pytest.mark.parametrize(("pitch", "low", "high"), [(0.8, 20.0, 26.0), (1.0, 34.0, 34.0), (np.nan, 34.0, 34.0)])
def test_current_in_flight(pitch: float, low: float, high: float) -> None:
    """34 A static less 40 and 25 %, outward; none less for a pitch from the diameter on, or one that is not known."""
    scope = found({}, {"pitch_ratio": pitch})
    assert [of_first(scope, f"pair_flight_{end}") for end in ("low", "high")] == [
        pytest.approx(low),
        pytest.approx(high),
    ]


def test_hovering_between_steps() -> None:
    """150 g between 100 and 200 g, ln 1.5 over ln 2 of the way in logarithms; 17.76 Wh of 1500 mAh, 14.8 V and 80 %."""
    scope = found({"pack_cells": 4.0}, {})
    share = np.log(1.5) / np.log(2)
    assert of_first(scope, "pair_hover_current") == pytest.approx(1.8 * (4.4 / 1.8) ** share)
    assert of_first(scope, "pair_hover_current") == pytest.approx(3.036, abs=1e-3)
    assert of_first(scope, "craft_watts") == pytest.approx(4 * 45.545 + 5, abs=0.01)
    assert of_first(scope, "minutes") == pytest.approx(5.693, abs=1e-3)
    assert of_first(scope, "hover_throttle") == pytest.approx(20 * 2**share)
    assert of_first(scope, "hover_basis") == "steps"


def test_a_published_flight_time() -> None:
    """Worked in a trade handbook's manner: 150 g at 5.7 g/W a motor and 5 W beside give 9.7 minutes on 22.2 Wh."""
    steps = steps_of(1, ((30.0, 150.0, 1.75, 150 / 5.7), (100.0, 620.0, 30.0, 450.0)))
    assert of_first(found({"pack_cells": 4.0}, {}, steps=steps), "minutes") == pytest.approx(9.66, abs=0.01)


def test_hovering_estimated_without_steps() -> None:
    """30 A at 620 g, by thrust to the power (1.15 + 1.8) / 2: 3.70 A at 150 g, ± 0.325 · ln(620/150) of it."""
    scope = found({"pack_cells": 4.0}, {}, steps=steps_of(0))
    assert of_first(scope, "pair_hover_current") == pytest.approx(3.699, abs=1e-3)
    assert of_first(scope, "pair_hover_current_doubt") == pytest.approx(0.4612 * 3.699, abs=1e-3)
    assert of_first(scope, "hover_basis") == "estimate"
    assert of_first(scope, "minutes") == pytest.approx(60 * 17.76 / (4 * 3.699 * 15 + 5), abs=1e-3)


def test_a_craft_that_cannot_be_lifted_has_no_hover_figures() -> None:
    scope = found({"all_up_mass": 2600.0, "wanted_ratio": 0.5}, {}, steps=steps_of(0))
    assert of_first(scope, "hover_basis") == "out of reach"
    assert np.isnan(of_first(scope, "pair_hover_current"))


@pytest.mark.parametrize(
    ("gone", "need", "reason"),
    [
        ({"motor_mass": np.nan, "mass_doubt": np.nan}, {"largest_motor_mass": 40.0}, "mass of the motor not known"),
        ({"diameter": np.nan}, {"largest_propeller": 6.0}, "diameter of the propeller not known"),
        ({"launch": np.nan}, {"esc_flight_limit": 60.0}, "ESC in flight: current not known"),
        ({"held_steady": np.nan}, {"esc_bench_limit": 60.0}, "ESC on the bench: current not known"),
    ],
)
def test_what_is_not_known_is_borderline(gone: dict[str, float], need: dict[str, Any], reason: str) -> None:
    scope = found(need, gone)
    assert (of_first(scope, "verdict"), of_first(scope, "first_reason")) == (NEAR, reason)


def test_the_first_limit_that_is_not_held_is_named() -> None:
    """Several are not held: the first in the order of the need speaks; a borderline one before it does not."""
    need = {"largest_motor_mass": 33.1, "esc_flight_limit": 20.0, "esc_bench_limit": 20.0, "way_of_flying": BURSTS}
    assert of_first(found(need, {}), "first_reason") == "ESC in flight 20 A: 12.0 A short after the ±"
    assert of_first(found({**need, "pack_cells": 3.0}, {}), "first_reason") == "tested on 4S, wanted 3S"
    near = found({"largest_motor_mass": 33.1}, {})
    assert of_first(near, "first_reason") == "motor 33.0 g, wanted at most 33.1"


def ranks(scope: Scope) -> list[tuple[float, str, str]]:
    """Return rank, propeller and verdict from the first pair to the last."""
    names = ("rank", "prop", "verdict")
    return list(zip(*(scope.column("Pairs", name).tolist() for name in names), strict=True))


def stepped(*watts: float) -> dict[str, Any]:
    """Return one step at hover thrust for each pair, at so many watts, and one at full throttle."""
    rows = [
        [n, *step] for n, power in enumerate(watts, 1) for step in ((30, 150, power / 15, power), (100, 620, 30, 450))
    ]
    return dict(zip(steps_of(1), np.array(rows, dtype=float).T, strict=True))


def test_what_fits_comes_first_then_what_stays_up_longest() -> None:
    scope = found(
        {"pack_cells": 4.0},
        {"prop": "hungry"},
        {"prop": "weak", "thrust": 500.0},
        {"prop": "frugal"},
        {"prop": "doubtful", "thrust": 605.0},
        steps=stepped(40.0, 20.0, 26.0, 20.0),
    )
    *ranked, (none, last, said) = ranks(scope)
    assert ranked == [(1.0, "frugal", FITS), (2.0, "hungry", FITS), (3.0, "doubtful", NEAR)]
    assert np.isnan(none), "what does not fit has no rank"
    assert (last, said) == ("weak", NOT)


def test_ranks_are_shared_within_the_uncertainty() -> None:
    """Hover power is known to about 4 %: 26.0 and 26.2 W share the first rank, and 40 W is third."""
    scope = found({"pack_cells": 4.0}, {"prop": "a"}, {"prop": "b"}, {"prop": "c"}, steps=stepped(26.2, 40.0, 26.0))
    assert ranks(scope) == [(1.0, "c", FITS), (1.0, "a", FITS), (3.0, "b", FITS)]


@pytest.mark.parametrize(
    ("motors", "flown", "first"),
    [(1.0, BURSTS, "frugal"), (1.0, None, "frugal"), (1.0, HOVER, "b"), (4.0, BURSTS, "b")],
)
def test_what_flies_on_a_wing_is_not_ranked_by_hover(motors: float, flown: str | None, first: str) -> None:
    """Steps let b hover on least power; at full throttle 620 g take 450 W, 400 W (1.55 g/W) where the propeller is frugal."""
    need = {"motor_count": motors, "all_up_mass": 150.0 * motors, "wanted_ratio": 0.8, "way_of_flying": flown}
    kinds = ({"prop": "frugal", "grams_per_watt": 1.55}, {"prop": "b", "grams_per_watt": 1.38})
    scope = found(need, *kinds, steps=stepped(40.0, 26.0))
    assert ranks(scope)[0] == (1.0, first, FITS)
    assert ranks(scope)[1][0] == 2.0, "g/W is known to 0.02, power in hover to about 4 %"
    on_wing = ": 1.55 ± 0.02 g/W at full throttle. Ranked by grams per watt at full throttle on the bench"
    assert (on_wing in str(scope.named("need_headline"))) is (first == "frugal")


def test_ties_go_to_the_first_of_a_rank() -> None:
    """1, 2, 2, 4; and a tie is not handed on: who is surely worse than the first of a rank begins the next."""
    scope = found({"pack_cells": 4.0}, *({"prop": each} for each in "abcd"), steps=stepped(20.0, 26.0, 26.6, 40.0))
    assert ranks(scope) == [(1.0, "a", FITS), (2.0, "b", FITS), (2.0, "c", FITS), (4.0, "d", FITS)]
    chain = found({"pack_cells": 4.0}, *({"prop": each} for each in "abc"), steps=stepped(26.0, 28.0, 30.0))
    ends = [[chain.column("Pairs", f"level_{end}")[row] for end in ("low", "high")] for row in range(3)]
    assert ends[1][1] >= ends[0][0], "b may be as good as a"
    assert ends[2][1] >= ends[1][0], "c may be as good as b"
    assert ends[2][1] < ends[0][0], "c is surely worse than a"
    assert ranks(chain) == [(1.0, "a", FITS), (1.0, "b", FITS), (3.0, "c", FITS)]


def test_within_a_rank_the_figure_shown_decides() -> None:
    """Estimated from full throttle, 3.70 A are 5 W to 9 W less sure than a step of 26.5 W is, yet more minutes."""
    steps = {name: values[:2] for name, values in stepped(57.0, 55.0).items()}
    scope = found({"pack_cells": 4.0}, {"prop": "read"}, {"prop": "estimated"}, steps=steps)
    minutes = scope.column("Pairs", "minutes").tolist()
    assert [(rank, prop) for rank, prop, _ in ranks(scope)] == [(1.0, "estimated"), (1.0, "read")]
    assert minutes == sorted(minutes, reverse=True)
    low = scope.column("Pairs", "merit_low").tolist()
    assert low[0] < low[1], "what is sure of the first is less"
    assert "min in hover (estimate), rank shared by 2." in scope.named("need_headline")
    assert scope.named("need_headline").endswith("which is not its flight time.")


def test_a_blank_type_of_flying_is_full_throttle_held() -> None:
    """As on Craft: 38.6 A for 30 A held, where bursts would be content with 30.45 A; in flight from 20.4 A."""
    blank, held = (found({"esc_flight_limit": 35.0, "way_of_flying": way}, {}) for way in (None, HELD))
    for name in ("verdict", "first_reason", "flight_esc_spare", "pair_flight_high"):
        assert of_first(blank, name) == of_first(held, name)
    assert of_first(blank, "verdict") == NEAR
    assert of_first(blank, "pair_flight_low") == 20.0
    assert of_first(blank, "pair_flight_high") == 34.0


def test_ranked_by_grams_per_watt_without_a_pack() -> None:
    scope = found({"pack_capacity": None}, {"prop": "hungry"}, {"prop": "frugal"}, steps=stepped(40.0, 26.0))
    assert [prop for _, prop, _ in ranks(scope)] == ["frugal", "hungry"]
    assert np.isnan(of_first(scope, "minutes"))


def test_no_more_are_listed_than_a_person_reads() -> None:
    many = [{"prop": f"p{number}", "thrust": 620.0 + number} for number in range(MOST_LISTED + 30)]
    scope = found({}, *many, {"prop": "weak", "thrust": 100.0})
    assert scope.test.rows("Pairs") == MOST_LISTED
    assert set(scope.column("Pairs", "verdict")) == {FITS}
    assert scope.named("chosen_note").startswith(f"Listed are the {MOST_LISTED} nearest of {MOST_LISTED + 31} pairs")


def test_nothing_to_judge() -> None:
    scope = found({}, steps=steps_of(0))
    assert scope.named("need_headline") == "No pair is listed."
    assert judged(need_values({}), pairs_of()).rejected() == [0] * 7


def test_where_nothing_fits_the_nearest_in_thrust_come_first() -> None:
    """600 g on four motors at 8:1 wants 1,200 g a motor: of 500, 700 and 600 g the 700 g come nearest."""
    scope = found(
        {"wanted_ratio": 8.0}, *({"prop": f"{grams:.0f}", "thrust": grams} for grams in (500.0, 700.0, 600.0))
    )
    assert [prop for _, prop, _ in ranks(scope)] == ["700", "600", "500"]
