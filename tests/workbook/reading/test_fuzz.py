"""Fifteen hundred mutated workbooks: read, or refused in words; what is accepted is computed; nothing is lost in silence."""

import itertools
import os
import random
import re
import time
from functools import cache
from pathlib import Path

import pytest

import xlsengine
from tests.command_line import run
from tests.workbook.reader_workbooks import DEMO
from tests.workbook.reading.mutations import Parts, packed, parts_of, with_odd_archive, with_odd_cells, with_odd_part
from xlsengine.bench.inputs.bench_test import BenchTest
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.errors import WorkbookUnreadable
from xlsengine.study.assessment import assess
from xlsengine.workbook.reading.reader import Reading, read_workbook

BATCHES, IN_A_BATCH = int(os.environ.get("XLSENGINE_MUTATED_BATCHES", "15")), 100
"""More of them make a longer search; the next thousand reach one refusal more, which `test_gate.py` holds."""
ROWS = 7
LONGEST_SECONDS = 2.0
READINGS_PART = "xl/worksheets/sheet2.xml"
MORE_OF_THE_SAME = re.compile(
    rb'<row r="\d+"[^>]*>(?:<c r="[A-Z]+(?:1[7-9]|[2-9]\d|\d{3})"[^>]*/>)+</row>'
    rb'|<dataValidation [^>]*sqref="B(?:1[2-9]|[2-9]\d|\d{3})"[^>]*>.*?</dataValidation>',
    re.DOTALL,
)
"""Blank rows and rules of input far down: read in the same way as those above, they take half of the time."""
COLUMNS = dict(zip("ABCDEFGHIJKLMNOP", READINGS.fields, strict=True))


LEFT_OUT = re.compile(rb'<sheet name="(?:Start|Settings|Paper)"[^>]*r:id="(rId\d+)"/>')
"""Read as the other sheets are, and half of the small workbook: most batches do without."""


@cache
def _small(folder: Path) -> Parts:
    readings = {name: column[:ROWS] for name, column in DEMO.tables["Readings"].items()}
    test = BenchTest(DEMO.fields, {**DEMO.tables, "Readings": readings})
    written = parts_of(xlsengine.write_input_workbook(test, folder / "small.xlsx"))
    return {name: MORE_OF_THE_SAME.sub(b"", content) for name, content in written.items()}


def _smaller(parts: Parts) -> Parts:
    """Return the workbook without some sheets, their tables and the texts that stand on no other."""
    gone = {f"xl/worksheets/sheet{found[3:].decode()}.xml" for found in LEFT_OUT.findall(parts["xl/workbook.xml"])}
    relations = [f"xl/worksheets/_rels/{Path(name).name}.rels" for name in gone]
    led = b"".join(parts[name] for name in relations if name in parts)
    gone |= {*relations, *(f"xl/tables/{name}" for name in re.findall(r"table\d+\.xml", led.decode()))}
    kept = {name: content for name, content in parts.items() if name not in gone}
    kept["xl/workbook.xml"] = LEFT_OUT.sub(b"", kept["xl/workbook.xml"])
    shown = {int(each) for part in kept.values() for each in re.findall(rb't="s"><v>(\d+)<', part)}
    numbers = itertools.count()
    kept["xl/sharedStrings.xml"] = re.sub(
        rb"<si>.*?</si>", lambda si: si[0] if next(numbers) in shown else b"<si/>", kept["xl/sharedStrings.xml"]
    )
    return kept


@pytest.fixture(scope="module")
def parts(tmp_path_factory: pytest.TempPathFactory) -> Parts:
    return _small(tmp_path_factory.mktemp("small"))


def test_the_smaller_workbook_is_as_sound(parts: Parts, tmp_path: Path) -> None:
    path, smaller = tmp_path / "smaller.xlsx", _smaller(parts)
    path.write_bytes(packed(smaller))
    assert read_workbook(path).faults == ()
    assert sum(map(len, smaller.values())) < 0.6 * sum(map(len, parts.values()))


def _outcome(path: Path) -> Reading | str:
    start = time.process_time()
    outcome: Reading | str
    try:
        outcome = read_workbook(path)
    except WorkbookUnreadable as error:
        outcome = str(error)
    assert time.process_time() - start < LONGEST_SECONDS
    assert isinstance(outcome, Reading) or outcome.startswith(f"{path} cannot be read: ")
    return outcome


_COMPUTED: set[str] = set()


def _compute(reading: Reading) -> None:
    """Compute what was accepted, once for the same readings."""
    if not reading.faults and reading.input_hash not in _COMPUTED:
        _COMPUTED.add(reading.input_hash)
        assess(reading.test).headlines()


@pytest.mark.parametrize("batch", range(BATCHES))
def test_mutated_workbooks(batch: int, parts: Parts, tmp_path: Path) -> None:
    path = tmp_path / "mutated.xlsx"
    parts = _smaller(parts) if batch % 6 else parts
    for seed in range(batch * IN_A_BATCH, (batch + 1) * IN_A_BATCH):
        chance = random.Random(seed)
        typed: dict[str, str] = {}
        if seed % 6 == 0:
            content, typed = with_odd_cells(parts, chance, READINGS_PART)
        else:
            content = (with_odd_part if seed % 2 else with_odd_archive)(parts, chance)
        path.write_bytes(content)
        outcome = _outcome(path)
        if isinstance(outcome, Reading):
            _compute(outcome)
            assert not typed or _silent(outcome, typed) == [], f"seed {seed}"
        else:
            assert not typed, f"seed {seed}: {outcome}"


def _silent(reading: Reading, typed: dict[str, str]) -> list[str]:
    """Return the cells whose odd text was neither kept, nor told of, nor a fault."""
    said = "\n".join((*map(str, reading.faults), *reading.told, *map(str, reading.cells)))
    return [
        address for address, text in typed.items() if not _kept(reading, address, text) and not _said(said, address)
    ]


def _said(said: str, address: str) -> bool:
    row = address[1:]
    return re.search(rf"Readings!{address}\b", said) is not None or f"row {row} repeats headers" in said


def _kept(reading: Reading, address: str, text: str) -> bool:
    declared = READINGS.fields[COLUMNS[address[0]]]
    held = reading.test.tables["Readings"][declared.name]
    plain = text.strip()
    return not plain or (declared.is_text and plain.casefold() in (str(value).casefold() for value in held))


@pytest.mark.parametrize("seed", range(0, 72, 3))
def test_what_check_accepts_results_writes_and_nothing_is_written_otherwise(
    seed: int, parts: Parts, tmp_path: Path
) -> None:
    path = tmp_path / "mutated.xlsx"
    chance = random.Random(seed)
    odd_cells = chance.random() < 0.5
    path.write_bytes(with_odd_cells(parts, chance, READINGS_PART)[0] if odd_cells else with_odd_part(parts, chance))
    codes = [run("check", path), run("results", path)]
    assert codes[0] == codes[1]
    assert [held.name for held in sorted(tmp_path.iterdir())] == (
        ["mutated results.xlsx", "mutated.xlsx"] if codes[1] == 0 else ["mutated.xlsx"]
    )
