"""Workbooks of earlier template versions: what was called otherwise then, one row a version, and how it is brought up
to date before anything is read."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from xlsengine.bench.declaring.declare import Form, Table
from xlsengine.bench.inputs.conditions import BENCH
from xlsengine.bench.inputs.craft import CRAFT
from xlsengine.bench.inputs.motor import MOTOR
from xlsengine.bench.inputs.no_load import DRIVEN_SPINS
from xlsengine.bench.inputs.readings import COUNT, READINGS
from xlsengine.bench.inputs.settings import SETTINGS
from xlsengine.errors import Reason
from xlsengine.workbook.layout import FORM_HEADERS, FORM_VALUE, SCHEMA_VERSION, table_name
from xlsengine.workbook.reading.cells import Found, SheetCells, content_of
from xlsengine.workbook.reading.contents import Contents
from xlsengine.workbook.reading.findings import Findings, key
from xlsengine.workbook.reading.form_reader import label_key
from xlsengine.workbook.reading.package import Area
from xlsengine.workbook.reading.typed_values import plain_text

Names = Mapping[str, str]
MOST_TOLD = 5
"""How many labels and headers that have changed are told one by one."""


class Revalued(NamedTuple):
    """A cell of a form or a table that means something else now by what it held: the default then, or another meaning."""

    part: Form | Table
    name: str
    before: Found
    now: Found
    why: str


@dataclass(frozen=True)
class Changes:
    """What the version after one calls otherwise: old headers and labels to new ones, by the name of their table."""

    names: Mapping[str, Names] = field(default_factory=dict)
    values: Sequence[Revalued] = ()


def _called(part: Form | Table, name: str) -> str:
    return part.columns[name].header if isinstance(part, Table) else part.fields[name].label


def _now(*renamed: tuple[Form | Table, Names]) -> dict[str, Names]:
    """Return old labels and headers with those of now, from old ones with the names of fields and columns."""
    return {table_name(part): {old: _called(part, name) for old, name in names.items()} for part, names in renamed}


CHANGES: dict[int, Changes] = {
    1: Changes(
        {
            READINGS.name: {
                "Group checks": "Comparisons",
                "Group checks, severity": "Comparisons, severity",
                "Row used": "Reading judged",
                "In-flight reduction": "In flight, rule",
            },
            **_now((SETTINGS, {"Pitch over diameter without reduction above": "pitch_ratio_limit"})),
        },
        (
            Revalued(READINGS, "use", COUNT, None, "blank then meant the same; now “yes” overrules the checks"),
            Revalued(SETTINGS, "headline_thrust", 500.0, None, "the default then; blank follows the motor"),
            Revalued(SETTINGS, "pitch_ratio_limit", 0.8, 1.0, "the default then; open data do not bear it"),
        ),
    ),
    2: Changes(
        _now(
            (
                READINGS,
                {
                    "Hover efficiency": "hover_efficiency",
                    "Speed over Kv times volts": "speed_ratio",
                    "Speed over the loaded line": "own_line_ratio",
                },
            ),
            (DRIVEN_SPINS, {"Peak, doubt in two diodes": "driven_diodes"}),
            (MOTOR, {"Sample was": "sample_origin", "Size is of the": "size_code_means"}),
            (BENCH, {"Air pressure, station": "air_pressure"}),
            (CRAFT, {"Way of flying": "way_of_flying"}),
            (
                SETTINGS,
                {
                    "In-flight fall of current, least": "flight_share_low",
                    "In-flight fall of current, most": "flight_share_high",
                    "Normalising: farthest in volts": "volts_reach",
                    "Normalising: farthest in air density": "density_reach",
                    "Speed over Kv times volts where no speed was read": "assumed_speed_ratio",
                    "Hover efficiency, highest plausible": "efficiency_high",
                    "Hover efficiency, lowest plausible at full throttle": "efficiency_low",
                    "Speed over Kv times volts, highest plausible": "speed_ratio_high",
                    "Speed over Kv times volts, lowest plausible at full throttle": "speed_ratio_low",
                    "Loaded line: largest load over smallest, at least": "line_load_range",
                    "Loaded line: largest usual scatter": "line_residual_limit",
                    "Loaded line: winding warmer at the largest load than at the smallest, by up to": "line_warmth",
                    "Loaded line: farthest that one row may lie off": "line_misfit_limit",
                    "Prediction: speed over Kv times volts where no speed was read, off by up to": "prediction_loading",
                },
            ),
        ),
        (Revalued(SETTINGS, "budget_figure", "hover efficiency", "overall static efficiency", "its name now"),),
    ),
}
RENAMED = Changes(
    _now(
        (
            READINGS,
            {
                "Electrical speed (rpm)": "electrical_speed",
                "In-flight current, low (A)": "flight_current_low",
                "In-flight current, high (A)": "flight_current_high",
                "Thrust coefficient against the median (%)": "own_coefficient_off",
            },
        )
    )
)
"""Computed columns that were renamed since the present version began."""
GONE: Mapping[str, tuple[str, ...]] = {
    READINGS.name: (
        "Current of unstated kind",
        "Sweep throttle (%)",
        "Sweep thrust",
        "Throttle taken (%)",
        "What repeats have in common",
        "Sweep thrust, left out or not",
        "Power per motor mass (W/g)",
        "Thrust per motor mass (g/g)",
        "Thrust per stator volume (g/cm³)",
        "Thrust to motor mass (g/g)",
        "In-flight power, low (W)",
        "In-flight power, high (W)",
        "In-flight power, low, estimate (W)",
        "In-flight power, high, estimate (W)",
        "In flight by",
        "Checks that say stop",
        "Comparisons",
        "Comparisons, severity",
        "Comparisons, column",
        "Comparisons, order of explanation",
        "Comparisons, order of explanation that holds",
        "Reading judged",
        "Thrust that counts",
        "Left out",
        "Left out for column",
        "Relied on",
        "Counts",
        "Flagged",
        "Sound",
    )
}
"""Computed columns that results of the present version had: what stands in one is nobody's, where it is no column now."""
GONE_TEXTS = ("Why: the first limit that is not met, else what it gives", "Lifts at 2:1 / 4:1")
"""Heads of computed cells beside an input table that they had."""


