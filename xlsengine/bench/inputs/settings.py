"""Every factor and limit the engine uses, each a named cell that the reader may change; all topics in one place.

The order of the imports is that of the headings on the sheet.
"""

from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.inputs.settings_advice import *  # noqa: F403
from xlsengine.bench.inputs.settings_checks import *  # noqa: F403
from xlsengine.bench.inputs.settings_prediction import *  # noqa: F403
from xlsengine.bench.inputs.settings_uncertainty import *  # noqa: F403
from xlsengine.bench.inputs.topics import SETTINGS as SETTINGS
from xlsengine.bench.inputs.topics import TOPICS as TOPICS
from xlsengine.sources import practice

ESC_SIZES = Table(
    "EscSizes",
    "Continuous ratings in which ESCs are sold.",
    rows=tuple(
        {"esc_size": float(size)}
        for size in (6, 10, 12, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 80, 100, 120, 150)
    ),
)
esc_size = ESC_SIZES.number(
    "esc_size", "ESC size", "A", (1, 1000), "Continuous rating.", required=True, source=practice()
)

_GRAMS = "5 10 15 20 30 50 75 100 150 200 300 500 750 1000 1500 2000 3000 5000 7500 10000"
ROUND_THRUSTS = Table(
    "RoundThrusts",
    "Thrusts at which grams per watt may be compared: the six largest that the motor reaches are used.",
    rows=tuple({"round_thrust": float(thrust)} for thrust in _GRAMS.split()),
)
round_thrust = ROUND_THRUSTS.number(
    "round_thrust", "Round thrust", "g", (1, 100000), "Compared at equal thrust.", required=True, source=practice()
)
