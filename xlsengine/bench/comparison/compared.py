"""One row for each propeller and cell count that others were tested with too: this motor's own figures, live."""

from xlsengine.bench.declaring.declare import Field, Table
from xlsengine.bench.groups import summary as g
from xlsengine.bench.uncertainty import group_uncertainty as u
from xlsengine.expression import Aggregate, Column
from xlsengine.sources import definition

COMPARED = Table(
    "Compared",
    "One row for each propeller and cell count that motors of the class have in common with this one.",
    prefix="compared_",
)
FIGURES = ("thrust", "efficiency", "at_thrust")
"""What is ranked: thrust and grams per watt at full throttle, and grams per watt at one thrust."""
TITLES = {"thrust": "Thrust", "efficiency": "g/W at full throttle", "at_thrust": "g/W at equal thrust"}

label = COMPARED.write_once(
    Field(
        "compared_label",
        "Propeller and cells",
        meaning="As it is spoken of in this workbook.",
        kind="text",
        source=definition(),
    )
)
at = COMPARED.write_once(
    Field(
        "compared_at",
        "Thrust compared at",
        "g",
        "The round thrust on Settings that most of these motors were read at.",
        decimals=0,
        source=definition(),
    )
)


place = COMPARED.helper("place", "Number").derive(
    Aggregate("row", (Column(COMPARED.name, "compared_place"),)), "From 1."
)
own_row = COMPARED.helper("own_row", "Summary row").derive(
    g.label.position(label), "Blank where this motor has no such readings any more."
)


def _own(name: str, label: str, unit: str, shown: int, column: Column) -> Column:
    heading = COMPARED.helper(f"own_{name}", f"This motor: {label}", unit, decimals=shown)
    return heading.derive(column.at(own_row))


own_kind = _own("kind", "kind", "", 0, g.full_kind)
own_readings = _own("readings", "readings", "", 0, g.full["count"])
own_voltage = _own("voltage", "voltage", "V", 2, g.full["voltage"])
own_thrust = _own("thrust", "thrust", "g", 0, g.full["thrust"])
own_power = _own("power", "power", "W", 0, g.full["power"])
own_current = _own("current", "highest current", "A", 1, g.static_current)
_first = _own("first", "first reading", "", 0, g.first_row)
own_at = g.equal_thrust(COMPARED, _first, "own_at", "This motor: g/W at that thrust", at, helper=True)


_BEHIND = {"thrust": u.UNCERTAINTIES["thrust"], "efficiency": u.UNCERTAINTIES["thrust per power"]}
_expanded = {
    name: COMPARED.helper(f"{name}_sure", f"{TITLES[name]}: ±", "%", decimals=2).derive(
        figure.expanded.at(own_row) / figure.value.at(own_row) * 100
    )
    for name, figure in _BEHIND.items()
}
OWN_EXPANDED = {**_expanded, "at_thrust": _expanded["efficiency"]}
"""This motor's expanded uncertainty, in percent."""
