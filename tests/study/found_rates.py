"""Print how many planted faults are found, and how many sound readings are doubted: ``python -m tests.study.found_rates``."""

from __future__ import annotations

import sys
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from tests.study.planted_benches import FAULTS, Bench, bench
from xlsengine.study.group_checks import checked

BENCHES = 60


@dataclass
class Rate:
    """How many of the faults planted were found, and how many of the other rows were doubted."""

    planted: int = 0
    found: int = 0
    others: int = 0
    doubted: int = 0

    @property
    def share(self) -> float:
        """Return the share found, in percent."""
        return 100 * self.found / self.planted if self.planted else float("nan")

    @property
    def false_flags(self) -> float:
        """Return the doubtful or impossible flags on other rows, in 100 of them."""
        return 100 * self.doubted / self.others if self.others else float("nan")


CLEAN = "none"


def rates(seeds: Iterable[int], speed: bool, faults: Iterable[str] = tuple(FAULTS)) -> dict[str, Rate]:
    """Return the rates by fault over benches, one fault a bench at a time; `CLEAN` has the false flags without one."""
    wanted = [name for name in faults if speed or "speed" not in name]
    found: dict[str, Rate] = defaultdict(Rate)
    for seed in seeds:
        _add(found, bench(seed), seed, speed, wanted)
    return dict(found)


def _add(found: dict[str, Rate], made: Bench, seed: int, speed: bool, faults: list[str]) -> None:
    clean = _doubted(made, made.rows, speed)
    found[CLEAN].others += len(made.rows)
    found[CLEAN].doubted += len(clean)
    for name in faults:
        planted = FAULTS[name](made.rows, np.random.default_rng([seed, list(FAULTS).index(name)]))
        if planted is None:
            continue
        doubted, rate = _doubted(made, planted.rows, speed), found[name]
        rate.planted += 1
        rate.found += bool(doubted & set(planted.at) - clean)
        rate.others += len(made.rows) - len({*planted.at, *planted.touched})
        rate.doubted += len(doubted - set(planted.at) - set(planted.touched))


def _doubted(made: Bench, rows: list[dict[str, object]], speed: bool) -> set[int]:
    """Return the places of the rows on which a doubtful or impossible flag stands."""
    scope, _ = checked(made.test(rows, speed))
    return set(np.flatnonzero(scope.column("Readings", "flagged") == 1).tolist())


def main(benches: int = BENCHES) -> None:
    """Print the table."""
    with_speed, without = (rates(range(benches), speed) for speed in (True, False))
    print(f"{benches} simulated benches; found in percent, false flags on other rows in 100 rows")
    print(f"{'fault':40}{'with speed':>12}{'false':>8}{'without':>10}{'false':>8}")
    for name in (CLEAN, *FAULTS):
        cells = [rate and (rate.share, rate.false_flags) for rate in (with_speed.get(name), without.get(name))]
        one, other = (cell or (float("nan"), float("nan")) for cell in cells)
        print(f"{name:40}{one[0]:12.0f}{one[1]:8.2f}{other[0]:10.0f}{other[1]:8.2f}")


if __name__ == "__main__":
    main(*(int(value) for value in sys.argv[1:]))
