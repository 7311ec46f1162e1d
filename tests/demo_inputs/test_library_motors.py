"""The invented motors of the library: as their script makes them, credible, and with a truth that the engine finds."""

from functools import cache

import pytest

from demo_inputs.library_motors import LARGE, LIBRARY_MOTORS, SMALL
from demo_inputs.make_library import FOLDER, library_test
from xlsengine.bench.inputs.bench_test import input_hash
from xlsengine.library.kept import Kept, kept_of
from xlsengine.study.assessment import Assessment, assess
from xlsengine.workbook.reading.reader import read_bench_test

MOST_BYTES = 1_000_000


@cache
def assessed(name: str) -> Assessment:
    return assess(library_test(name))


@cache
def kept(name: str) -> Kept:
    return kept_of(library_test(name), assessed(name))


@pytest.mark.parametrize("name", LIBRARY_MOTORS)
def test_the_workbook_holds_what_the_script_makes(name: str) -> None:
    assert input_hash(read_bench_test(FOLDER / f"{name}.xlsx")) == input_hash(library_test(name))


def test_the_folder_holds_these_and_no_others_and_stays_small() -> None:
    files = list(FOLDER.iterdir())
    assert {path.name for path in files} == {f"{name}.xlsx" for name in LIBRARY_MOTORS}
    assert sum(path.stat().st_size for path in files) < MOST_BYTES


@pytest.mark.parametrize("name", LIBRARY_MOTORS)
def test_no_fault_is_planted_but_the_label_of_bramble(name: str) -> None:
    said = [flag["what"] for flag in assessed(name).flag_list() if flag["severity"] != "note"]
    assert said == (["Kv is not what the label says"] if name.startswith("bramble") else [])


@pytest.mark.parametrize("name", LIBRARY_MOTORS)
def test_kv_is_found_within_its_margin(name: str) -> None:
    """The simulator knows the true one; each is held to three times its ±, so that chance does not fail one in ten."""
    found, margin = (float(str(kept(name).test[key])) for key in ("best_kv", "best_kv_uncertainty"))
    assert abs(found - LIBRARY_MOTORS[name].plan.motor.kv) <= 3 * margin


def test_everything_is_marked_as_invented_and_nothing_stands_out_as_a_class_of_its_own() -> None:
    for names, size in ((LARGE, (22.0, 7.0)), (SMALL, (18.0, 6.0))):
        assert len(names) == 5
        for name in names:
            test = kept(name).test
            assert str(test["maker"]).endswith("(invented)")
            assert (test["stator_diameter"], test["stator_height"]) == size
            assert "Invented: no such motor" in str(library_test(name).tables["Inspection"]["observation"][0])


def test_propellers_overlap_in_part_and_one_was_tested_in_other_air() -> None:
    for names in (LARGE, SMALL):
        sets = [{(group["prop_key"], group["cells"]) for group in kept(name).groups} for name in names]
        assert any(one != other for one in sets for other in sets)
        assert all(any(one & other for other in sets if other is not one) for one in sets)
    air = {name: float(str(kept(name).test["air_density"])) for name in LARGE}
    thin = air.pop("wicket-2207")
    assert thin < 0.9 * min(air.values())
    assert not [group for group in kept("acorn-1806").groups if group["kind"] != "peak"]
