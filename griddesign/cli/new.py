"""``griddesign new``: write a starter."""

from pathlib import Path

import click

from griddesign.errors import OutputError
from griddesign.job.starters import PURPOSES, starter_text
from griddesign.papers.writing import write_file


@click.command("new")
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--for", "purpose", type=click.Choice(PURPOSES), default="car", show_default=True, help="What the job is."
)
@click.option("--force", is_flag=True, help="Overwrite a file that is there already.")
def command(file: Path, purpose: str, force: bool) -> None:
    """Write a commented starter job to FILE; it runs as it stands."""
    path = file if file.suffix else file.with_suffix(".toml")
    if path.exists() and not force:
        raise OutputError(f"{path} is there already", hint="Choose another name, or add --force to overwrite it.")
    write_file(path, starter_text(purpose).encode())
    click.echo(
        f"{path} written. Change its figures, then: griddesign {'plate' if purpose == 'plate' else 'design'} {path}"
    )
