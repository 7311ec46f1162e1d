"""The errors behind every ±, and what they do to the figures of a single reading: u(y)/y = √(share² + (p·u(T)/T)²).

The share is the same in every row; the thrust stand's error is so many grams, and hence a share that grows as thrust
falls. Such figures are products of powers of the readings; where the shaft power goes by the motor's constants, its small
no-load current is passed over.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.groups import repeatability as p
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.inputs.conditions import air_density
from xlsengine.bench.inputs.no_load import no_load_at_rest, no_load_slope
from xlsengine.bench.physics import speed_figures as f
from xlsengine.bench.physics import speed_rows as t
from xlsengine.bench.physics.motor_model import best_kv
from xlsengine.bench.propagation import accuracies as a
from xlsengine.bench.propagation import terms as u
from xlsengine.bench.propagation.terms import NOTHING, Input, shares
from xlsengine.bench.uncertainty import motor_uncertainty as v
from xlsengine.expression import ONE, Aggregate, Column, Condition, Constant, Named, Node, lesser, replaced
from xlsengine.sources import GUM_FREEDOM, GUM_PROPAGATION
from xlsengine.units import GRAM_FORCE, INCH

# --- which errors there are, and what each acts on -----------------------------------------------------------------

MODELLED = Column(t.SPEED_FIGURES.name, "modelled_shaft_power")
"""Stands for the shaft power of a reading where it goes by the motor's constants."""
_HOT = v.hot_resistance
THRUST_STAND = Input("thrust_error", "Thrust stand", a.STAND, ((r.thrust, ONE),), unit="g")
_BY_VOLTS = (best_kv, -best_kv * v.kv_share_of_voltmeter), (_HOT, v.hot_by_voltmeter)
_BY_AMPS = *shares(r.current, no_load_at_rest, no_load_slope), (_HOT, -_HOT)
_BY_SPEED = *shares(r.speed, best_kv), (no_load_slope, -no_load_slope)
INSTRUMENTS = (
    THRUST_STAND,
    Input("voltage_error", "Voltmeter", a.VOLTMETER, (*shares(r.voltage), *_BY_VOLTS)),
    Input("current_error", "Ammeter", a.AMMETER, _BY_AMPS),
    Input("speed_error", "Speed reading", a.TACHOMETER, _BY_SPEED),
    Input("torque_error", "Torque reading", a.relative(s.torque_accuracy), shares(r.torque)),
    Input("diameter_error", "Propeller diameter", a.relative(s.diameter_accuracy), shares(r.diameter)),
    Input("density_error", "Air density", a.DENSITY, shares(air_density)),
    Input("model_error", "Motor model", a.relative(s.model_accuracy), shares(MODELLED)),
)
"""The errors that all readings of the bench share, so that averaging does not make them smaller."""
FITTED = (
    Input("kv_part", "Kv: scatter or fit", v.best_kv_part, ((best_kv, ONE),), v.best_kv_freedom, "rpm/V"),
    Input("hot_part", "Resistance: scatter or fit", v.hot_part, ((_HOT, ONE),), v.hot_freedom, "mΩ"),
)
"""What the motor's constants were read with, beside the instruments: few degrees of freedom.

The scatter of the no-load current, a small part of what the motor draws under load, is passed over.
"""
ERRORS = (*INSTRUMENTS, *FITTED)

# --- what a figure is made of, and what each error does to it ------------------------------------------------------

IDEAL_POWER = GRAM_FORCE**1.5 / (INCH * math.sqrt(math.pi / 2))
"""Ideal power is this times T^1.5/(√ρ·D), in W for T in g, ρ in kg/m³ and D in inches: momentum theory."""
DECLARED_IN = {table.name: table for table in (r.READINGS, t.SPEED_FIGURES)}


def _taken_over(node: Node) -> Node | None:
    """Return the column of Readings that Speed figures takes over in its row."""
    if isinstance(node, Aggregate) and node.argument == t.row:
        return node.columns[0]
    return None


MADE: Mapping[Node, Node] = {
    **{
        Column(table.name, name, quantity.is_text): replaced(quantity.expression, _taken_over)
        for table in DECLARED_IN.values()
        for name, quantity in table.quantities.items()
    },
    f.ideal_power: IDEAL_POWER * r.thrust**1.5 / (air_density.sqrt() * r.diameter),
    f.figure_of_merit: f.ideal_power / f.shaft_power,
    r.hover_efficiency: f.ideal_power / r.power,
}
"""What every figure is made of, down to the readings and the motor's constants, whichever way its shaft power was found.

The figure of merit and what belongs to it are spelt out by the ideal power, which is the same but shorter.
"""
BY_TORQUE: Mapping[Node, Node] = {**MADE, f.shaft_power: r.torque * t.angular(r.speed)}
BY_MODEL: Mapping[Node, Node] = {**MADE, f.shaft_power: MODELLED, MODELLED: r.current * r.speed / best_kv}
_AS_THRUST = Input("thrust_share", "Thrust stand, as a share", ONE, shares(r.thrust))
_AS_AMPS = Input("current_share", "Amps, as a share", ONE, shares(r.current, r.torque))
"""Torque goes with amps, and scatters as they do."""
SINGLE = Figures("± of a single reading", "What one reading's figures are known to.")


