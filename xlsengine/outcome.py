"""What came of a job, as plain values with places and sentences: what every door shows, each in its own way."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence, Sized
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from xlsengine.errors import Fault, fault_lines

if TYPE_CHECKING:
    from xlsengine.study.assessment import Assessment
    from xlsengine.workbook.comparing import ChangeReport
    from xlsengine.workbook.reading.findings import ReadCell

DONE, FAULTY, UNREADABLE = 0, 1, 2
"""What a job ends with, and the command line too: done, the workbook has faults, it cannot be read or written."""
JUDGED_LATER = "the readings are judged once these faults are fixed"


@dataclass(frozen=True)
class Answers:
    """What a test says: its motor, the quoted figures, how many flags of each severity, what is left out, advice.

    `headlines` are those of `Assessment.headlines`. `caveat` says which readings to settle before an ESC is chosen, ""
    where none; `advice` holds it too.
    """

    motor: str
    headlines: Sequence[Mapping[str, Any]]
    flag_counts: dict[str, int]
    left_out: str
    caveat: str
    advice: tuple[str, ...]

    @property
    def headline_lines(self) -> list[str]:
        """Return the quoted figures that are known as lines of text."""
        return [
            "{label}: {shown}, {place}".format_map(each) + (f"  ({each['note']})" if each["note"] else "")
            for each in self.headlines
            if each["value"] is not None
        ]

    @property
    def flags_line(self) -> str:
        """Say how many flags there are of each severity."""
        said = (f"{count} {word}{'s' * (word == 'note' and count != 1)}" for word, count in self.flag_counts.items())
        return f"flags: {', '.join(said)}"


@dataclass(frozen=True)
class Outcome:
    """What came of checking a workbook, or of writing its results.

    `error` says why it cannot be read or the output was refused. Where there are `faults`, nothing was judged or written,
    and `answers` is None. `told` is what else its sender should know. `output` is the file that was written, `kept` the
    earlier one of its name; `changes` what was changed in a results workbook that came back. `flags` are the readings that
    look odd, as `placed_flags` tells them; `flag_lines` say them in words. `readings` counts those of a plain table that was
    taken in. Results that were there already and are `up_to_date` were not written again. `assessment` holds all that
    was computed, for who shows more of it.
    """

    file: str
    exit_code: int
    error: str | None = None
    faults: tuple[Fault, ...] = ()
    told: tuple[str, ...] = ()
    read_as: tuple[ReadCell, ...] = ()
    flags: Sequence[Mapping[str, Any]] = ()
    flag_lines: tuple[str, ...] = ()
    answers: Answers | None = None
    output: str | None = None
    kept: str | None = None
    changes: ChangeReport | None = None
    readings: int | None = None
    up_to_date: bool = False
    assessment: Assessment | None = field(default=None, repr=False, compare=False)

    @property
    def fault_lines(self) -> list[str]:
        """Return the faults as lines of text: the same one in many rows of a column is one line."""
        return fault_lines(self.faults)

    @property
    def checked_lines(self) -> list[str]:
        """Return what a check says of a file: how its entries were read above the faults, and else below the flags."""
        if self.error:
            return [self.error]
        told = told_lines(self.told)
        return [*told, *self.fault_lines] if self.faults else [*self.flag_lines, *told]

    def as_dict(self) -> dict[str, Any]:
        """Return plain values: what ``results --json`` prints where results were written, else what ``check`` does."""
        return self._written() if self.output and self.answers else self._checked()

    def _checked(self) -> dict[str, Any]:
        return {
            "file": self.file,
            "exit_code": self.exit_code,
            "error": self.error,
            "faults": [fault.as_dict() for fault in self.faults],
            "told": list(self.told),
            "read_as": self._cells_read(),
            "flags": list(self.flags),
            "lines": self.fault_lines,
        }

    def _written(self) -> dict[str, Any]:
        answers = self.answers
        assert answers is not None
        return {
            "file": self.file,
            "results": self.output,
            "told": list(self.told),
            "motor": answers.motor,
            "headlines": list(answers.headlines),
            "flag_counts": answers.flag_counts,
            "flags": list(self.flags),
            "left_out": answers.left_out,
            "advice": list(answers.advice),
            "read_as": self._cells_read(),
            "kept": self.kept,
            "changes": None if self.changes is None else self.changes.as_dict(),
            "exit_code": self.exit_code,
        }

    def _cells_read(self) -> list[dict[str, str]]:
        return [cell._asdict() for cell in self.read_as]


def told_lines(told: Iterable[str]) -> list[str]:
    """Return what else whoever sent a file should know, such as how entries were read, as lines of text."""
    return [f"to know: {line}" for line in told]


def counted(things: Sized, word: str) -> str:
    """Say how many there are of something.

    >>> counted([1], "fault"), counted([], "flag")
    ('1 fault', '0 flags')
    """
    return f"{len(things)} {word}" + "s" * (len(things) != 1)
