"""What is typed into results beyond what the reader would take: no answer rests on it, and each place says why."""

import re
import zipfile
from pathlib import Path
from typing import Any

import pytest

from tests.instruments.recalculate import IronSheet
from tests.judged.worked_benches import CRAFT, SESSION, assessed
from tests.workbook.engine_values import WrittenResults, write

BURST_RATIO = "ESC: burst rating over continuous rating on Settings must be a number from 1 to 3"
FALL = "In-flight current reduction, maximum on Settings must be a number from 0 to 90 %"
MASS = "All-up mass on Craft must be a number from 5 to 100,000 g (0.42 kg is 420)"
MOTORS = "Number of motors on Craft must be a whole number from 1 to 16"
CELLS = "Pack cells in series on Craft must be a whole number from 1 to 14"
FLYING = (
    "Type of flying on Craft must be one of “forward flight with short full throttle”, “full throttle held”, “hover / 3D / "
    "ducted”"
)


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> WrittenResults:
    fields = CRAFT | {"way_of_flying": "forward flight with short full throttle", "craft_propeller": SESSION[0]["prop"]}
    return write(assessed(SESSION, fields).test, tmp_path_factory.mktemp("limits") / "r.xlsx")


@pytest.fixture(scope="module")
def iron(written: WrittenResults) -> IronSheet:
    """Return the workbook held open; what a test types it takes back."""
    return IronSheet(written.path)


@pytest.mark.parametrize(
    ("cell", "typed", "words"),
    [
        ("esc_burst_ratio", 60.0, BURST_RATIO),
        ("esc_burst_ratio", None, BURST_RATIO),
        ("flight_share_high", "40 %", FALL),
        ("all_up_mass", 0.42, MASS),
        ("motor_count", 0.0, MOTORS),
        ("motor_count", 2.5, MOTORS),
        ("pack_cells", "4S", CELLS),
        ("way_of_flying", "hovering", FLYING),
    ],
)
def test_no_answer_rests_on_it(written: WrittenResults, iron: IronSheet, cell: str, typed: Any, words: str) -> None:
    place = written.place(cell)
    found = iron.edit([(*place, typed)])
    before: Any = written.assessment.test.fields[cell]
    iron.type([(*place, before)])
    told = [value for (sheet, _), value in found.items() if sheet in ("Report", "ESC", "Craft")]
    assert told.count("No answer") == 3
    assert [value for value in told if " A or larger" in str(value)] == []
    assert told.count(f"Because {words}.") == 3
    assert found[written.place("craft_headline")] == f"No answer: {words}."
    assert found[written.place("craft_state" if " on Craft " in words else "settings_state")] == words
    tiles = {
        found[written.place(f"craft_{name}")] for name in ("thrust_to_weight_value", "second_figure", "sixth_figure")
    }
    assert tiles == {"–"}


def test_a_size_of_each_propeller_is_gone_as_well(written: WrittenResults, iron: IronSheet) -> None:
    place, before = written.place("esc_burst_ratio"), iron.values()
    sizes = [at for at in written.standing if at[0] == "ESC" and " A covers" in str(before[at])]
    found = iron.edit([(*place, 60.0)])
    iron.type([(*place, 1.15)])
    assert sizes
    assert {found[at] for at in sizes} == {None}


def test_what_answers_go_by_takes_nothing_else_and_offers_what_was_tested(written: WrittenResults) -> None:
    rules = _validations(written.path)
    _, prop = written.place("craft_propeller")
    assert ("list", "warning", '"6x4"') in rules[prop]
    for name, lowest in (("all_up_mass", "5"), ("esc_burst_ratio", "1")):
        assert ("decimal", "stop", lowest) in rules[written.place(name)[1]]


def _validations(path: Path) -> dict[str, list[tuple[str, str, str]]]:
    """Return kind, what a refusal is and first formula of the rules for a cell, of every sheet."""
    with zipfile.ZipFile(path) as archive:
        parts = [archive.read(name).decode() for name in archive.namelist() if "worksheets/sheet" in name]
    found: dict[str, list[tuple[str, str, str]]] = {}
    for part in parts:
        for rule, inner in re.findall(r"<dataValidation (.*?)>(.*?)</dataValidation>", part):
            told = {"type": "any"} | dict(re.findall(r'(\w+)="(.*?)"', rule))
            formula = re.search("<formula1>(.*?)</formula1>", inner)
            if formula:
                words = formula[1].replace("&quot;", '"')
                found.setdefault(told["sqref"], []).append((told["type"], told.get("errorStyle", "stop"), words))
    return found