@dataclass(frozen=True)
class Single:
    """One line: a figure, found in one way (`words`) where a condition holds, its share and the power p of thrust in it.

    `made` says of what it is made that way.
    """

    figure: Column
    words: str = ""
    made: Mapping[Node, Node] = field(default_factory=lambda: MADE)
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

    def moved(self, error: Input) -> Node:
        """Return by what share of itself the figure moves with an error."""
        return u.relative_change(self.figure, error, self.made)

    @cached_property
    def shares(self) -> tuple[tuple[Input, Node], ...]:
        """Return the errors behind the share, and what each adds."""
        moved = [(error, self.moved(error)) for error in ERRORS if error is not THRUST_STAND]
        return tuple((error, by * error.uncertainty) for error, by in moved if by != NOTHING)

    @cached_property
    def power(self) -> Node:
        """Return the power of thrust in the figure."""
        return self.moved(_AS_THRUST)

    def felt(self, stand: Node) -> list[tuple[Input, Node]]:
        """Return all errors behind it, and what each adds, where the thrust stand's is `stand`, u(T)/T."""
        by_stand = [(THRUST_STAND, self.power * stand)] if self.power != NOTHING else []
        return [*by_stand, *self.shares]

    @property
    def finite(self) -> list[tuple[Node, Node]]:
        """Return what is added by errors with finite degrees of freedom, each with these."""
        return [(share, error.freedom.otherwise(1.0)) for error, share in self.shares if error.freedom is not None]

    @cached_property
    def scatter(self) -> Node:
        """Return what a reading's scatter in thrust and amps adds."""
        if all(u.relative_change(self.figure, each, MADE) == NOTHING for each in (_AS_THRUST, _AS_AMPS)):
            return NOTHING
        powers = {"thrust": self.power, "current": self.moved(_AS_AMPS)}
        return p.scatter_by({name: power for name, power in powers.items() if power != NOTHING}) / 100

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
        SINGLE.helper(self.share.name, f"{self.label}: share", decimals=5).derive(
            exists.where(whole), "Relative standard uncertainty without the thrust stand's.", GUM_PROPAGATION
        )
        freedom = u.effective_freedom(self.share, [*self.finite, (self.scatter, p.scatter_freedom)])
        SINGLE.helper(self.freedom.name, f"{self.label}: degrees of freedom").derive(
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
    measured, modelled = (Condition(f.shaft_basis, "=", Constant(basis)) for basis in (f.MEASURED, f.MODELLED))
    return Single(figure, "by torque", BY_TORQUE, (measured,)), Single(figure, "by motor model", BY_MODEL, (modelled,))


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
    figure: _ways(figure) for figure in (f.shaft_power, f.power_coefficient, f.figure_of_merit, f.motor_efficiency)
}
"""Figures of the shaft power: by torque, and by the motor model."""
PLAIN = {figure: Single(figure) for figure in _PLAIN}
SINGLES = (*PLAIN.values(), *(way for ways in OF_SHAFT.values() for way in ways))
"""Every derived figure of Readings and Speed figures but estimates: what is drawn in flight, and where the watts went."""
for _single in SINGLES:
    _single.declare()


def by_way(figure: Column, torque: Column | Named, of_single: Callable[[Single], Node]) -> Node:
    """Return what a figure comes to: one of the shaft power by torque where there is one, else by motor model."""
    if figure not in OF_SHAFT:
        return of_single(PLAIN.get(figure) or Single(figure))
    by_torque, by_model = map(of_single, OF_SHAFT[figure])
    return torque.present().where(by_torque, by_model)


# --- ± row by row, where it is read ------------------------------------------------------------------------

stand_share = t.SPEED_FIGURES.helper("stand_share", "Thrust stand, share", symbol="u(T)/T").derive(
    a.STAND * GRAM_FORCE / t.force
)


def _expanded(row: Column) -> Column:
    """Derive ± of a figure in every row of Speed figures, by its column there."""
    figure = r.hover_efficiency if row == f.hover_efficiency else row
    declared = t.SPEED_FIGURES.quantities[row.name]
    share = by_way(figure, t.torque, lambda single: single.expanded(stand_share))
    return t.SPEED_FIGURES.column(
        f"{row.name}_margin", f"± {declared.label}", declared.unit, decimals=declared.shown + 1
    ).derive(row * share, "Expanded uncertainty at the level of confidence on Settings.", GUM_FREEDOM)


MARGIN_OF = {
    row: _expanded(row)
    for row in (f.thrust_coefficient, f.power_coefficient, f.figure_of_merit, f.motor_efficiency, f.hover_efficiency)
}
"""The column of ± of each figure that charts draw with bars, by the figure's column in Speed figures."""
