"""Checks that a row's own readings answer, live: each declared once with its limit, usual cause and fix."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from enum import IntEnum

from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.inputs.conditions import HIGH_VOLTAGE, cells_are
from xlsengine.expression import Column, Named, Node, as_node, call, join, references, say
from xlsengine.sources import MOMENTUM_THEORY, Source, practice, worked_out
from xlsengine.units import GRAM_FORCE, OUNCE, POUND


class Severity(IntEnum):
    """How much a flag says against a reading."""

    NOTE = 1
    DOUBTFUL = 2
    IMPOSSIBLE = 3

    @property
    def word(self) -> str:
        """Return the severity as a reader sees it."""
        return self.name.lower()


class Explains(IntEnum):
    """How well a check explains a reading: of several on one reading the first in this order speaks for all."""

    SLIP = 1
    """It says what happened, and what to type."""
    READING = 2
    """It says which reading is off."""
    REMARK = 3
    """It is a note."""


@dataclass(frozen=True)
class RowCheck:
    """One live check, raised in a row where `condition` holds.

    `figure` is what was found and `expected` its bound in words; `look_at` is the reading to look at first. A check
    that `stops` says to stop before anything else, and always speaks for itself. A note without a `fix` asks for nothing.
    """

    title: str
    look_at: Column
    figure: Column
    condition: Node
    expected: Node
    severity: Severity
    cause: str
    fix: str
    source: Source
    explains: Explains = Explains.READING
    stops: bool = False

    @property
    def order(self) -> Explains:
        """Return its place in the order of explanation."""
        return Explains.REMARK if self.severity is Severity.NOTE else self.explains


def watch(
    title: str,
    look_at: Column,
    figure: Column,
    severity: Severity,
    explains: Explains = Explains.READING,
    stops: bool = False,
) -> Callable[[Node, Node, str, str, Source], RowCheck]:
    """Name a check and what it looks at; called with condition, expected bound, cause, fix and source it is made."""
    return lambda condition, expected, cause, fix, source: RowCheck(
        title, look_at, figure, condition, expected, severity, cause, fix, source, explains, stops
    )


def at_most(limit: Node, decimals: int, unit: str = "") -> Node:
    """Say which upper limit was expected."""
    return say("at most {}{}", limit.fixed(decimals), unit)


def at_least(limit: Node, decimals: int, unit: str = "") -> Node:
    """Say which lower limit was expected."""
    return say("at least {}{}", limit.fixed(decimals), unit)


IN_GRAMS = {"ounces": OUNCE * 1000, "newtons": 1 / GRAM_FORCE, "pounds": POUND * 1000}
UNIT_SIGNS = {"ounces": "oz", "newtons": "N", "pounds": "lb"}
USUAL_EFFICIENCY = (0.25, 0.65)


def _unit_check(unit: str, grams: float) -> RowCheck:
    """The overall static efficiency goes with thrust to the power 1.5; in the right unit it is a usual one."""
    low, high = (float(f"{limit / grams**1.5:.6g}") for limit in USUAL_EFFICIENCY)
    return watch(f"Thrust perhaps in {unit}", r.thrust, r.thrust, Severity.DOUBTFUL, Explains.SLIP)(
        (r.hover_efficiency >= low) & (r.hover_efficiency <= high),
        join(f"grams; read as {unit} this is a usual reading"),
        f"The thrust stand showed {unit}.",
        f"Type {UNIT_SIGNS[unit]} behind the number, which is then read so, or {grams:.6g} times as much.",
        worked_out("overall static efficiency of 0.25 to 0.65 after conversion"),
    )


speed_ratio_most = Named("speed_ratio_most")
"""Declared with the measured Kv and its ± (propagation.spin_uncertainty)."""
_full = r.full_kind > 0
_high_voltage = cells_are.equals(HIGH_VOLTAGE)
_CHECKS = (
    watch("Volts per cell impossible", r.voltage, r.cell_voltage, Severity.IMPOSSIBLE, stops=True)(
        r.cell_voltage > s.cell_voltage_most,
        at_most(s.cell_voltage_most, 2, " V"),
        "The cell count is typed too low, or the voltage has a slipped digit.",
        "Stop: check Cells, then Voltage, of this reading; if both are right, measure the pack: one charged above its "
        "maker's limit goes out of use.",
        practice(),
    ),
    watch("Volts per cell too high", r.voltage, r.cell_voltage, Severity.DOUBTFUL, stops=True)(
        (r.cell_voltage > s.cell_voltage_high) & (r.cell_voltage <= s.cell_voltage_most) & ~_high_voltage,
        at_most(s.cell_voltage_high, 2, " V"),
        "A pack charged beyond 4.20 V a cell, a high-voltage pack that Bench does not name, or a meter that reads "
        "high.",
        "Stop and measure the pack: one charged above its maker's limit goes out of use. If it is a high-voltage one, "
        "say so on Bench (Cells are).",
        practice(),
    ),
    watch("Volts per cell too low", r.voltage, r.cell_voltage, Severity.DOUBTFUL, stops=True)(
        (r.cell_voltage < s.cell_voltage_low) & (r.voltage > 0),
        at_least(s.cell_voltage_low, 2, " V"),
        "The cell count is too high, the pack is flat or too weak, or the voltage has a slipped digit.",
        "Stop the run and measure each cell at rest: below 3.0 V the pack goes out of use and is not charged again. "
        "If the pack is well, check Cells and Voltage of this reading.",
        practice(),
    ),
    watch("Thrust without power", r.current, r.power, Severity.IMPOSSIBLE)(
        _full & (r.power <= 0) & (r.thrust > 0),
        join("more than 0 W"),
        "The meter was off, or was not read.",
        "Type Voltage and Current of this reading; where they were not read, repeat it.",
        MOMENTUM_THEORY,
    ),
    watch("More thrust than an ideal propeller", r.thrust, r.hover_efficiency, Severity.IMPOSSIBLE)(
        r.hover_efficiency > 1,
        join("at most 1.00, the physical limit"),
        "Thrust in another unit or with a slipped digit, current or voltage too small, or a wrong diameter.",
        "Check Thrust, Current, Voltage and Diameter of this reading.",
        MOMENTUM_THEORY,
    ),
    watch("Too little thrust for its power", r.thrust, r.hover_efficiency, Severity.IMPOSSIBLE)(
        _full & (r.hover_efficiency < s.efficiency_least),
        at_least(s.efficiency_least, 2),
        "Thrust in another unit or with a slipped digit, or thrust and current typed into each other's cells.",
        "Check Thrust and Current of this reading against your bench notes.",
        practice(),
    ),
    watch("Static efficiency too good", r.thrust, r.hover_efficiency, Severity.DOUBTFUL)(
        (r.hover_efficiency > s.efficiency_high) & (r.hover_efficiency <= 1),
        at_most(s.efficiency_high, 2),
        "Tare moved, thrust in another unit, current read too low, or a wrong diameter.",
        "Check the zero before and after the run, then Thrust, Current and Diameter.",
        practice(),
    ),
    watch("Static efficiency too poor at full throttle", r.thrust, r.hover_efficiency, Severity.DOUBTFUL)(
        _full & (r.hover_efficiency < s.efficiency_low) & (r.hover_efficiency >= s.efficiency_least),
        at_least(s.efficiency_low, 2),
        "A slipped digit, thrust in another unit, or a propeller put on upside down.",
        "Check Thrust, Current and Diameter of this reading, and how the propeller sat.",
        practice(),
    ),
    watch("Faster than Kv times volts allows", r.speed, r.speed_ratio, Severity.DOUBTFUL)(
        r.speed_ratio > speed_ratio_most,
        at_most(speed_ratio_most, 2),
        "Wrong pole or blade count in the speed reading, wrong Kv on the label, or a wrong cell count.",
        "Check the pole count set in the speed reading, and Labelled Kv on Motor.",
        practice(),
    ),
    watch("Slow for Kv times volts at full throttle", r.speed, r.speed_ratio, Severity.DOUBTFUL, stops=True)(
        _full & (r.speed_ratio < s.speed_ratio_low),
        at_least(s.speed_ratio_low, 2),
        "Overload, lost synchronism of motor and ESC, a slipping propeller, or a wrong pole or blade count.",
        "Stop: a motor out of step can burn itself and its ESC. With the power off look at propeller, nut, leads and "
        "joints; then check the pole count set in the speed reading.",
        practice(),
    ),
    watch("Fast blade tips", r.speed, r.tip_mach, Severity.NOTE)(
        r.tip_mach > s.tip_mach_high,
        at_most(s.tip_mach_high, 2),
        "Large propeller at high speed: drag and noise climb; or a slipped digit in the speed.",
        "Check Speed and Diameter; otherwise nothing to fix.",
        practice("from memory"),
    ),
    watch("Hot motor", r.motor_temperature, r.motor_temperature, Severity.NOTE, stops=True)(
        r.motor_temperature > s.case_temperature_high,
        at_most(s.case_temperature_high, 0, " °C"),
        "Long run or overload; a hot motor reads low.",
        "Stop and let it cool: heat weakens magnets and burns windings. Repeat with a shorter run or less load, "
        "within the maker's limit.",
        practice(),
    ),
    watch("Pitch over diameter above the limit", r.pitch, r.pitch_ratio, Severity.NOTE)(
        r.group.equals(r.row_number) & (r.pitch_ratio > s.pitch_ratio_limit),
        at_most(s.pitch_ratio_limit, 2),
        "Such a propeller is partly stalled when static and may draw as much or more in flight: no in-flight "
        "reduction is given for it.",
        "",
        practice(),
    ),
    *(_unit_check(unit, grams) for unit, grams in IN_GRAMS.items()),
)


def loudest_last(checks: Iterable[RowCheck]) -> list[RowCheck]:
    """Sort checks by how well they explain a reading, then by severity; of equals the first is the loudest."""
    return sorted(checks, key=lambda check: (check.order, not check.fix, -check.severity))[::-1]


PLACES_BY_MODEL = 3
"""Codes that are kept for the checks by the motor's model that say which reading is off: above the notes."""
_NOTES = sum(check.order is Explains.REMARK for check in _CHECKS)
PLAIN_CHECKS: dict[int, RowCheck] = {
    place + (PLACES_BY_MODEL if place > _NOTES else 0): check
    for place, check in enumerate(loudest_last(_CHECKS), start=1)
}
"""Each check by its code: of several on one reading the one with the largest code speaks."""
FIRST_BY_MODEL = _NOTES + 1
"""The first code of a check that doubts a reading: those below are notes."""
RAISED_PLAIN, RAISED_BY_MODEL = (Column(r.READINGS.name, f"raised_{by}") for by in ("plain", "by_model"))
"""The checks that are raised on a row, in one number: 1 for the one with code 1, 2 for the next, then 4 and so on."""


