"""The first page, the summary's headlines and the ESC tables by their labels, with currents and ratings worked by hand.

The session of the other tests: 42.0 A at its peak, 38.0 A steady at most, both ±3.7 % (1.5 % as a half-width over √3 with
1.5 % of scatter of 8 degrees of freedom, at 95 %).
"""

import math
import re
from collections.abc import Callable
from typing import Any

import pytest
from scipy.stats import t as student

from tests.judged import labels
from tests.judged.full_bench import on_three_cells
from tests.judged.test_session import SUMMARY, agrees
from tests.judged.workbook_by_labels import Workbook, text_of, written
from tests.judged.worked_benches import CRAFT, SESSION, Row, assessed, first
from xlsengine import Assessment
from xlsengine.bench.advice import esc_needs
from xlsengine.bench.declaring.spoken import decimals_by, decimals_of
from xlsengine.expression import Constant, Node, call

BURSTS, HELD, HOVER = "forward flight with short full throttle", "full throttle held", "hover / 3D / ducted"
EXACT = {"assumed_current_accuracy": 0.0, "default_scatter": 0.0}


def room() -> float:
    """Return the ± of one current, as a share: u² = (1.5 %/√3)² + (1.5 %)², ν = u⁴/(s⁴/8), k = t(0.975, ν)."""
    u = math.hypot(0.015 / math.sqrt(3), 0.015)
    return float(u * student.ppf(0.975, math.floor(u**4 / (0.015**4 / 8))))


@pytest.fixture(scope="module")
def flown() -> Assessment:
    return assessed(SESSION, CRAFT | {"way_of_flying": BURSTS})


@pytest.fixture(scope="module")
def workbook(flown: Assessment, tmp_path_factory: pytest.TempPathFactory) -> Workbook:
    return written(flown, tmp_path_factory.mktemp("judged") / "first page.xlsx")


# --- what stands on the pages ------------------------------------------------------------------------------------


SMALL = ("full_thrust", "full_current", "peak_top_current")
FINE = {"#,##0_)": "[<99.5]0.0_);#,##0_)", "0.0_)": "[<2.95]0.00_);0.0_)"}
"""Grams and amps of a small motor have one digit more."""


@pytest.mark.parametrize("name", [name for name in labels.REPORT.headers if name != "flight"])
def test_the_table_of_the_report(workbook: Workbook, name: str) -> None:
    (row,) = workbook.rows(labels.REPORT)[:1]
    assert agrees(row[name].value, SUMMARY[name]), (row[name].value, SUMMARY[name])
    if labels.REPORT.headers[name][1] is not None:
        usual = labels.REPORT.shown(name)
        assert row[name].number_format == FINE.get(usual if name in SMALL else "", usual)


def test_in_flight_on_the_report(workbook: Workbook) -> None:
    (row,) = workbook.rows(labels.REPORT)[:1]
    assert row["flight"].value == "25–32"  # 42.0 A less 40 and 25 %


def test_small_amps_in_flight_have_tenths_at_both_ends(tmp_path: Any) -> None:
    """A tenth of the amps, flown in bursts: 4.20 A less 40 and 25 % are 2.52 to 3.15 A, outward in tenths; on one cell."""
    tenth = {"current": 10.0, "voltage": 4.0, "thrust": 20.0}
    rows = [row | {name: row[name] / by for name, by in tenth.items()} | {"cells": 1} for row in SESSION]
    small = written(assessed(rows, CRAFT | {"way_of_flying": BURSTS, "pack_cells": 1}), tmp_path / "small.xlsx")
    assert small.rows(labels.REPORT)[0]["flight"].value == "2.5–3.2"
    assert small.find("Report", "1 cell")
    (chart,) = (chart for title, chart in small.charts("Report").items() if title.startswith("Highest current"))
    assert {series.dLbls.numFmt for series in chart.ser} == {"[<2.95]0.00;[<9.95]0.0;#,##0"}


