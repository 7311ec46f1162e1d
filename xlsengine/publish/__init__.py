"""What is handed to readers: pictures, a page, tables and a workbook, all from one assessment."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from xlsengine.study.assessment import Assessment


def charts_svg(assessment: Assessment) -> dict[str, str]:
    """Return the workbook's charts as SVG by their titles: inline elements without styles, scripts or links."""
    from xlsengine.publish.assessed import Publication

    return Publication(assessment).charts_svg()


def picture(assessment: Assessment, tall: bool = False) -> bytes:
    """Return the picture to publish as PNG: 1920 by 1080 pixels, or 1080 by 1350 where it is `tall`."""
    from xlsengine.publish.assessed import Publication
    from xlsengine.publish.pictures import TALL, WIDE
    from xlsengine.publish.pictures import picture as drawn

    return drawn(Publication(assessment).content, TALL if tall else WIDE)
