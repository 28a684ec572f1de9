"""The door of somebody's outline with all that the command's words can ask of it: regions and tapers of the thickness,
clamps, washers, an order for ohms, a kerf; and its papers."""

from itertools import pairwise
from pathlib import Path
from random import Random
from typing import Any

from doors import Door, Fault, drawings, example, prove_files, prove_json
from mangling import changes, dxf_changed, hostile

END = b"\n%%% drawing %%%\n"
"""Behind it stands the drawing, before it the command's words, parted by NUL."""


def outline_door(raw: bytes, folder: Path) -> str:
    """Figures, words and files of an outline."""
    import click

    from griddesign.cli.plate import command
    from griddesign.cli.plate_outline import report_of
    from griddesign.papers.as_json import text_of
    from griddesign.papers.outlined_files import outline_files
    from griddesign.papers.outlined_json import outline_json
    from griddesign.papers.outlined_lines import outline_lines

    words, _, drawing = raw.partition(END)
    (folder / "plate.dxf").write_bytes(drawing)
    given = [word.decode("utf-8", "surrogateescape") for word in words.split(b"\0")]
    try:
        asked = command.make_context("plate", [str(folder / "plate.dxf"), *given]).params
    except (click.ClickException, click.exceptions.Exit):
        return "the words"
    report = report_of(asked.pop("source"), {**asked, "out": folder / "out"})
    said = "".join(outline_lines(report))
    prove_json(text_of(outline_json(report)))
    figures = report.solved.figures
    if not 0 < figures.low_ohm <= figures.cold_ohm <= figures.high_ohm:
        raise Fault(f"{figures.low_ohm} {figures.cold_ohm} {figures.high_ohm}")
    if len(raw) % 4 == 0:
        prove_files(outline_files(report))
    return f"{len(said) // 100} {figures.cold_ohm:.0e}"


def outlines() -> list[bytes]:
    """Drawings of plates with lines on layers of their own, each with words that read it."""
    strip = box(0, 0, 200, 30) + circle(15) + circle(185)
    bosses, worn, spot = (
        circle(15, 12, "BOSS") + circle(185, 12, "BOSS"),
        box(80, -5, 120, 35, "WORN"),
        box(90, 9, 110, 21, "SPOT"),
    )
    even = "--metal|ss304|--thickness|8 mm|--bracket|3 %"
    ends = "|--clamp|-1 mm, -1 mm, 10 mm, 31 mm|--clamp|190 mm, -1 mm, 201 mm, 31 mm"
    taper = "--metal|copper|--bracket|3 %|--thickness-at|0 mm, 15 mm, 6 mm|--thickness-at|200 mm, 15 mm, 10 mm"
    third = "|--thickness-at|100 mm, 0 mm, 7.5 mm"
    of_worn, of_boss = "|--thickness-of|WORN|6 mm", "|--thickness-of|BOSS|12 mm"
    made = [
        (even + of_worn, strip + worn),
        (even + of_worn + ends + "|--thickness-of|SPOT|5 mm to 7 mm", strip + worn + spot),
        (even + of_boss + "|--washer|20 mm", strip + bosses),
        (taper + ends, strip),
        (taper + third + of_boss, strip + bosses),
        (taper + third, strip),
        (even + "|--ohms|0.7 mohm|--kerf|0.2 mm|--made-by|laser", strip),
        (even + of_boss + "|--ohms|0.6 mohm", strip + bosses),
        ("--metal|ss304|--bracket|3 %|--ohms|0.7 mohm|--free|thickness" + ends, strip),
        ("--metal|ss304|--bracket|3 %|--ohms|0.7 mohm|--sheet|6 mm|--sheet|10 mm", strip),
        (even + "|--kerf|0.3 mm|--crowding|3|--resistivity|70 uohm cm to 74 uohm cm", strip),
    ]
    own = [words.replace("|", "\0").encode() + END + drawn(entities) for words, entities in made]
    offered = "--metal|copper|--thickness|8 mm|--bracket|5 %|--units|mm|--ohms|180 uohm|--heal|1 mm"
    return [*own, offered.replace("|", "\0").encode() + END + example("offered-plate.dxf")] + [
        (even + "|--units|mm").replace("|", "\0").encode() + END + one for one in drawings("asc")[1:]
    ]


def box(left: float, low: float, right: float, high: float, layer: str = "0") -> str:
    corners = [(left, low), (right, low), (right, high), (left, high), (left, low)]
    return "".join(f" 0 LINE 8 {layer} 10 {a[0]} 20 {a[1]} 11 {b[0]} 21 {b[1]}" for a, b in pairwise(corners))


def circle(x: float, radius: float = 6, layer: str = "0") -> str:
    return f" 0 CIRCLE 8 {layer} 10 {x} 20 15 40 {radius}"


def drawn(entities: str) -> bytes:
    head, end = "0 SECTION 2 HEADER 9 $INSUNITS 70 4 0 ENDSEC 0 SECTION 2 ENTITIES", "0 ENDSEC 0 EOF"
    return "\n".join(f"{head} {entities} {end}".split()).encode() + b"\n"


WORDS = (
    "--thickness-of|WORN|1 um", "--thickness-of|BOSS|1 m", "--thickness-of|0|6 mm", "--thickness-at|0 mm, 0 mm, 1 um",
    "--thickness-at|-1 m, 0 mm, 9 mm", "--thickness-at|0 mm, 15 mm, 6 mm", "--ohms|1 ohm", "--ohms|1 uohm",
    "--ohms|0.75 mohm", "--kerf|2 mm", "--kerf|13 mm", "--free|strip_width", "--free|thickness", "--washer|11 mm",
    "--washer|1 m", "--heal|5 mm", "--clamp|0 mm, 0 mm, 100 mm, 30 mm", "--clamp|0 mm, 0 mm, 0 mm, 0 mm",
    "--units|in", "--units|m", "--layer|WORN", "--terminal|H1", "--terminal|H2", "--made-by|cast",
    "--made-by|stamped", "--sheet|1 um", "--crowding|1.001", "--bracket|10 %",
)  # fmt: skip


def asked_changed(dice: Random, raw: bytes, others: Any) -> bytes:
    """A word of the command or a figure of it written anew, or the drawing changed."""
    words, between, drawing = raw.partition(END)
    match dice.randrange(5):
        case 0:
            words += b"\0" + dice.choice(WORDS).replace("|", "\0").encode()
        case 1:
            every = words.split(b"\0")
            at = dice.randrange(len(every))
            every[at] = dice.choice((hostile(dice), every[at].replace(b"mm", b"um"), every[at].replace(b"1", b"9")))
            words = b"\0".join(every)
        case 2:
            drawing = dice.choice(others).partition(END)[2]
        case _:
            drawing = _DRAWING(dice, drawing, [other.partition(END)[2] for other in others])
    return words + between + drawing


_DRAWING = changes(dxf_changed, blind=False)
OUTLINE_DOORS = {"outline": Door(outlines, changes(asked_changed, blind=False), outline_door, 1500, deep=True)}