def up_to_date(contents: Contents, findings: Findings) -> Contents:
    """Return a workbook's contents as the present version would hold them, and tell what changed.

    Keeps a fault for a version that is newer, or that no one knows.
    """
    version = contents.schema_version
    if version is None:
        return contents
    if version == SCHEMA_VERSION:
        return _without_gone(_changed(contents, RENAMED, findings))
    if not version or not version.isdecimal() or int(version) not in CHANGES:
        findings.fault(
            Reason.OTHER_VERSION,
            "Start",
            "template version",
            f'"{version}"',
            f'"{SCHEMA_VERSION}"',
            "copy the readings into a new workbook (xlsengine template), or use the program that wrote this one",
        )
        return contents
    findings.tell(f"the workbook is of template version {version}; it was read as version {SCHEMA_VERSION}")
    for number in range(int(version), int(SCHEMA_VERSION)):
        contents = _changed(contents, CHANGES.get(number, Changes()), findings)
    return _changed(contents, RENAMED, findings)


def _without_gone(contents: Contents) -> Contents:
    for area in contents.areas:
        cells = contents.grids.get(area.sheet, SheetCells())
        for column in _gone_columns(area, cells):
            for row in range(area.top, area.bottom + 1):
                cells.get(row, {}).pop(column, None)
    return contents


def _gone_columns(area: Area, cells: SheetCells) -> list[int]:
    """Return them: they stand behind the first computed one, where a sender's own columns stand before it."""
    now = {key(declared.header) for declared in READINGS.columns.values()}
    computed = now - {key(declared.header) for declared in READINGS.fields.values()}
    gone = {key(header) for header in GONE.get(area.name, ())} - now
    titles = _titles(area, cells) if gone else {}
    first = min((column for column, title in titles.items() if title in computed), default=area.left + len(titles))
    return [column for column, title in titles.items() if title in gone and column > first]


def _changed(contents: Contents, changes: Changes, findings: Findings) -> Contents:
    told: list[str] = []
    areas = []
    for area in contents.areas:
        now = {key(old): new for old, new in changes.names.get(area.name, {}).items()}
        cells = contents.grids.get(area.sheet, SheetCells())
        for (row, column), text in _named_cells(area, cells) if now else ():
            if text in now:
                told.append(f'{area.place(row, column)}: "{_text(cells, row, column).strip()}" is now "{now[text]}"')
                cells[row][column] = now[text]
        areas.append(replace(area, headers=tuple(now.get(key(header), header) for header in area.headers)))
    for line in told[:MOST_TOLD]:
        findings.tell(line)
    if len(told) > MOST_TOLD:
        findings.tell(f"{len(told) - MOST_TOLD} more labels and headers read otherwise now")
    for area in areas:
        _revalue(area, contents.grids.get(area.sheet, SheetCells()), changes, findings)
    return replace(contents, areas=tuple(areas))


def _text(cells: SheetCells, row: int, column: int) -> str:
    return plain_text(content_of(cells.get(row, {}).get(column)))


def _titles(area: Area, cells: SheetCells) -> dict[int, str]:
    """Return the headers of a table by column, as they are compared."""
    return {column: key(_text(cells, area.top, column)) for column in area.columns}


def _named_cells(area: Area, cells: SheetCells) -> Iterator[tuple[tuple[int, int], str]]:
    """Yield the cells that hold a header, and of a form those that hold a label, with the text as it is compared."""
    titles = _titles(area, cells)
    if area.titled:
        yield from (((area.top, column), title) for column, title in titles.items())
    for column in (column for column, title in titles.items() if title == key(FORM_HEADERS[0])):
        yield from (((row, column), label_key(_text(cells, row, column))) for row in range(area.first, area.last + 1))


def _revalue(area: Area, cells: SheetCells, changes: Changes, findings: Findings) -> None:
    """Put what a cell means now in the place of what it held; one line tells of all cells under a header or label."""
    for part, field_name, old, new, why in changes.values:
        if table_name(part) != area.name:
            continue
        name = _called(part, field_name)
        places = [place for place in _cells_under(area, cells, name) if _holds(cells, place, old)]
        if not places:
            continue
        for row, column in places:
            cells[row][column] = new
        first, more = area.place(*places[0]), f" and {len(places) - 1} more" if len(places) > 1 else ""
        findings.tell(f'{first}{more} {name}: "{_shown(old)}" is now {"blank" if new is None else _shown(new)}: {why}')


def _cells_under(area: Area, cells: SheetCells, name: str) -> Iterator[tuple[int, int]]:
    """Yield the cells of a column by its header, or the value cell of a form's field by its label."""
    values = [column for column, title in _titles(area, cells).items() if title == key(FORM_HEADERS[FORM_VALUE])]
    for (row, column), text in _named_cells(area, cells):
        if text == key(name) and row == area.top:
            yield from ((below, column) for below in range(area.first, area.last + 1))
        elif text == key(name):
            yield from ((row, value) for value in values)


def _shown(value: Found) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


def _holds(cells: SheetCells, place: tuple[int, int], old: Found) -> bool:
    found = content_of(cells.get(place[0], {}).get(place[1]))
    return key(found) == key(old) if isinstance(found, str) and isinstance(old, str) else found == old
