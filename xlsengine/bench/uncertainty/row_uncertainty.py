"""Uncertainty of every figure of a single reading, by two numbers: u(y)/y = √(share² + (p·u(T)/T)²).

The share is the same in every row; the thrust stand's error is so many grams, and hence a share that grows as thrust
falls. Where a share moves with the row, that of the row where it is largest stands for all.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.groups import repeatability as p
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.inputs.motor import trimmed_mass
from xlsengine.bench.inputs.no_load import no_load_at, winding_resistance
from xlsengine.bench.physics import speed_figures as f
from xlsengine.bench.physics import speed_rows as t
from xlsengine.bench.physics.motor_model import best_kv, model_resistance
from xlsengine.bench.propagation import terms as u
from xlsengine.bench.propagation.accuracies import LIMIT_TO_DEVIATION, relative, taken_thrust_accuracy
from xlsengine.bench.propagation.terms import NOTHING, Input
from xlsengine.bench.uncertainty.error_sources import FITTED, Taken, instruments, repeats_of
from xlsengine.bench.uncertainty.motor_uncertainty import hot_resistance, trimmed_mass_uncertainty, winding_uncertainty
from xlsengine.expression import Aggregate, Column, Condition, Constant, Named, Node, lesser, replaced
from xlsengine.sources import GUM_FREEDOM, GUM_PROPAGATION
from xlsengine.units import GRAM_FORCE

DECLARED_IN = {table.name: table for table in (r.READINGS, t.SPEED_FIGURES)}
READING = Taken(
    thrust=r.thrust,
    voltage=r.voltage,
    current=r.current,
    speed=r.speed,
    torque=r.torque,
    diameter=r.diameter,
    ideal=f.ideal_power,
    measured=f.shaft_power,
    modelled=f.shaft_power,
)


def _taken_over(node: Node) -> Node | None:
    """Return the column of Readings that Speed figures takes over in its row."""
    if isinstance(node, Aggregate) and node.argument == t.row:
        return node.columns[0]
    return None


def _made_of() -> dict[Node, Node]:
    """Return what every figure is made of, down to the readings and the motor's constants.

    The figure of merit and what belongs to it are spelt out by the ideal power, which is the same but shorter.
    """
    made: dict[Node, Node] = {
        Column(table.name, name, quantity.is_text): replaced(quantity.expression, _taken_over)
        for table in DECLARED_IN.values()
        for name, quantity in table.quantities.items()
    }
    made[f.ideal_power] = READING.made()[READING.ideal]
    made[f.figure_of_merit] = f.ideal_power / f.shaft_power
    made[f.propeller_loss] = f.shaft_power * (1 - f.figure_of_merit)
    made[r.hover_efficiency] = f.ideal_power / r.power
    made[model_resistance] = hot_resistance.present().where(hot_resistance, winding_resistance)
    return made


MADE: Mapping[Node, Node] = _made_of()
"""What every figure is made of, whichever way its shaft power and motor current were found."""
BY_TORQUE: Mapping[Node, Node] = {**MADE, f.shaft_power: r.torque * t.angular(r.speed)}
BY_MODEL: Mapping[Node, Node] = {**MADE, f.shaft_power: (r.current - no_load_at(r.speed)) * r.speed / best_kv}
AT_FULL: Mapping[Node, Node] = {**MADE, f.motor_current: r.current}
AT_PART: Mapping[Node, Node] = {**MADE, f.motor_current: r.torque * t.angular(best_kv)}
"""Of the motor's current, the no-load current passed over: it moves by less than what the torque needs."""
MODEL_ERROR = Input(
    "model_error",
    "Motor model",
    relative(s.model_accuracy),
    ((f.shaft_power, f.shaft_power * r.torque.present().where(0.0, 1.0)),),
)
ERRORS = (
    *(each for each in instruments(READING) if each.name != MODEL_ERROR.name),
    Input("mass_error", "Trimmed mass", trimmed_mass_uncertainty, ((trimmed_mass, Constant(1.0)),), unit="g"),
    Input(
        "winding_error", "Winding resistance", winding_uncertainty, ((winding_resistance, Constant(1.0)),), unit="mΩ"
    ),
    MODEL_ERROR,
    *FITTED,
)
SCATTER = repeats_of(READING)
_TAKEN = {
    r.power: "power",
    r.grams_per_watt: "thrust per power",
    r.grams_per_amp: "thrust per current",
    r.hover_efficiency: "overall static efficiency",
    f.figure_of_merit: p.MERIT,
}
"""The figure whose scatter each has."""


SINGLE = Figures("± of a single reading", "What one reading's figures are known to.")
_STAND = next(each for each in ERRORS if each.name == "thrust_error")
_BY_SHARE = replace(_STAND, acts_on=(u.shares(r.thrust),))


