"""``xlsengine compare`` and ``results --library`` as a person calls them."""

from pathlib import Path
from typing import Any

import openpyxl
import pytest

from tests.command_line import run_and_hear as run
from tests.instruments.linter import lint
from tests.library.made_library import DEMO, demo, peers_of, varied
from xlsengine.bench.inputs.bench_test import bench_test
from xlsengine.library.kept import kept_of
from xlsengine.library.side_by_side import NOISE_HERE, side_by_side
from xlsengine.library.store import Library
from xlsengine.library.where import VARIABLE
from xlsengine.study.assessment import assess
from xlsengine.study.comparison import NO_DIFFERENCE
from xlsengine.workbook.side_by_side import write_side_by_side
from xlsengine.workbook.template import write_input_workbook

pytestmark = pytest.mark.filterwarnings("ignore:.*extension is not supported")


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("library") / "some.library"
    library = Library(path)
    for test in peers_of(demo(), 3):
        library.add(test, "made")
    library.close()
    return path


def test_two_workbooks_and_a_test_of_the_library(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, shelf: Path
) -> None:
    other = write_input_workbook(varied(demo(), "Tassel", thrust=1.2, power=1.3), tmp_path / "tassel.xlsx")
    out = tmp_path / "sides.xlsx"
    code, said = run(capsys, "compare", DEMO, other, "Bobbin 1", "-o", out, "--library", shelf)
    assert code == 0, said
    assert "Thrust, full throttle: Tarrowby (invented) Tassel 2207 by" in said
    assert lint(out) == []
    texts = [cell.value for row in openpyxl.load_workbook(out)["Side by side"].iter_rows() for cell in row]
    assert any("another sample may stand elsewhere" in str(text) for text in texts)
    assert NOISE_HERE in texts, "why the limits differ from those of the sheet Comparison"
    again = tmp_path / "again.xlsx"
    assert run(capsys, "compare", DEMO, other, "Bobbin 1", "-o", again, "--library", shelf)[0] == 0
    assert again.read_bytes() == out.read_bytes()


def test_a_margin_has_one_digit_or_two(tmp_path: Path) -> None:
    """As its cell shows it: never nothing, and never three digits after the point or before it."""
    sheet = openpyxl.load_workbook(
        write_side_by_side(side_by_side([motor("Peg", 1000.0), motor("Pin", 1060.0)]), tmp_path / "sides.xlsx")
    )["Side by side"]
    columns = {cell.column for row in sheet.iter_rows() for cell in row if cell.value == "±"}
    shown = [
        f"{cell.value:.{len(cell.number_format.rstrip('_)').partition('.')[2])}f}"
        for row in sheet.iter_rows()
        for cell in row
        if cell.column in columns and isinstance(cell.value, (int, float)) and cell.value
    ]
    assert len(shown) >= 6
    assert all(1 <= len(text.replace(".", "").lstrip("0")) <= 2 for text in shown), shown


