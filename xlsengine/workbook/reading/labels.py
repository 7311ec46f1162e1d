"""Finding fields by the headers of a table or the labels of a form, or by the trade's words for them."""

import difflib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from itertools import islice
from typing import NamedTuple

from xlsengine.bench.declaring.declare import Field
from xlsengine.errors import Reason
from xlsengine.workbook.reading.findings import Findings, key
from xlsengine.workbook.reading.trade_words import Meant, header_meant

REQUIRED_MARK = "*"
_MOST_COMPARED, _LONGEST_NAME = 300, 100


class Kind(NamedTuple):
    """What labels are: the word for one and for their home, and the reasons of faults."""

    word: str
    home: str
    doubled: Reason
    missing: Reason
    fix_doubled: str


HEADERS = Kind(
    "header",
    "table",
    Reason.DOUBLED_HEADER,
    Reason.MISSING_HEADER,
    "delete one of the columns or give it another header",
)
FIELDS = Kind("field", "form", Reason.DOUBLED_FIELD, Reason.MISSING_FIELD, "delete one of the rows")


@dataclass(frozen=True)
class Labels:
    """Labels as they are written, by their columns or rows; `place` gives their cells.

    `known` are those that may be there, as they are compared: any other may be one in other words, or misspelt where
    something stands by it (`is_filled`). `named` collects those that were found in other words.
    """

    kind: Kind
    texts: Mapping[int, str]
    known: frozenset[str]
    place: Callable[[int], str]
    is_filled: Callable[[int], bool]
    findings: Findings
    named: set[int] = field(default_factory=set)

    @cached_property
    def keys(self) -> dict[int, str]:
        """Return the labels as they are compared."""
        return {at: label_key(text) for at, text in self.texts.items()}

    @property
    def unknown(self) -> dict[int, str]:
        """Return the labels that nothing declares."""
        return {at: text for at, text in self.texts.items() if self.keys[at] not in self.known and at not in self.named}

    def labelled(self, label: str) -> list[int]:
        """Return where a label stands."""
        wanted = key(label)
        return [at for at, text in self.keys.items() if text == wanted]

    def find(self, declared: Field, label: str) -> tuple[int, Meant | None] | None:
        """Return where a field stands by its label, or in what other words; keeps a fault where it stands twice."""
        found: dict[int, Meant | None] = dict.fromkeys(self.labelled(label))
        if not found:
            words = {at: header_meant(text.removesuffix(REQUIRED_MARK), declared) for at, text in self.unknown.items()}
            meant = {at: each for at, each in words.items() if each}
            found.update({at: each for at, each in meant.items() if not each.second} or meant)
            self.named.update(found)
        if len(found) > 1:
            places = [self.place(at) for at in found]
            said, wanted = f"the {self.kind.word} in {' and '.join(places)}", f"it once in the {self.kind.home}"
            self.findings.fault(self.kind.doubled, places[0], label, said, wanted, self.kind.fix_doubled)
        return next(iter(found.items()), None)

    def misspelt(self, label: str) -> int | None:
        """Return the unknown label with something by it that looks most like another, None where none does."""
        by_key = {
            key(text): at
            for at, text in islice(self.unknown.items(), _MOST_COMPARED)
            if 0 < len(text) <= _LONGEST_NAME and self.is_filled(at)
        }
        close = difflib.get_close_matches(key(label), by_key, 1, 0.7)
        return by_key[close[0]] if close else None

    def miss(self, label: str, nowhere: str, wanted: str, fix: str) -> None:
        """Keep a fault for a label that is missing, at the one that was meant for it or else `nowhere`."""
        close, found = self.misspelt(label), f"no such {self.kind.word}"
        where = nowhere if close is None else self.place(close)
        if close is not None:
            found, fix = f'{found}, but "{self.texts[close]}"', f'type "{label}" into {where}'
        self.findings.fault(self.kind.missing, where, label, found, wanted, fix)


def label_key(label: str) -> str:
    """Return a label as it is compared: without the mark of what is needed."""
    return key(label.strip().removesuffix(REQUIRED_MARK))
