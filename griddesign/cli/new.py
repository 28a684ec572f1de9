"""``griddesign new``: write a starter, and the blank sheets to take to the car."""

from pathlib import Path

import click

from griddesign.cli.saying import answer, say
from griddesign.errors import OutputError
from griddesign.job.starters import PURPOSES, offer_text, starter_text
from griddesign.papers.new_set import blank_names, blanks_of
from griddesign.papers.writing import is_device_name, write_all

VERBS = {"plate": "plate", "retap": "retap", "claim": "verify"}
NOT_OF_JOBS = frozenset({".csv", ".dxf", ".html", ".json", ".pdf", ".txt", ".xlsx"})
LETTER = '\n[papers]\nsheet = "Letter"\n'


@click.command("new")
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--for", "purpose", type=click.Choice(PURPOSES), default="car", show_default=True, help="What the job is."
)
@click.option("--ask", is_flag=True, help="Put at most twelve plain questions and write their answers into the job.")
@click.option("--paper", type=click.Choice(("A4", "Letter")), default="A4", show_default=True, help="Sheet size.")
@click.option("--force", is_flag=True, help="Overwrite files that are there already.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on stdout, everything else on stderr.")
def command(file: Path, purpose: str, ask: bool, paper: str, force: bool, as_json: bool) -> None:
    """Write a commented starter job to FILE; it runs as it stands.

    Beside it: FILE-measure.pdf, a measuring sheet whose letters stand behind the keys of the job, and
    FILE-plates-blank.csv, a blank table of plates to fill in at the car; for a claim FILE-claim.toml as well.
    """
    path = _job_file(file)
    claim = {f"{path.stem}-claim.toml": offer_text().encode()} if purpose == "claim" else {}
    names = (path.name, *claim, *blank_names(path.stem))
    _refuse_there(path.parent, names, force=force)
    text = _text(purpose, ask=ask, paper=paper)
    write_all(path.parent, {path.name: text.encode(), **claim, **blanks_of(path.stem, purpose, text, paper)})
    blanks = [str(path.parent / name) for name in names[1:]]
    second = {"retap": blanks[-1:], "claim": blanks[:1]}.get(purpose, [])
    words = ["griddesign", VERBS.get(purpose, "design"), str(path), *second]
    if as_json:
        answer({"file": str(path), "blanks": blanks, "purpose": purpose, "next": words})
    first = f"Change its figures{', fill in ' + second[0] if second else ''}, then"
    say([f"{path} written. {first}: {' '.join(words)}", f"Beside it: {', '.join(blanks)}"], to_stderr=as_json)


def _text(purpose: str, *, ask: bool, paper: str) -> str:
    if ask:
        from griddesign.cli.asking import asked_text

        text = asked_text(purpose)
    else:
        text = starter_text(purpose)
    return text if paper == "A4" else f"{text.rstrip()}\n{LETTER}"


def _refuse_there(folder: Path, names: tuple[str, ...], *, force: bool) -> None:
    """Raise OutputError where one of the files is there already, before anything is asked or made."""
    there = [folder / name for name in names if (folder / name).exists()]
    if there and not force:
        words = f"{', '.join(map(str, there))} {'is' if len(there) == 1 else 'are'} there already"
        raise OutputError(words, hint="Choose another name, or add --force to overwrite.")


def _job_file(file: Path) -> Path:
    """The file to write, with ``.toml`` behind a bare name. Raises OutputError where it names no file for a job."""
    if not file.name or file.is_dir():
        raise OutputError(f"{file} is a folder", hint="Name a file, for instance job.toml.")
    if set(file.name) & set('<>:"|?*\\') or not file.name.isprintable() or is_device_name(file.name):
        hint = "A job goes from one computer to the next: plain letters, digits, dot, hyphen."
        raise OutputError(f"{file.name} is no name of a file on Windows", hint=hint)
    if file.name != file.name.rstrip(". "):
        raise OutputError(f"{file.name!r} ends in a dot or a blank, which Windows drops", hint="Leave it out.")
    if file.suffix.lower() in NOT_OF_JOBS:
        raise OutputError(f"{file} ends in {file.suffix}, and a job is TOML", hint=f"Name it {file.stem}.toml.")
    return file if file.suffix else file.with_suffix(".toml")
