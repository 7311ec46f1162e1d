"""A new workbook holds on Settings what its sources say, each value beside its label and unit."""

import csv
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import xlsengine
from tests.judged import labels
from tests.judged.default_settings import DEFAULTS, ROUND_THRUSTS, SILICONE_WIRE
from tests.judged.workbook_by_labels import Workbook

DATA = Path(__file__).parent.parent / "published" / "data" / "uiuc"


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Workbook:
    return Workbook(xlsengine.write_template(tmp_path_factory.mktemp("judged") / "new.xlsx"))


@pytest.fixture(scope="module")
def settings(template: Workbook) -> dict[str, tuple[Any, str]]:
    """Return value and unit of every setting by its label."""
    rows = template.book["Settings"].iter_rows(max_col=3, values_only=True)
    return {str(label or "").removesuffix(" *"): (value, str(unit or "")) for label, value, unit in rows}


@pytest.mark.parametrize("label", DEFAULTS)
def test_a_setting(settings: dict[str, tuple[Any, str]], label: str) -> None:
    value, unit, _ = DEFAULTS[label]
    assert settings[label] == (value, unit)


def test_sizes_and_round_thrusts(template: Workbook) -> None:
    assert [value for value in template.column("Settings", "ESC size (A)") if value][: len(labels.ESC_SIZES)] == list(
        labels.ESC_SIZES
    )
    thrusts = [value for value in template.column("Settings", "Round thrust (g)") if isinstance(value, int | float)]
    assert thrusts[: len(ROUND_THRUSTS)] == list(ROUND_THRUSTS)


def test_wire(template: Workbook) -> None:
    gauges, outside = (template.column("Settings", header) for header in ("Gauge (AWG)", "Outside diameter (mm)"))
    found = {gauge: over for gauge, over in zip(gauges, outside, strict=True) if isinstance(gauge, int | float)}
    assert found == SILICONE_WIRE


def test_what_the_limit_of_the_figure_of_merit_says_of_the_open_data(template: Workbook) -> None:
    """√(2/π)·CT^1.5/CP of the static rows that lie in this repository: the sentence on Settings counts them."""
    merits = []
    for path in sorted(DATA.glob("static_*.csv")):
        with path.open() as lines:
            rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
        merits.append([math.sqrt(2 / math.pi) * float(row["CT"]) ** 1.5 / float(row["CP"]) for row in rows])
    medians, every = [float(np.median(own)) for own in merits], [merit for own in merits for merit in own]
    above = sum(merit > 0.80 for merit in every)
    said = {1: "one"}[above]
    source = template.field("Settings", "Figure of merit, highest plausible").offset(0, 4).value
    assert f"static rows of {len(merits)} propellers: medians {min(medians):.2f} to {max(medians):.2f}" in source
    assert f"{said} row of {len(every)} above 0.80" in source
