"""Everything that a person types: the forms, and the tables."""

from xlsengine.bench.declaring.declare import Field, Form, Table
from xlsengine.bench.inputs.conditions import BENCH, CHECK_WEIGHTS
from xlsengine.bench.inputs.craft import CRAFT
from xlsengine.bench.inputs.motor import INSPECTION, MOTOR, WIRES
from xlsengine.bench.inputs.no_load import DRIVEN_SPINS, FREE_SPINS, WINDING
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.bench.inputs.settings import ESC_SIZES, ROUND_THRUSTS, SETTINGS
from xlsengine.bench.inputs.uses import USES

FORMS: tuple[Form, ...] = (MOTOR, BENCH, CRAFT, SETTINGS)
INPUT_TABLES: tuple[Table, ...] = (
    INSPECTION,
    CHECK_WEIGHTS,
    FREE_SPINS,
    DRIVEN_SPINS,
    WINDING,
    READINGS,
    ESC_SIZES,
    ROUND_THRUSTS,
    WIRES,
    USES,
)
TYPED: dict[str, Table] = {table.name: table for table in INPUT_TABLES}
FIELDS: dict[str, Field] = {name: field for form in FORMS for name, field in form.fields.items()}
