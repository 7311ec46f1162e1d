"""``xlsengine batch``: a box of motors of one model, and what its serials say of all of them."""

from pathlib import Path

import click

from xlsengine.commands.printing import FILE, OVERWRITE, progress, say, say_all, say_noted


@click.command()
@click.argument("files", nargs=-1, type=FILE)
@click.option("--new", "new", type=FILE, help="Write an empty workbook of serials to this file.")
@click.option(
    "-o", "--output", type=FILE, help="File to write; else '<name> batch results.xlsx' beside the first file."
)
@OVERWRITE
def batch(files: tuple[Path, ...], new: Path | None, output: Path | None, overwrite: bool) -> None:
    """Say how a box of motors stands against its label: spread, capability, run charts, how many to test.

    FILES are workbooks of serials (write an empty one with --new), and bench tests or results of one model, a serial each.
    """
    if (new is None) == (not files):
        raise click.UsageError("name FILES to judge, or --new FILE to write an empty workbook")
    if new is not None:
        from xlsengine.workbook.batch_workbook import write_batch_template

        say(f"wrote {write_batch_template(new, overwrite)}; fill its cream cells, then run: xlsengine batch FILE")
        return
    _judge(files, output or batch_path(files[0]), overwrite)


def _judge(files: tuple[Path, ...], target: Path, overwrite: bool) -> None:
    from xlsengine.study.batch import scope_of
    from xlsengine.workbook.batch_workbook import lines_of, write_batch
    from xlsengine.workbook.output import refuse_input
    from xlsengine.workbook.reading.batch_reader import gather

    for file in files:
        refuse_input(target, file)
    with progress() as step:
        box = gather(files, step)
        scope = scope_of(box.fields, box.serials)
        write_batch(target, scope, overwrite)
    say_all(lines_of(scope))
    say_noted(box.told)
    say(f"wrote {target}")


def batch_path(file: Path) -> Path:
    """Return where a box goes: ``<name> batch results.xlsx`` beside the first file; one that came back is numbered on."""
    from xlsengine.workbook.output import next_name, numbered

    name = numbered(file.stem)[0]
    return next_name(file if name.endswith("batch") else file.with_stem(f"{name} batch")) if file.name else file
