"""What readings that belong together lead to expect of one of them, and how surely: the one predictor of all checks.

A reading is expected at ``y = z · b``; z are its terms (1, the logarithm of the speed and so on), b the figures of its label:
a propeller, a cell count. What is known of b before anything is read (the usual slope, and how far from it propellers lie)
counts like readings, so that a few rows are judged as well as many, each with its own uncertainty. All labels at once.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from xlsengine.study.case import BoolArray, IntArray
from xlsengine.study.outliers import NORMAL_QUARTILE, FloatArray

MOST_ODD = 8
"""Odd rows sought under one label, so that time grows with the rows."""

LEVEL_SPREAD = 100.0
"""Standard deviation of a level before anything is read: anything is possible."""


@dataclass(frozen=True)
class Term:
    """One term of the line: its values in the rows, and what b is before reading: usual value and spread."""

    values: FloatArray
    usual: float
    spread: float


@dataclass(frozen=True)
class Relation:
    """What should be alike in the rows of a label: y with its noise and terms, and how much of a tare's share is in y.

    The noise of a `settled` one allows for all that rows differ in, and is not raised where they scatter more.
    """

    y: FloatArray
    noise: FloatArray
    terms: list[Term]
    label: IntArray
    tare: float = 0.0
    settled: bool = False

    @property
    def z(self) -> FloatArray:
        """Return the terms, of shape (n, terms + 1)."""
        return np.stack([np.ones(self.y.size), *(term.values for term in self.terms)], axis=1)


class Expected(NamedTuple):
    """For each row how far its y is from what the others of its label say, the spread of that, and how many they are."""

    misfit: FloatArray
    spread: FloatArray
    others: IntArray

    def told_by(self, fewest: int) -> Expected:
        """Return the same, NaN where there are fewer others."""
        enough = self.others >= fewest
        misfit, spread = (np.where(enough, part, np.nan) for part in (self.misfit, self.spread))
        return Expected(misfit, spread, self.others)


class Figures(NamedTuple):
    """The figures b of each row's label, one column a term, without its level, and their spread."""

    values: FloatArray
    spread: FloatArray


