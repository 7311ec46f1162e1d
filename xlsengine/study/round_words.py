"""What is said of whole rounds that one mistake explains: one flag a reading, all in the same words."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np

from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.case import TOO_HIGH, TOO_LOW, Case
from xlsengine.study.flags import Flag, span, to_type, typed
from xlsengine.study.round_mistakes import MILLIAMPS, UNITS, Undone, undone

MOST_MISTAKES = 3
"""Mistakes that are sought one after the other in one table."""

CERTAIN = math.log(1.4)
"""A factor from which on no pack, motor or weather did it: the readings are impossible as they stand."""

UNIT_OF = {1 / grams: unit for unit, grams in UNITS.items()}
CAUSES = {
    ("thrust", 0.0): "The stand had another lever arm or calibration, or one of two load cells did not count.",
    ("thrust", 0.1): "The decimal point is one place off.",
    ("thrust", 10.0): "The decimal point is one place off.",
    ("current", 0.0): "The current meter was set or calibrated otherwise.",
    ("current", 0.1): "The meter stood on another range, or the decimal point is one place off.",
    ("current", 10.0): "The meter stood on another range, or the decimal point is one place off.",
    ("current", 0.5): "The current meter was around, or in, one of two leads.",
}
"""Why a column is off by a factor; by any, where none is named (common practice, no source)."""

SYMBOLS = {"newtons": "N", "ounces": "oz", "pounds": "lb", "kilograms": "kg"}


EQUAL = "repeats within a few percent, at equal volts"
ALIKE = "grams per amp nearly the same at every cell count"

Words = tuple[str, str, str, str, str]
"""Title, found, expected, cause, fix."""


def _where(told: Undone) -> str:
    """Name its rows."""
    return "all readings" if told.at.size == told.rows.size else told.rows.named(told.at)


def _elsewhere(told: Undone) -> str:
    """Name the rows that the same propellers' readings stand in: repeats, or else the other cell counts."""
    point, _ = told.table.labels(told.table.read)
    others = np.setdiff1d(np.arange(told.rows.size), told.at)
    if not told.profile.repeated.any():
        return " and ".join(f"{count:.0f}S" for count in np.unique(told.rows.cells[others]))
    return told.rows.named(others[np.isin(point[others], point[told.at])])


def _counts(told: Undone) -> str:
    """Name their cell counts."""
    return " and ".join(f"{count:.0f}S" for count in np.unique(told.rows.cells[told.at]))


def _first(told: Undone) -> str:
    """Say what is to be typed in the first of its rows."""
    column = told.mistake.column
    found, due = told.read(column)[0], _three(told.due(column)[0])
    return f"in {told.rows.name(int(told.at[0]))} {to_type(due, column)} for {typed(found, column)}"


def _three(value: float) -> float:
    return float(f"{value:.3g}") if abs(value) < 1000 else float(round(value))


def _factor(told: Undone) -> Words:
    if told.mistake.column == "thrust" and told.size in UNIT_OF:
        return _unit(told)
    if told.mistake.column == "current" and told.size == MILLIAMPS:
        return _watts(told, "milliamps", "mA", "divided by 1000")
    name, unit, decimals = ("Thrusts", "g", 0) if told.mistake.column == "thrust" else ("Amps", "A", 1)
    size, back = f"{told.size:.2g}", f"{1 / told.size:.2g}"
    cure = f"type {back} times as much in each: {_first(told)}"
    return (
        f"{name} off by one factor",
        f"{_where(told)}: {size} times what the same propellers have in {_elsewhere(told)}, at equal volts",
        f"{span(told.due(told.mistake.column), decimals)} {unit}, as there",
        CAUSES.get((told.mistake.column, told.size)) or CAUSES[told.mistake.column, 0.0],
        f"Find out which are right. If the others, {cure}; if these, type {size} times as much in {_elsewhere(told)}. "
        "Not known: repeat some points of both."
        if told.rivals
        else f"If your bench notes agree, {cure}; otherwise repeat some points.",
    )


