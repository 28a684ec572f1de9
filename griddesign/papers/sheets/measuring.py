"""The measuring sheet to take to the car: lettered sketches, blanks, the key of the job that each reading goes to."""

from collections.abc import Iterator

from griddesign.job.letters import Letter, letters_of
from griddesign.papers.blocks import (
    SMALL_PT,
    Block,
    Box,
    Cell,
    Column,
    Drawing,
    Heading,
    NewPage,
    Paragraph,
    Points,
    Sheet,
    SignOff,
    Table,
    TableCell,
)
from griddesign.papers.measure_drawing import box_sketch, plate_sketch
from griddesign.papers.sheets.common import cautions
from griddesign.papers.sheets.leads import COUNT_FROM

IMPERATIVE = "Power off, locked, verified dead, cold. Fill in what can be read."
LEADS, PLATES = 10, 18
_ABOUT = (
    "Any unit will do, written beside the number: 7 3/8 in, 187 mm. Not sure: write about, or the least and the most "
    "it may be; the job file takes both. Every photo gets a number, and a rule beside what it shows."
)
_OLD = (
    "Old strips are thinner than they were made, and not evenly: read thickness at three places and write the mean. "
    "A plate that is cracked, patched or burnt is measured by nobody's rule: mark it, and measure its neighbour."
)


def measuring_sheets(purpose: str, degree: str = "°C") -> tuple[Sheet, ...]:
    """The sheets for a kind of job: of one plate, of the boxes, and of the car where the job may hold one; ``degree``
    is what the shop's thermometer shows."""
    plate = Sheet("Measuring sheet: plate", IMPERATIVE, "bench", tuple(_plate()))
    boxes = Sheet("Measuring sheet: boxes", IMPERATIVE, "bench", tuple(_boxes(degree)))
    car = Sheet("Measuring sheet: car", IMPERATIVE, "bench", tuple(_car()))
    return (plate, boxes) if purpose == "plate" else (plate, boxes, car)


_TAKE = (
    "Four-wire ohmmeter, or a source of 10 A or more and a millivoltmeter; clips that reach the inside of an eye.",
    "Thermometer that touches metal; caliper, rule, feeler and radius gauges; a scale for one plate.",
    "Paint for the dot, labels for the leads, a camera, and a lamp. Two people.",
)


def _plate() -> Iterator[Block]:
    yield cautions()
    yield from (Heading("Take along"), Points(_TAKE))
    yield from (Heading("How to write it down"), Paragraph(_ABOUT), Paragraph(_OLD))
    yield SignOff(("Measured by", "Made safe by"))
    yield NewPage()
    yield Drawing(plate_sketch(), "Not to scale. Odd number of passes: eyes on opposite edges. Even: both on one edge.")
    yield from (NewPage(), _readings(letters_of("plate")))


def _readings(letters: tuple[Letter, ...], titles: tuple[str, ...] = ("Read",)) -> Table:
    columns = (
        Column("", "centre"),
        Column("What", stretch=True),
        *(Column(title, blank=True, least_mm=30.0 if len(titles) == 1 else 24.0) for title in titles),
        Column("Give or take", blank=True, least_mm=22.0),
        Column("Photo", blank=True, least_mm=14.0),
        Column("Key of the job"),
    )
    empty: tuple[TableCell, ...] = ("",) * (len(titles) + 2)
    rows = tuple((Cell(one.letter), _what(one), *empty, one.key or "on paper only") for one in letters)
    return Table(columns, rows, 9.0)


def _what(letter: Letter) -> str:
    return f"{letter.words} ({letter.note})" if letter.note else letter.words


# --- boxes -----------------------------------------------------------------------------------------------------------


def _boxes(degree: str) -> Iterator[Block]:
    yield cautions(0, 1, 2, 4)
    yield Drawing(box_sketch(), "A box from the terminal side. Paint the dot before anything is taken apart.")
    yield Paragraph(COUNT_FROM, bold=True)
    yield from (NewPage(), _readings(letters_of("box")), Heading("Leads as found"), _leads())
    yield from (
        NewPage(),
        Heading("Plates as found: a page for each box, two for a long one"),
        _as_found_words(),
        _as_found(degree),
    )


def _leads() -> Table:
    columns = (
        Column("Lead, as it is labelled", blank=True, least_mm=44.0, stretch=True),
        Column("Box", blank=True, least_mm=14.0),
        Column("Joint", blank=True, least_mm=20.0),
        Column("Side", blank=True, least_mm=26.0),
        Column("Goes to", blank=True, least_mm=40.0),
        Column("Photo", blank=True, least_mm=16.0),
    )
    return Table(columns, (("",) * len(columns),) * LEADS, 9.0)


def _as_found(degree: str) -> Table:
    blanks = (
        ("Kind", 16.0), ("In circuit", 17.0), ("Cracked, patched", 24.0), ("Joined with", 19.0), ("Ohms", 26.0),
        (f"Metal, {degree}", 18.0), ("Photo", 15.0),
    )  # fmt: skip
    columns = (Column("Plate", "right"), *(Column(title, blank=True, least_mm=wide) for title, wide in blanks))
    empty: tuple[TableCell, ...] = ("",) * len(blanks)
    return Table(columns, tuple((Cell(str(number)), *empty) for number in range(1, PLATES + 1)), 8.5)


def _as_found_words() -> Paragraph:
    words = (
        "Box number: ________. A plate that stands in the box and carries nothing is a plate as well: give it its row "
        "and write no under In circuit. The same rows stand in the blank CSV beside the job."
    )
    return Paragraph(words, size_pt=SMALL_PT)


# --- car -------------------------------------------------------------------------------------------------------------


def _car() -> Iterator[Block]:
    yield cautions(0, 4)
    yield from (Heading("Line and car"), _readings(letters_of("car")))
    yield from (NewPage(), Heading("Plate of each motor"), _readings(letters_of("motor"), ("Motor 1", "Motor 2")))
    plate = (
        "Copy everything the plates of car, motors and controller say, word for word, with a photo each: "
        "hour or continuous rating, winding, date, serial number.",
        "",
        "",
        "",
    )
    yield Box("Plates in full", plate, size_pt=10.0)
    yield SignOff(("Read by",))
