"""The button in a real LibreOffice: installed with unopkg, pressed through its menu, seen through its windows."""

import json
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.instruments.button_office import ENGINE, installed, work
from tests.instruments.recalculate import requires_libreoffice
from xlsengine.doors.office.engine import NOT_THERE
from xlsengine.doors.office.marks import FILLS, MARK
from xlsengine.workbook.reading.attachments import BUTTON_MARK
from xlsengine.workbook.reading.reader import read_workbook

DEMO = Path("demo_inputs/colander-2306.xlsx")
SOUND = "FFF8DC"
pytestmark = pytest.mark.xdist_group("button")


@pytest.fixture(scope="module")
def profile() -> Iterator[Path]:
    folder = installed()
    yield folder
    shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("button")


@pytest.fixture(scope="module")
def seen(profile: Path, folder: Path) -> list[dict[str, Any]]:
    """Work through one afternoon: check, jump, a note, a slip of the keys, its fix, saving, taking the marks off."""
    book = Path(shutil.copy(DEMO, folder / "colander.xlsx"))
    return work(
        profile,
        book,
        [
            ("note", "Readings", "K12", "the nut was loose"),
            ("press", "check"),
            ("look",),
            ("choose", 1),
            ("look",),
            ("click", "Next"),
            ("look",),
            ("press", "previous"),
            ("look",),
            ("save", str(folder / "marked.xlsx")),
            ("type", "Readings", "J14", "38..2"),
            ("press", "check"),
            ("look",),
            ("insert", "Readings", 10),
            ("type", "Readings", "J15", 38.2),
            ("press", "check"),
            ("press", "clear"),
            ("look",),
        ],
    )


def said(path: Path) -> dict[str, Any]:
    done = subprocess.run([ENGINE, "check", "--json", path], capture_output=True, text=True)
    report: dict[str, Any] = json.loads(done.stdout)["files"][0]
    return report


@requires_libreoffice
def test_flags_are_marked_in_their_cells(seen: list[dict[str, Any]]) -> None:
    """The cells, the words and the order are those of the command line."""
    flags = said(DEMO)["flags"]
    assert sorted(seen[0]["notes"]) == sorted({flag["place"] for flag in flags})
    for flag in flags:
        assert (
            f"{flag['found'].removesuffix('.')}; expected {flag['expected']}. {flag['fix']}"
            in seen[0]["notes"][flag["place"]]
        )
        assert seen[0]["fills"][flag["place"]] == f"{FILLS[flag['severity']]:06X}"
    assert [line.split(":")[0] for line in seen[0]["words"][: len(flags)]] == [flag["severity"] for flag in flags]
    assert seen[0]["title"] == "xlsengine: 1 impossible, 2 doubtful"


@requires_libreoffice
def test_the_list_leads_to_the_cells(seen: list[dict[str, Any]]) -> None:
    places = [flag["place"] for flag in said(DEMO)["flags"]]
    assert seen[1]["selected"] == places[1]
    assert seen[2]["selected"] == places[2]
    assert seen[3]["selected"] == sorted(places, key=lambda place: int(place.split("!")[1][1:]))[-2]


@requires_libreoffice
def test_a_persons_note_stays(seen: list[dict[str, Any]]) -> None:
    assert seen[0]["notes"]["Readings!K12"].startswith(f"the nut was loose\n{MARK} doubtful: ")
    assert seen[-1]["notes"] == {"Readings!K13": "the nut was loose"}


@requires_libreoffice
def test_a_fault_takes_the_place_of_the_flags(seen: list[dict[str, Any]]) -> None:
    """Only what the second check found is marked; the cells of the first have their fill again."""
    fault = 'fault: found "38..2"; wanted a number from 0 to 500 A; type 38.2, or clear the whole row'
    ours = {place: text for place, text in seen[4]["notes"].items() if MARK in text}
    assert list(ours) == ["Readings!J14"]
    assert fault.partition("; type")[0] in ours["Readings!J14"]
    assert seen[4]["fills"]["Readings!J14"] == f"{FILLS['fault']:06X}"
    assert seen[4]["fills"]["Readings!J26"] == SOUND
    assert seen[4]["title"] == "xlsengine: 1 fault"


@requires_libreoffice
def test_marks_come_off_without_a_trace(seen: list[dict[str, Any]]) -> None:
    """Also where a row was put in above them since."""
    assert {fill for fill in seen[-1]["fills"].values() if fill in {f"{each:06X}" for each in FILLS.values()}} == set()
    assert seen[-1]["words"] == []


@requires_libreoffice
def test_marks_are_never_carried_as_a_persons_notes(seen: list[dict[str, Any]], folder: Path) -> None:
    """A workbook that was saved with marks gives the same test, and of the notes the person's alone."""
    assert len(seen[0]["notes"]) == 3
    reading = read_workbook(folder / "marked.xlsx")
    assert [(note.sheet, note.text) for note in reading.test.extras.notes] == [("Readings", "the nut was loose")]
    assert reading.input_hash == read_workbook(DEMO).input_hash
    assert not any("note" in told for told in reading.told)


def test_the_mark_is_the_one_that_the_reader_knows() -> None:
    assert MARK == BUTTON_MARK


@requires_libreoffice
def test_results_are_those_of_the_command_line(profile: Path, folder: Path) -> None:
    """Written beside the workbook, byte by byte those of the command on what LibreOffice saves, and opened."""
    book = Path(shutil.copy(DEMO.with_name("thimble-2207.xlsx"), folder))
    saved = folder / "saved"
    saved.mkdir()
    looks = work(
        profile,
        book,
        [
            ("press", "check"),
            ("save", str(saved / book.name)),
            ("press", "results"),
            ("look",),
            ("press", "template"),
            ("look",),
        ],
    )
    assert "thimble-2207 results.xlsx" in looks[0]["books"]
    assert len(looks[1]["books"]) == len(looks[0]["books"]) + 1
    subprocess.run([ENGINE, "results", saved / book.name], check=True, capture_output=True)
    written = (folder / "thimble-2207 results.xlsx").read_bytes()
    assert written == (saved / "thimble-2207 results.xlsx").read_bytes()


@requires_libreoffice
def test_an_engine_that_is_not_there_is_told_with_what_to_do(profile: Path, folder: Path, tmp_path: Path) -> None:
    """Until the setting says where it is."""
    book = Path(shutil.copy(DEMO, folder / "alone.xlsx"))
    acts = [
        ("press", "check"),
        ("look",),
        ("press", "results"),
        ("look",),
        ("engine", str(tmp_path / "gone")),
        ("press", "check"),
        ("look",),
        ("engine", str(ENGINE)),
        ("press", "check"),
        ("look",),
        ("engine", ""),
    ]
    looks = work(profile, book, acts, tmp_path / "nothing", PATH="/usr/bin:/bin", HOME=str(tmp_path))
    assert [look["words"] for look in looks[:2]] == [[NOT_THERE], [NOT_THERE]]
    assert looks[2]["words"][0].startswith(
        f"The program xlsengine was set to {tmp_path / 'gone'}, and no file is there."
    )
    assert [bool(look["notes"]) for look in looks] == [False, False, False, True]
