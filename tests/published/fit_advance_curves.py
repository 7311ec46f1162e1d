"""How CP and CT of a propeller fall along the advance ratio J, fitted to the open sweeps of twelve propellers.

Data: UIUC Propeller Data Site, volumes 1 to 3 (Brandt, Deters, Ananda, Dantsker, Selig), in data/uiuc. With
v = J / (p/D + 0.3), CP(J)/CP(0) = 1 + a·v + b·v², and CT alike; CP(0) is the static row at the same speed. Each
propeller weighs the same. A quadratic in J keeps the operating point in flight a quadratic, too.

`python -m tests.published.fit_advance_curves` prints the fit and writes data/uiuc/fit_residuals.csv anew.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
DATA = Path(__file__).parent / "data" / "uiuc"
OFFSET = 0.3  # of 0.2 to 0.4 in steps of 0.05, the least error on CT when a propeller is left out
UNTWISTING = "5.0x3.5x2"  # thin blades: CT and CP grow by a third with speed, and fall twice as fast along J
COVERAGE = 0.90
HEADER = ("propeller", "specimen", "pitch_over_diameter", "rows", "cp_mean", "cp_rms", "ct_mean", "ct_rms")


@dataclass(frozen=True)
class Sweep:
    """One specimen at every speed: arrays of J and of CP and CT over their static values, up to zero thrust."""

    propeller: str
    specimen: str
    pitch_ratio: float
    advance: FloatArray
    power: FloatArray
    thrust: FloatArray

    @property
    def scaled(self) -> FloatArray:
        """Return v for each row."""
        return self.advance / (self.pitch_ratio + OFFSET)


def rows_of(path: Path) -> list[dict[str, str]]:
    """Return the rows of one data file; its first line names the source."""
    with path.open() as lines:
        next(lines)
        return list(csv.DictReader(lines))


def column(rows: list[dict[str, str]], name: str) -> FloatArray:
    """Return one column of rows as an array."""
    return np.array([float(row[name]) for row in rows])


def sweeps() -> Iterator[Sweep]:
    """Yield every specimen that has both static rows and sweeps."""
    for path in sorted(DATA.glob("sweep_*.csv")):
        rows, static = rows_of(path), rows_of(path.with_name(path.name.replace("sweep", "static")))
        for specimen in sorted({row["specimen"] for row in rows}):
            yield _sweep([row for row in rows if row["specimen"] == specimen],
                         [row for row in static if row["specimen"] == specimen])  # fmt: skip


def _sweep(rows: list[dict[str, str]], static: list[dict[str, str]]) -> Sweep:
    kept = [row for row in rows if float(row["CT"]) >= 0]
    order = np.argsort(column(static, "rpm"))

    def over_static(name: str) -> FloatArray:
        at_rest = np.interp(column(kept, "rpm"), column(static, "rpm")[order], column(static, name)[order])
        return np.asarray(column(kept, name) / at_rest)

    ratio = float(rows[0]["pitch_in"]) / float(rows[0]["D_in"])
    return Sweep(rows[0]["prop"], rows[0]["specimen"], ratio, column(kept, "J"), over_static("CP"), over_static("CT"))


def weights(chosen: list[Sweep]) -> FloatArray:
    """Return a weight for each row, so that each propeller counts the same, and each of its specimens."""
    names = [sweep.propeller for sweep in chosen]
    parts = [np.full(len(s.advance), 1 / len(s.advance) / names.count(s.propeller)) for s in chosen]
    return np.concatenate(parts) / len(set(names))


def fit(chosen: list[Sweep], figure: str) -> FloatArray:
    """Return a and b for `figure`, "power" or "thrust", by weighted least squares over all rows."""
    v = np.concatenate([sweep.scaled for sweep in chosen])
    fall = np.concatenate([getattr(sweep, figure) for sweep in chosen]) - 1
    root = np.sqrt(weights(chosen))
    solved: FloatArray = np.linalg.lstsq(np.column_stack([v, v * v]) * root[:, None], fall * root, rcond=None)[0]
    return solved


def left_out(everything: list[Sweep], figure: str) -> list[FloatArray]:
    """Return each specimen's residuals, rows in order, against the fit of the other propellers."""
    fitted = [sweep for sweep in everything if sweep.propeller != UNTWISTING]
    found = []
    for sweep in everything:
        a, b = fit([other for other in fitted if other.propeller != sweep.propeller], figure)
        found.append(getattr(sweep, figure) - 1 - a * sweep.scaled - b * sweep.scaled**2)
    return found


def band(everything: list[Sweep], figure: str) -> float:
    """Return k so that ±k·v holds 90 % of the weighted rows, each against the fit of the other propellers."""
    kept = [place for place, sweep in enumerate(everything) if sweep.propeller != UNTWISTING]
    residuals = left_out(everything, figure)
    share = np.concatenate([np.abs(residuals[place]) / everything[place].scaled for place in kept])
    order = np.argsort(share)
    held = np.cumsum(weights([everything[place] for place in kept])[order])
    return float(share[order][np.searchsorted(held, COVERAGE)])


def thrust_powers() -> list[float]:
    """Return the power of speed that each specimen's static thrust goes with, above 0.4 of its top speed."""
    found = []
    for path in sorted(DATA.glob("static_*.csv")):
        rows = rows_of(path)
        for specimen in sorted({row["specimen"] for row in rows}):
            mine = [row for row in rows if row["specimen"] == specimen]
            speed, coefficient = column(mine, "rpm"), column(mine, "CT")
            fast = speed > 0.4 * speed.max()
            found.append(2 + float(np.polyfit(np.log(speed[fast]), np.log(coefficient[fast]), 1)[0]))
    return found


def residual_rows(everything: list[Sweep]) -> Iterator[tuple[object, ...]]:
    """Yield one line of the residuals file a specimen: rows, mean and root mean square, left out of the fit."""
    power, thrust = left_out(everything, "power"), left_out(everything, "thrust")
    for sweep, cp, ct in zip(everything, power, thrust, strict=True):
        figures = (f(e) for e in (cp, ct) for f in (np.mean, lambda e: np.sqrt(np.mean(e * e))))
        yield (sweep.propeller, sweep.specimen, f"{sweep.pitch_ratio:.3f}", len(cp), *(f"{x:+.4f}" for x in figures))


def main() -> None:
    """Print the fit and write its residuals."""
    everything = list(sweeps())
    kept = [sweep for sweep in everything if sweep.propeller != UNTWISTING]
    for figure in ("power", "thrust"):
        a, b = fit(kept, figure)
        print(f"{figure}: a {a:.4f}, b {b:.4f}, band {band(everything, figure):.3f} v")
    print(f"thrust as a power of speed, median {np.median(thrust_powers()):.3f}")
    with (DATA / "fit_residuals.csv").open("w", newline="") as lines:
        lines.write("# Residuals of CP/CP(0) and CT/CT(0), each propeller left out; fit_advance_curves.py wrote them\n")
        csv.writer(lines, lineterminator="\n").writerows([HEADER, *residual_rows(everything)])


if __name__ == "__main__":
    main()