def test_cards_of_the_report(workbook: Workbook) -> None:
    """The largest type on the page: value below its label, and where it was seen below that."""
    shown = (1420, 42.0, 4.28, 2.61, 44.4)
    formats = (
        '[<99.5]0.0" g";#,##0" g"',
        '[<2.95]0.00" A";#,##0.0" A"',
        '#,##0.00" g/W"',
        '#,##0.00" g/W"',
        '#,##0.0" : 1"',
    )
    margins = ("± 36 g", "± 1.6 A", "± 0.19 g/W", "± 0.08 g/W", "± 1.1")
    sheet = workbook.book["Report"]
    for title, value, form, margin in zip(labels.REPORT_CARDS, shown, formats, margins, strict=True):
        label = workbook.find("Report", title)
        large, below = (sheet.cell(label.row + down, label.column) for down in (1, 2))
        assert large.value == pytest.approx(value, abs=1e-9)
        assert large.number_format == form
        assert below.value.startswith(f"{margin} · 6x4 on 4S")
        assert large.font.sz > label.font.sz


@pytest.mark.parametrize(("shown", "value", "margin", "quoted", "said"), [
    # two digits of the uncertainty are kept at most, and the value's to match (GUM, JCGM 100:2008, 7.2.6)
    (0, 8873.4, 312.0, 8870, "310"), (0, 8873.4, 1240.0, 8900, "1200"), (0, 1771.6, 36.2, 1772, "36"),
    (1, 48.94, 1.84, 48.9, "1.8"), (2, 2.9812, 0.123, 2.98, "0.12"), (0, 1771.6, 99.6, 1770, "100"),
    # one from 3 on where the figure is quoted no finer, so that rounding moves a ± by a sixth at most
    (2, 2.9812, 0.0771, 2.98, "0.08"), (2, 2.9812, 0.0283, 2.981, "0.028"), (1, 22.314, 0.81, 22.3, "0.8"),
    (1, 22.314, 0.12, 22.31, "0.12"), (1, 22.314, 0.04, 22.31, "0.04"), (0, 1956.2, 7.3, 1956, "7"),
    (0, 1956.2, 1.26, 1956.2, "1.3"),
])  # fmt: skip
def test_digits_by_the_uncertainty(shown: int, value: float, margin: float, quoted: float, said: str) -> None:
    scope = assessed(SESSION).scope
    decimals = scope.any_value(decimals_of(Constant(margin), shown))
    assert decimals == decimals_by(margin, shown)
    assert scope.any_value(call("round", value, float(decimals))) == pytest.approx(quoted, abs=1e-9)
    assert scope.any_value(call("fixed", margin, float(decimals))) == said
    assert float(said) == pytest.approx(margin, rel=1 / 6)


def test_the_three_answers(workbook: Workbook) -> None:
    """2.84 is 4·1420/2000; 700 and 380 g are the steps around the 500 g that hover takes, at 60 and 40 %."""
    sheet = workbook.book["Report"]
    share = math.log(500 / 380) / math.log(700 / 380)
    throttle, amps = round(40 * (60 / 40) ** share), 5 * (12 / 5) ** share
    lines = ("50 A or larger", "40 A or larger", f"2.8:1; hover {throttle} %; 7.5 min")
    words = (
        "6x4 on 4S: at most 42.0 A peak, 38.0 A steady (±3.7 %). Steady is kept within 80 % of the continuous rating, peak "
        "within 1.15 times it. How long the motor itself stands 42.0 A is not known: no temperature was read. Its maker's "
        "limit comes first.",
        "6x4 on 4S: 42.0 A at launch (±3.7 %), if its burst rating is at least 1.15 times its size. At speed 25 "
        "to 32 A (rule of thumb: 25 to 40 % less); never choose by that alone.",
        f"2,000 g on 4 motors; 6x4 on 4S: 1,420 g, steady at bench volts. Hovering {amps:.1f} A a motor, minutes "
        "at 3.7 V a cell. Full throttle: 168 A from the pack (34C).",
    )
    for title, line, said in zip(labels.REPORT_ANSWERS, lines, words, strict=True):
        cell = workbook.find("Report", title)
        large, small = (sheet.cell(cell.row + down, cell.column) for down in (1, 2))
        assert (large.value, small.value) == (line, said)
        assert large.font.sz >= 17


