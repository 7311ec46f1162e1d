"""Repeatability: how well the bench repeats itself, and each reading against its repeats."""

from xlsengine.bench.groups.repeatability import (
    PEAKS,
    REPEATABILITY,
    drift_verdict,
    peaks_compared,
    repeat_groups,
    scatter_basis,
    zero_readings,
    zero_verdict,
)
from xlsengine.bench.groups.repeats import GROUPS, REPEATS
from xlsengine.bench.propagation.accuracies import ACCURACIES
from xlsengine.expression import join
from xlsengine.workbook.sheets.parts import FiguresPart, Kind, Sentences, SheetPlan, TablePart, any_of

_SAID = (
    join("Scatter is taken from ", scatter_basis, "."),
    join("Drift over the runs is ", drift_verdict, "."),
    join("Zero of the stand: ", zero_verdict, "."),
)
_SPANS = ((0, 2), (3, 5), (6, 6), (7, 11), (12, 15))
_ROOM = (38, 30, 9, 58, 48)  # letters in each of them
SHEET = SheetPlan(
    "Repeatability",
    Kind.WORKING,
    "scatter, drift, peak against steady, zero of the stand",
    heading="Repeat readings show how far a single reading can be trusted.",
    parts=(
        Sentences(_SAID),
        TablePart(GROUPS, "Scatter by group", ("repeat_prop",)),
        TablePart(PEAKS, "Peak against steady", ("peak_prop",)),
        TablePart(REPEATS, "Each reading against its repeats", ("repeats_prop",)),
        FiguresPart(REPEATABILITY, _SPANS, _ROOM),
        FiguresPart(ACCURACIES, _SPANS, _ROOM),
    ),
    widths=(17, *[10.0] * 15),
    measured=any_of(repeat_groups, peaks_compared, zero_readings),
    more="Repeat readings, or take peak and steady ones, to see scatter and drift",
)
