"""Diameter, pitch and blades from a propeller's name: filled in where blank, held against what was typed."""

from __future__ import annotations

import re
from collections.abc import Mapping

from xlsengine.bench.inputs.bench_test import Value
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.errors import Reason
from xlsengine.workbook.reading.area_reader import AreaReader, Place
from xlsengine.workbook.reading.cells import number_text
from xlsengine.workbook.reading.propeller_names import Geometry, named
from xlsengine.workbook.reading.typed_values import Refusal, shown

GEOMETRY = ("diameter", "pitch", "blades")


def complete_from_name(
    reader: AreaReader, places: Mapping[str, Place], row: int, columns: Mapping[str, list[Value]], index: int
) -> None:
    """Fill a row's blank diameter, pitch and blades from its propeller's name where that has one reading.

    Keeps a fault where the name contradicts what was typed, and where it would fill a blank diameter with what no
    propeller has.
    """
    name = columns["prop"][index]
    blank = [part for part in GEOMETRY if _is_blank(reader, places, row, part)]
    meant = named(name) if isinstance(name, str) else None
    typed = [_number(columns[part][index]) for part in GEOMETRY]
    agreeing = [reading for reading in meant.readings if reading.agrees(*typed)] if meant else []
    if meant and meant.readings and not agreeing:
        _contradicted(reader, places, row, str(name), meant.readings, meant.plain)
    if len(agreeing) == 1:
        filled = [_fill(reader, places, row, part, agreeing[0], columns[part], index, str(name)) for part in blank]
        if any(filled):
            where = reader.area.place(row, places["prop"].column)
            reader.from_names.setdefault((shown(name), str(agreeing[0])), []).append(where)
    if meant and meant.beyond and "diameter" in blank:
        _no_propeller(reader, places, row, str(name), meant.beyond)
    elif len(agreeing) > 1 and ("diameter" in blank or "pitch" in blank):
        _tell_ambiguous(reader, places, row, str(name), agreeing)


def _is_blank(reader: AreaReader, places: Mapping[str, Place], row: int, part: str) -> bool:
    return part not in places or reader.content(row, places[part].column) is None


def _number(value: Value) -> float | None:
    return value if isinstance(value, float) else None


def _fill(
    reader: AreaReader,
    places: Mapping[str, Place],
    row: int,
    part: str,
    geometry: Geometry,
    values: list[Value],
    index: int,
    name: str,
) -> bool:
    """Fill one cell, and tell whether the name states it."""
    value: float | None = getattr(geometry, part)
    if value is None:
        return False
    values[index] = value
    declared = READINGS.fields[part]
    column = places[part if part in places else "prop"].column
    found = f"nothing, but {shown(name)} under Prop,"
    reader.findings.read(reader.area.place(row, column), declared.header, found, number_text(value), told=False)
    return True


def _contradicted(
    reader: AreaReader, places: Mapping[str, Place], row: int, name: str, readings: tuple[Geometry, ...], plain: bool
) -> None:
    """Keep a fault where a name with signs says otherwise than its row; bare digits may be any name, and are told."""
    column = places["prop"].column
    said = " or ".join(map(str, readings))
    if not plain:
        _tell_once(reader, row, column, name, f"looks like {said}; the row's own figures were taken")
        return
    refusal = Refusal(
        Reason.CONTRADICTION,
        f"{shown(name)}, which says {said}",
        "fix the name or the figures",
        "a name that agrees with diameter, pitch and blades of its row",
    )
    reader.refuse(READINGS.fields["prop"], row, column, READINGS.fields["prop"].header, refusal)


def _no_propeller(reader: AreaReader, places: Mapping[str, Place], row: int, name: str, beyond: Geometry) -> None:
    """Keep a fault for a name whose figures are beyond their limits: usually a decimal mark is missing."""
    limits = (READINGS.fields[part] for part in GEOMETRY)
    wanted = ", ".join(
        f"{one.label.lower()} {one.low:g} to {one.high:g}{f' {one.unit}' * bool(one.unit)}" for one in limits
    )
    refusal = Refusal(
        Reason.OUT_OF_LIMITS,
        f"{shown(name)}, which says {beyond}",
        f"check the name's decimal mark{_likely_name(name)}, or type the diameter in its own cell",
        f"a name that says {wanted}",
    )
    reader.refuse(READINGS.fields["prop"], row, places["prop"].column, READINGS.fields["prop"].header, refusal)


def _likely_name(name: str) -> str:
    """Offer the name with its first figure divided by ten, where that makes a propeller.

    >>> _likely_name("51x4.3x3"), _likely_name("5x900")
    (' (5.1x4.3x3?)', '')
    """
    slipped = re.sub(r"(?<![\d.,])(\d+)(\d)(?=\s*[x×*])", r"\1.\2", name, count=1, flags=re.IGNORECASE)
    return f" ({slipped}?)" if slipped != name and named(slipped).readings else ""


def _tell_ambiguous(
    reader: AreaReader, places: Mapping[str, Place], row: int, name: str, agreeing: list[Geometry]
) -> None:
    said = f"can mean {' or '.join(map(str, agreeing))}; what it leaves open stays blank"
    _tell_once(reader, row, places["prop"].column, name, said)


def _tell_once(reader: AreaReader, row: int, column: int, name: str, said: str) -> None:
    """Tell of a name in the first of its rows."""
    if name not in reader.told_names:
        reader.told_names.add(name)
        reader.findings.tell(f"{reader.area.place(row, column)} Prop: {shown(name)} {said}")
