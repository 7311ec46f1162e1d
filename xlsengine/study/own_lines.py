"""Each propeller's own line: what its other readings lead to expect of one, and how surely.

A reading is expected at ``y = z · b``; z are its terms (1, the logarithm of the speed and so on), b the propeller's
figures. What is known of b before anything is read (the usual slope, and how far from it propellers lie) counts like
readings, so that a few rows are judged as well as many, each with its own uncertainty. All propellers at once.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from xlsengine.study.judged_rows import BoolArray, IntArray, counts_by
from xlsengine.study.outliers import NORMAL_QUARTILE, FloatArray

FEWEST = 3
"""Rows of a propeller from which on one is judged by the others."""

MOST_ODD = 8
"""Odd rows sought in one propeller's readings, so that time grows with the rows."""

LEVEL_SPREAD = 10.0
"""Standard deviation of a level before anything is read: anything is possible."""


@dataclass(frozen=True)
class Term:
    """One term of the line: its values in the rows, and what b is before reading: usual value and spread."""

    values: FloatArray
    usual: float
    spread: float


class Expected(NamedTuple):
    """For each row how far its y lies from what the propeller's other rows say, and the spread of that; NaN if too few."""

    misfit: FloatArray
    spread: FloatArray


class Figures(NamedTuple):
    """The figures b of each row's label, one column a term, and their spread; NaN where the row has no y."""

    values: FloatArray
    spread: FloatArray


def figures(y: FloatArray, noise: FloatArray, terms: list[Term], label: IntArray) -> Figures:
    """Return the figures of every label's line from all its rows."""
    known, lines = _lines(y, noise, terms, label)
    values, spread = np.full((y.size, len(terms)), np.nan), np.full((y.size, len(terms)), np.nan)
    if lines is not None:
        values[known], spread[known] = lines.figures()
    return Figures(values, spread)


def expected(
    y: FloatArray, noise: FloatArray, terms: list[Term], label: IntArray, allowed: float, score: float
) -> Expected:
    """Judge each row by the others under its label.

    `noise` is each y's standard deviation; it is raised where the rows scatter more. A row farther off than `allowed`
    and `score` spreads is odd: the oddest of each label is left out of the line, then the next, before any is judged.
    """
    known, lines = _lines(y, noise, terms, label)
    misfit, spread = np.full(y.size, np.nan), np.full(y.size, np.nan)
    if lines is not None:
        misfit[known], spread[known] = lines.judged(allowed, score)
    return Expected(misfit, spread)


def _lines(y: FloatArray, noise: FloatArray, terms: list[Term], label: IntArray) -> tuple[BoolArray, _Lines | None]:
    """Return which rows have all that a line needs, and the lines through them; None where no row has."""
    known = np.isfinite(y) & np.isfinite(noise)
    for term in terms:
        known &= np.isfinite(term.values)
    if not known.any():
        return known, None
    part = [Term(term.values[known], term.usual, term.spread) for term in terms]
    return known, _Lines(y[known], noise[known], part, np.unique(label[known], return_inverse=True)[1])


class _Lines:
    """The lines of all labels, by least squares with what is known before as further readings."""

    def __init__(self, y: FloatArray, noise: FloatArray, terms: list[Term], label: IntArray) -> None:
        means = np.bincount(label, y) / np.bincount(label)
        self.y, self.noise, self.label = y - means[label], noise, label
        self.z = np.stack([np.ones(y.size), *(term.values for term in terms)], axis=1)
        self.usual = np.array([0.0, *(term.usual for term in terms)])
        self.prior = np.diag([LEVEL_SPREAD**-2, *(term.spread**-2 for term in terms)])
        self.order = np.argsort(label, kind="stable")
        self.starts = np.searchsorted(label[self.order], np.arange(label.max() + 1))

    def judged(self, allowed: float, score: float) -> Expected:
        """Return misfit and spread of every row, with the odd ones left out of the lines."""
        counted = np.ones(self.y.size, dtype=bool)
        for _ in range(MOST_ODD):
            found = self._scaled(counted)
            excess = np.abs(found.misfit) / np.maximum(allowed, score * found.spread)
            oddest = _oddest(np.where(counted, np.nan_to_num(excess), 0.0), self.label)
            if not oddest.any():
                break
            counted &= ~oddest
        return self._scaled(counted)

    def figures(self) -> Figures:
        """Return the figures of each row's line with their spread, the noise raised to the scatter; without its level."""
        everywhere = np.ones(self.y.size, dtype=bool)
        found, inverse = self._solved(np.asarray(self.noise**-2))
        spread = self._raised(self._left_out(everywhere), everywhere) * np.sqrt(np.einsum("lii->li", inverse))
        return Figures(found[self.label, 1:], spread[self.label, 1:])

    def _scaled(self, counted: BoolArray) -> Expected:
        """Return what the counted rows say, with the noise raised to their scatter."""
        found = self._left_out(counted)
        return Expected(found.misfit, self._raised(found, counted) * found.spread)

    def _raised(self, found: Expected, counted: BoolArray) -> float:
        """Return how many times the noise the counted rows scatter, at least 1."""
        scores = np.abs(found.misfit / found.spread)[counted]
        scores = scores[~np.isnan(scores)]
        return max(1.0, float(np.median(scores)) / NORMAL_QUARTILE) if scores.size else 1.0

    def _solved(self, weights: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the figures of each label, and their covariances."""
        z, weighted = self.z[self.order], (weights[:, None] * self.z)[self.order]
        normal = np.add.reduceat(weighted[:, :, None] * z[:, None, :], self.starts)
        right = np.add.reduceat(weighted * self.y[self.order, None], self.starts)
        inverse = np.linalg.inv(normal + self.prior)
        return np.asarray(np.einsum("lij,lj->li", inverse, right + self.prior @ self.usual)), np.asarray(inverse)

    def _left_out(self, counted: BoolArray) -> Expected:
        """Return each row's distance from the line of the other counted rows, and the spread of that distance."""
        weights = np.where(counted, self.noise**-2, 0.0)
        figures, inverse = self._solved(weights)
        residual = self.y - np.einsum("ni,ni->n", self.z, figures[self.label])
        variance = np.einsum("ni,nij,nj->n", self.z, inverse[self.label], self.z)
        share = 1 - weights * variance  # 1 for a row that does not count
        others = counts_by(self.label, counted) - counted
        enough = others >= FEWEST - 1
        spread = np.where(counted, self.noise / np.sqrt(share), np.sqrt(self.noise**2 + variance))
        return Expected(np.where(enough, residual / share, np.nan), np.where(enough, spread, np.nan))


def _oddest(excess: FloatArray, label: IntArray) -> BoolArray:
    """Tell which row is the first of the largest excess under its label, if that is above 1."""
    order = np.lexsort((-np.arange(excess.size), excess, label))
    last = np.append(label[order][1:] != label[order][:-1], True)
    oddest = np.zeros(excess.size, dtype=bool)
    oddest[order[last]] = True
    return oddest & (excess > 1)