def weight(code: int) -> float:
    """Return what a check adds to the number of those that are raised."""
    return 2.0 ** (code - 1)


def is_raised(code: int, row: Node | None = None) -> Node:
    """Ask whether a check of the reading alone is raised on the own row, or on a row of Readings; never blank."""
    raised: Node = RAISED_PLAIN if row is None else RAISED_PLAIN.at(row).otherwise(0.0)
    return call("odd", raised / weight(code))


def doubts(raised: Node) -> Node:
    """Ask whether any of the checks that are raised is more than a note."""
    return raised >= weight(FIRST_BY_MODEL)


def all_raised(checks: Mapping[int, RowCheck], judged: Node | None = None) -> Node:
    """Add up the weights of the checks that hold on the own row, where it is `judged`; each column is asked for once."""
    total = as_node(0.0)
    for column, codes in _by_column(checks).items():
        of_column = as_node(0.0)
        for code in codes:
            condition = checks[code].condition if judged is None else judged & checks[code].condition
            of_column = of_column + condition.where(weight(code), 0.0).otherwise(0.0)
        total = total + column.present().where(of_column, 0.0)
    return total


def _by_column(checks: Mapping[int, RowCheck]) -> dict[Column, list[int]]:
    """Return the codes of checks by the column that their conditions compare, which they name last."""
    found: dict[Column, list[int]] = {}
    for code, check in checks.items():
        compared = [cell for cell in references(check.condition) if isinstance(cell, Column)][-1]
        found.setdefault(compared, []).append(code)
    return found


r.READINGS.helper(RAISED_PLAIN.name, "Checks raised").derive(
    (r.full_kind >= 0).where(
        r.use.equals(r.LEAVE_OUT).where(0.0, r.prop.present().where(all_raised(PLAIN_CHECKS), 0.0)), 0.0
    )
)
