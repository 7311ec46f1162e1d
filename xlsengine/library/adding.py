"""Adding workbooks and folders of them to a library: each is told what became of it, and none stops the others."""

from collections.abc import Generator, Iterable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from xlsengine.library.reading_workers import Read, read_all
from xlsengine.library.store import Added, How, Library
from xlsengine.workbook.output import is_hidden, is_somebodys, numbered

ENDING = ".xlsx"
_TWICE = (
    "not added: {} of this run is the same test ({}) with other readings. Keep the one that is right, or give one of them "
    "another test id"
)


@dataclass(frozen=True)
class Outcome:
    """What became of one workbook: where it stands in the library, or lines that say why it does not."""

    path: Path
    added: Added | None = None
    name: str = ""
    said: tuple[str, ...] = ()

    @property
    def lines(self) -> list[str]:
        """What is said of it, the file first."""
        if self.added is None:
            return [f"{self.path}: not added", *(f"  {line}" for line in self.said)]
        said = f"{self.path}: {self.added.how}, number {self.added.id}, {self.name}"
        if self.added.how is How.NEW and self.added.alike:
            numbers = ", ".join(str(number) for number in self.added.alike)
            said += f"; another test than number {numbers}, which has the same test id and another model"
        return [said]


def workbooks_in(places: Iterable[Path]) -> list[Path]:
    """Return files as named, and of folders every workbook in them and below, by name, inputs before their results."""
    found: dict[Path, None] = {}
    for place in places:
        inside = (
            [each for each in place.rglob(f"*{ENDING}") if _is_workbook(each, place)] if place.is_dir() else [place]
        )
        found |= dict.fromkeys(sorted(inside, key=_order))
    return list(found)


def _is_workbook(path: Path, below: Path) -> bool:
    """Tell a workbook from what a spreadsheet program or a run of this one keeps beside it while it works."""
    return path.is_file() and is_somebodys(path) and not any(map(is_hidden, path.relative_to(below).parts))


def _order(path: Path) -> tuple[str, str, str]:
    name, number = numbered(path.stem)
    return str(path.parent), name, path.stem if number else ""


def add_workbooks(library: Library, paths: Iterable[Path]) -> Generator[Outcome, None, None]:
    """Add workbooks, input or results, and yield what became of each as soon as it is known.

    What was added stays, whatever comes later. Raises `LibraryError` where the library cannot be written to.
    """
    library.make()
    seen: dict[str, tuple[Path, str]] = {}
    with closing(read_all(paths, library.hashes())) as reads:  # who breaks off here ends the reading too
        for read in reads:
            yield _put(library, read, seen)


def _put(library: Library, read: Read, seen: dict[str, tuple[Path, str]]) -> Outcome:
    ready = read.ready
    if ready is None:
        return Outcome(read.path, said=read.said)
    name = " ".join(part for part in (ready.test_id, ready.model) if part)
    first, its_inputs = seen.setdefault(ready.identity, (read.path, ready.input_hash))
    if its_inputs != ready.input_hash:
        return Outcome(read.path, said=(_TWICE.format(first, name),))
    return Outcome(read.path, library.add(ready, read.path.absolute()), name)
