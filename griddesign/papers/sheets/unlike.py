"""What only some cars need on their sheets: how groupings change, weakened fields, how unlike motors share."""

from collections.abc import Iterator
from itertools import pairwise
from math import isfinite, nan
from typing import TYPE_CHECKING

from griddesign.grid.circuit import names
from griddesign.job.records import Job
from griddesign.judge.start_result import StartResult
from griddesign.papers.blocks import SMALL_PT, Block, Cell, Column, Heading, Paragraph, Table, TableCell
from griddesign.papers.sheets.shown import Shown
from griddesign.traction.records import Notch, Transition
from griddesign.traction.runup.changing import regrouped
from griddesign.traction.runup.records import NotchLog
from griddesign.units import show

if TYPE_CHECKING:
    from griddesign.grid.contacts.records import Network

_TABLE_PT = 9.0
_SEQUENCE = {
    "power off": "the power goes off, nothing carries current and the car coasts; then the motors are grouped anew",
    "one motor shorted": (
        "the second half of every string is short-circuited, its current taken to be gone at once, and then opened, "
        "while the first half runs on alone through the circuit of the transition; then all are grouped anew"
    ),
    "bridge": (
        "both halves of every string stay in series by the bridge wire, with the grid of each half beside the other "
        "one; then the bridge opens and each half stands in series with its own grid"
    ),
}


def field_words(notch: Notch) -> str:
    """What is left of the field, where that is less than all."""
    return "" if notch.field == 1.0 else f", {100.0 * notch.field:.3g} % field"


def network_words(network: "Network") -> str:
    """Every part of a network with the points it lies between: line, ground, and letters for those inside. A section
    runs from its dot end, a motor from its in (an armature or field from its end 1)."""
    letters = iter("abcdefghijklmnopqrstuvwxyz")
    points: dict[int, str] = {0: "ground", 1: "line"}
    told = []
    for wire in sorted(network.wires, key=lambda one: (min(one.a, one.b) != 1, one.motor)):
        ends = [
            points[end] if end in points else points.setdefault(end, next(letters, f"{end}"))
            for end in (wire.a, wire.b)
        ]
        told.append(f"{wire.name} from {ends[0]} to {ends[1]}")
    parts = any(wire.kind in ("armature", "field") for wire in network.wires)
    motors = f"motors from their in{', armatures and fields from their 1' * parts}"
    why = f"{network.why[:1].upper()}{network.why[1:]}"
    return f"{why}. {'; '.join(told)}. Sections from their dot end, {motors}; letters: points inside."


def fixed_words(job: Job) -> str:
    """What the feeder's heat is counted with, where a controller has fixed resistors; "" where it has none."""
    networks = (notch.network for notch in job.notches if notch.network is not None)
    inside = any(wire.kind == "resistor" for network in networks for wire in network.wires)
    found = inside or any(notch.ahead_ohm or notch.string_ohm for notch in job.notches)
    return "fixed resistors counted with it" if found else ""


def transition_words(job: Job) -> Iterator[Block]:
    """The sequence each change of grouping is taken to go by; nothing where groupings change in no time."""
    usual = job.start.transition if job.start else None
    for before, after in pairwise(job.notches):
        how = after.transition or usual
        if how is not None and regrouped(before, after):
            yield Paragraph(f"From notch {before.name} to {after.name}: {_words(how)}.", size_pt=SMALL_PT)


def _words(how: Transition) -> str:
    grids = [f"{number} {' '.join(names(run)) or 'none'}" for number, run in enumerate(how.circuits, start=1)]
    live = {0: "", 1: f" Sections in it: {' '.join(names(how.circuits[0])) or 'none'}." if how.circuits else ""}
    which = live.get(len(how.circuits), f" Grids: of half {', of half '.join(grids)}.")
    return f"{_SEQUENCE[how.kind]}; {show(how.seconds, 'time')} in all.{which}".removesuffix(".")


def unlike_motors(result: StartResult, shown: Shown) -> Iterator[Block]:
    """Current, volts and pull of every motor on arriving at each notch; nothing where motors are alike."""
    told = [log for log in result.told.rows if log.motor_a is not None]
    if not told:
        return
    yield Heading("How the motors share, on arriving")
    apart = any(log.field_a is not None for log in told)
    titles = ("Armature", "Field", "Volts", "Pull") if apart else ("Current", "Volts", "Pull")
    columns = (Column("Notch"), Column("Motor"), *(Column(title, "right") for title in titles))
    yield Table(columns, tuple(row for log in told for row in _rows(log, shown, apart=apart)), _TABLE_PT)
    said = "Motors of one string carry one current; strings side by side share speed and line."
    if any(notch.network is not None for notch in result.job.notches):
        said += " In a network every motor finds its own; below zero it flows from the motor's out to its in."
    if apart:
        said += (
            " A field with a figure carries a current of its own: it makes the flux, the armature's current makes the "
            "pull with it. The peak of the notch is that of the winding with most; it is left by the mean of the "
            "armatures."
        )
    yield Paragraph(said, size_pt=SMALL_PT)


def _rows(log: NotchLog, shown: Shown, *, apart: bool) -> Iterator[tuple[TableCell, ...]]:
    assert log.motor_a is not None and log.motor_v is not None and log.motor_n is not None
    columns = zip(log.motor_a[:, 0], log.motor_v[:, 0], log.motor_n[:, 0], strict=True)
    for number, (amps, volts, pull) in enumerate(columns, start=1):
        figures = (shown.of(float(volts), "voltage"), shown.of(float(pull), "force"))
        fields = [_field(log, number, shown)] if apart else []
        name = Cell(log.name) if number == 1 else log.name
        yield (name, str(number), shown.of(float(amps), "current"), *fields, *figures)


def _field(log: NotchLog, number: int, shown: Shown) -> str:
    """The current of a motor's field where it has its own; "" where it is the armature's, or a share of it."""
    amps = nan if log.field_a is None else float(log.field_a[number - 1, 0])
    return shown.of(amps, "current") if isfinite(amps) else ""
