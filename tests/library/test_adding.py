"""Adding many workbooks: killed at any moment, two runs at once, and hostile ones among them."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.benchmarks.hostile_among_many import ENDED, added, hostile_workbooks, sound_workbooks
from tests.library.made import small_test, workbooks
from tests.library.unruly import unruly
from tests.workbook.reading.foreign_files import openpyxl_parts
from tests.workbook.reading.mutations import packed
from xlsengine.bench.inputs.bench_test import input_hash
from xlsengine.library import adding
from xlsengine.library.adding import Outcome, add_workbooks, read_all, read_one, workbooks_in
from xlsengine.library.store import How, Library
from xlsengine.workbook.output import UNFINISHED
from xlsengine.workbook.reading.reader import read_bench_test
from xlsengine.workbook.results import write_results
from xlsengine.workbook.template import write_input_workbook

KILLS = int(os.environ.get("XLSENGINE_KILLS", "24"))
"""More of them make a longer search."""
# Children are forked with everything imported, and say each number as soon as the library has taken that test.
ADDED_AND_KILLED = """
import json, os, random, signal, sys, time
from tests.library.made import small_test
from xlsengine.library.kept import prepared
from xlsengine.library.store import Library
place, kills = sys.argv[1], int(sys.argv[2])
ready = [prepared(small_test(f"test {number}", extra=number)) for number in range(8)]

def started(run):
    reads, writes = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reads)
        with Library(place).make() as library:
            for number, test in enumerate(ready):
                name = f"{run} {number}"
                library.add(type(test)(name, test.model, name, name, test.inputs, test.kept), name)
                os.write(writes, (name + "\\n").encode())
        os._exit(0)
    os.close(writes)
    return child, reads

def said(reads):
    with os.fdopen(reads) as lines:
        return lines.read().splitlines()

begin = time.monotonic()
child, reads = started("whole")
finished = said(reads)
os.waitpid(child, 0)
whole = time.monotonic() - begin
assert len(finished) == len(ready), "adding fails when nobody kills it"
rng, cut = random.Random(1), 0
for run in range(kills):
    child, reads = started(run)
    time.sleep(rng.uniform(0.0, 1.1 * whole))
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    done = said(reads)
    cut += len(done) < len(ready)
    whole *= 1 if len(done) < len(ready) else 0.8  # the machine is faster now than it was
    finished += done
print(json.dumps([finished, cut]))
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs a system that forks")
def test_kills_lose_no_finished_test(tmp_path: Path) -> None:
    """The first kills may hit the making of the library as well: it is there whole, or not at all."""
    place = tmp_path / "library"
    command = [sys.executable, "-c", ADDED_AND_KILLED, str(place), str(KILLS)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=500, check=True)
    finished, cut = json.loads(done.stdout)
    assert cut > KILLS // 4, "most kills came after the work"
    with Library(place).make() as library:
        tests, groups, steps = library.tests(), library.groups(), library.steps()
    assert set(finished) <= {row["source"] for row in tests}
    assert len(tests) <= len(finished) + KILLS, "a kill leaves one test at most that is in and was not said to be"
    numbers = [row["id"] for row in tests]
    assert [row["test"] for row in groups] == numbers, "one propeller each, of no test but these"
    assert [row["test"] for row in steps] == [number for number in numbers for _ in range(5)]


# Each reads in its own process, as in the fixture `read_here`: two runs at once are two that write.
RUN = """
import sys
from pathlib import Path
from xlsengine.library import adding
from xlsengine.library.adding import read_one
from xlsengine.library.store import Library
adding.read_all = lambda paths, known: (read_one(path, known) for path in paths)
with Library(sys.argv[1]) as library:
    for outcome in adding.add_workbooks(library, adding.workbooks_in([Path(sys.argv[2])])):
        assert outcome.added, outcome.lines
"""


def test_two_runs_at_once_do_no_harm(place: str, tmp_path: Path) -> None:
    """Both make the library, and both add the same workbooks and some of their own."""
    for name in ("one", "two"):
        workbooks(tmp_path / name, 4)
        workbooks(tmp_path / name, 2, prefix=name)
    running = [
        subprocess.Popen([sys.executable, "-c", RUN, place, str(tmp_path / name)], stderr=subprocess.PIPE, text=True)
        for name in ("one", "two")
    ]
    for run in running:
        assert run.communicate(timeout=300)[1] == ""
        assert run.returncode == 0
    with Library(place) as library:
        tests = library.tests()
        assert sorted(row["test_id"] for row in tests) == sorted(
            [f"motor {number}" for number in range(4)]
            + [f"{name} {number}" for name in ("one", "two") for number in range(2)]
        )
        assert library.history() == []
        assert [row["test"] for row in library.groups()] == [row["id"] for row in tests]


@pytest.fixture
def read_here(monkeypatch: pytest.MonkeyPatch) -> None:
    """Read in this process what other tests read in processes of their own, which take a second to start."""
    monkeypatch.setattr(adding, "read_all", lambda paths, known: (read_one(path, known) for path in paths))


def outcomes(place: Path, *places: Path) -> list[Outcome]:
    with Library(place) as library:
        return list(add_workbooks(library, workbooks_in(places)))