def test_its_sentences_are_wrapped_and_its_charts_end_with_the_page(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Type of 10 points holds no more letters a line than its columns are wide in letters, and a line takes 13 points."""
    other = write_input_workbook(varied(demo(), "Tassel", thrust=1.2, power=1.3), tmp_path / "tassel.xlsx")
    out = tmp_path / "sides.xlsx"
    assert run(capsys, "compare", DEMO, other, "-o", out)[0] == 0
    sheet: Any = openpyxl.load_workbook(out)["Side by side"]
    last = sheet.print_area.split("$")[-2]
    shown = [chr(code) for code in range(ord("A"), ord(last) + 1)]
    widths = [sheet.column_dimensions[letter].width for letter in shown]
    merged = {cells.min_row for cells in sheet.merged_cells.ranges if cells.max_col == len(shown)}
    long = [row[0] for row in sheet.iter_rows() if len(str(row[0].value or "")) > sum(widths)]
    assert any(cell.value == NOISE_HERE for cell in long)
    for cell in long:
        assert cell.alignment.wrap_text
        assert cell.row in merged
        assert sheet.row_dimensions[cell.row].height >= 13 * -(-len(cell.value) // sum(widths))
    assert [chart.anchor.to.col < len(shown) for chart in sheet._charts] == [True, True]
    assert all(chart.anchor.to.row < sheet.max_row - 1 for chart in sheet._charts)


@pytest.mark.parametrize(
    ("motors", "said"),
    [
        (["nobody"], "name 2 to 4 of them"),
        ([DEMO] * 5, "found 5 motors"),
        ([DEMO, "nobody"], "nobody: found no such test"),
        ([DEMO, "42"], "42: found no such test"),
    ],
)
def test_what_cannot_be_compared_is_said(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, shelf: Path, motors: list[Any], said: str
) -> None:
    code, told = run(capsys, "compare", *motors, "-o", tmp_path / "out.xlsx", "--library", shelf)
    assert code == 2
    assert said in told
    assert not (tmp_path / "out.xlsx").exists()


def test_without_a_library_an_id_is_no_file(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv(VARIABLE, raising=False)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    code, said = run(capsys, "compare", DEMO, "thimble", "-o", tmp_path / "out.xlsx")
    assert code == 2
    assert "no such file, and no library is named" in said


def test_a_workbook_with_faults_is_not_compared(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    empty = write_input_workbook(bench_test({}, {"Readings": []}), tmp_path / "empty.xlsx")
    code, said = run(capsys, "compare", DEMO, empty, "-o", tmp_path / "out.xlsx")
    assert code == 2
    assert f"{empty}: the workbook has" in said


def test_results_go_by_the_environments_library(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, shelf: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(VARIABLE, str(shelf))
    assert run(capsys, "results", DEMO, "-o", tmp_path / "out.xlsx")[0] == 0
    assert "Comparison" in openpyxl.load_workbook(tmp_path / "out.xlsx", read_only=True).sheetnames


def test_a_library_that_is_none_is_said(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    code, said = run(capsys, "results", DEMO, "-o", tmp_path / "out.xlsx", "--library", DEMO)
    assert code == 2
    assert str(DEMO) in said
    assert not (tmp_path / "out.xlsx").exists()


# --- who is ahead -----------------------------------------------------------------------------------------------


def motor(name: str, *thrusts: float, **fields: Any) -> Any:
    rows = [
        {"prop": "5x4", "cells": 4, "kind": "steady", "voltage": 15.0, "current": 30.0, "thrust": thrust}
        for thrust in thrusts
    ]
    return assess(bench_test({"model": name, "test_id": name, "mass_as_supplied": 30.0, **fields}, {"Readings": rows}))


def test_who_is_ahead_is_said_only_beyond_noise() -> None:
    """Single readings at 1.5 %: 2.306·1.5·√2 = 4.9 % with eight degrees of freedom, so 4 % is noise and 6 % is not."""
    near, far = (side_by_side([motor("Peg", 1000.0), motor("Pin", thrust)]) for thrust in (1040.0, 1060.0))
    lines = [
        next(line for line in each.parts[1].lines if line.label == "Thrust, full throttle") for each in (near, far)
    ]
    assert [line.verdict for line in lines] == [NO_DIFFERENCE, "Pin by 6.0 %"]
    assert [line.least for line in lines] == [pytest.approx(2.306 * 1.5 * 2**0.5, rel=1e-3)] * 2
    kept = kept_of(motor("Pin", 1060.0).test).groups[0]
    assert lines[1].margins[1] == pytest.approx(float(kept["full_thrust_uncertainty"] or 0))


def test_the_first_lines_say_who_is_ahead_and_which_esc_each_needs() -> None:
    """30.0 A steady are 80 % of 37.5 A, so that 40 A covers; Peg and Pin are level before Pod, and said to be."""
    pod = motor("Pod", 800.0, mass_as_supplied=25.0)
    sides = side_by_side([motor("Peg", 1000.0), motor("Pin", 1010.0), pod])
    ahead, sizes, *rest = sides.verdicts()
    assert "most thrust: no difference that counts (counts from " in ahead
    assert ahead.endswith("lightest: Pod by 5.0 g")
    assert sizes.startswith("ESC size, full throttle held: Peg 40 A on 4S; Pin 40 A on 4S; Pod 40 A on 4S")
    assert any("Thrust, full throttle: no difference that counts between Peg and Pin" in line for line in rest)
    far = side_by_side([motor("Peg", 1000.0), motor("Pin", 1060.0)]).verdicts()[0]
    assert far.startswith("most thrust: Pin by 6.0 % (counts from 4.9 %)")


def test_grams_per_watt_are_compared_at_one_thrust_and_who_was_not_read_there_is_named() -> None:
    def swept(name: str, *throttles: tuple[float, float, float]) -> Any:
        rows = [
            {"prop": "5x4", "cells": 4, "kind": "steady", "throttle": t, "voltage": 15.0, "current": a, "thrust": g}
            for t, a, g in throttles
        ]
        return assess(bench_test({"model": name, "test_id": name}, {"Readings": rows}))

    two = [swept(name, (40.0, 5.0, 400.0), (60.0, 9.0, 600.0), (100.0, 30.0, 990.0)) for name in ("Peg", "Pin")]
    lines = side_by_side([*two, swept("Pod", (100.0, 30.0, 990.0))]).parts[1].lines
    (found,) = (line for line in lines if line.label.startswith("Thrust per power at "))
    assert found.label.endswith((" at 500 g", " at 750 g"))
    assert found.values[2] is None
    assert found.verdict == f"{NO_DIFFERENCE} (Pod not compared)"


def test_two_motors_of_one_name_are_told_apart() -> None:
    sides = side_by_side([motor("Peg", 1000.0), motor("Peg", 1010.0, test_id="second")])
    assert list(sides.motors) == ["Peg (Peg)", "Peg (second)"]


def test_without_a_propeller_in_common_each_has_its_own_best() -> None:
    """Peg gives 1,000 g; Pin 900 g of 15.0 V and 30.0 A: 2.00 g/W, with 25.0 g 36 times its weight."""
    reading = {"prop": "6x4", "cells": 4, "kind": "steady", "voltage": 15.0, "current": 30.0, "thrust": 900.0}
    other = assess(bench_test({"model": "Pin", "mass_as_supplied": 25.0}, {"Readings": [reading]}))
    sides = side_by_side([motor("Peg", 1000.0), other])
    assert "only mass and Kv" in sides.summary()[0]
    masses, own = sides.parts
    found = {line.label: line for line in (*masses.lines, *own.lines)}
    assert found["Mass as supplied"].verdict == "Pin is lighter by 5.0 g"
    assert found["Highest thrust, full throttle"].values == [1000.0, 900.0]
    assert found["Best thrust per power, full throttle"].values[1] == pytest.approx(2.0)
    assert found["Highest thrust to motor weight"].values[1] == pytest.approx(36.0)
    assert [line.values[1] for line in own.lines if line.label == "with"] == ["6x4 on 4S"] * 3
    assert all(line.values[0] == own.lines[1].values[0] != "6x4 on 4S" for line in own.lines if line.label == "with")
    assert not any(line.verdict for line in own.lines)


def test_full_leads_are_not_compared_with_trimmed_ones() -> None:
    """30.0 g of both as supplied; one has been weighed trimmed at 27.0 g: that is the leads, and no lighter motor."""
    sides = side_by_side([motor("Peg", 1000.0), motor("Pin", 1000.0, trimmed_mass_measured=27.0)])
    found = {line.label: line for line in sides.parts[0].lines}
    assert found["Mass as supplied"].verdict == NO_DIFFERENCE
    assert found["Trimmed mass"].values == [None, 27.0]
    assert found["Trimmed mass"].verdict.startswith("not compared: ")