def _unit(told: Undone) -> Words:
    unit = UNIT_OF[told.size]
    symbol, whole = SYMBOLS[unit], told.at.size == told.rows.size
    in_cell = f"{told.read('thrust')[0]:.10g} {symbol}"
    return (
        f"Thrust perhaps in {unit}",
        f"{span(told.read('thrust'), 2)} g in {_where(told)}",
        f"grams; read as {unit} {span(told.read('thrust') * UNITS[unit], 0)} g, usual readings",
        f"The thrust stand showed {unit}.",
        f'Change the header to "Thrust ({symbol})" if all are in {unit}.'
        if whole
        else f'Type the grams, or the unit behind each number: "{in_cell}".',
    )


def _watts(told: Undone, unit: str = "watts", symbol: str = "W", how: str = "over the volts of their own row") -> Words:
    low, high = (f"{end:.3g}" for end in (told.due("current").min(), told.due("current").max()))
    return (
        f"Amps perhaps in {unit}",
        f"{span(told.read('current'), 1)} A in {_where(told)}",
        f"amps; {unit} {how} are {low} to {high} A, as in {_elsewhere(told)}",
        f"The meter showed {unit}, or that column of its log was typed.",
        f"If your bench notes have {symbol}, type the amps, here {unit} {how}: {_first(told)}.",
    )


def _amount(told: Undone) -> Words:
    is_thrust = told.mistake.column == "thrust"
    amount = f"{abs(told.size):.0f} g" if is_thrust else f"{abs(told.size):.1f} A"
    more, there = ("more" if told.size > 0 else "less"), _elsewhere(told)
    off, add = ("take", "off") if told.size > 0 else ("add", "to each")
    off_there = f"add the {amount} there" if told.size > 0 else f"take the {amount} off there"
    cure = f"if it was off here, {off} the {amount} {add}; if it was off in {there}, {off_there}"
    if told.is_across:
        cure = "type what would have been read with it, since these grams or amps are rough"
    return (
        "Tare perhaps left in a round" if is_thrust else "Amps off by one amount",
        f"on {_counts(told)} {_where(told)} read about {amount} {more} than {there}, whatever the propeller, with the same "
        + ("amps" if is_thrust else "thrust"),
        ALIKE if told.is_across else EQUAL,
        f"The {'stand' if is_thrust else 'current meter'} was not set to zero before one of the two rounds, or its zero moved"
        + ("; which of the two cannot be told." if told.rivals else "."),
        f"Look up the zero before and after both rounds: {cure}. Not known: repeat some points with a fresh zero.",
    )


METERS = {"thrust": "the stand", "current": "the current meter"}
HAPPENED = {"amount": "was not set to zero", "factor": "was calibrated otherwise"}


def _shares(told: Undone) -> str:
    """Say what tare on which cell count would do it."""
    said = [
        f"about {abs(each.size):.0f} g too {'many' if each.size > 0 else 'few'} on "
        + " and ".join(f"{count:.0f}S" for count in np.unique(told.rows.cells[each.profile.at]))
        for each in (told, *told.rivals)
    ]
    return ": " + ", or ".join(dict.fromkeys(said))


def _across(told: Undone) -> Words:
    """Say what other cell counts tell and cannot tell apart."""
    rows, tried = told.rows, [told.mistake, *(each.mistake for each in told.rivals)]
    full, per_amp = rows.point > 0, rows.thrust / rows.current
    middle = {count: np.median(per_amp[full & (rows.cells == count)]) for count in np.unique(rows.cells[full])}
    where = f"on {_counts(told)}" if told.at.size == told.profile.at.size else "on one of them"
    is_tare = {(each.name, each.column) for each in tried} == {("amount", "thrust")}
    meters = " or ".join(dict.fromkeys(METERS[each.column] for each in tried))
    happened = " or ".join(dict.fromkeys(HAPPENED.get(each.name, "read otherwise") for each in tried))
    return (
        "Tare perhaps left on a cell count" if is_tare else "Grams per amp differ across cell counts",
        ", ".join(f"{found:.1f} g/A on {count:.0f}S" for count, found in middle.items())
        + (f"{_shares(told)}, whatever the propeller" if is_tare else ", of all propellers alike"),
        ALIKE,
        f"{where.capitalize()} {meters} {happened}; more cannot be told from these readings.",
        f"Find out whether {where} {meters} {happened}; not known: repeat some points of both with fresh zeros.",
    )


