"""The equations that the sheet Method prints, as textbooks write them, and what the command line prints of a session."""

import datetime
from pathlib import Path

import pytest

import xlsengine
from tests.command_line import run
from tests.judged import labels
from tests.judged.workbook_by_labels import Workbook
from tests.judged.worked_benches import CRAFT, MOTOR, SESSION

EQUATIONS: dict[tuple[str, str], tuple[str, str]] = {
    # table, quantity: unit, equation
    ("Readings", "Power"): ("W", "P = V · I"),
    ("Readings", "Thrust per power"): ("g/W", "e_P = T / P"),
    ("Readings", "Voltage per cell"): ("V", "V_c = V / Cells"),
    ("Readings", "Overall static efficiency"): ("", "η_h = F · √(w_d / (2 · ρ)) / P"),
    ("Readings", "Electrical speed, eRPM"): ("rpm", "n_el = n · Magnet poles / 2"),
    ("Speed figures", "Thrust coefficient"): ("", "CT = F / (ρ · n_s² · D⁴)"),
    ("Speed figures", "Power coefficient"): ("", "CP = P_s / (ρ · n_s³ · D⁵)"),
    ("No load", "Kv from driven spin"): ("rpm/V", "Kv_i = Speed / V_mean"),
    ("Propellers", "Thrust and current go with volts to the power"): ("", "a_V = 2 / (2 − x_p)"),
}
PRINTED = (
    "Highest static thrust: 1,420 g, 6x4 on 4S, steady",
    "Highest static current: 42.0 A, 6x4 on 4S",
    "Best efficiency at 500 g: 4.28 g/W, 6x4 on 4S",
    "Best efficiency at full throttle: 2.61 g/W, 6x4 on 4S",
    "Highest thrust to motor weight: 44.4 : 1, 6x4 on 4S",
    "50 A or larger",
    "flags: 0 impossible, 0 doubtful, 0 notes",
)


@pytest.fixture(scope="module")
def lines(shown_workbook: Workbook) -> dict[tuple[str, str], dict[str, str]]:
    """Return the lines of Method by sheet and quantity."""
    rows = shown_workbook.rows(labels.METHOD)
    texts = [{name: str(cell.value or "") for name, cell in row.items()} for row in rows]
    return {(text["where"], text["quantity"]): text for text in texts}


@pytest.mark.parametrize("quantity", EQUATIONS)
def test_an_equation(lines: dict[tuple[str, str], dict[str, str]], quantity: tuple[str, str]) -> None:
    unit, equation = EQUATIONS[quantity]
    assert (lines[quantity]["unit"], lines[quantity]["equation"]) == (unit, equation)


def test_each_has_its_meaning_and_source(lines: dict[tuple[str, str], dict[str, str]]) -> None:
    line = lines["Readings", "Overall static efficiency"]
    assert line["meaning"] == "Ideal power of the disk over electrical power: propeller, motor and ESC together."
    assert "actuator disk" in line["source"]
    assert "common practice" in lines["Summary", "In-flight current, low, estimate"]["source"]


def test_what_results_prints(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    fields = MOTOR | CRAFT | {"test_date": datetime.date(2026, 1, 2)}
    test = xlsengine.bench_test(fields, {"Readings": list(SESSION)})
    path = xlsengine.write_input_workbook(test, tmp_path / "session.xlsx")
    assert run("results", path) == 0
    printed = capsys.readouterr().out
    for words in PRINTED:
        assert words in printed
