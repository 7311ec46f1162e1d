"""The charts a builder looks for, held against figures worked by hand, and what their XML keeps of the cells."""

from typing import Any

import pytest

from tests.judged import labels
from tests.judged.workbook_by_labels import Workbook, is_bar, text_of, written
from tests.judged.worked_benches import SESSION, Row, assessed

LESS = 0.75**1.6
"""What `full_bench` makes of current and thrust on three cells; its volts are three quarters."""
STEPS: dict[str, list[tuple[float, float, float, float]]] = {
    "6x4 on 4S": [(100, 1440, 38, 14.6), (100, 1400, 36, 14.8), (60, 700, 12, 15.6)],
    "6x4 on 3S": [
        (100, 1440 * LESS, 38 * LESS, 10.95),
        (100, 1400 * LESS, 36 * LESS, 11.1),
        (60, 700 * LESS, 12 * LESS, 11.7),
        (40, 380 * LESS, 5 * LESS, 11.925),
    ],
}
"""Throttle, thrust, current and volts of the steady readings of `full_bench` that count: that at 40 % on 4S is left out."""
BAR_HEIGHTS = {"thrust": {"3S": 1420 * LESS, "4S": 1420}, "current": {"3S": 37 * LESS, "4S": 37}}
"""Means of its two steady readings at full throttle: 1440 and 1400 g, 38 and 36 A."""


def peak(prop: str, cells: float, volts: float, amps: float, grams: float, **more: Any) -> Row:
    return {
        "prop": prop,
        "diameter": float(prop[0]),
        "pitch": 4.0,
        "cells": cells,
        "kind": "peak",
        "voltage": volts,
        "current": amps,
        "thrust": grams,
        **more,
    }


PEAKS = [
    peak("5x4", 3.0, 11.5, 20.0, 700.0),
    peak("5x4", 4.0, 15.2, 30.0, 1000.0),
    peak("6x4", 3.0, 11.4, 30.0, 1010.0),
    peak("6x4", 4.0, 15.0, 41.0, 14_400.0),
    peak("7x4", 4.0, 14.8, 50.0, 1800.0),
    peak("7x4", 3.0, 11.2, 36.0, 1250.0, use="no"),
]
PEAK_BARS: dict[str, dict[str, list[float | None]]] = {
    "thrust": {"3S": [None, 1010, 700], "4S": [1800, None, 1000]},
    "current": {"3S": [None, 30, 20], "4S": [50, None, 30]},
    "grams_per_watt": {"3S": [None, 1010 / 342, 700 / 230], "4S": [1800 / 740, None, 1000 / 456]},
}
"""7x4, 6x4 and 5x4 by their highest thrust that counts; 14,400 g is impossible, 7x4 on 3S left out by the tester."""


@pytest.fixture(scope="module")
def peaks_only(tmp_path_factory: pytest.TempPathFactory) -> Workbook:
    return written(assessed(PEAKS), tmp_path_factory.mktemp("charts") / "peaks.xlsx")


@pytest.fixture(scope="module")
def many(tmp_path_factory: pytest.TempPathFactory) -> Workbook:
    """Return thirteen propellers on 4S and one on 3S, each at full and at half throttle."""
    rows = [
        step | {"prop": f"6x{place}", "pitch": float(place), "thrust": step["thrust"] - place}
        for place in range(1, 14)
        for step in (SESSION[2], SESSION[4])
    ]
    rows += [row | {"cells": 3.0, "voltage": row["voltage"] * 0.75} for row in rows[:2]]
    return written(assessed(rows), tmp_path_factory.mktemp("charts") / "many.xlsx")


@pytest.mark.parametrize("title", labels.LINES)
def test_throttle_steps_are_drawn_in_the_order_of_thrust(shown_workbook: Workbook, title: str) -> None:
    x_axis, y_axis, x, y = labels.LINES[title]
    chart = shown_workbook.charts(labels.CHART_SHEET)[title]
    assert (text_of(chart.x_axis.title), text_of(chart.y_axis.title)) == (x_axis, y_axis)
    drawn = shown_workbook.drawn(chart)
    assert [series.name for series in drawn] == list(STEPS)
    for series in drawn:
        points = [(across, up) for across, up in zip(series.x, series.y, strict=True) if up is not None]
        for point, step in zip(points, STEPS[series.name], strict=True):
            names = dict(zip(("throttle", "thrust", "current", "volts"), step, strict=True))
            names["grams_per_watt"] = names["thrust"] / (names["volts"] * names["current"])
            assert point == pytest.approx((names[x], names[y]))


