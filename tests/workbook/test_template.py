"""The shipped template is what the code writes, and so are the demo inputs."""

from pathlib import Path

import pytest

import xlsengine
from demo_inputs.make_demo_inputs import bench_test_of
from demo_inputs.scenario import DEMO_TESTS, DemoTest

ROOT = Path(__file__).parent.parent.parent


def test_shipped_template_is_what_the_code_writes(tmp_path: Path) -> None:
    written = xlsengine.write_template(tmp_path / "template.xlsx")
    assert written.read_bytes() == (ROOT / "workbook_templates" / "motor_bench.xlsx").read_bytes(), (
        "run: xlsengine template -o workbook_templates/motor_bench.xlsx --overwrite"
    )


@pytest.mark.parametrize("demo", DEMO_TESTS, ids=lambda demo: demo.file_name)
def test_shipped_demo_inputs_are_what_the_script_writes(demo: DemoTest, tmp_path: Path) -> None:
    written = xlsengine.write_input_workbook(bench_test_of(demo), tmp_path / "demo.xlsx")
    shipped = ROOT / "demo_inputs" / f"{demo.file_name}.xlsx"
    assert written.read_bytes() == shipped.read_bytes(), "run: python -m demo_inputs.make_demo_inputs"