def _of_counting(name: str, label: str, kept: Node, value: Node) -> Column:
    return t.SPEED_FIGURES.helper(name, label).derive(
        t.masked(t.COUNTS & kept, value), "Of readings that count; blank in others."
    )


_full_current = _of_counting("full_current", "Current, full throttle, with a speed", t.FULL & (t.speed > 0), t.current)
_counting_speed = _of_counting("counting_speed", "Speed that counts", t.speed > 0, t.speed)
_counting_merit = _of_counting(
    "counting_merit", "Figure of merit that counts", f.figure_of_merit > 0, f.figure_of_merit
)


least_current = SINGLE.figure("least_current", "Smallest current at full throttle with a speed", "A").derive(
    _full_current.smallest()
)
its_speed = SINGLE.figure("least_current_speed", "Speed read with it", "rpm").derive(
    t.speed.at(_full_current.position(least_current))
)
least_speed = SINGLE.figure("least_speed", "Smallest speed", "rpm").derive(_counting_speed.smallest())
best_merit = SINGLE.figure("best_merit", "Largest figure of merit", decimals=3).derive(
    _counting_merit.largest(), "The less the propeller loses, the less surely is that known."
)
_MODELLED: dict[Node, Node] = {r.current: least_current, r.speed: its_speed}
_BEST: dict[Node, Node] = {f.figure_of_merit: best_merit}
_FULL, _PART = Condition(t.full_kind, ">", Constant(0.0)), Condition(t.full_kind, "=", Constant(0.0))


@dataclass(frozen=True)
class Single:
    """One line: a figure, found in one way (`words`), its share and the power p of thrust in it.

    `made` says of what it is made that way, and `at` which cells stand for those that differ from row to row.
    """

    figure: Column
    words: str = ""
    made: Mapping[Node, Node] = field(default_factory=lambda: MADE)
    at: Mapping[Node, Node] = field(default_factory=dict)
    there: tuple[Condition, ...] = ()

    @property
    def label(self) -> str:
        """Return the figure's label, and the way it was found."""
        label = DECLARED_IN[self.figure.table].quantities[self.figure.name].label
        return f"{label}, {self.words}" if self.words else label

    @property
    def name(self) -> str:
        """Return the figure's name, and the way it was found."""
        return f"{self.figure.name}_{self.words.replace(' ', '_')}" if self.words else self.figure.name

    def moved(self, error: u.Input) -> Node:
        """Return by what share of itself the figure moves with an error."""
        return replaced(u.relative_change(self.figure, error, self.made), self.at.get)

    @cached_property
    def shares(self) -> tuple[tuple[u.Input, Node], ...]:
        """Return the errors behind the share, each acting as it does in this way of finding the figure, and what each adds.

        That is 0 where the motor's constant was not found.
        """
        known = (e for e in ERRORS if e is not _STAND and not (e is MODEL_ERROR and self.made is BY_TORQUE))
        acting = (replace(e, acts_on=(u.shares(f.shaft_power),)) if e is MODEL_ERROR else e for e in known)
        moved = [(error, by) for error in acting if (by := self.moved(error)) != NOTHING]
        return tuple((error, self._surely(by * error.uncertainty)) for error, by in moved)

    def _surely(self, share: Node) -> Node:
        return share if self.figure.table == r.READINGS.name else share.otherwise(0.0)

    @cached_property
    def power(self) -> Node:
        """Return the power of thrust in the figure."""
        return self.moved(_BY_SHARE)

    @cached_property
    def scatter(self) -> Node:
        """Return what a reading's scatter in thrust and amps adds; that of the figure of merit was pooled."""
        if all(u.relative_change(self.figure, each, MADE) == NOTHING for each in SCATTER.inputs):
            return NOTHING
        if self.figure in _TAKEN:
            return p.SCATTER_TAKEN[_TAKEN[self.figure]] / 100
        shares = [(each, by) for each in SCATTER.inputs if (by := self.moved(each)) != NOTHING]
        moved = {each.name: by * each.uncertainty for each, by in shares}
        return p.enough_repeats.where(u.together(moved, SCATTER) if moved else 0.0, s.default_scatter / 100)

    @property
    def share(self) -> Named:
        """Return the cell of the share: the relative standard uncertainty without the thrust stand's."""
        return Named(f"single_{self.name}_share")

    @property
    def freedom(self) -> Named:
        """Return the cell of the share's degrees of freedom."""
        return Named(f"single_{self.name}_freedom")

    def declare(self) -> None:
        """Derive the two cells; blank where no reading has the figure, found this way."""
        whole = u.sum_of_squares([*(share for _, share in self.shares), self.scatter]).sqrt()
        exists = self.figure.count(*self.there) > 0
        SINGLE.figure(self.share.name, f"{self.label}: share", decimals=5).derive(
            exists.where(whole), "Relative standard uncertainty without the thrust stand's.", GUM_PROPAGATION
        )
        of_scatter = p.merit_freedom if self.figure == f.figure_of_merit else p.scatter_freedom
        finite = [(share, e.freedom.otherwise(1.0)) for e, share in self.shares if e.freedom is not None]
        freedom = u.effective_freedom(self.share, [*finite, (self.scatter, of_scatter)])
        SINGLE.figure(self.freedom.name, f"{self.label}: degrees of freedom").derive(
            self.share.present().where(freedom), "Of the share.", GUM_FREEDOM
        )

    def expanded(self, stand: Node) -> Node:
        """Return the expanded relative uncertainty where the thrust stand's is `stand`, u(T)/T.

        The stand has infinite degrees of freedom, so those of the whole grow with it (GUM G.4.1).
        """
        if self.power == NOTHING:
            return u.coverage_factor(self.freedom) * self.share
        by_stand = self.power * stand
        growth = (1 + (by_stand / self.share) ** 2) ** 2
        return (
            u.coverage_factor(lesser(self.freedom * growth, u.INFINITE).otherwise(u.INFINITE))
            * (self.share**2 + by_stand**2).sqrt()
        )