@pytest.mark.parametrize("title", labels.BARS)
def test_bars_of_full_throttle(shown_workbook: Workbook, title: str) -> None:
    axis, what = labels.BARS[title]
    chart = shown_workbook.charts(labels.CHART_SHEET)[title]
    assert text_of(chart.y_axis.title) == axis
    drawn = {series.name: (series.x, series.y) for series in shown_workbook.drawn(chart)}
    assert drawn == {name: (["6x4"], [pytest.approx(height)]) for name, height in BAR_HEIGHTS[what].items()}


@pytest.mark.parametrize("title", labels.BARS_OF_PEAKS)
def test_bars_of_peaks_leave_out_what_does_not_count(peaks_only: Workbook, title: str) -> None:
    axis, what = labels.BARS_OF_PEAKS[title]
    chart = peaks_only.charts(labels.CHART_SHEET)[title]
    assert text_of(chart.y_axis.title) == axis
    drawn = peaks_only.drawn(chart)
    assert [series.name for series in drawn] == ["3S", "4S"]
    for series in drawn:
        assert series.x == ["7x4", "6x4", "5x4"]
        wanted = PEAK_BARS[what][series.name]
        assert series.y == [None if value is None else pytest.approx(value) for value in wanted]


def test_peaks_only_have_no_other_charts(peaks_only: Workbook) -> None:
    """Neither throttle steps nor a speed were read: nothing against throttle or speed, and no dots without names."""
    assert set(peaks_only.charts(labels.CHART_SHEET)) == set(labels.BARS_OF_PEAKS)


@pytest.mark.parametrize(
    ("kind", "titles"), [("shown_workbook", labels.PRINTED_OF_STEPS), ("peaks_only", labels.PRINTED_OF_PEAKS)]
)
def test_two_charts_a_page_that_the_report_does_not_draw(
    kind: str, titles: tuple[str, ...], request: pytest.FixtureRequest
) -> None:
    workbook: Workbook = request.getfixturevalue(kind)
    area = str(workbook.formulas[labels.CHART_SHEET].print_area).rpartition("!")[2].replace("$", "")
    last = int(area.rpartition(":")[2].lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ"))
    charts = workbook.charts(labels.CHART_SHEET)
    assert {title for title, chart in charts.items() if chart.anchor._from.row < last} == set(titles)
    assert all(chart.anchor.to.row <= last for title, chart in charts.items() if title in titles)


def test_more_lines_than_a_chart_takes(many: Workbook) -> None:
    """Thirteen propellers on 4S: the twelve with the highest thrust are drawn, and the title says so."""
    charts = many.charts(labels.CHART_SHEET)
    for title in labels.LINES:
        assert [len(charts[title + words].series) for words in (" on 3S", " on 4S (12 of 13 propellers)")] == [1, 12]
        names = [series.name for series in many.drawn(charts[f"{title} on 4S (12 of 13 propellers)"])]
        assert names == [f"6x{place} on 4S" for place in range(1, 13)]


@pytest.mark.parametrize("kind", ["shown_workbook", "peaks_only", "many"])
def test_charts_keep_numbers_and_nothing_else(kind: str, request: pytest.FixtureRequest) -> None:
    """A scatter chart with a text among its x is drawn at 1, 2, 3, and what is kept of ``#N/A`` is drawn where it says."""
    workbook: Workbook = request.getfixturevalue(kind)
    for title, chart in workbook.charts(labels.CHART_SHEET).items():
        for series, drawn in zip(chart.series, workbook.drawn(chart), strict=True):
            assert any(value is not None for value in drawn.y), title
            up = series.val if is_bar(series) else series.yVal
            assert kept(up.numRef) == {at: value for at, value in enumerate(drawn.y) if value is not None}, title
            if not is_bar(series):
                assert series.xVal.strRef is None, title
                assert kept(series.xVal.numRef) == dict(enumerate(drawn.x)), title


def kept(reference: Any) -> dict[int, Any]:
    """Return what a chart keeps of its cells, by their place."""
    return {int(point.idx): pytest.approx(float(point.v)) for point in reference.numCache.pt}
