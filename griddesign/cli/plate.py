"""``griddesign plate``: one plate, its ohms, mass and size, from a job or from an outline somebody drew.

Which of the two is told by the file's ending; only what that one needs is loaded.
"""

from collections.abc import Iterable
from pathlib import Path
from typing import Any, get_args

import click

from griddesign.cli.nest_lines import NEST_HELP
from griddesign.errors import InputError
from griddesign.plate.process import MadeBy
from griddesign.plate.replacement import FREE

_SHARED = ("metal", "made_by", "out", "ohms", "free", "sheet", "kerf")
_FOR_JOBS = ("current", "measured", "nest", "force")
_FOR_OUTLINES = (
    "thickness", "thickness_of", "thickness_at", "units", "terminal", "washer", "clamp", "layer", "heal", "bracket",
    "resistivity", "crowding",
)  # fmt: skip


CLAMP_HELP = (
    "a terminal is a clamped area, two opposite corners in the drawing's axes, "
    '"0 mm, 0 mm, 30 mm, 20 mm"; given twice, or once beside one --terminal.'
)


@click.command("plate")
@click.argument("source", metavar="JOB|OUTLINE.dxf", type=click.Path(path_type=Path))
@click.option("--name", help="Of a job: which plate, where it holds several.")
@click.option("--metal", help="In which metal; a job's own where left out.")
@click.option("--made-by", type=click.Choice(get_args(MadeBy)), help="How; as in the job where left out.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on stdout.")
@click.option("--ohms", help='Order: cold ohms wanted, "0.07 ohm"; the dimension that gives them.')
@click.option("--free", type=click.Choice(FREE), help="Order: which dimension gives way; else width, then thickness.")
@click.option("--sheet", multiple=True, help='Order: a thickness of sheet on hand, "3 mm"; may be repeated.')
@click.option("--current", help='Order: steady current for the temperatures, "60 A", in place of the job\'s duty.')
@click.option("--measured", type=click.Path(path_type=Path), help="CSV of first-offs: the strip width of the batch.")
@click.option("--kerf", metavar="LENGTH", help='Write a cutting file offset for a kerf too, "0.2 mm".')
@click.option("--nest", metavar="SHEET", help=f"Job: {NEST_HELP}")
@click.option("--force", is_flag=True, help="Job: overwrite papers that were edited since they were written.")
@click.option("--thickness", help='Outline: how thick the plate is, "8 mm".')
@click.option(
    "--thickness-of",
    multiple=True,
    type=(str, str),
    metavar="LAYER THICKNESS",
    help='Outline: inside the closed lines of this layer it is another, BOSSES "12 mm"; may be repeated.',
)
@click.option(
    "--thickness-at",
    multiple=True,
    metavar="PLACE",
    help='Outline: it tapers, x, y and reading at two or three places, "0 mm, 0 mm, 7.8 mm"; not with --thickness.',
)
@click.option("--units", metavar="mm|inch|cm|m", help="Outline: the drawing's unit, where its header does not say.")
@click.option("--terminal", multiple=True, metavar="ID", help="Outline: a hole for the current, H1; given twice.")
@click.option("--washer", help='Outline: terminals are washers\' faces of this diameter, "30 mm", not rims of holes.')
@click.option("--clamp", multiple=True, metavar="AREA", help=f"Outline: {CLAMP_HELP}")
@click.option("--layer", multiple=True, metavar="NAME", help="Outline: only what lies on this layer; may be repeated.")
@click.option("--heal", help='Outline: the widest gap closed, else "0.01 mm".')
@click.option("--bracket", help='Outline: how near the two bounds are brought, else "0.1 %".')
@click.option("--resistivity", help='Outline: in place of the table\'s, "92 uohm cm".')
@click.option("--crowding", help="Outline: peak over mean current density a fillet is sought for, else 2.5.")
@click.option("--out", type=click.Path(path_type=Path), help="Write the papers into this folder: sheets, drawing, DXF.")
def command(source: Path, as_json: bool, **words: Any) -> int:
    """Ohms, mass and size of one plate: of JOB as drawn there, or of an OUTLINE.dxf drawn by anybody.

    Of a JOB, with --ohms: the plate to order in its place; with --measured: the strip width of the batch, from its
    first-offs; --out writes the papers of any of these. Of an OUTLINE.dxf, which wants --metal and --thickness: the
    ohms with a bracket that holds, where the current crowds, and with --out the field drawn; with --ohms, its edges
    set out or in, or the sheet (no --thickness then), so that it has them.
    """
    if source.suffix.lower() == ".dxf":
        _refuse(words, ("name", *_FOR_JOBS), "an outline", "a job")
        from griddesign.cli.plate_outline import answer_outline

        return answer_outline(source, words, as_json)
    _refuse(words, _FOR_OUTLINES, "a job", "an outline (a file that ends in .dxf)")
    from griddesign.cli.plate_job import answer_job

    return answer_job(source, words["name"], {key: words[key] for key in (*_SHARED, *_FOR_JOBS)}, as_json)


def _refuse(words: dict[str, Any], names: Iterable[str], of: str, other: str) -> None:
    """Raises InputError where an option was given that means nothing for this kind of file."""
    given = next((name for name in names if words[name]), None)
    if given is not None:
        raise InputError(f"--{given.replace('_', '-')} means nothing for {of}", hint=f"It is for {other}.")
