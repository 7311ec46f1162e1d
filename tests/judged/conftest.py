"""One results workbook with everything in it, which several modules look at."""

import pytest

from tests.judged.full_bench import shown
from tests.judged.workbook_by_labels import Workbook, written


@pytest.fixture(scope="session")
def shown_workbook(tmp_path_factory: pytest.TempPathFactory) -> Workbook:
    """Return the results of `full_bench`."""
    return written(shown(), tmp_path_factory.mktemp("judged") / "shown.xlsx")
