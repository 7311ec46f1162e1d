"""Checks that one row can answer by itself, live: each declared once with its limit, usual cause and mend."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

from xlsengine.bench import readings as r
from xlsengine.bench import settings as s
from xlsengine.bench.declare import Field, Quantity
from xlsengine.expression import BLANK, Column, Node, call, flag, join
from xlsengine.sources import MOMENTUM_THEORY, Source, definition, practice

CODES = 100


class Severity(IntEnum):
    """How much a flag says against a reading."""

    NOTE = 1
    DOUBTFUL = 2
    IMPOSSIBLE = 3

    @property
    def word(self) -> str:
        """Return the severity as a reader sees it."""
        return self.name.lower()


@dataclass(frozen=True)
class RowCheck:
    """One live check, raised in a row where `condition` holds.

    `figure` is what was found and `expected` its bound in words; `look_at` is the reading to look at first.
    """

    title: str
    look_at: Column
    figure: Column
    condition: Node
    expected: Node
    severity: Severity
    cause: str
    mend: str
    source: Source


def _at_most(limit: Node, decimals: int, unit: str = "") -> Node:
    return join("at most ", limit.fixed(decimals), unit)


def _at_least(limit: Node, decimals: int, unit: str = "") -> Node:
    return join("at least ", limit.fixed(decimals), unit)


_full = r.point > 0
ROW_CHECKS = (
    RowCheck(
        "Volts per cell too high", r.voltage, r.cell_voltage, r.cell_voltage > s.cell_voltage_high,
        _at_most(s.cell_voltage_high, 2, " V"), Severity.IMPOSSIBLE,
        "The cell count is too low, or the voltage has a slipped digit.",
        "Check Cells and Voltage of this row; for high-voltage packs raise the limit on Settings.", practice(),
    ),
    RowCheck(
        "Volts per cell too low", r.voltage, r.cell_voltage, r.cell_voltage < s.cell_voltage_low,
        _at_least(s.cell_voltage_low, 2, " V"), Severity.DOUBTFUL,
        "The cell count is too high, the pack is flat or too weak, or the voltage has a slipped digit.",
        "Check Cells and Voltage of this row and the pack.", practice(),
    ),
    RowCheck(
        "More thrust than an ideal propeller", r.thrust, r.hover_efficiency, r.hover_efficiency > 1,
        join("at most 1.00"), Severity.IMPOSSIBLE,
        "Thrust in another unit or with a slipped digit, current or voltage too small, or a wrong diameter.",
        "Check Thrust, Current, Voltage and Diameter of this row.", MOMENTUM_THEORY,
    ),
    RowCheck(
        "Hover efficiency too good", r.thrust, r.hover_efficiency,
        (r.hover_efficiency > s.efficiency_high) & (r.hover_efficiency <= 1),
        _at_most(s.efficiency_high, 2), Severity.DOUBTFUL,
        "Tare moved, thrust in another unit, current read too low, or a wrong diameter.",
        "Check the zero before and after the run, then Thrust, Current and Diameter.", practice(),
    ),
    RowCheck(
        "Hover efficiency too poor at full throttle", r.thrust, r.hover_efficiency,
        _full & (r.hover_efficiency < s.efficiency_low), _at_least(s.efficiency_low, 2), Severity.DOUBTFUL,
        "A slipped digit, thrust in another unit, or a propeller put on upside down.",
        "Check Thrust, Current and Diameter of this row, and how the propeller sat.", practice(),
    ),
    RowCheck(
        "Faster than Kv times volts allows", r.speed, r.speed_ratio, r.speed_ratio > s.speed_ratio_high,
        _at_most(s.speed_ratio_high, 2), Severity.DOUBTFUL,
        "Wrong pole or blade count in the speed reading, wrong Kv on the label, or a wrong cell count.",
        "Check the pole count set in the speed reading, and Labelled Kv on Motor.", practice(),
    ),
    RowCheck(
        "Slow for Kv times volts at full throttle", r.speed, r.speed_ratio, _full & (r.speed_ratio < s.speed_ratio_low),
        _at_least(s.speed_ratio_low, 2), Severity.DOUBTFUL,
        "Overload, loss of step, a slipping propeller, or a wrong pole or blade count.",
        "Listen and look at this point again; check the pole count set in the speed reading.", practice(),
    ),
    RowCheck(
        "Fast blade tips", r.speed, r.tip_mach, r.tip_mach > s.tip_mach_high, _at_most(s.tip_mach_high, 2), Severity.NOTE,
        "Large propeller at high speed: drag and noise climb; or a slipped digit in the speed.",
        "Check Speed and Diameter; otherwise nothing to mend.", practice("from memory"),
    ),
    RowCheck(
        "Hot motor", r.motor_temperature, r.motor_temperature, r.motor_temperature > s.case_temperature_high,
        _at_most(s.case_temperature_high, 0, " °C"), Severity.NOTE,
        "Long run or overload; a hot motor reads low.", "Let it cool and repeat; heed the maker's limit.", practice(),
    ),
    RowCheck(
        "Pitch over diameter above the limit", r.pitch, r.pitch_ratio,
        r.group.equals(r.row_number) & (r.pitch_ratio > s.pitch_ratio_limit),
        _at_most(s.pitch_ratio_limit, 2), Severity.NOTE,
        "Such a propeller is partly stalled when static; it may draw as much or more in flight.",
        "Nothing to mend: no in-flight reduction is given for it.", practice(),
    ),
)  # fmt: skip


def _raised(code: int, check: RowCheck) -> Node:
    """Row and code in one number where the check is raised, so that the Checks sheet can list raised checks."""
    condition = check.figure.present().where(flag(check.condition), 0.0)
    return r.used.equals(1).where(condition.equals(1).where(r.row_number * CODES + code, BLANK), BLANK)


RAISED: tuple[Column, ...] = tuple(
    r.READINGS.derive(
        Quantity(
            f"check_{code}", f"Check {code}", _raised(code, check), check.title, check.source, shown=0, helper=True
        )
    )
    for code, check in enumerate(ROW_CHECKS, start=1)
)

written_severity = r.READINGS.write_once(
    Field("written_severity", "Group checks, severity", "", "Worst severity the group checks found; 0 for none.",
          kind="whole", low=0, high=3, default=0.0, helper=True)
)  # fmt: skip
written_flags = r.READINGS.write_once(
    Field(
        "written_flags",
        "Group checks",
        "",
        "What the group checks found when this workbook was written.",
        kind="text",
    )
)


def _any_severe() -> Node:
    raised = [column for column, check in zip(RAISED, ROW_CHECKS, strict=True) if check.severity > Severity.NOTE]
    severe = written_severity >= float(Severity.DOUBTFUL)
    for column in raised:
        severe = severe | column.present()
    return severe


def _titles() -> Node:
    parts = [
        column.present().where(f"{check.title} ({check.severity.word}). ", "")
        for column, check in zip(RAISED, ROW_CHECKS, strict=True)
    ]
    return call("trim", join(*parts))


flagged = r.READINGS.derive(
    Quantity(
        "flagged", "Flagged", r.used_flag(_any_severe()), "1 where a doubtful or impossible flag stands on the row.",
        definition(), shown=0, helper=True,
    )
)  # fmt: skip
row_flags = r.READINGS.derive(
    Quantity("row_flags", "Row checks", _titles(), "Live checks of this row by itself.", definition())
)
