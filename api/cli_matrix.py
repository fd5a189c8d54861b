"""`kitwright matrix`: every answer in bulk, for a shop's search index."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path

import click
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TimeRemainingColumn

from api.engines import EngineFailed, Processes, Scheduler
from api.loading import load
from api.matrix import FORMATS, Engine, here, write_matrix
from api.options import NO_ANSWER, YES, catalogue_option


@click.command("matrix")
@click.argument("out", type=click.Path(path_type=Path, file_okay=False))
@click.option("--format", "form", type=click.Choice(FORMATS), default="csv", show_default=True)
@click.option("--processes", type=click.IntRange(1, 256), default=1, show_default=True,
              help="Work it out in so many processes of this machine.")
@click.option("--scheduler", metavar="ADDRESS",
              help="Work it out on the workers of this dask.distributed scheduler.")
@click.option("--work", type=click.Path(path_type=Path, file_okay=False),
              help="Where what is done is kept, to go on from. Default: OUT/.work")
@click.option("--deadline", type=click.FloatRange(0.001, 600), default=30.0, show_default=True,
              help="Seconds for each question.")
@catalogue_option
def matrix_command(
    out: Path, form: str, processes: int, scheduler: str | None, work: Path | None,
    deadline: float, folder: Path,
) -> None:
    """What is needed with every part on every car, and every remembered kit, as tables in OUT.

    A run that is stopped goes on where it was when it is started again. Leaves with 3 when some
    questions had no answer, mostly for want of time; those are asked again next time.
    """
    _check_extra("pyarrow", "parquet", wanted=form == "parquet")
    _check_extra("distributed", "dask", wanted=scheduler is not None)
    catalogue = load(folder)
    with _bar() as bar:
        task = bar.add_task("answers", total=None)
        try:
            counts = write_matrix(
                catalogue, out, work or out / ".work", form, deadline,
                _engine(processes, scheduler, folder),
                lambda done, of: bar.update(task, completed=done, total=of),
            )
        except EngineFailed as error:
            raise click.ClickException(f"{error}; start it again to go on") from None
    click.echo(f"{counts['parts']} answers in {out / f'parts.{form}'}, "
               f"{counts['kits']} in {out / f'kits.{form}'}, of catalogue {catalogue.digest}")
    if counts["no_answer"]:
        click.echo(f"{counts['no_answer']} had no answer (of {deadline:g} s each)")
    raise click.exceptions.Exit(NO_ANSWER if counts["no_answer"] else YES)


def _engine(processes: int, scheduler: str | None, folder: Path) -> Engine:
    if scheduler is not None:
        return Scheduler(scheduler, folder)
    return Processes(processes) if processes > 1 else here


def _check_extra(module: str, extra: str, wanted: bool) -> None:
    if wanted and find_spec(module) is None:
        raise click.UsageError(f"this needs {module}: pip install 'kitwright[{extra}]'")


def _bar() -> Progress:
    return Progress(
        "{task.description}", BarColumn(), MofNCompleteColumn(), TimeRemainingColumn(),
        console=Console(stderr=True), transient=True,
    )