def _ways(figure: Column) -> tuple[Single, Single]:
    """Return a figure of the shaft power by torque and by the motor model."""
    best = _BEST if figure == f.propeller_loss else {}
    measured, modelled = (Condition(f.shaft_basis, "=", Constant(basis)) for basis in (f.MEASURED, f.MODELLED))
    return (
        Single(figure, "by torque", BY_TORQUE, best, (measured,)),
        Single(figure, "by motor model", BY_MODEL, {**_MODELLED, **best}, (modelled,)),
    )


_PLAIN = (
    r.power,
    r.grams_per_watt,
    r.grams_per_amp,
    r.cell_voltage,
    r.hover_efficiency,
    r.speed_ratio,
    r.electrical_speed,
    r.tip_mach,
    f.tip_speed,
    f.pitch_speed,
    f.own_speed_ratio,
    f.thrust_coefficient,
    f.ideal_power,
)
OF_SHAFT = {
    figure: _ways(figure)
    for figure in (f.shaft_power, f.power_coefficient, f.figure_of_merit, f.motor_efficiency, f.propeller_loss)
}
"""Figures of the shaft power: by torque, and by the motor model."""
COPPER = (
    Single(f.copper_loss, "full throttle", AT_FULL, {}, (_FULL,)),
    Single(f.copper_loss, "part throttle", AT_PART, {}, (_PART,)),
)
IRON = Single(f.iron_loss, at={r.speed: least_speed, t.speed: least_speed})
PLAIN = {figure: Single(figure) for figure in _PLAIN}
SINGLES = (*PLAIN.values(), *(way for ways in OF_SHAFT.values() for way in ways), *COPPER, IRON)
"""Every derived figure of Readings and Speed figures but the in-flight estimates, which are bands themselves, and what
stays unexplained: a small difference of large figures, sure to no more than these."""
for _single in SINGLES:
    _single.declare()

# --- ± row by row, where it is read ------------------------------------------------------------------------

stand_share = t.SPEED_FIGURES.helper("stand_share", "Thrust stand, share", symbol="u(T)/T").derive(
    taken_thrust_accuracy * LIMIT_TO_DEVIATION * GRAM_FORCE / t.force,
    "Standard uncertainty of the thrust stand over thrust.",
    GUM_PROPAGATION,
)


def _expanded(figure: Column, row: Column) -> Column:
    """Derive ± of a figure in every row of Speed figures; `row` is the figure's column there."""
    declared = t.SPEED_FIGURES.quantities[row.name]
    if figure in OF_SHAFT:
        by_torque, by_model = (way.expanded(stand_share) for way in OF_SHAFT[figure])
        share = t.torque.present().where(by_torque, by_model)
    else:
        share = PLAIN[figure].expanded(stand_share)
    return t.SPEED_FIGURES.column(
        f"{row.name}_margin", f"± {declared.label}", declared.unit, decimals=declared.shown + 1
    ).derive(row * share, "Expanded uncertainty at the level of confidence on Settings.", GUM_FREEDOM)


MARGINS = {
    figure: _expanded(figure, row)
    for figure, row in (
        (f.thrust_coefficient, f.thrust_coefficient),
        (f.power_coefficient, f.power_coefficient),
        (f.figure_of_merit, f.figure_of_merit),
        (f.motor_efficiency, f.motor_efficiency),
        (r.hover_efficiency, f.hover_efficiency),
    )
}
"""The column of ± of each figure that charts draw with bars."""
MARGIN_OF = {
    (f.hover_efficiency if figure == r.hover_efficiency else figure): margin for figure, margin in MARGINS.items()
}
"""The same by the figures' columns in Speed figures."""
