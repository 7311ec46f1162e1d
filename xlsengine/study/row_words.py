"""What is said of mistakes in one reading, or between two of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.case import Case, JudgedRows
from xlsengine.study.flags import Flag, label_of, to_type, typed
from xlsengine.study.row_mistakes import UNITS, Change, Kind, changes


def row_mistakes(case: Case) -> list[Flag]:
    """Flag readings that fit the others once a decimal point, two columns or two rows of a column are put right."""
    told = changes(case) if case.rows.size else []
    explained = {at for alike in told for at in alike[0].at}
    return [
        flag
        for alike in told
        if not case.doubted[alike[0].at[0]] and not _is_by_impossible(case.rows, alike[0], explained)
        for flag in _flags(case, alike)
    ]


def _is_by_impossible(rows: JudgedRows, change: Change, explained: set[int]) -> bool:
    """Tell whether a propeller's name is doubted by readings of it that are impossible and unexplained."""
    at = change.at[0]
    if change.kind is not Kind.LABEL or "prop" not in change.columns or rows.impossible[at]:
        return False
    others = np.flatnonzero(rows.impossible & (rows.prop == rows.prop[at])).tolist()
    return bool(set(others) - explained)


def _flags(case: Case, alike: list[Change]) -> Iterator[Flag]:
    first, rows = alike[0], case.rows
    columns = tuple(each.columns[0] for each in alike)
    if first.kind is Kind.SLIP:
        for at in range(len(first.at)):
            yield _slip(case.rows, [_only(rows, each, at) for each in alike])
    elif first.kind is Kind.COLUMNS:
        yield _turned(rows, first.at[0], *first.columns)
    elif first.kind is Kind.LABEL:
        yield _label(rows, alike)
    else:
        also = {"voltage": ", or cell counts,", "throttle": ", or all others of the two,"}.get("".join(columns), "")
        cause = f"Two figures{also} changed places between two readings: both fit the others once exchanged."
        upper, lower = first.at
        yield from (exchanged(rows, columns, *pair, cause) for pair in ((upper, lower), (lower, upper)))


def _only(rows: JudgedRows, change: Change, at: int) -> Change:
    """Return a slip in several rows as it is in one of them."""
    read, place = {name: values[at : at + 1] for name, values in change.read.items()}, change.at[at]
    is_watts = change.times == 1 / rows.voltage[change.at[0]]
    times = float(1 / rows.voltage[place]) if is_watts else change.times
    return replace(change, at=(place,), read=read, times=times)


def _slip(rows: JudgedRows, alike: list[Change]) -> Flag:
    """Say what slipped; what other readings of the propeller, or of others, tell beside the line is as good as certain."""
    at, columns = alike[0].at[0], [each.columns[0] for each in alike]
    words = " or ".join(map(label_of, columns))
    moved = " or ".join(dict.fromkeys("multiplied" if each.times > 1 else "divided" for each in alike))
    if columns[0] == "current" and alike[0].times == 1 / rows.voltage[at]:
        return _watts(rows, at, alike)
    unit = UNITS.get((str(columns[0]), alike[0].times))
    shifted, to_be_typed = (
        " or ".join(say(rows.reading(each.columns[0])[at] * each.times, each.columns[0]) for each in alike)
        for say in (typed, to_type)
    )
    return rows.flag(
        at,
        f"{words.capitalize()} perhaps in {unit}" if unit else f"Decimal slip in {words}",
        columns[0],
        " and ".join(typed(rows.reading(column)[at], column) for column in columns),
        f"near {shifted}",
        f"{f'Typed in {unit}' if unit else 'The decimal point is one place off'}: {moved} by {1000 if unit else 'ten'}, the "
        "value fits the other readings.",
        f"If your bench notes agree, type {to_be_typed}.",
        severity=Severity.IMPOSSIBLE if rows.impossible[at] or _is_sure(alike) else Severity.DOUBTFUL,
    )


def _watts(rows: JudgedRows, at: int, alike: list[Change]) -> Flag:
    amps = f"{alike[0].read['current'][0]:.3g} A"
    return rows.flag(
        at,
        "Current perhaps in watts",
        "current",
        typed(rows.current[at], "current"),
        f"near {amps}, these watts over {rows.entry(at, 'voltage')}",
        "Watts were typed: over the volts of their own row they are amps that fit the other readings.",
        f"If your bench notes agree, type {amps}.",
        severity=Severity.IMPOSSIBLE if rows.impossible[at] or _is_sure(alike) else Severity.DOUBTFUL,
    )


def _is_sure(alike: list[Change]) -> bool:
    """Tell whether a thrust or current alone slipped, by more than other propellers' power."""
    return len(alike) == 1 and alike[0].columns[0] in ("thrust", "current") and alike[0].backed


def _turned(rows: JudgedRows, at: int, one: str, other: str) -> Flag:
    first, second = rows.reading(one)[at], rows.reading(other)[at]
    columns, turned = (one, other), (second, first)
    fixed, to_be_typed = (" and ".join(map(words, turned, columns)) for words in (typed, to_type))
    return rows.flag(
        at,
        f"{label_of(one).capitalize()} and {label_of(other)} exchanged",
        one,
        f"{typed(first, one)} and {typed(second, other)}",
        f"{fixed}, which fit the other readings",
        "Two figures of this reading were typed into each other's columns.",
        f"If your bench notes agree, type {to_be_typed}.",
    )


def _label(rows: JudgedRows, alike: list[Change]) -> Flag:
    """Say which throttle or propeller a row may have had."""
    at, columns = alike[0].at[0], [each.columns[0] for each in alike]
    meant = [
        str(rows.prop_name[rows.prop == value][0]) if column == "prop" else typed(value, column)
        for column, value in ((column, each.read[column][0]) for each, column in zip(alike, columns, strict=True))
    ]
    title = " or ".join(f"{name_of(column)} perhaps {entry}" for column, entry in zip(columns, meant, strict=True))
    said = " or ".join(meant)
    return rows.flag(
        at,
        title[0].upper() + title[1:],
        columns[0],
        f"{rows.entry(at, columns[0])} with {rows.read(at)}",
        f"{said}, as the other readings lead to expect",
        f"A slip in typing, or the entry of another row: with {said} amps and thrust fit the other readings.",
        f"If your bench notes agree, type {said}; otherwise repeat the point.",
    )


def name_of(column: str) -> str:
    """Return what is exchanged in a column, in words."""
    return "propeller" if column == "prop" else label_of(column)


def exchanged(rows: JudgedRows, columns: tuple[str, ...], here: int, there: int, cause: str) -> Flag:
    """Return what is said of a row, by its place, whose entry in one of some columns changed places with another row's."""
    what, other = [name_of(column) for column in columns], rows.name(there)
    found, expected = (" or ".join(rows.entry(at, column) for column in columns) for at in (here, there))
    return rows.flag(
        here,
        f"{' or '.join(what).capitalize()} exchanged with {other}",
        columns[0],
        f"{found} with {rows.read(here)}" if columns[0] == "prop" else found,
        f"{expected}, {'whose other readings agree' if columns[0] == 'prop' else f'which stands in {other}'}",
        cause,
        f"If your bench notes agree, exchange the {' or '.join(f'{each}s' for each in what)} of this reading and {other}.",
        also=(there,),
    )
