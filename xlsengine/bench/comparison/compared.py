"""One row for each propeller and cell count that others were tested with too: this motor's own figures, live."""

from xlsengine.bench.declaring.declare import BY_DEFINITION, Field, Table
from xlsengine.bench.groups import summary as g
from xlsengine.bench.uncertainty import group_uncertainty as u
from xlsengine.expression import Column

COMPARED = Table(
    "Compared",
    "One row for each propeller and cell count that motors of the class have in common with this one.",
    prefix="compared_",
)
TITLES = {"thrust": "Thrust", "efficiency": "g/W at full throttle", "at_thrust": "g/W at equal thrust"}
"""What is ranked: thrust and grams per watt at full throttle, and grams per watt at one thrust."""

label = COMPARED.write_once(
    Field(
        "compared_label",
        "Propeller and cells",
        "",
        "As it is spoken of in this workbook.",
        "text",
        source=BY_DEFINITION,
    )
)
_AT = "The round thrust on Settings that most of these motors were read at."
at = COMPARED.write_once(Field("compared_at", "Thrust compared at", "g", _AT, decimals=0, source=BY_DEFINITION))
place = COMPARED.numbered("place", "Number")
own_row = COMPARED.helper("own_row", "Summary row").derive(g.label.position(label))


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


OWN_EXPANDED = {
    figure: COMPARED.helper(f"{figure}_sure", f"{TITLES[figure]}: ±", "%", decimals=2).derive(
        of_group.expanded.at(own_row) / of_group.value.at(own_row) * 100
    )
    for figure, of_group in (("thrust", u.UNCERTAINTIES["thrust"]), ("efficiency", u.UNCERTAINTIES["thrust per power"]))
}
"""This motor's expanded uncertainty, in percent."""
