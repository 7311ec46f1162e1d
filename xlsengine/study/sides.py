"""Two to four motors side by side: what is said of each, and which of them differ by more than noise."""

from collections.abc import Sequence
from dataclasses import dataclass

NO_DIFFERENCE = "no difference that counts"
NOT_COMPARED = "not compared: read of one alone"


@dataclass(frozen=True)
class Line:
    """A figure of each motor with its ±, None where it is not known; who is ahead, and from which difference on (%)."""

    label: str
    unit: str
    decimals: int
    values: Sequence[float | str | None]
    margins: Sequence[float | None] = ()
    verdict: str = ""
    least: float | None = None


@dataclass(frozen=True)
class Part:
    """Lines under a title, and what differs in the conditions."""

    title: str
    lines: Sequence[Line]
    notes: Sequence[str] = ()


@dataclass(frozen=True)
class Sides:
    """The motors by name, and the parts of what is said of them."""

    motors: Sequence[str]
    parts: Sequence[Part]
    notes: Sequence[str] = ()

    def verdicts(self) -> list[str]:
        """Return who is ahead in what, as lines."""
        return [
            f"{part.title}: {line.label}: {line.verdict}" for part in self.parts for line in part.lines if line.verdict
        ]