def test_the_sizes_that_matter(workbook: Workbook) -> None:
    """The size named, the next below and the next above, each as on the sheet ESC; bursts are flown and stand first."""
    title = workbook.find("Report", labels.REPORT_SIZES)
    for down, (question, sizes) in enumerate(
        (("launch", (35, 40, 45)), ("speed", (35, 40, 45)), ("held", (45, 50, 55)))
    ):
        cells = [cell.value for cell in workbook.book["Report"][title.row + 2 + down] if cell.value][1:4]
        drawn = workbook.formulas["Report"][title.row + 2 + down]
        assert all(cell.alignment.shrink_to_fit for cell in drawn if cell.value)  # a cut number is another number
        for size, cell in zip(sizes, cells, strict=True):
            word, spare = standing(question, size)
            found = re.fullmatch(r"(\d+) A (.*), ([+−])([\d.]+) A", cell)
            assert found
            shown = labels.REPORT_LIKELY if word == labels.ESC_LIKELY else word
            assert found.group(1, 2, 3) == (str(size), shown, "+" if spare >= 0 else "−")
            assert float(found[4]) == pytest.approx(abs(spare), abs=0.0501)


def test_headlines_of_the_summary(workbook: Workbook) -> None:
    rows = {row["headline"].value: row for row in workbook.rows(labels.HEADLINES)}
    wanted = zip(labels.HEADLINE_TITLES, (1420, 42.0, SUMMARY["headline_efficiency"], 1420 / 543.8, 1420 / 32),
                 ("g", "A", "g/W", "g/W", "g/g"), strict=True)  # fmt: skip
    for title, value, unit in wanted:
        row = rows[title]
        assert row["value"].value == row["clean"].value == row["whole"].value == pytest.approx(value)
        assert row["unit"].value == unit
        assert str(row["place"].value).startswith("6x4 on 4S")


def below(workbook: Workbook, header: str, band: str = "held", group: int = 0) -> tuple[Any, Any]:
    """Return the two cells of a propeller and cell count, from 0, below a heading of the sheet ESC."""
    top, sheet = workbook.find("ESC", labels.ESC_BANDS[band]), workbook.book["ESC"]
    places = [cell.column for cell in (*sheet[top.row + 1], *sheet[top.row + 2]) if cell.value == header]
    if header in labels.ESC_OPTIONS:
        places = [place for place in places if place >= top.column]
    row = top.row + labels.ESC_HEADS + 2 * group
    return sheet.cell(row, places[0]), sheet.cell(row + 1, places[0])


def test_the_columns_beside_the_sizes(workbook: Workbook) -> None:
    worked = {"prop": "6x4", "cells": 4, "steady": 38.0, "peak": 42.0, "current": "launch 42.0"}
    assert {name: below(workbook, labels.ESC_LEFT[name])[0].value for name in worked} == worked
    assert below(workbook, labels.ESC_LEFT["current"])[1].value == "at speed 25–32"  # 42.0 A less 40 and 25 %


def standing(question: str, size: int) -> tuple[str, float]:
    """Work out what a cell of the ESC tables says: verdict and amps to spare."""
    steady, peak, burst = 38.0, 42.0, size * 1.15
    if question == "held":
        spare = min(size * 0.80 - steady * (1 + room()), burst - peak * (1 + room()))
        word = "covers" if spare >= 0 else "falls short" if steady > size or peak > burst else "borderline"
    elif question == "launch":
        spare = burst - peak * (1 + room())
        word = "covers" if spare >= 0 else "falls short" if peak > 1.2 * burst else "borderline"
    else:
        spare = burst - 31.5 * (1 + room())
        word = labels.ESC_LIKELY if spare >= 0 else "borderline" if burst >= 25.2 else "falls short"
    return word, spare


def said(text: str) -> tuple[str, float]:
    """Take a verdict and signed amps apart: `borderline, −2.9 A`."""
    found = re.fullmatch(r"(.*) ([+−])([\d.]+) A", text)
    assert found, text
    return found[1].rstrip(","), float(found[3]) * (1 if found[2] == "+" else -1)


