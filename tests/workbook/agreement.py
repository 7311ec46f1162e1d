"""What holds for any workbook that is written: every program comes to the values stored in it."""

from pathlib import Path

from tests.instruments.office_edit import libreoffice_values
from tests.instruments.recalculate import (
    differences,
    gnumeric_values,
    iron_values,
    requires_gnumeric,
    requires_libreoffice,
    stored_values,
)


class AgreesEverywhere:
    """Tests of the workbook that the fixture `written` gives the path of."""

    def test_ironcalc_comes_to_the_stored_values(self, written: Path) -> None:
        assert differences(stored_values(written), iron_values(written)) == []

    @requires_libreoffice
    def test_libreoffice_comes_to_the_stored_values(self, written: Path) -> None:
        assert differences(stored_values(written), libreoffice_values([written], timeout=600)[0]) == []

    @requires_gnumeric
    def test_gnumeric_comes_to_the_stored_values(self, written: Path) -> None:
        assert differences(stored_values(written), gnumeric_values(written)) == []
