"""The open wind-tunnel sweeps of data/uiuc, point by point, each over its propeller's static row at the same speed.

Data: UIUC Propeller Data Site, volumes 1 to 3 (Brandt, Deters, Ananda, Dantsker, Selig). A propeller is called by its
diameter and pitch in inches; where one was measured in several specimens, they count as one propeller.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass, fields
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
Mask = NDArray[np.bool_]
Row = dict[str, str]
DATA = Path(__file__).parent / "data" / "uiuc"
INCH = 0.0254


@dataclass(frozen=True)
class Points:
    """Every point of the sweeps that pulls; all arrays are of one shape, one value for each point.

    `advance` is J, `power` CP/CP(0), `thrust` CT/CT(0), `per_thrust` CP(0)/CT(0) and `size` n·D² (m²/s) at its speed.
    """

    propeller: NDArray[np.str_]
    specimen: NDArray[np.str_]
    pitch_ratio: FloatArray
    diameter: FloatArray
    advance: FloatArray
    power: FloatArray
    thrust: FloatArray
    per_thrust: FloatArray
    size: FloatArray

    def only(self, chosen: Mask) -> Points:
        """Return the chosen points."""
        return Points(*(getattr(self, field.name)[chosen] for field in fields(self)))

    @property
    def propellers(self) -> list[str]:
        """Return the propellers, each once."""
        return sorted(set(self.propeller.tolist()))

    @property
    def weight(self) -> FloatArray:
        """Return weights by which each propeller counts the same, and each of its specimens; they add up to 1."""
        own = np.char.add(np.char.add(self.propeller, " "), self.specimen)
        names, place, count = np.unique(own, return_inverse=True, return_counts=True)
        specimens = {name: sum(other.split(" ")[0] == name for other in names) for name in self.propellers}
        shared = np.array([specimens[name] for name in self.propeller.tolist()])
        return np.asarray(1 / (count[place] * shared * len(self.propellers)))


def rows_of(path: Path) -> list[Row]:
    """Return the rows of one data file; its first line names the source."""
    with path.open() as lines:
        next(lines)
        return list(csv.DictReader(lines))


def column(rows: list[Row], name: str) -> FloatArray:
    """Return one column of rows as an array."""
    return np.array([float(row[name]) for row in rows])


def pairs() -> Iterator[tuple[list[Row], list[Row]]]:
    """Yield sweep and static rows of every specimen, in the order of size."""
    found = []
    for path in DATA.glob("sweep_*.csv"):
        rows, static = rows_of(path), rows_of(path.with_name(path.name.replace("sweep", "static")))
        for specimen in {row["specimen"] for row in rows}:
            found.append(tuple([row for row in part if row["specimen"] == specimen] for part in (rows, static)))
    yield from sorted(
        found, key=lambda pair: [float(pair[0][0][k]) for k in ("D_in", "pitch_in")] + [pair[0][0]["specimen"]]
    )  # type: ignore[misc]


def _points(rows: list[Row], static: list[Row]) -> Points:
    kept = [row for row in rows if float(row["CT"]) >= 0]
    speed, order = column(kept, "rpm"), np.argsort(column(static, "rpm"))
    power, thrust = (np.interp(speed, column(static, "rpm")[order], column(static, c)[order]) for c in ("CP", "CT"))
    diameter, pitch = column(kept, "D_in"), column(kept, "pitch_in")
    return Points(
        np.array([f"{d:g}x{p:g}" for d, p in zip(diameter, pitch, strict=True)]),
        np.array([row["specimen"] for row in kept]),
        pitch / diameter,
        diameter,
        column(kept, "J"),
        column(kept, "CP") / power,
        column(kept, "CT") / thrust,
        power / thrust,
        speed / 60 * (diameter * INCH) ** 2,
    )


def points() -> Points:
    """Return every point of every specimen; static values lie on straight lines between the static rows."""
    parts = [_points(*pair) for pair in pairs()]
    return Points(*(np.concatenate([getattr(part, field.name) for part in parts]) for field in fields(Points)))


def thrust_powers() -> list[float]:
    """Return the power of speed that each specimen's static thrust goes with, above 0.4 of its top speed."""
    found = []
    for _, static in pairs():
        speed, coefficient = column(static, "rpm"), column(static, "CT")
        fast = speed > 0.4 * speed.max()
        found.append(2 + float(np.polyfit(np.log(speed[fast]), np.log(coefficient[fast]), 1)[0]))
    return found