def _both(told: Undone) -> Words:
    amps = float(np.exp(np.nanmedian(told.profile.off[1])))
    return (
        "A whole round reads otherwise",
        f"{_where(told)}: {told.size:.2g} times the thrust and {amps:.2g} times the amps of {_elsewhere(told)}, at equal "
        "volts",
        EQUAL,
        "Throttle was not full in one of them (the ESC's end point); or another ESC, motor, timing, or propellers.",
        "Compare with your bench notes what was changed between the two; set Use of the readings that are not this motor's "
        "to no, or repeat some points.",
    )


def _volts(told: Undone) -> Words:
    there = told.due("voltage")
    return (
        "Volts not those of these readings",
        f"{span(told.read('voltage'), 2)} V in {_where(told)}, with the amps and thrust of {_elsewhere(told)}",
        f"about {span(there, 1)} V, as there",
        "The volts are those of other readings, of the label or of the charger.",
        "If your bench notes have the volts under load, type them; otherwise repeat some points."
        + _stop(told, "If they are right"),
    )


def _stop(told: Undone, condition: str) -> str:
    """Say to stop where the volts as typed are beyond what a cell can have."""
    per_cell, limits = told.read("voltage") / told.read("cells"), told.table.case.limits
    if per_cell.max() > limits.cell_voltage_most:
        return f" {condition}, {limits.stop(TOO_HIGH)}."
    return f" {condition}, {limits.stop(TOO_LOW)}." if per_cell.min() < limits.cell_voltage_low and limits.sags else ""


def _per_cell(told: Undone) -> Words:
    return (
        "Voltage looks like volts per cell",
        f"{span(told.read('voltage'), 2)} V in {_where(told)}",
        f"volts of the whole pack, {span(told.due('voltage'), 2)} V",
        "The meter shows the volts of one cell: times Cells they are the pack's.",
        f"If your bench notes agree, type Cells times as much: {_first(told)}. "
        f"If they are the whole pack's, {told.table.case.limits.stop(TOO_LOW)}.",
    )


def _exchanged(told: Undone) -> Words:
    volts, amps = (span(told.read(column), 2) for column in ("voltage", "current"))
    whole = told.at.size == told.rows.size
    return (
        "Voltage and current exchanged",
        f"{volts} V and {amps} A in {_where(told)}",
        f"{amps} V and {volts} A: {span(told.due('voltage') / told.read('cells'), 2)} V a cell",
        "Volts and amps stand in each other's column.",
        (
            "Exchange the two headers."
            if whole
            else "If your bench notes agree, exchange volts and amps of these readings."
        )
        + f" If they are right, {told.table.case.limits.stop(TOO_HIGH)}.",
    )


def _turned(told: Undone) -> Words:
    typed_as, meant = (span(volts / told.read("cells"), 2) for volts in (told.read("voltage"), told.due("voltage")))
    return (
        "Two readings exchanged",
        f"{typed_as} V a cell in {_where(told)}",
        f"{meant} V a cell, and thrust and amps as their propellers have them elsewhere, once the two change places",
        "What was read for one stands in the row of the other.",
        f"If your bench notes agree, exchange all that was read in {_where(told)}." + _stop(told, "If they are right"),
    )


