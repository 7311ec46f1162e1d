"""What is written as comma-separated text is what pandas reads back."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from demo_inputs.library_motors import SMALL
from demo_inputs.make_library import library_test
from tests.library.made import small_test
from xlsengine.errors import OutputRefused
from xlsengine.library.listing import PARTS, PROPELLERS, READINGS, TESTS, export
from xlsengine.library.store import Library


@pytest.fixture(scope="module")
def library(tmp_path_factory: pytest.TempPathFactory) -> Library:
    """Return a library of the five small motors of the demo."""
    with Library(tmp_path_factory.mktemp("export") / "library") as library:
        for name in SMALL:
            library.add(library_test(name), f"{name}, the first.xlsx")
    return library


@pytest.mark.parametrize("part", PARTS)
def test_pandas_reads_back_what_stands_in_the_library(library: Library, part: str, tmp_path: Path) -> None:
    rows = export(library, tmp_path / "out.csv", part)
    asked: dict[str, Callable[[], list[dict[str, Any]]]] = {
        TESTS: library.tests,
        PROPELLERS: library.groups,
        READINGS: library.steps,
    }
    wanted = pd.DataFrame(asked[part]())
    library.close()
    back = pd.read_csv(
        tmp_path / "out.csv", encoding="utf-8-sig", dtype={"price": float}, keep_default_na=False, na_values=[""]
    )
    assert rows == len(back) == len(wanted) > 0
    for name in wanted:
        if wanted[name].dtype == object or wanted[name].dtype.name.startswith("str"):
            assert [None if text != text else text for text in back[name]] == [
                None if text != text else text for text in wanted[name]
            ], name
        else:
            pd.testing.assert_series_equal(back[name], wanted[name], check_dtype=False, rtol=1e-15)


def test_rows_of_propellers_say_whose_they_are(library: Library, tmp_path: Path) -> None:
    export(library, tmp_path / "out.csv", PROPELLERS)
    tests = pd.DataFrame(library.tests())
    library.close()
    back = pd.read_csv(tmp_path / "out.csv", encoding="utf-8-sig")
    assert list(back.columns[:4]) == ["test", "test_id", "model", "place"]
    assert set(zip(back["test"], back["test_id"], back["model"], strict=True)) == set(
        zip(tests["id"], tests["test_id"], tests["model"], strict=True)
    )


def test_a_text_that_would_be_a_formula_is_text(tmp_path: Path) -> None:
    with Library(tmp_path / "library") as library:
        library.add(small_test('=HYPERLINK("x")', "-1+2"), "@source")
        export(library, tmp_path / "out.csv")
    back = pd.read_csv(tmp_path / "out.csv", encoding="utf-8-sig")
    assert [back["test_id"][0], back["model"][0]] == ['\'=HYPERLINK("x")', "'-1+2"]


def test_nothing_is_replaced_unasked(tmp_path: Path) -> None:
    out = tmp_path / "out.csv"
    out.write_text("mine")
    with Library(tmp_path / "library") as library:
        library.add(small_test(), "a")
        with pytest.raises(OutputRefused, match="exists already"):
            export(library, out)
        assert out.read_text() == "mine"
        export(library, out, overwrite=True)
    assert out.read_text(encoding="utf-8-sig").startswith("id,source,added,test_id")
