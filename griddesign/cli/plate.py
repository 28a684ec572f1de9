"""``griddesign plate``: one plate, its ohms, mass and size, from a job or from an outline somebody drew.

Which of the two is told by the file's ending; only what that one needs is loaded.
"""

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any, TypeVar, get_args

import click

from griddesign.errors import InputError
from griddesign.plate.process import MadeBy
from griddesign.plate.replacement import FREE

Command = TypeVar("Command", bound=Callable[..., Any])

_SHARED = ("metal", "made_by")
_ORDER = (
    click.option("--ohms", help='Cold ohms wanted: the dimension that gives them. "0.07 ohm".'),
    click.option(
        "--free", type=click.Choice(FREE), help="Which dimension gives way; strip width, then thickness, where left out."
    ),
    click.option("--sheet", multiple=True, help='A thickness of sheet on hand, "3 mm"; may be repeated.'),
    click.option("--current", help='Steady current for the temperatures, "60 A", in place of the job\'s duty.'),
    click.option(
        "--measured", type=click.Path(path_type=Path), help="CSV of first-offs: the strip width of the batch."
    ),
)
_OUTLINE = (
    click.option("--thickness", help='How thick the plate is: "8 mm".'),
    click.option("--units", help="The drawing's unit, mm, cm, m or inch, where its header does not say it."),
    click.option("--terminal", multiple=True, metavar="ID", help="A hole the current goes in or out by, H1; twice."),
    click.option("--washer", help='Terminals are faces of washers of this diameter, "30 mm", not rims of holes.'),
    click.option("--layer", multiple=True, metavar="NAME", help="Only what lies on this layer; may be repeated."),
    click.option("--heal", help='The widest gap closed, "0.01 mm" where left out.'),
    click.option("--bracket", help='How near the two bounds are brought, "0.1 %" where left out.'),
    click.option("--resistivity", help='In place of the table\'s: "92 uohm cm".'),
    click.option("--crowding", help="Peak over mean current density the fillet is to reach, 2.5 where left out."),
    click.option("--out", type=click.Path(path_type=Path), help="Folder for the sheet and the outline as solved."),
)


def _with(options: Iterable[Callable[[Command], Command]]) -> Callable[[Command], Command]:
    """The decorators of ``options`` as one, in their order."""

    def decorate(command: Command) -> Command:
        for option in reversed(tuple(options)):
            command = option(command)
        return command

    return decorate


@click.command("plate")
@click.argument("source", metavar="JOB|OUTLINE.dxf", type=click.Path(path_type=Path))
@click.option("--name", help="Of a job: which plate, where it holds several.")
@click.option("--metal", help="In which metal; a job's own where left out.")
@click.option("--made-by", type=click.Choice(get_args(MadeBy)), help="How; as in the job where left out.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on stdout.")
@_with(_ORDER)
@_with(_OUTLINE)
def command(source: Path, as_json: bool, **words: Any) -> int:
    """Ohms, mass and size of one plate: of JOB as drawn there, or of an OUTLINE.dxf drawn by anybody.

    Of a JOB, with --ohms: the plate to order in its place; with --measured: the strip width of the batch, from its
    first-offs. Of an OUTLINE.dxf, which wants --metal and --thickness: the ohms with a bracket that holds, where the
    current crowds, and with --out the field drawn.
    """
    if source.suffix.lower() == ".dxf":
        _refuse(words, ("name", *_names(_ORDER)), "an outline")
        from griddesign.cli.plate_outline import answer_outline

        return answer_outline(source, words, as_json)
    _refuse(words, _names(_OUTLINE), "a job")
    from griddesign.cli.plate_job import answer_job

    order = {key: words[key] for key in (*_SHARED, *_names(_ORDER))}
    return answer_job(source, words["name"], order, as_json)


def _names(options: Iterable[Callable[[Command], Command]]) -> tuple[str, ...]:
    """The names options hand their words over by."""

    def bare() -> None:
        """Takes the options, to be asked for them."""

    decorated: Any = _with(options)(bare)  # type: ignore[arg-type]
    return tuple(parameter.name for parameter in reversed(decorated.__click_params__))


def _refuse(words: dict[str, Any], names: Iterable[str], of: str) -> None:
    """Raises InputError where an option was given that means nothing for this kind of file."""
    given = [name for name in names if words[name]]
    if given:
        other = "job" if of == "an outline" else "drawing (a file that ends in .dxf)"
        raise InputError(f"--{given[0].replace('_', '-')} means nothing for {of}", hint=f"It is for a {other}.")