def _cells(told: Undone) -> Words:
    has, meant = (span(cells, 0) for cells in (told.read("cells"), told.due("cells")))
    typed_as, then = (span(told.read("voltage") / cells, 2) for cells in (told.read("cells"), told.due("cells")))
    is_low = told.due("cells")[0] < told.read("cells").mean()
    return (
        f"Cells perhaps {meant}",
        f"{has} in {_where(told)}: {typed_as} V a cell",
        f"{meant}: {then} V a cell" + f", and thrust and amps as on {meant}S" * bool(told.after.repeated.any()),
        "The cell count of another pack was typed, or copied, or it counted up when the cell was dragged down.",
        f"Check Cells first: if the pack had {meant}, type {meant}. If it had {has}, "
        f"{told.table.case.limits.stop(TOO_LOW if is_low else TOO_HIGH)}.",
    )


def _moved(told: Undone) -> Words:
    what = {"prop": "Propellers", "thrust": "Thrusts", "current": "Amps"}[told.mistake.column]
    way = "up" if (told.size < 0) is (told.mistake.column != "prop") else "down"
    return (
        f"{what} moved by one row",
        f"{_where(told)}: the {what.lower()} are those of the rows beside them, as {_elsewhere(told)} tell",
        f"each fits once the {what.lower()} move one row {way}",
        "One was left out or typed twice, and those after it went into the wrong rows.",
        f"If your bench notes agree, move the {what.lower()} of {_where(told)} one row {way}, and type the one at the end "
        "from your notes; otherwise repeat them.",
    )


WORDS: dict[str, Callable[[Undone], Words]] = {
    "unit": _unit,
    "per cell": _per_cell,
    "exchanged": _exchanged,
    "turned": _turned,
    "cells": _cells,
    "factor": _factor,
    "watts": _watts,
    "both": _both,
    "amount": _amount,
    "volts": _volts,
    "moved": _moved,
}


def round_mistakes(case: Case) -> list[Flag]:
    """Flag the rounds that one mistake explains, one mistake after the other."""
    flags: list[Flag] = []
    for _ in range(MOST_MISTAKES):
        found = undone(case) if case.rows.size else []
        if not found:
            break
        best = _flattering(found)
        told = list(_flags(replace(best, rivals=tuple(each for each in found if each is not best))))
        flags, case = flags + told, case.without(told)
    return flags


def _flattering(found: list[Undone]) -> Undone:
    """Choose the mistake that is flagged: where two rounds may have it, that which has more thrust or fewer amps than due."""
    best, *rivals = found
    for rival in () if best.is_across else rivals:
        wanted = rival.size < 1 if rival.mistake.column == "current" or rival.mistake.name == "both" else rival.size > 1
        if wanted and rival.mistake is best.mistake:
            return rival
    return best


def _flags(told: Undone) -> Iterator[Flag]:
    name, column = told.mistake.name, told.mistake.column
    is_across = told.is_across and bool(told.rivals) and name in HAPPENED
    at = np.unique(np.concatenate([told.at, *(each.at for each in told.rivals)])) if is_across else told.at
    due = told.due("cells")
    for part in [told.at[due == count] for count in np.unique(due)] if column == "cells" else [at]:
        title, *words = (_across if is_across else WORDS[name])(replace(told, at=part))
        settles = column in ("voltage", "cells")
        yield from told.rows.flags(part, title, column, *words, severity=_severity(told), settles_volts=settles)


def _severity(told: Undone) -> Severity:
    """Return how sure it is: impossible where no other rows may be it, and no pack, motor or weather."""
    name = told.mistake.name
    if name in ("amount", "both") or told.rivals or (name == "cells" and _can_be(told)):
        return Severity.DOUBTFUL
    is_far = name not in ("factor", "volts") or abs(math.log(told.size)) >= CERTAIN
    return Severity.IMPOSSIBLE if is_far else Severity.DOUBTFUL


def _can_be(told: Undone) -> bool:
    """Tell whether each typed count gives volts in some rows that a nearly empty pack has."""
    fits, cells = told.table.read.fits_cells(told.table.case)[told.at], told.read("cells")
    return bool(np.isin(cells, cells[fits]).all())
