"""A workbook of XlsxWriter whose package is as small as it can be, and whose names are those that a person would look for.

The methods are private, so the version range is pinned; `tests/workbook/test_results_names.py` looks at what comes of them.
"""

import re
from collections.abc import Collection
from typing import Any
from zipfile import ZipFile

import xlsxwriter
from xlsxwriter import workbook as library

from xlsengine.workbook.formats import FONT

_FILL, _EFFECT = (
    '<a:solidFill><a:schemeClr val="phClr"/></a:solidFill>',
    "<a:effectStyle><a:effectLst/></a:effectStyle>",
)
_PLAIN = (
    ("Cambria|Calibri", FONT),
    ("<a:font .*?/>", ""),
    ("<a:gradFill .*?</a:gradFill>", _FILL),
    ("<a:effectStyle>.*?</a:effectStyle>", _EFFECT),
)
"""What XlsxWriter's theme has and no cell or chart of ours needs. Its fonts would be shown in place of ours by Excel, since
XlsxWriter says of cells in the workbook's own font that they go by the theme."""


class _PackedHard(ZipFile):
    """A package packed as small as can be, which takes 0.03 s more for 2 MB."""

    def writestr(self, part: Any, content: Any, *_: Any) -> None:
        super().writestr(part, content, compresslevel=9)


class PreparedWorkbook(xlsxwriter.Workbook):  # type: ignore[misc]
    """The workbook; one that is put together in memory is packed as small as can be.

    `hidden_names` are kept out of the lists that a person is shown: they are for whoever reads the file.
    """

    hidden_names: Collection[str] = ()

    def __init__(self, *package: Any) -> None:
        super().__init__(*package)
        for part, plain in _PLAIN:
            self.theme_xml: str = re.sub(part, plain, self.theme_xml)

    def _prepare_defined_names(self) -> None:
        """Prepare the names; docProps/app.xml, where nobody looks for them, need not list them once more."""
        super()._prepare_defined_names()
        for one in self.defined_names:
            one[3] = int(one[3] or one[0] in self.hidden_names)
        self.named_ranges.clear()

    def _store_workbook(self) -> None:
        library.ZipFile = _PackedHard if self.in_memory else ZipFile  # it names no level
        super()._store_workbook()