SIZES = {"held": (45, 50, 55), "bursts": (35, 40, 45)}
"""49.3 A are needed held, 38.0 · 1.037 / 0.80; 37.9 A for a launch, 42.0 · 1.037 / 1.15."""


@pytest.mark.parametrize("option", labels.ESC_OPTIONS)
def test_three_sizes_held(workbook: Workbook, option: str) -> None:
    size = SIZES["held"][labels.ESC_OPTIONS.index(option)]
    first, second = (cell.value for cell in below(workbook, option))
    word, spare = standing("held", size)
    assert first == f"{size} A {word}"
    assert said(f"held {second}")[1] == pytest.approx(spare, abs=0.0501)


@pytest.mark.parametrize("option", labels.ESC_OPTIONS)
@pytest.mark.parametrize("question", ["launch", "speed"])
def test_three_sizes_in_bursts(workbook: Workbook, question: str, option: str) -> None:
    size = SIZES["bursts"][labels.ESC_OPTIONS.index(option)]
    first, second = (cell.value for cell in below(workbook, option, "bursts"))
    word, spare = standing(question, size)
    found, amps = said(first if question == "launch" else second)
    assert found == (f"{size} A {word}" if question == "launch" else word)
    assert amps == pytest.approx(spare, abs=0.0501)


def test_no_burst_answer_and_no_current_are_said_in_words(tmp_path: Any) -> None:
    """Hovered; the second cell count has a single full-throttle reading, left out by the tester."""
    out: Row = on_three_cells(SESSION[0]) | {"use": "no"}
    found = written(assessed([*SESSION, out], CRAFT | {"way_of_flying": HOVER}), tmp_path / "hover.xlsx")
    middle = labels.ESC_OPTIONS[1]
    band = found.find("ESC", labels.ESC_NO_BURSTS)
    half = found.book["ESC"].iter_rows(min_row=band.row + 1, min_col=band.column)
    assert [cell.value for row in half for cell in row if cell.value not in (None, "")] == []
    assert below(found, middle, "held", 0)[0].value == "50 A covers"
    assert below(found, labels.ESC_LEFT["cells"], group=1)[0].value == 3
    assert [cell.value for cell in below(found, middle, "held", 1)] == ["no size:", "reading left out"]


def test_the_words_of_each_question_stand_beside_its_answer(workbook: Workbook, flown: Assessment) -> None:
    figures = flown.figures()
    for name, title in labels.ESC_SENTENCES.items():
        cell = workbook.find("ESC", title)
        values = [right.value for right in workbook.book["ESC"][cell.row][cell.column :] if right.value]
        assert values[0] == figures[name]
    assert str(figures["esc_advice"]).startswith("ESC for short bursts")
    assert str(figures["esc_advice_other"]).startswith("ESC for full throttle held")


def test_small_charts_have_small_type(workbook: Workbook) -> None:
    for chart in workbook.charts("Report").values():
        assert text_of(chart.title)


# --- sizes and verdicts ------------------------------------------------------------------------------------------


def peaks_and_steady(steady: float | None, peak: float | None) -> list[Row]:
    rows = []
    if peak is not None:
        rows.append(SESSION[0] | {"current": peak})
    if steady is not None:
        rows.append(SESSION[3] | {"current": steady})
    return rows


@pytest.mark.parametrize(("steady", "peak", "size"), [
    # worked at ±3.7 %: the larger of steady/0.80 and peak/1.15, with the ±, rounded up the ladder
    (39.1, 40.3, 55), (32.0, 44.0, 45), (38.0, 42.0, 50), (53.0, 55.0, 70), (None, 60.6, 80),
    (32.0, None, 45),  # 1.25 times steady stands in for the peak
])  # fmt: skip
def test_held_sizes(steady: float | None, peak: float | None, size: float) -> None:
    assert room() == pytest.approx(0.037, abs=5e-4)
    worked = max((steady or peak or 0) / 0.80, (peak or 1.25 * (steady or 0)) / 1.15) * (1 + room())
    assert min(each for each in labels.ESC_SIZES if each >= worked) == size
    found = assessed(peaks_and_steady(steady, peak), {"way_of_flying": HELD})
    assert first(found, "Summary", "held_size") == size
    assert first(found, "Summary", "held_need") == pytest.approx(worked, rel=1e-4)
    assert math.isnan(first(found, "Summary", "flight_size"))


