"""Draws the guide's pictures: ``python -m demo_inputs.make_guide_pictures``; needs LibreOffice, poppler, Chromium and Xvfb.

They are looked at and kept small; a test holds their names and sizes, not their pixels.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterable
from io import BytesIO
from pathlib import Path

from PIL import Image, ImageChops
from playwright.sync_api import sync_playwright

import xlsengine
from tests.instruments.button_office import installed, work
from xlsengine.guide.assemble import PICTURES
from xlsengine.publish.assessed import Publication
from xlsengine.publish.pictures import TALL, WIDE, picture

DEMO = Path(__file__).parent / "thimble-2207.xlsx"
WIDTH, COLOURS, DPI = 1100, 48, 110
INPUT_SHEETS, TEMPLATE_SHEETS, RESULTS_SHEETS = ("Readings",), ("Paper",), ("Report", "Checks", "Craft")
SCREEN, WINDOW = ":87", (1400, 900)
CHROMIUM, PAGE_HEIGHT = "/usr/bin/chromium", 1000
FOOTER = 0.95  # of a page's height, where its footer begins


def main() -> None:
    """Make all of them."""
    PICTURES.mkdir(exist_ok=True)
    assessment = xlsengine.evaluate(xlsengine.read_bench_test(DEMO))
    with tempfile.TemporaryDirectory() as folder:
        here = Path(folder)
        results = xlsengine.write_results(assessment, here / "results.xlsx")
        _sheets(results, RESULTS_SHEETS)
        _sheets(Path(shutil.copy(DEMO, here / "input.xlsx")), INPUT_SHEETS)
        _sheets(xlsengine.write_template(here / "template.xlsx"), TEMPLATE_SHEETS)
        _page(Path(shutil.copy(DEMO, here / "my motor.xlsx")))
    _button()
    content = Publication(assessment).content
    _keep("wide.png", Image.open(BytesIO(picture(content, WIDE))))
    _keep("tall.png", Image.open(BytesIO(picture(content, TALL))), 640)
    print(sum(path.stat().st_size for path in PICTURES.glob("*.png")), "bytes together")


def _sheets(workbook: Path, sheets: Iterable[str]) -> None:
    """Keep the first printed page of each of these sheets, found by its footer, without its white edges."""
    folder = workbook.parent
    profile = f"-env:UserInstallation={(folder / 'profile').as_uri()}"
    convert = ["soffice", profile, "--headless", "--convert-to", "pdf", "--outdir", str(folder), str(workbook)]
    subprocess.run(convert, check=True, capture_output=True)
    pdf = workbook.with_suffix(".pdf")
    texts = subprocess.run(
        ["pdftotext", "-layout", str(pdf), "-"], check=True, capture_output=True, text=True
    ).stdout.split("\f")
    for sheet in sheets:
        footer = re.compile(rf"\s{sheet}\s+page \d+ of")
        page = next(number for number, text in enumerate(texts, start=1) if footer.search(text))
        target = folder / f"{sheet.lower()}.png"
        draw = ["pdftoppm", "-png", "-singlefile", "-r", str(DPI), "-f", str(page), "-l", str(page), str(pdf)]
        subprocess.run([*draw, str(target.with_suffix(""))], check=True)
        _keep(target.name, _trimmed(Image.open(target).convert("RGB")))


def _page(workbook: Path) -> None:
    """Keep what the page in the browser says of a workbook that was dropped on it."""
    command = [sys.executable, "-m", "xlsengine", "page", "--no-browser"]
    with (
        subprocess.Popen(
            command, stdout=subprocess.PIPE, text=True, env=os.environ | {"PYTHONUNBUFFERED": "1"}
        ) as served,
        sync_playwright() as driver,
    ):
        assert served.stdout is not None
        address = served.stdout.readline().split()[-1]
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        page = browser.new_page(viewport={"width": WIDTH, "height": PAGE_HEIGHT})
        page.goto(address)
        page.locator("input[type=file]").set_input_files(workbook)
        page.locator("#outcomes > *").first.wait_for()
        page.locator("#outcomes svg, #outcomes img").first.wait_for()
        _keep("page.png", Image.open(BytesIO(page.screenshot())))
        browser.close()
        served.terminate()


def _button() -> None:
    """Keep what LibreOffice shows once Check was pressed, on a screen of its own."""
    folder = installed()
    shot, book = folder / "shot.png", Path(shutil.copy(DEMO, folder / "my motor.xlsx"))
    take = f"from PIL import ImageGrab; ImageGrab.grab(xdisplay={SCREEN!r}).save({str(shot)!r})"
    acts: list[list[str | int]] = [["size", *WINDOW], ["select", "Readings", "A6"], ["press", "check"], ["choose", 0]]
    acts.append(["run", sys.executable, "-c", take])
    size = "x".join(map(str, (*WINDOW, 24)))
    with subprocess.Popen(["Xvfb", SCREEN, "-screen", "0", size], stderr=subprocess.DEVNULL) as screen:
        work(folder, book, acts, DISPLAY=SCREEN, SAL_USE_VCLPLUGIN="gen")
        screen.terminate()
    _keep("button.png", Image.open(shot), colours=128)
    shutil.rmtree(folder, ignore_errors=True)


def _trimmed(image: Image.Image) -> Image.Image:
    image = image.crop((0, 0, image.width, int(image.height * FOOTER)))
    white = Image.new("RGB", image.size, "white")
    box = ImageChops.difference(image, white).getbbox() or (0, 0, *image.size)
    return image.crop((max(0, box[0] - 12), max(0, box[1] - 12), box[2] + 12, box[3] + 12))


def _keep(name: str, image: Image.Image, width: int = WIDTH, colours: int = COLOURS) -> None:
    """Write a picture of so many pixels across, in few colours."""
    whole = image.convert("RGB")
    height = round(whole.height * width / whole.width)
    small = whole.resize((width, height), Image.Resampling.LANCZOS)
    small.quantize(colours, dither=Image.Dither.NONE).save(PICTURES / name, optimize=True)


if __name__ == "__main__":
    main()
