"""Print how many planted faults are found, and how many sound readings are doubted: ``python -m tests.study.found_rates``."""

import sys
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from tests.study.open_benches import open_benches
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


CLEAN, OPEN = "none", "none, measured CT and CP"


def rates(seeds: Iterable[int], speed: bool, faults: Iterable[str] = tuple(FAULTS)) -> dict[str, Rate]:
    """Return the rates by fault over benches, one fault a bench at a time; `CLEAN` has the false flags without one."""
    wanted = [name for name in faults if speed or "speed" not in name]
    found: dict[str, Rate] = defaultdict(Rate)
    for seed in seeds:
        _add(found, bench(seed), seed, speed, wanted)
    return dict(found)


def open_rate(speed: bool) -> Rate:
    """Return the false flags on measured CT and CP, none of whose rows is at fault."""
    rate = Rate()
    for made in open_benches():
        rate.others += len(made.rows)
        rate.doubted += len(_doubted(made, made.rows, speed)[0])
    return rate


def _add(found: dict[str, Rate], made: Bench, seed: int, speed: bool, faults: list[str]) -> None:
    clean, _ = _doubted(made, made.rows, speed)
    found[CLEAN].others += len(made.rows)
    found[CLEAN].doubted += len(clean)
    for name in faults:
        planted = FAULTS[name](made.rows, np.random.default_rng([seed, list(FAULTS).index(name)]))
        if planted is None:
            continue
        (doubted, tares), rate = _doubted(made, planted.rows, speed), found[name]
        rate.planted += 1
        told = (doubted - clean) | (tares if "tare" in name else set())
        rate.found += bool(told & set(planted.at))
        rate.others += len(made.rows) - len({*planted.at, *planted.touched})
        rate.doubted += len(doubted - set(planted.at) - set(planted.touched))


def _doubted(made: Bench, rows: list[dict[str, object]], speed: bool) -> tuple[set[int], set[int]]:
    """Return the places of the rows on which a doubtful or impossible flag stands, and of those told of their tare."""
    scope, flags = checked(made.test(rows, speed))
    doubted = np.flatnonzero(scope.column("Readings", "entry_severity") >= 2)
    return set(doubted.tolist()), {flag.row - 1 for flag in flags if "tare" in flag.title}


def main(benches: int = BENCHES) -> None:
    """Print the table."""
    print(f"{benches} simulated benches. Found: % of the faults planted. False: flags on other rows, in 100 of them.")
    print(f"{'fault':40}{'with speed':>16}{'without':>16}\n{'':40}{'found':>8}{'false':>8}{'found':>8}{'false':>8}")
    tables = [rates(range(benches), speed) | {OPEN: open_rate(speed)} for speed in (True, False)]
    for name in (CLEAN, OPEN, *FAULTS):
        rows = [table.get(name, Rate()) for table in tables]
        print(f"{name:40}" + "".join(f"{_shown(rate.share, 0)}{_shown(rate.false_flags, 2)}" for rate in rows))


def _shown(value: float, decimals: int) -> str:
    return f"{'' if value != value else format(value, f'.{decimals}f'):>8}"


if __name__ == "__main__":
    main(*(int(value) for value in sys.argv[1:]))
