"""``griddesign new``: write a starter."""

from pathlib import Path

import click

from griddesign.cli.saying import answer, say
from griddesign.errors import OutputError
from griddesign.job.starters import PURPOSES, starter_text
from griddesign.papers.writing import write_file


@click.command("new")
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--for", "purpose", type=click.Choice(PURPOSES), default="car", show_default=True, help="What the job is."
)
@click.option("--force", is_flag=True, help="Overwrite a file that is there already.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on stdout, everything else on stderr.")
def command(file: Path, purpose: str, force: bool, as_json: bool) -> None:
    """Write a commented starter job to FILE; it runs as it stands."""
    path = _job_file(file)
    if path.exists() and not force:
        raise OutputError(f"{path} is there already", hint="Choose another name, or add --force to overwrite it.")
    write_file(path, starter_text(purpose).encode())
    verb = "plate" if purpose == "plate" else "design"
    if as_json:
        answer({"file": str(path), "purpose": purpose, "next": ["griddesign", verb, str(path)]})
    say([f"{path} written. Change its figures, then: griddesign {verb} {path}"], to_stderr=as_json)


def _job_file(file: Path) -> Path:
    """The file to write, with ``.toml`` behind a bare name. Raises OutputError where it names no file."""
    if not file.name or file.is_dir():
        raise OutputError(f"{file} is a folder", hint="Name a file, for instance job.toml.")
    return file if file.suffix else file.with_suffix(".toml")
