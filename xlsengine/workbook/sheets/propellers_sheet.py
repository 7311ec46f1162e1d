"""Propellers: figures at reference volts and air, each propeller against itself, its exponents, and the supply's sag."""

from xlsengine.bench.groups.lines import EXPONENTS, SAG, supply_resistance
from xlsengine.bench.groups.normalising import NORMALISED
from xlsengine.bench.inputs.readings import speed
from xlsengine.bench.inputs.settings import reference_cell_voltage, reference_density
from xlsengine.bench.physics.speed_figures import PROPELLERS
from xlsengine.expression import Column, join
from xlsengine.workbook.sheets.parts import Kind, SheetPlan, TablePart, any_of, columns

_TWO_LINES = 26


def _with_margins(*names: str) -> tuple[str, ...]:
    return tuple(each for name in names for each in (name, f"{name}_expanded"))


_SUBTITLE = join(
    "Reference: ",
    reference_cell_voltage.fixed(2),
    " V per cell and ",
    reference_density.fixed(3),
    " kg/m³, from Settings. Corrected figures are estimates, shown beside the measured ones.",
)
_TABLES = (
    TablePart(
        NORMALISED,
        "At reference volts and air",
        (
            *columns("normal", "prop cells note"),
            *columns("raw", "voltage thrust current power"),
            *("normal_ratio", "volts_exponent", "density_exponent", "normal_moved"),
            *_with_margins("normal_thrust", "normal_current", "normal_power", "normal_efficiency"),
        ),
    ),
    TablePart(
        PROPELLERS,
        "Each propeller across voltages",
        (
            *("propeller_name", "amp_groups", "propeller_verdict"),
            *("coefficient_rows", "median_coefficient", "coefficient_spread"),
            "most_grams",
        ),
        row_height=_TWO_LINES,
    ),
    TablePart(
        EXPONENTS,
        "Exponents over the throttle steps",
        columns("exponent", "prop cells verdict"),
        row_height=_TWO_LINES,
    ),
    TablePart(
        SAG,
        "Sag of the supply",
        ("sag_line_cells", "sag_rows", "sag_verdict", "sag_rest", *_with_margins("supply_resistance")),
    ),
)
SHEET = SheetPlan(
    "Propellers",
    Kind.WORKING,
    "at reference volts and air, propellers across voltages, sag of the supply",
    heading=_SUBTITLE,
    parts=_TABLES,
    widths=(17, 9, 58),
    others=10.5,
    measured=any_of(speed, Column(EXPONENTS.name, "thrust_exponent"), supply_resistance),
    more="Read the speed, or throttle steps, to see propellers across voltages and the sag of the supply",
)
