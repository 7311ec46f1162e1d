"""All that is to be said about a workbook: its faults, what was read in other words, and what else its sender should
know."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import NamedTuple

from xlsengine.errors import Fault, Reason, cells_joined, column_of
from xlsengine.workbook.reading.limits import MOST_FAULTS

MOST_TOLD_OF_A_COLUMN = 10


class ReadCell(NamedTuple):
    """A cell whose content was taken in other words: its place, header, what was found, and what it was read as."""

    place: str
    label: str
    found: str
    taken: str

    def __str__(self) -> str:
        return f"{self.place} {self.label}: {self.found} read as {self.taken}"


@dataclass
class Findings:
    """The faults, and `told`, sentences that are no faults; `cells` lists every cell that was read in other words."""

    faults: list[Fault] = field(default_factory=list)
    told: list[str] = field(default_factory=list)
    cells: list[ReadCell] = field(default_factory=list)
    is_full: bool = False
    _untold: list[ReadCell] = field(default_factory=list)
    _changed: list[ReadCell] = field(default_factory=list)
    _first: int = 0

    def fault(self, reason: Reason, place: str, label: str, found: str, wanted: str, fix: str) -> None:
        """Keep a fault, up to a great many."""
        if len(self.faults) < MOST_FAULTS:
            self.faults.append(Fault(reason, place, label, found, wanted, fix))
        else:
            self.is_full = True

    def no_table(self, place: str, name: str, fix: str) -> None:
        """Keep a fault for a table that is missing."""
        self.fault(Reason.MISSING_TABLE, place, "", f"no table {name}", f"the table {name}", fix)

    def no_rows(self, place: str, what: str, table: str) -> None:
        """Keep a fault for a table without a row of what it is for."""
        wanted, fix = f"at least one {what} in the table {table}", f"type the {what}s, one row each"
        self.fault(Reason.NO_READINGS, place, "", "no row filled in", wanted, fix)

    def tell(self, sentence: str) -> None:
        """Keep a sentence."""
        self.told.append(sentence)

    def read(self, place: str, label: str, found: str, taken: str, told: bool = True, changed: bool = False) -> None:
        """Keep a cell that was read in other words; `told` is whether it is to be told of by itself.

        What `changed` its number, as from another unit, is told before all else.
        """
        self.cells.append(ReadCell(place, label, found, taken))
        if told:
            (self._changed if changed else self._untold).append(self.cells[-1])

    def tell_unlisted(self) -> None:
        """Tell that there are faults beyond those listed."""
        if self.is_full:
            self.tell(f"there are more than {MOST_FAULTS} faults; fix these first")

    def tell_read(self) -> None:
        """Tell of the cells read in other words since the last time: each way once, and by their number beyond ten."""
        changed, self._changed = list(_lines(self._changed)), []
        self.told[self._first : self._first] = changed
        self._first += len(changed)
        fresh, self._untold = self._untold, []
        self.told.extend(_lines(fresh))


def _lines(read: Sequence[ReadCell]) -> Iterator[str]:
    """Yield a line for each way in which cells of a column were read, and their number beyond ten."""
    by_label: dict[str, list[ReadCell]] = {}
    for cell in _alike_joined(read):
        by_label.setdefault(cell.label, []).append(cell)
    for label, cells in by_label.items():
        shown = cells if len(cells) <= MOST_TOLD_OF_A_COLUMN + 1 else cells[:MOST_TOLD_OF_A_COLUMN]
        yield from map(str, shown)
        if rest := cells[len(shown) :]:
            places = f"{rest[0].place} to {rest[-1].place}"
            yield f"{places} {label}: {len(rest)} more cells read in other words; --json lists each"


def _alike_joined(cells: Sequence[ReadCell]) -> list[ReadCell]:
    """Return cells of a column with the same content, read the same way, as one whose place names them all."""
    alike: dict[tuple[str, ...], list[str]] = {}
    for cell in cells:
        alike.setdefault((column_of(cell.place), *cell[1:]), []).append(cell.place)
    return [ReadCell(cells_joined(places), *said) for (_, *said), places in alike.items()]


@lru_cache(1024)
def key(text: str) -> str:
    """Return a header, label or name as it is compared: without capitals and spare spaces."""
    return " ".join(text.casefold().split())


def counted(places: Sequence[str], one: str, many: str) -> str:
    """Say how many places there are and where the first is.

    >>> counted(["Readings!B6", "Readings!B9"], "cell holds", "cells hold")
    '2 cells hold (the first: Readings!B6)'
    """
    return f"{places[0]}: 1 {one}" if len(places) == 1 else f"{len(places)} {many} (the first: {places[0]})"
