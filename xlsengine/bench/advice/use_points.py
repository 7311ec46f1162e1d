"""What each propeller and cell count gives at full throttle, for sure and at most: what a use is held against.

For sure is a figure less its ±, 0 where it rests on a doubtful reading or is not known; at most is the figure and its ±,
without limit where nothing is sure. So neither a missing nor a doubtful reading can speak for or against a use.
"""

from xlsengine.bench.declaring.spoken import if_there, in_thousands
from xlsengine.bench.groups import summary as g
from xlsengine.bench.groups.by_propeller import doubtful_here
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.motor import label_kv
from xlsengine.bench.inputs.settings import assumed_speed_ratio, prediction_loading
from xlsengine.bench.physics.motor_model import best_kv
from xlsengine.bench.propagation.accuracies import taken_speed_accuracy
from xlsengine.bench.uncertainty import group_uncertainty as u
from xlsengine.expression import Column, Node, flag, greater, join, say
from xlsengine.sources import Source, definition, practice
from xlsengine.units import INCH

UNLIMITED = 1e9
_PER_ROW = 1e-6
_read = definition("mean of the full-throttle readings that count, with its ±")
_make = u.GROUP_UNCERTAINTY.part("point_", _read)


thrust, diameter = u.MEANS.thrust, Column(u.GROUP_UNCERTAINTY.name, "sure_diameter")
_plus, power = u.UNCERTAINTIES["thrust"].expanded, u.UNCERTAINTIES["power"].value
_doubtful = doubtful_here.at(u.row) > 0
counted_cells = _make.helper("cells", "Cells, where thrust counts").derive(
    (u.cells * flag(thrust > 0)).otherwise(0.0), "0 where nothing counts."
)
rank = _make.helper("rank", "Thrust, then place").derive(
    (thrust + u.row * _PER_ROW).otherwise(0.0), "So that no two are equal."
)
said = _make.helper("said", "What it gives").derive(
    join(
        g.label.at(u.row),
        g.full_point.at(u.row).equals(r.AT_PEAK).where(" (peak)", ""),
        _doubtful.where(" (doubtful: see Checks)", ""),
        " gives ",
        in_thousands(thrust),
        " g",
        if_there(_plus, " ±", (100 * _plus / thrust).fixed(0), " %"),
    )
)


def _sure(name: str, words: str, unit: str, low: Node, counts: Node, source: Source = _read) -> Column:
    heading = _make.helper(f"{name}_sure", f"{words}, for sure", unit)
    sure = (greater(low, 0.0) * flag(counts)).otherwise(0.0)
    return heading.derive(sure, "Less its ±; 0 where doubtful or not known.", source)


def _reach(name: str, words: str, unit: str, sure: Column, high: Node, source: Source = _read) -> Column:
    heading = _make.helper(f"{name}_reach", f"{words}, at most", unit)
    return heading.derive((sure > 0).where(high, UNLIMITED), "With its ±; no limit where nothing is sure.", source)


thrust_sure = _sure("thrust", "Thrust", "g", thrust - _plus, ~_doubtful)
thrust_reach = _reach("thrust", "Thrust", "g", thrust_sure, thrust + _plus)
_sound = thrust_sure > 0
_watts = u.UNCERTAINTIES["power"].expanded
power_sure = _sure("power", "Power", "W", power - _watts, _sound)
power_reach = _reach("power", "Power", "W", power_sure, power + _watts)

# --- pitch speed -----------------------------------------------------------------------------------------------

_speed = u.MEANS.speed


def _of(sign: float) -> Node:
    """Return the speed read with its ± added or taken off, over the speed read; else loaded speed over Kv times volts."""
    read, loaded = 1 + sign * taken_speed_accuracy / 100, assumed_speed_ratio + sign * prediction_loading
    return _speed.present().where(read, loaded)


_turns = _speed.present().where(_speed, best_kv.otherwise(label_kv) * u.MEANS.voltage)
_pitch = r.pitch.at(Column(u.GROUP_UNCERTAINTY.name, "sure_first")) * (INCH / 60)
_loaded = practice(
    "loaded motors run at 0.60 to 0.85 of Kv times volts; pitch speed is a loose upper bound on airspeed"
)
speed_sure = _sure("speed", "Pitch speed", "m/s", _pitch * _turns * _of(-1), _sound, _loaded)
speed_reach = _reach("speed", "Pitch speed", "m/s", speed_sure, speed_sure * _of(1) / _of(-1), _loaded)
_span = speed_sure, speed_reach
speed_said = _make.helper("speed_said", "Pitch speed, in words").derive(
    (speed_sure > 0).where(
        _speed.present().where(
            say("pitch speed {:.1f}–{:.1f} m/s", *_span),
            say("pitch speed {:.0f}–{:.0f} m/s (by Kv and volts)", *_span),
        ),
        _sound.where("pitch speed not known (read a speed, or give Kv and pitch)", "pitch speed in doubt"),
    )
)
