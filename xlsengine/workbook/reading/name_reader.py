"""Diameter, pitch and blades from a propeller's name: filled in where blank, held against what was typed."""

from __future__ import annotations

from collections.abc import Mapping

from xlsengine.bench.bench_test import Value
from xlsengine.bench.readings import READINGS
from xlsengine.errors import Reason
from xlsengine.workbook.reading.area_reader import AreaReader, Place
from xlsengine.workbook.reading.cells import number_text
from xlsengine.workbook.reading.propeller_names import Geometry, named
from xlsengine.workbook.reading.typed_values import Refusal, shown

GEOMETRY = ("diameter", "pitch", "blades")


def complete_from_name(
    reader: AreaReader, places: Mapping[str, Place], row: int, columns: Mapping[str, list[Value]], index: int,
    if_blank: str,
) -> None:  # fmt: skip
    """Fill a row's blank diameter, pitch and blades from its propeller's name where that has one reading.

    Keeps a fault where the name contradicts what was typed, and where a diameter is still missing.
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
    if "diameter" in blank and "diameter" in places and columns["diameter"][index] is None:
        _still_missing(reader, places, row, str(name), agreeing, if_blank)
    elif len(agreeing) > 1 and "pitch" in blank:
        _tell_ambiguous(reader, places, row, str(name), agreeing)


def _is_blank(reader: AreaReader, places: Mapping[str, Place], row: int, part: str) -> bool:
    return part not in places or reader.content(row, places[part].column) is None


def _number(value: Value) -> float | None:
    return value if isinstance(value, float) else None


def _fill(
    reader: AreaReader, places: Mapping[str, Place], row: int, part: str, geometry: Geometry, values: list[Value],
    index: int, name: str,
) -> bool:  # fmt: skip
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
        Reason.CONTRADICTION, f"{shown(name)}, which says {said}", "mend the name or the figures",
        "a name that agrees with diameter, pitch and blades of its row",
    )  # fmt: skip
    reader.refuse(READINGS.fields["prop"], row, column, READINGS.fields["prop"].header, refusal)


def _still_missing(
    reader: AreaReader, places: Mapping[str, Place], row: int, name: str, agreeing: list[Geometry], if_blank: str
) -> None:
    declared = READINGS.fields["diameter"]
    mend = f"{shown(name)} can mean {' or '.join(map(str, agreeing))}; type which" if agreeing else if_blank
    refusal = Refusal(Reason.REQUIRED_BLANK, "nothing", mend)
    reader.refuse(declared, row, places["diameter"].column, declared.header, refusal)


def _tell_ambiguous(
    reader: AreaReader, places: Mapping[str, Place], row: int, name: str, agreeing: list[Geometry]
) -> None:
    said = f"can mean {' or '.join(map(str, agreeing))}; pitch stays blank"
    _tell_once(reader, row, places["prop"].column, name, said)


def _tell_once(reader: AreaReader, row: int, column: int, name: str, said: str) -> None:
    """Tell of a name in the first of its rows."""
    if name not in reader.told_names:
        reader.told_names.add(name)
        reader.findings.tell(f"{reader.area.place(row, column)} Prop: {shown(name)} {said}")