def test_where_no_peak_was_read_the_launch_is_1_25_times_the_steady_current() -> None:
    """32.0 A make 40.0 A at launch; with the ± over 1.15 that is 36.1 A, and 40 A the smallest size."""
    found = assessed(peaks_and_steady(32.0, None), {"way_of_flying": BURSTS})
    assert first(found, "Summary", "launch_current") == pytest.approx(40.0)
    assert first(found, "Summary", "launch_need") == pytest.approx(40.0 * (1 + room()) / 1.15, rel=1e-4)
    assert first(found, "Summary", "flight_size") == 40


@pytest.mark.parametrize(("verdict", "steady", "peak", "word"), [
    (esc_needs.held_verdict, 39.9, 41.0, "covers"), (esc_needs.held_verdict, 40.1, 41.0, "borderline"),
    (esc_needs.held_verdict, 49.9, 51.0, "borderline"), (esc_needs.held_verdict, 50.1, 51.0, "falls short"),
    (esc_needs.held_verdict, 39.9, 57.4, "covers"), (esc_needs.held_verdict, 39.9, 57.6, "falls short"),
    (esc_needs.launch_verdict, 39.9, 57.4, "covers"), (esc_needs.launch_verdict, 39.9, 57.6, "borderline"),
    (esc_needs.launch_verdict, 39.9, 68.9, "borderline"), (esc_needs.launch_verdict, 39.9, 69.1, "falls short"),
    # 25 % less than the peak within 57.5 A is likely enough, 40 % less borderline: 76.7 and 95.8 A
    (esc_needs.speed_verdict, 39.9, 76.6, "enough by estimate"), (esc_needs.speed_verdict, 39.9, 76.8, "borderline"),
    (esc_needs.speed_verdict, 39.9, 95.7, "borderline"), (esc_needs.speed_verdict, 39.9, 95.9, "falls short"),
])  # fmt: skip
def test_verdicts_from_both_sides(verdict: Callable[[Node], Node], steady: float, peak: float, word: str) -> None:
    found = assessed(peaks_and_steady(steady, peak), EXACT | {"way_of_flying": BURSTS})
    assert found.scope.value(verdict(Constant(50.0)), found.scope.rows("Summary"))[0] == word


@pytest.mark.parametrize(("way", "leads", "other"), [
    (BURSTS, "ESC for short bursts", "ESC for full throttle held"), (HELD, "ESC for full throttle held", None),
    (HOVER, "ESC for full throttle held", None), (None, "ESC for full throttle held", "ESC for short bursts"),
])  # fmt: skip
def test_which_answer_leads(way: str | None, leads: str, other: str | None) -> None:
    figures = assessed(SESSION, {"way_of_flying": way}).figures()
    assert str(figures["esc_advice"]).startswith(leads)
    assert (
        (figures["esc_advice_other"] or "") == ""
        if other is None
        else str(figures["esc_advice_other"]).startswith(other)
    )


@pytest.mark.parametrize(("fields", "pitch", "low", "high", "basis"), [
    ({}, 4.0, 25.2, 42.0, "rule of thumb, or held"), ({"way_of_flying": HOVER}, 4.0, 42.0, 42.0, "as static"),
    ({"way_of_flying": HELD}, 4.0, 42.0, 42.0, "as static"), ({"way_of_flying": BURSTS}, 5.94, 25.2, 31.5, "rule of thumb"),
    ({}, 6.0, 42.0, 42.0, "as static, may rise"), ({}, None, 42.0, 42.0, "as static, may rise"),
])  # fmt: skip
def test_in_flight_band(fields: Row, pitch: float | None, low: float, high: float, basis: str) -> None:
    """25 to 40 % less in forward flight, no less from a pitch over diameter of 1.0: common practice, no source.

    With the type of flying blank full throttle may be held too: up to the 42.0 A of the stand.
    """
    rows = [row | {"pitch": pitch} for row in SESSION]
    found = assessed(rows, fields)
    for table, name in (("Summary", "flight"), ("Readings", "flight_current")):
        share = 1.0 if table == "Summary" else 40 / 42
        assert first(found, table, f"{name}_low") == pytest.approx(low * share)
        assert first(found, table, f"{name}_high") == pytest.approx(high * share)
    assert first(found, "Summary", "flight_basis") == basis


