"""What counts: a reading judged impossible takes no part in any figure unless Use says “yes”, nor does one with “no”."""

from functools import reduce
from operator import or_

from xlsengine.bench.inputs import readings as r
from xlsengine.bench.judging import judgements
from xlsengine.bench.judging.plain_checks import PLAIN_CHECKS, RAISED_PLAIN, Severity, doubts, is_raised
from xlsengine.expression import Condition, Constant, Node

UNREADABLE, BY_TESTER, IMPOSSIBLE = -3.0, -2.0, -1.0
DOUBTFUL, SPEED_TOLD, OVERRULED, SOUND = 1.0, 1.5, 2.0, 3.0
WHY = {IMPOSSIBLE: "impossible", UNREADABLE: "that cannot be read", BY_TESTER: "by the tester"}
_raised = (is_raised(code) for code, check in PLAIN_CHECKS.items() if check.severity is Severity.IMPOSSIBLE)
_impossible = reduce(or_, _raised, judgements.is_judged(Severity.IMPOSSIBLE))
_doubtful = judgements.is_judged(Severity.DOUBTFUL) | doubts(RAISED_PLAIN)
_overruled = r.use.equals(r.COUNT)
_speed_told = judgements.severity.equals(float(Severity.DOUBTFUL))
_doubted = _speed_told.where(SPEED_TOLD, DOUBTFUL)
_judged = _impossible.where(
    _overruled.where(OVERRULED, IMPOSSIBLE), _overruled.where(SOUND, _doubtful.where(_doubted, SOUND))
)
_read = r.use.equals(r.LEAVE_OUT).where(BY_TESTER, (r.full_kind < 0).where(UNREADABLE, _judged))
standing = r.READINGS.helper("standing", "Standing").derive(r.prop.present().where(_read, 0.0))
"""Below 0 the reading is left out: -3 where a cell of it cannot be read, -2 by the tester, -1 as impossible. Above 0 it
counts: 1 where its own values or other readings speak against it, 1.5 where these speak against its speed alone, 2 where it
is impossible and Use says “yes”, 3 where nothing speaks against it or Use says “yes”."""
counts: Node = standing > 0
"""Takes part in the figures."""
sound: Node = standing >= OVERRULED
"""Counts, and neither its own values nor the other readings speak against it, or Use says “yes”: such rows give the
motor's line and the propeller's exponents."""
SOUND_ROWS = Condition(standing, ">=", Constant(OVERRULED))
COUNTING, LEFT_OUT = (Condition(standing, sign, Constant(0.0)) for sign in (">", "<"))

BELOW_FULL = 3.0
point = r.READINGS.helper("point", "Point").derive(
    counts.where((r.full_kind > 0).where(r.full_kind, r.kind_taken.equals(r.STEADY).where(BELOW_FULL, 0.0)), 0.0)
)
"""1 for peak and 2 for steady at full throttle, 3 for steady below it, among the readings that count, 0 for all other
rows."""
STEADY_POINTS = Condition(point, ">=", Constant(r.AT_STEADY))
"""Counting rows that equal-thrust figures are interpolated from."""
full_current = r.READINGS.helper("full_current", "Current, full throttle").derive(
    (r.full_kind > 0).where(r.current, 0.0)
)