class Lines:
    """The lines of all labels, by least squares with what is known before as further readings."""

    def __init__(self, relation: Relation, counted: BoolArray) -> None:
        """Draw the lines through those of the counted rows that have all that a line needs; NaN is a blank."""
        z = relation.z
        known = np.isfinite(relation.y) & np.isfinite(relation.noise) & np.isfinite(z).all(axis=1)
        self.known, self.label = known, relation.label
        self.y, self.noise = np.where(known, relation.y, 0.0), np.where(known, relation.noise, 1.0)
        self.z = np.where(known[:, None], z, 0.0)
        self.prior = np.diag([LEVEL_SPREAD**-2, *(term.spread**-2 for term in relation.terms)])
        self.before = self.prior @ np.array([0.0, *(term.usual for term in relation.terms)])
        self.counted = known & counted
        self.raised, self.settled = 1.0, relation.settled

    def judged(self, allowed: float, score: float) -> Expected:
        """Judge each row by the others under its label.

        The noise is raised where the rows scatter more. A row farther off than `allowed` and `score` spreads is odd: the
        oddest of each label is left out of the line, then the next, before any is judged.
        """
        for _ in range(MOST_ODD):
            found = self._scaled()
            excess = np.abs(found.misfit) / np.maximum(allowed, score * found.spread)
            oddest = _oddest(np.where(self.counted & (found.others > 1), np.nan_to_num(excess), 0.0), self.label)
            if not oddest.any():
                return found
            self.counted &= ~oddest
        return self._scaled()

    def against(self, tried: Relation, of: IntArray, places: IntArray) -> Expected:
        """Judge rows as they may have been meant, each by the line without any row of its trial.

        `of` numbers the trials, `places` are where the rows stand in the table.
        """
        all_normal, all_right = self._fitted
        labels = len(all_right)
        held, part = np.unique(of * labels + self.label[places], return_inverse=True)
        asked, back = np.unique(of * labels + tried.label, return_inverse=True)
        counted = self.counted[places]
        weights = np.where(counted, self.noise[places] ** -2, 0.0)
        normal, right = self._sums(part, weights, self.z[places], self.y[places], held.size)
        at = np.minimum(np.searchsorted(held, asked), held.size - 1)
        gone = held[at] == asked
        inverse = np.linalg.inv(all_normal[asked % labels] - gone[:, None, None] * normal[at])
        figures = np.einsum("nij,nj->ni", inverse, all_right[asked % labels] - gone[:, None] * right[at])
        others = self._counts[asked % labels] - gone * np.bincount(part, counted, held.size).astype(np.int64)[at]
        z = tried.z
        variance = np.einsum("ni,nij,nj->n", z, inverse[back], z)
        misfit = tried.y - np.einsum("ni,ni->n", z, figures[back])
        return _told(misfit, self.raised * np.sqrt(tried.noise**2 + variance), others[back])

    def figures(self) -> Figures:
        """Return the figures of each row's line with their spread, the noise raised to the scatter; NaN where not counted."""
        self._scaled()
        normal, right = self._fitted
        inverse = np.linalg.inv(normal)
        found = np.einsum("lij,lj->li", inverse, right)[self.label, 1:]
        spread = self.raised * np.sqrt(np.einsum("lii->li", inverse))[self.label, 1:]
        return Figures(*(np.where(self.counted[:, None], part, np.nan) for part in (found, spread)))

    def _scaled(self) -> Expected:
        """Return each row's distance from the line of the other counted rows, with the noise raised to their scatter."""
        weights = np.where(self.counted, self.noise**-2, 0.0)
        size = int(self.label.max(initial=-1)) + 1
        normal, right = self._sums(self.label, weights, self.z, self.y, size)
        self._fitted = normal + self.prior, right + self.before
        self._counts = np.bincount(self.label, self.counted, size).astype(np.int64)
        inverse = np.linalg.inv(self._fitted[0])
        figures = np.einsum("lij,lj->li", inverse, self._fitted[1])
        residual = self.y - np.einsum("ni,ni->n", self.z, figures[self.label])
        variance = np.einsum("ni,nij,nj->n", self.z, inverse[self.label], self.z)
        share = np.maximum(1 - weights * variance, 1e-9)  # 1 for a row that does not count
        spread = np.where(self.counted, self.noise / np.sqrt(share), np.sqrt(self.noise**2 + variance))
        others = self._counts[self.label] - self.counted
        found = _told(np.where(self.known, residual / share, np.nan), spread, others)
        scores = np.abs(found.misfit / spread)[self.counted & (others > 1)]
        if scores.size and not self.settled:
            self.raised = max(1.0, float(np.median(scores)) / NORMAL_QUARTILE)
        return found._replace(spread=self.raised * found.spread)

    def _sums(
        self, label: IntArray, weights: FloatArray, z: FloatArray, y: FloatArray, size: int
    ) -> tuple[FloatArray, FloatArray]:
        """Return the sums of the normal equations under each label: matrices and right sides."""
        terms = z.shape[1]
        normal, right = np.zeros((size, terms, terms)), np.zeros((size, terms))
        for one in range(terms):
            weighted = weights * z[:, one]
            right[:, one] = np.bincount(label, weighted * y, size)
            for other in range(one + 1):
                normal[:, one, other] = normal[:, other, one] = np.bincount(label, weighted * z[:, other], size)
        return normal, right


def _told(misfit: FloatArray, spread: FloatArray, others: IntArray) -> Expected:
    return Expected(misfit, np.where(np.isnan(misfit), np.nan, spread), others).told_by(1)


def _oddest(excess: FloatArray, label: IntArray) -> BoolArray:
    """Tell which row is the first of the largest excess under its label, if that is above 1."""
    order = np.lexsort((-np.arange(excess.size), excess, label))
    last = np.append(label[order][1:] != label[order][:-1], True)
    oddest = np.zeros(excess.size, dtype=bool)
    oddest[order[last]] = True
    return oddest & (excess > 1)
