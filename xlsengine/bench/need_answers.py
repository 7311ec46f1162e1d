"""What stands above the ranked pairs: how many fit, which is first, what rejects most, and whether the order still holds."""

from __future__ import annotations

from xlsengine.bench import pair_answers as a
from xlsengine.bench import pairs as p
from xlsengine.bench.declare import Field, Figures, Quantity
from xlsengine.bench.need import NEED
from xlsengine.expression import Aggregate, Column, Condition, Constant, Named, Node, join
from xlsengine.sources import definition

FOUND = Figures("Found", "What the pairs come to, live; what was judged on writing is a typed number.")
_SOURCE = definition()


def _figure(name: str, label: str, expression: Node, meaning: str = "Live.") -> Named:
    return FOUND.derive(Quantity(name, label, expression, meaning, _SOURCE, shown=0))


def _on_writing(name: str, label: str) -> Named:
    return FOUND.write_once(Field(name, label, "", "Counted when the workbook was written.", decimals=0))


def _number(code: float) -> Node:
    return Aggregate("count", (p.pair,), (Condition(a.verdict_code, "=", Constant(code)),))


searched = _on_writing("pairs_searched", "Pairs in the library")
listed = _figure("pairs_listed", "Pairs listed", Aggregate("count", (p.pair,)))
fitting = _figure("pairs_fitting", "Listed pairs that fit", _number(a.HOLDS))
near = _figure("pairs_near", "Listed pairs that are borderline", _number(a.BORDERLINE))
REJECTED = tuple(
    _figure(f"rejected_{place}", f"Listed pairs rejected first by: {limit.title}",
            Aggregate("count", (p.pair,), (Condition(a.first_limit, "=", Constant(float(place))),
                                           Condition(a.verdict_code, "=", Constant(a.FAILS)))))
    for place, limit in enumerate(a.LIMITS, start=1)
)  # fmt: skip
REJECTED_IN_ALL = tuple(
    _on_writing(f"rejected_in_all_{place}", f"Pairs of the library rejected first by: {limit.title}")
    for place, limit in enumerate(a.LIMITS, start=1)
)
_FIRST = Constant(1.0)
_best_row = _figure(
    "best_row",
    "Row of the first pair",
    Aggregate("position", (a.rank,), (), Aggregate("smallest", (a.rank,), (), _FIRST)),
)
_of_best_rank = _figure(
    "of_best_rank", "Pairs of the first rank", Aggregate("count", (p.pair,), (Condition(a.rank, "=", _FIRST),))
)


def _best(column: Column) -> Node:
    return Aggregate("text at" if column.text else "at", (column,), (), _best_row)


_pair = join(_best(p.motor), " with ", _best(p.prop), " on ", _best(p.cells).fixed(0), "S")
_stays = join(": about ", _best(a.minutes).fixed(1), " ± ", _best(a.minutes_doubt).fixed(1), " min in hover").otherwise(
    ""
)
_shared = (_of_best_rank > 1).where(join(", rank shared by ", _of_best_rank.fixed(0)), "")
_none = join(
    "None of the listed pairs fits. Nearest: ", _pair, ", ", _best(a.verdict), " (", _best(a.first_reason), ")."
)
headline = _figure(
    "need_headline", "In one line",
    (listed > 0).where(
        (fitting > 0).where(join(fitting.fixed(0), " of ", listed.fixed(0), " listed pairs fit, and ", near.fixed(0),
                                 " are borderline. First: ", _pair, _stays, _shared, "."), _none),
        "No pair is listed.",
    ),
)  # fmt: skip
moved = _figure("pairs_moved", "Rows out of order", Aggregate("sum", (a.out_of_order,)))
order_note = _figure(
    "order_note", "Is the order up to date",
    (moved > 0).where("Out of date: sort the table by Rank, smallest first.", "Up to date: sorted by Rank."),
)  # fmt: skip
AS_WRITTEN = {
    name: FOUND.write_once(Field(f"written_{name}", f"{declared.label}, as written", declared.unit,
                                 "The need that the pairs were chosen by.", declared.kind, choices=declared.choices))
    for name, declared in NEED.fields.items()
}  # fmt: skip


def _changed(name: str, written: Named) -> Node:
    now = Named(name, written.is_text)
    if written.is_text:
        return now.otherwise("").equals(written.otherwise("")).where(0.0, 1.0)
    return now.otherwise(-1.0).equals(written.otherwise(-1.0)).where(0.0, 1.0)


def _changes() -> Node:
    changes: Node = Constant(0.0)
    for name, written in AS_WRITTEN.items():
        changes = changes + _changed(name, written)
    return changes


need_changed = _figure("need_changed", "Fields of the need changed since", _changes())
chosen_note = _figure(
    "chosen_note", "Are all pairs of the library here",
    (searched > listed).where(
        join(
            "Listed are the ", listed.fixed(0), " nearest of ", searched.fixed(0), " pairs",
            (need_changed > 0).where(", chosen by the need as it was written: run xlsengine find on this workbook to "
                                     "choose again.", "."),
        ),
        join("All ", searched.fixed(0), " pairs of the library are listed."),
    ),
)  # fmt: skip
SENTENCES = (headline, order_note, chosen_note)
