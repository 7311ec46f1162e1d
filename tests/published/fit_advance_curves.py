"""Print the fit of CP and CT along J, what its band holds of each propeller left out, and the rule of thumb's share.

`python -m tests.published.fit_advance_curves`; with `--splits` also what it holds when two or half are left out.
"""

import sys
from collections.abc import Iterator

import numpy as np

from tests.published import advance_coverage as coverage
from tests.published import advance_fit, rule_of_thumb_share
from tests.published.propeller_sweeps import Points, points, thrust_powers


def fit_lines(everything: Points) -> Iterator[str]:
    """Yield the fitted numbers and the ranges they come from."""
    found = advance_fit.fit(everything)
    yield "J0 = {:.4f} + {:.4f}·CP/CT + {:.4f}·ln(n·D²)".format(*found.zero)
    yield f"CT: a {found.thrust_slope:.4f}; CP: c {found.power_slope:.4f}, d {found.power_curve:.4f}"
    yield f"band: {advance_fit.band(everything):.4f}·({advance_fit.FLOOR} + x {advance_fit.BEND:+}·x²)"
    yield f"CP rises by {100 * advance_fit.most_rise(everything):.1f} % at most"
    for name in ("pitch_ratio", "diameter", "advance", "per_thrust", "size"):
        values = getattr(everything, name)
        yield f"{name} {values.min():.3f} to {values.max():.3f}"
    yield f"thrust as a power of speed, median {np.median(thrust_powers()):.3f}"


def coverage_lines(found: list[coverage.Coverage]) -> Iterator[str]:
    """Yield the coverage table, in %: a line a propeller, and their sum."""
    yield (
        f"{'propeller':10} {'points':>6} {'in CP':>6} {'in CT':>6} {'above CP':>8} {'above CT':>8} "
        + f"{'width CP':>8} {'width CT':>8}"
    )
    for one in found:
        percent = [100 * share for share in (*one.inside, *one.above, *one.width)]
        yield f"{one.propeller:10} {one.points:6} " + "{:6.0f} {:6.0f} {:8.0f} {:8.0f} {:8.0f} {:8.0f}".format(*percent)
    yield summary(found)


def summary(found: list[coverage.Coverage]) -> str:
    """Say how many are held, how many points lie above, and how wide the bands are."""
    power, thrust = (100 * share for share in coverage.points_above(found))
    wide = [100 * float(np.mean([one.width[k] for one in found])) for k in (0, 1)]
    return (
        f"{sum(one.held for one in found)} of {len(found)} hold 85 % in CP and in CT; {power:.1f} % of points above "
        f"in CP, {thrust:.1f} % in CT; mean width {wide[0]:.0f} % of static CP, {wide[1]:.0f} % of CT"
    )


def rule_lines(everything: Points) -> Iterator[str]:
    """Yield the shares of the rule of thumb for three loadings of the motor."""
    reach = f"J {everything.advance.min():.2f} to {everything.advance.max():.2f}"
    for loaded in (0.65, rule_of_thumb_share.LOADED, 0.85):
        less, within, more = (100 * share for share in rule_of_thumb_share.shares(everything, loaded))
        yield (
            f"rule of thumb, {reach}, motor loaded to {loaded}: {within:.1f} % of points within, {less:.1f} % fall "
            f"less, {more:.1f} % more"
        )


def main() -> None:
    """Print it all."""
    everything = points()
    print(*fit_lines(everything), *coverage_lines(coverage.one_left_out(everything)), sep="\n")
    print(*rule_lines(everything), sep="\n")
    if "--splits" in sys.argv:
        print("two left out:", summary(coverage.two_left_out(everything)))
        print("half left out:", summary(coverage.half_left_out(everything)))


if __name__ == "__main__":
    main()
