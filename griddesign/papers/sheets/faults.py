"""The sheet of single faults: what each does, and, read from right to left, where to look for one."""

from collections.abc import Callable, Iterator, Sequence
from itertools import groupby
from math import isfinite

from griddesign.judge.faults.records import FaultRow, FaultTable, NotchUnder
from griddesign.judge.faults.table import FELT_SHARE
from griddesign.papers.blocks import (
    SMALL_PT,
    Block,
    Box,
    Cell,
    Column,
    Heading,
    NewPage,
    Paragraph,
    Sheet,
    Table,
    TableCell,
)
from griddesign.papers.sheets.common import cautions

IMPERATIVE = "Read from left to right to learn what a fault does; from right to left to find one. Prove it by the ohms."
MOST_NOTCHES, MOST_ACROSS = 14, 20
"""Notches side by side on an upright page, and on one that lies across, with no number broken."""
_LEAST_OHM = 5e-5
TITLES = {
    "plate open": "One plate open",
    "one of a pair open": "One of plates side by side open",
    "neighbours touching": "Two neighbours touching",
    "lead one joint off": "A lead one joint off",
    "box end for end": "A box hung end for end",
    "boxes swapped": "Boxes swapped",
}


def faults_sheet(table: FaultTable | None) -> Sheet | None:
    """The sheet of a table of faults; None where there is none."""
    if table is None or not table.rows:
        return None
    across = len(table.sound.notches) > MOST_NOTCHES
    return Sheet("Single faults", IMPERATIVE, "engineer", tuple(_blocks(table)), landscape=across)


def _blocks(table: FaultTable) -> Iterator[Block]:
    yield cautions(0, 1, 4)
    yield Box("How it was worked out", tuple(_assumed(table)), size_pt=SMALL_PT)
    numbered = list(enumerate(table.rows, start=1))
    for kind, rows in groupby(numbered, key=lambda one: one[1].kind):
        yield Heading(TITLES[kind])
        yield _felt(list(rows), table.driven)
    if table.driven:
        yield NewPage()
        yield Heading("Peak current on every notch, A per motor")
        yield from _by_notch(table, numbered, _peak)
    yield NewPage()
    yield Heading("Ohms of every notch, and by how many milliohm a fault changes them")
    if table.networks:
        names = f"notch{'es' * (len(table.networks) > 1)} {', '.join(table.networks)}"
        yield Paragraph(f"On {names} from line to ground, motors at their stated ohms among them.", size_pt=SMALL_PT)
    yield from _by_notch(table, numbered, _ohms)


def _assumed(table: FaultTable) -> Iterator[str]:
    yield (
        "One fault at a time, everything else as chosen, cold ohms. Of plates that do the same one row stands for all. "
        "Plates that touch are taken to touch half-way along: one plate's worth is bridged, two at worst. A lead one "
        "joint off sits at the next joint it reaches. A box hung end for end, or in another's place, keeps every lead "
        "where it was in space."
    )
    if table.driven:
        yield (
            "The driver notches up at the same current as ever and passes at once through notches that do nothing. A "
            f"jerk is a step of effort more than {100 * FELT_SHARE:.0f} % of the greatest pull above the sound one, "
            "little push as much below it (our figure, no source). Peaks past the end of the motor curve keep its "
            "last flux. Heat: rise of the plate that one start heats most, over that of the sound grid."
        )
    else:
        yield "Without a car in the job only ohms are worked out, and which notches are dead."
    if table.note:
        yield table.note


def _felt(rows: Sequence[tuple[int, FaultRow]], driven: bool) -> Table:
    heat = (Column("Hottest section"), Column("Its heat", "right")) if driven else ()
    columns = (Column("No.", "right"), Column("Fault", least_mm=50.0), *heat, Column("The driver feels", stretch=True))
    return Table(columns, tuple(_felt_row(number, row, driven) for number, row in rows), 9.0)


def _felt_row(number: int, row: FaultRow, driven: bool) -> tuple[TableCell, ...]:
    times = "" if row.times is None else f"×\u00a0{row.times:.2f}"
    heat = (row.hottest or "", times) if driven else ()
    said: TableCell = row.driver if row.driver == "nothing noticeable" else Cell(row.driver)
    return (str(number), row.what.replace(" one joint off", ""), *heat, said)


Show = Callable[[NotchUnder, NotchUnder], TableCell]


def _by_notch(table: FaultTable, numbered: Sequence[tuple[int, FaultRow]], show: Show) -> Iterator[Block]:
    """A row for the sound grid and one for each fault that changes something, notches in columns."""
    count = len(table.sound.notches)
    most = MOST_NOTCHES if count <= MOST_NOTCHES else MOST_ACROSS
    for first in range(0, count, most):
        picked = range(first, min(first + most, count))
        names = tuple(Column(table.sound.notches[place].name, "right") for place in picked)
        sound = (Cell("sound"), *(show(table.sound.notches[place], table.sound.notches[place]) for place in picked))
        rows = [
            (str(number), *(show(row.notches[place], table.sound.notches[place]) for place in picked))
            for number, row in numbered
            if any(_differs(one, before) for one, before in zip(row.notches, table.sound.notches, strict=True))
        ]
        yield Table((Column("Fault"), *names), (sound, *rows), 8.5)
    same = [str(number) for number, row in numbered if not any(map(_differs, row.notches, table.sound.notches))]
    if same:
        yield Paragraph(f"As sound on every notch: {', '.join(same)}.", size_pt=SMALL_PT)


def _differs(now: NotchUnder, before: NotchUnder) -> bool:
    return not (now.open and before.open) and (now.open or abs(now.ohm_change) > _LEAST_OHM or _moved(now, before))


def _moved(now: NotchUnder, before: NotchUnder) -> bool:
    if now.peak_a is None or before.peak_a is None:
        return now.peak_a is not before.peak_a
    return abs(now.peak_a - before.peak_a) > 0.5


def _peak(now: NotchUnder, before: NotchUnder) -> TableCell:
    if now.open:
        return Cell("none") if not before.open else "none"
    if now.peak_a is None:
        return Cell("?" if now.why else "short" if now.shorted else "stands")
    words = f"{now.peak_a:.0f}"
    return Cell(words) if _moved(now, before) else words


def _ohms(now: NotchUnder, before: NotchUnder) -> TableCell:
    if now.open:
        return Cell("open")
    if now is before:
        return f"{now.grid_ohm:.3f}"
    if not isfinite(now.ohm_change) or abs(now.ohm_change) <= _LEAST_OHM:
        return ""
    return f"{1000 * now.ohm_change:+z.0f}".replace("-", "−")
