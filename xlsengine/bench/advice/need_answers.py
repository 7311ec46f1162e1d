"""What stands above the ranked pairs: how many fit, which is first, what rejects most, and whether the order still holds."""

from xlsengine.bench.advice import pair_answers as a
from xlsengine.bench.advice import pairs as p
from xlsengine.bench.advice.craft_asks import ESTIMATE
from xlsengine.bench.declaring.declare import Field
from xlsengine.bench.inputs.craft import HOVER, way_of_flying
from xlsengine.bench.inputs.need import NEED
from xlsengine.expression import Condition, Constant, Named, Node, join, say

FOUND = a.FOUND


def _on_writing(name: str, label: str) -> Named:
    return FOUND.write_once(Field(name, label, "", "Counted when the workbook was written.", decimals=0))


def _number(code: float) -> Node:
    return p.pair.count(Condition(a.verdict_code, "=", Constant(code)))


searched = _on_writing("pairs_searched", "Pairs in the library")
listed = FOUND.figure("pairs_listed", "Pairs listed").derive(p.pair.count())
fitting = FOUND.figure("pairs_fitting", "Listed pairs that fit").derive(_number(a.HOLDS))
near = FOUND.figure("pairs_near", "Listed pairs that are borderline").derive(_number(a.BORDERLINE))
REJECTED = tuple(
    FOUND.figure(f"rejected_{place}", f"Listed pairs rejected first by: {limit.title}").derive(
        p.pair.count(
            Condition(a.first_limit, "=", Constant(float(place))), Condition(a.verdict_code, "=", Constant(a.FAILS))
        )
    )
    for place, limit in enumerate(a.LIMITS, start=1)
)
REJECTED_IN_ALL = tuple(
    _on_writing(f"rejected_in_all_{place}", f"Pairs of the library rejected first by: {limit.title}")
    for place, limit in enumerate(a.LIMITS, start=1)
)
_FIRST = Constant(1.0)
RANKED_BY_HOVER = "Ranked by how long it hovers, which is not its flight time."
RANKED_BY_WATTS = "Ranked by grams per watt at full throttle on the bench, which says nothing of speed."
_best_row = FOUND.figure("best_row", "Row of the first pair").derive(a.order.position(a.order.smallest()))
_of_best_rank = FOUND.figure("of_best_rank", "Pairs of the first rank").derive(
    p.pair.count(Condition(a.rank, "=", _FIRST))
)


_pair = join(p.motor.at(_best_row), " with ", p.prop.at(_best_row), " on ", p.cells.at(_best_row).fixed(0), "S")
_by_estimate = a.hover_basis.at(_best_row).equals(ESTIMATE).where(f" ({ESTIMATE})", "")
_stays = say(
    ": about {:.1f} ± {:.1f} min in hover{}", a.minutes.at(_best_row), a.minutes_doubt.at(_best_row), _by_estimate
).otherwise("")
_pulls = say(
    ": {:.2f} ± {:.2f} g/W at full throttle", p.grams_per_watt.at(_best_row), p.grams_per_watt_doubt.at(_best_row)
).otherwise("")
_ranked_by = a.hovers.equals(1).where(
    way_of_flying.equals(HOVER).where("", f" {RANKED_BY_HOVER}"), f" {RANKED_BY_WATTS}"
)
_shared = (_of_best_rank > 1).where(join(", rank shared by ", _of_best_rank.fixed(0)), "")
_none = say(
    "None of the listed pairs fits. Nearest: {}, {} ({}).", _pair, a.verdict.at(_best_row), a.first_reason.at(_best_row)
)
headline = FOUND.figure("need_headline", "In one line").derive(
    (listed > 0).where(
        (fitting > 0).where(
            say(
                "{:.0f} of {:.0f} listed pairs fit, and {:.0f}{}{}{}{}.{}",
                fitting,
                listed,
                near,
                (near > 1).where(" are borderline. First: ", " borderline. First: "),
                _pair,
                a.hovers.equals(1).where(_stays, _pulls),
                _shared,
                _ranked_by,
            ),
            _none,
        ),
        "No pair is listed.",
    )
)
moved = FOUND.figure("pairs_moved", "Rows out of order").derive(a.out_of_order.sum())
order_note = FOUND.figure("order_note", "Is the order up to date").derive(
    (moved > 0).where("Out of date: sort the table by Rank, smallest first.", "Up to date: sorted by Rank.")
)
AS_WRITTEN = {
    name: FOUND.write_once(
        Field(
            f"written_{name}",
            f"{declared.label}, as written",
            declared.unit,
            "The need that the pairs were chosen by.",
            declared.kind,
            choices=declared.choices,
        )
    )
    for name, declared in NEED.fields.items()
}


def _changed(name: str, written: Named) -> Node:
    now, none = Named(name, written.is_text), "" if written.is_text else -1.0
    return now.otherwise(none).equals(written.otherwise(none)).where(0.0, 1.0)


need_changed = FOUND.figure("need_changed", "Fields of the need changed since").derive(
    sum((_changed(name, written) for name, written in AS_WRITTEN.items()), start=Constant(0.0))
)
chosen_note = FOUND.figure("chosen_note", "Are all pairs of the library here").derive(
    (searched > listed).where(
        say(
            "Listed are the {:.0f} nearest of {:.0f} pairs{}",
            listed,
            searched,
            (need_changed > 0).where(
                ", chosen by the need as it was written: run xlsengine find on this workbook to choose again.", "."
            ),
        ),
        join("All ", searched.fixed(0), " pairs of the library are listed."),
    )
)
SENTENCES = (headline, order_note, chosen_note)