def test_hostile_and_faulty_workbooks_among_many_stop_nothing(read_here: None, tmp_path: Path) -> None:
    folder = tmp_path / "books"
    good = workbooks(folder, 12)
    (folder / "motor 003a.xlsx").write_bytes(b"PK\3\4 no package")
    (folder / "motor 004a.xlsx").write_bytes(good[0].read_bytes()[:5000])
    (folder / "motor 005a.xlsx").write_bytes(
        packed({**openpyxl_parts(), "xl/workbook.xml": b"<!DOCTYPE a [<!ENTITY b 'c'>]>"})
    )
    (folder / "motor 006a.xlsx").write_bytes(packed({**openpyxl_parts(), "xl/media/a.bin": b"\0" * 300_000_000}))
    (folder / "motor 007a.xlsx").mkdir()
    write_input_workbook(small_test("faulty", label_kv=5e6), folder / "motor 008a.xlsx")
    (folder / "~$motor 001.xlsx").write_bytes(b"open in a spreadsheet program")
    found = outcomes(tmp_path / "library", folder)
    bad = {outcome.path.name for outcome in found if outcome.added is None}
    assert bad == {f"motor 00{number}a.xlsx" for number in (3, 4, 5, 6, 8)}
    assert all(len(outcome.lines) > 1 and all(outcome.lines) for outcome in found if outcome.added is None)
    assert [outcome.path for outcome in found if outcome.added] == good


BOMBS = ("ten levels of entities", "one text of 100 MiB", "macros", "a path upwards", "locked.xlsx", "noise.xlsx")


def test_bombs_and_a_reading_process_that_is_ended_stop_nothing(tmp_path: Path) -> None:
    """Real workbooks and the real reader; the thousand stand in `tests.benchmarks.hostile_among_many`."""
    folder = tmp_path / "books"
    folder.mkdir()
    sound, hostile = sound_workbooks(folder, 18), hostile_workbooks(folder, 18, BOMBS)
    with Library(tmp_path / "library") as library:
        told = added(library, folder, ended_at=[6])
        assert len(library.tests()) == len(told.sound)
    ended = {name for name, said in told.refused.items() if ENDED in said}
    assert len(ended) <= 1, "it costs the workbook that was read at that moment alone"
    assert told.sound | ended >= {path.name for path in sound}
    assert not told.hostile_added
    assert {path.name for path in hostile} <= set(told.refused)
    assert all(told.refused.values())


def test_a_reader_that_dies_lasts_or_fails_among_a_thousand_stops_nothing() -> None:
    names = dict.fromkeys(range(1000), "plain") | {3: "dies", 10: "lasts", 11: "fails", 500: "dies", 998: "fails"}
    paths = [Path(f"{place}") / name for place, name in names.items()]
    found = list(read_all(paths, frozenset(), unruly, longest=4.0))
    assert [read.path for read in found] == paths
    said = {
        "dies": "took too much memory, or this program failed on it",
        "lasts": "more than 4 s",
        "fails": "ZeroDivisionError: nobody thought of it",
    }
    for read in found:
        assert said.get(read.path.name, "read") in read.said[0]


def test_results_are_the_same_test_as_their_input(read_here: None, tmp_path: Path) -> None:
    import xlsengine

    folder = tmp_path / "books"
    (source,) = workbooks(folder, 1)
    write_results(xlsengine.evaluate(read_bench_test(source)), folder / "motor 000 results.xlsx")
    first, second = outcomes(tmp_path / "library", folder)
    assert (first.path, first.added and first.added.how) == (source, How.NEW)
    assert second.added
    assert second.added.how is How.UNCHANGED


def test_of_two_versions_in_one_run_the_second_is_told_and_left(read_here: None, tmp_path: Path) -> None:
    folder = tmp_path / "books"
    folder.mkdir()
    write_input_workbook(small_test(), folder / "a.xlsx")
    write_input_workbook(small_test(extra=5), folder / "b.xlsx")
    for _ in range(2):
        first, second = outcomes(tmp_path / "library", folder)
        assert first.added
        assert second.added is None
        assert "a.xlsx of this run is the same test (one Made up 2207) with other readings" in second.said[0]
    with Library(tmp_path / "library") as library:
        assert input_hash(library.get(1)) == input_hash(small_test())
        assert library.history() == []


def test_a_changed_workbook_replaces_and_another_model_is_told(read_here: None, tmp_path: Path) -> None:
    folder, place = tmp_path / "books", tmp_path / "library"
    folder.mkdir()
    write_input_workbook(small_test(), folder / "a.xlsx")
    assert outcomes(place, folder)[0].lines == [f"{folder / 'a.xlsx'}: added, number 1, one Made up 2207"]
    write_input_workbook(small_test(extra=5), folder / "a.xlsx", overwrite=True)
    assert "replaced its earlier version, number 1" in outcomes(place, folder / "a.xlsx")[0].lines[0]
    write_input_workbook(small_test(model="Another"), folder / "c.xlsx")
    (line,) = outcomes(place, folder / "c.xlsx")[0].lines
    assert line.endswith(
        "added, number 2, one Another; another test than number 1, which has the same test id and another model"
    )


def test_folders_are_searched_without_what_is_open_or_unfinished(tmp_path: Path) -> None:
    (tmp_path / "sub").mkdir()
    hidden = tmp_path / f"{UNFINISHED}x"
    hidden.mkdir()
    for name in ("b results.xlsx", "b.xlsx", "sub/a.xlsx", "~$b.xlsx", ".c.xlsx", "d.txt"):
        (tmp_path / name).write_bytes(b"")
    (hidden / "b.xlsx").write_bytes(b"")
    found = [path.relative_to(tmp_path).as_posix() for path in workbooks_in([tmp_path, tmp_path / "d.txt"])]
    assert found == ["b.xlsx", "b results.xlsx", "sub/a.xlsx", "d.txt"]
