"""A test made ready to be kept: what needs no library, so that processes that read workbooks do it without a database."""

import zlib
from dataclasses import dataclass

from xlsengine.bench.inputs.bench_test import BenchTest, input_hash
from xlsengine.library.kept import Kept, kept_of
from xlsengine.workbook.input_copy import encoded


@dataclass(frozen=True)
class Prepared:
    """A test ready to be written: its hash, what was typed in short, and its kept figures, None where they are known."""

    test_id: str | None
    model: str | None
    identity: str
    input_hash: str
    inputs: bytes
    kept: Kept | None


def prepared(
    test: BenchTest, known: frozenset[str] = frozenset(), *, id_typed: bool = True, digest: str = ""
) -> Prepared:
    """Return a test ready to be written; the figures of one whose hash is `known` are not computed.

    `digest` is that hash, where it was taken before. Without a typed id a test is the same only as one with the same
    inputs. ValueError if the significance on Settings is not between 0 and 100 %.
    """
    digest = digest or input_hash(test)
    test_id, model = (_text(test.fields[name]) for name in ("test_id", "model"))
    same = f"test {name_key(test_id)}\nof {name_key(model)}" if test_id and id_typed else f"inputs {digest}"
    kept = None if digest in known else kept_of(test)
    return Prepared(test_id, model, same, digest, zlib.compress(encoded(test).encode()), kept)


def _text(value: object) -> str | None:
    return str(value).strip() or None if value is not None else None


def name_key(name: object) -> str:
    """Return a name without capitals and spare spaces: what tests are told apart by."""
    return " ".join(str(name or "").casefold().split())
