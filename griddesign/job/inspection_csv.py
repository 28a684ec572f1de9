"""The inspector's form as a CSV file, blank: what ``design`` writes beside the inspection sheet.

Every row says by ``item`` what it is a reading of: ``plate`` (box, position), ``box`` and ``section`` (from joint to
joint), ``insulation`` (test voltage applied, what was read, whether it stood). Filled in it comes back to ``verify``
(``job.inspected``), and to ``retap`` (``job.plates_csv``), whose columns of plates, joints and ohms it has.
"""

import csv
import io
from collections.abc import Iterator, Mapping
from typing import Literal

from griddesign.grid.layout import Layout, Place

Item = Literal["plate", "box", "section", "insulation"]

BLANK_TITLES = (
    "item", "box", "position", "kind", "section", "from", "to", "ohm", "method", "temperature (degC)",
    "test voltage (V)", "insulation (Mohm)", "stood", "remarks",
)  # fmt: skip


def inspection_blank(layout: Layout, units: Literal["mm", "inch"] = "mm") -> str:
    """The form for a grid: a row for every plate, box and section, and one for the insulation of each box; CR LF.

    Its column of temperatures is in the degrees of the papers, which pass bands and thermometer have too.
    """
    sink = io.StringIO()
    titles = tuple(title.replace("degC", "degF") if units == "inch" else title for title in BLANK_TITLES)
    writer = csv.DictWriter(sink, titles, restval="")
    writer.writeheader()
    rows = (*_plates(layout), *_boxes(layout), *_sections(layout), *_insulation(layout))
    writer.writerows({title: plain_cell(cell) for title, cell in row.items()} for row in rows)
    return sink.getvalue()


def plain_cell(text: str) -> str:
    """A cell that a spreadsheet takes for words: one that begins as a formula does gets a blank in front, which is
    dropped in reading."""
    return f" {text}" if text.startswith(("=", "+", "-", "@")) else text


def _plates(layout: Layout) -> Iterator[Mapping[str, str]]:
    for place in layout.places:
        yield {"item": "plate", "box": str(place.box), "position": str(place.position), "kind": place.kind}


def _boxes(layout: Layout) -> Iterator[Mapping[str, str]]:
    for box in range(1, layout.boxes + 1):
        last = len(layout.in_box(box))
        yield {"item": "box", "box": str(box), "from": joint_before(1, box), "to": joint_before(last + 1, box)}


def _sections(layout: Layout) -> Iterator[Mapping[str, str]]:
    for section in layout.sections:
        first, last = ends_of(layout, section.name)
        yield {
            "item": "section",
            "section": section.name,
            "from": joint_before(first.position, first.box),
            "to": joint_before(last.position + 1, last.box),
        }


def _insulation(layout: Layout) -> Iterator[Mapping[str, str]]:
    for box in range(1, layout.boxes + 1):
        yield {"item": "insulation", "box": str(box)}


def ends_of(layout: Layout, section: str) -> tuple[Place, Place]:
    """First and last plate of a section, from the dot end of the first box."""
    places = layout.of_section(section)
    return places[0], places[-1]


def joint_before(position: int, box: int) -> str:
    """The joint before a plate, as the form writes it and ``retap`` reads it: ``box 2, 4`` is after plate 4."""
    return f"box {box}, {position - 1}"