def test_with_a_speed_and_an_airspeed_the_band_is_a_share_of_the_static_current() -> None:
    """The share that flying takes of the steady current (sheet Prediction) is taken of the highest, 42.0 A, as well."""
    rows = [row | {"speed": 17_000 * (row["thrust"] / 1420) ** 0.49} for row in SESSION]
    found = assessed(rows, {"way_of_flying": BURSTS, "airspeed": 15.0, "label_kv": 1700.0})
    static = first(found, "InFlight", "flying_static_current")
    low, high = (first(found, "InFlight", f"flying_current_{end}") for end in ("low", "high"))
    assert 0 < low < high
    assert first(found, "Summary", "flight_low") == pytest.approx(42.0 * low / static)
    assert first(found, "Summary", "flight_high") == pytest.approx(42.0 * high / static)
    assert first(found, "Readings", "flight_current_low") == pytest.approx(40.0 * low / static)
    assert first(found, "Readings", "flight_current_high") == pytest.approx(40.0 * high / static)
    assert first(found, "Summary", "flight_basis") == "speed and airspeed"


def test_another_propeller_or_cell_count_on_craft_is_not_answered_for() -> None:
    for fields in ({"pack_cells": 6.0}, {"craft_propeller": "7x4"}):
        figures = assessed(SESSION, fields).figures()
        assert figures["esc_held_size"] is None
        assert "was not tested" in str(figures["esc_advice"])
    for fields in ({"pack_cells": 4.0}, {"craft_propeller": " 6X4"}):
        assert assessed(SESSION, fields).figures()["esc_held_size"] == 50


# --- what flagged rows and rows left out would make of it ------------------------------------------------------------


def impossible() -> list[Row]:
    """Return the session with a steady reading whose thrust has slipped by ten."""
    return [*SESSION, SESSION[3] | {"run": 7.0, "thrust": 14_000.0}]


def test_an_impossible_reading_counts_for_nothing_and_is_told() -> None:
    found = assessed(impossible(), CRAFT)
    (headline,) = [each for each in found.headlines() if each["label"] == "Highest static thrust"]
    assert headline["value"] == 1420.0
    assert headline["note"] is None, "(1440 + 1400 + 14000)/3 is four times as much: nobody takes that for true"
    assert first(found, "Summary", "flagged_points") == 1


@pytest.mark.parametrize(("use", "thrust"), [("no", 1400.0), (None, 1420.0), ("yes", 1420.0)])
def test_use(use: str | None, thrust: float) -> None:
    rows: list[Any] = [*SESSION]
    rows[2] = rows[2] | {"use": use}
    assert first(assessed(rows), "Summary", "full_thrust") == thrust


def test_use_yes_overrules_the_checks() -> None:
    rows = impossible()
    rows[-1]["use"] = "yes"
    assert first(assessed(rows), "Summary", "full_thrust") == pytest.approx((1440 + 1400 + 14_000) / 3)


def test_a_doubtful_reading_that_decides_is_told() -> None:
    """A steady reading below 3.0 V a cell counts, is flagged, and its headline says what is left without it."""
    rows = [SESSION[3] | {"voltage": 11.9, "thrust": 1000.0, "current": 30.0}]
    (headline,) = [each for each in assessed(rows).headlines() if each["label"] == "Highest static thrust"]
    assert headline["value"] == 1000.0
    assert headline["note"] == "A doubtful reading decides this; without it nothing is left."
