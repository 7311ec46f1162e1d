"""How sure every derived figure of every single reading is: its standard uncertainty and what stands behind “±”."""

from __future__ import annotations

from typing import NamedTuple

from xlsengine.bench import readings as r
from xlsengine.bench import repeatability as p
from xlsengine.bench import settings as s
from xlsengine.bench import speed_figures as f
from xlsengine.bench import speed_rows as t
from xlsengine.bench.declare import Figures, Quantity
from xlsengine.bench.error_sources import BY_PROPAGATION, BY_WELCH
from xlsengine.bench.row_errors import DECLARED_IN, DOWN_TO_LEAVES, ERRORS, SCATTER, derive
from xlsengine.bench.uncertainty import (
    Input,
    change,
    effective_freedom,
    expanded,
    relative_change,
    sum_of_squares,
    together,
)
from xlsengine.expression import Column, Constant, Named, Node, references
from xlsengine.sources import GUM_FREEDOM, GUM_PROPAGATION

ROW_SHARES = Figures("Shares of all rows", "What is the same share of a figure in every row.")
FIGURES = (
    r.power, r.grams_per_watt, r.grams_per_amp, r.thrust_newton, r.thrust_to_mass, r.power_to_mass,
    r.thrust_to_volume, r.cell_voltage, r.disk_loading, r.hover_efficiency, r.speed_ratio, r.electrical_speed,
    r.tip_mach, f.tip_speed, f.pitch_speed, f.own_speed_ratio, f.thrust_coefficient, f.shaft_power,
    f.power_coefficient, f.figure_of_merit, f.motor_efficiency, f.copper_loss, f.iron_loss, f.propeller_loss,
    f.ideal_power, f.unexplained,
)  # fmt: skip
"""Every derived figure of Readings and Speed figures but the in-flight estimates, which are bands themselves."""
NOTHING = Constant(0.0)


class _Part(NamedTuple):
    """What one error adds to a figure: its amount, and the share that it is, if the same in every row."""

    amount: Node
    share: Node | None = None
    freedom: Node | None = None


def _part(figure: Column, error: Input) -> _Part:
    share = relative_change(figure, error, DOWN_TO_LEAVES)
    if share == NOTHING:
        return _Part(NOTHING)
    share = share * error.uncertainty
    if any(isinstance(cell, Column) for cell in references(share)):
        return _Part(change(figure, error, DOWN_TO_LEAVES) * error.uncertainty, None, error.freedom)
    return _Part(figure * share, share, error.freedom)


def _felt(figure: Column, error: Input) -> _Part:
    """Return an error's part, 0 where it took none in this reading.

    A shaft power by torque knows nothing of Kv, and one by the motor model nothing of torque.
    """
    part = _part(figure, error)
    if part.amount == NOTHING or figure.table == r.READINGS.name:
        return part
    share = None if part.share is None else part.share.otherwise(0.0)
    freedom = None if part.freedom is None else part.freedom.otherwise(1.0)
    return _Part(part.amount.otherwise(0.0), share, freedom)


def _named_share(figure: Column, kind: str, words: str, node: Node, meaning: str) -> Named:
    label = f"{DECLARED_IN[figure.table].columns[figure.name].label}: {words}"
    return ROW_SHARES.derive(Quantity(f"{figure.name}_{kind}", label, node, meaning, GUM_PROPAGATION, "", "", 5))


def _scatter(figure: Column) -> _Part:
    """Return what a reading's own scatter in thrust, volts and amps gives a figure.

    That of the figure of merit was pooled by itself.
    """
    moved = {each.name: _part(figure, each) for each in SCATTER.inputs}
    felt = {name: part for name, part in moved.items() if part.amount != NOTHING}
    default = s.default_scatter / 100
    if not felt:
        return _Part(NOTHING)
    if figure == f.figure_of_merit:
        return _shared(figure, p.enough_merits.where(p.merit_scatter / 100, default), p.merit_freedom)
    shares = {name: part.share for name, part in felt.items() if part.share is not None}
    if len(shares) == len(felt):
        return _shared(figure, p.enough_repeats.where(together(shares, SCATTER), default), p.scatter_freedom)
    amounts = together({name: part.amount for name, part in felt.items()}, SCATTER)
    return _Part(p.enough_repeats.where(amounts, figure * default), None, p.scatter_freedom)


def _shared(figure: Column, share: Node, freedom: Node) -> _Part:
    named = _named_share(
        figure, "scatter_share", "share of scatter", share, "Of one reading: from repeats, or default."
    )
    return _Part(figure * named, named, freedom)


def _amounts(figure: Column, parts: list[_Part]) -> list[Node]:
    """Return amounts whose squares add up to that of the uncertainty; shares of all rows are summed up once."""
    shares = [part.share for part in parts if part.share is not None]
    amounts = [part.amount for part in parts if part.share is None]
    if not shares:
        return amounts
    whole = _named_share(figure, "share", "share of all rows", sum_of_squares(shares).sqrt(), "Of what is the same.")
    return [figure * whole, *amounts]


def _margin(figure: Column) -> Column:
    """Derive the standard uncertainty of a figure and its margin."""
    declared = DECLARED_IN[figure.table].quantities[figure.name]
    shown = declared.shown + 1 if declared.shown else 0
    parts = [part for part in (*(_felt(figure, error) for error in ERRORS), _scatter(figure)) if part.amount != NOTHING]
    combined = derive(
        f"{figure.name}_u", f"u({declared.symbol})", declared.unit, shown,
        t.masked(figure.present(), sum_of_squares(_amounts(figure, parts)).sqrt()), "Combined standard uncertainty.",
        GUM_PROPAGATION, BY_PROPAGATION,
    )  # fmt: skip
    finite = [(part.amount, part.freedom) for part in parts if part.freedom is not None]
    return derive(
        f"{figure.name}_margin", f"± {declared.label}", declared.unit, shown,
        expanded(combined, effective_freedom(combined, finite)),
        "Expanded uncertainty at the level of confidence on Settings.", GUM_FREEDOM, BY_WELCH, helper=False,
    )  # fmt: skip


MARGINS = {figure: _margin(figure) for figure in FIGURES}
"""The column of margins of each figure."""
