"""Taps: at which joint each lead sits, in which box, and on which side it comes out."""

from collections.abc import Iterable
from itertools import pairwise

from griddesign.grid.circuit import names
from griddesign.grid.layout import Layout, Place, side_after
from griddesign.grid.records import Run, Tap


def taps(layout: Layout, breaks: Iterable[str] = ()) -> tuple[Tap, ...]:
    """Every tap from the dot end: the start of the first section, each joint between sections, the end of the last.

    ``breaks`` names sections after which the chain is parted by a mica washer (a grid per motor string): there the
    joint carries two taps that do not touch, ``end of B`` and ``start of C``. A tap where a box ends stands at the far
    end of that box; the box link belongs to the same point.
    """
    if not layout.sections:
        return ()
    parted = frozenset(breaks)
    order = [section.name for section in layout.sections]
    found = [_begin_tap(layout, order[0])]
    for before, after in pairwise(order):
        found.extend(_inner_taps(layout, before, after, before in parted))
    return (*found, _end_tap(layout, order[-1], f"end of {order[-1]}"))


def out_of_reach(layout: Layout, found: Iterable[Tap]) -> tuple[Tap, ...]:
    """The taps a lead cannot reach: those on the far side where leads reach the terminal side only."""
    if layout.plan.tap_sides != 1:
        return ()
    return tuple(tap for tap in found if tap.side == "far side")


def string_breaks(section_order: Iterable[str], strings: Iterable[Run]) -> tuple[str, ...]:
    """Sections after which the chain must be parted, where each motor string has its own run of sections.

    Neighbours belonging to different strings must not touch. Sections in no string part from nobody.
    """
    owner = {name: number for number, run in enumerate(strings) for name in names(run)}
    order = tuple(section_order)
    return tuple(
        before
        for before, after in pairwise(order)
        if before in owner and after in owner and owner[before] != owner[after]
    )


def _inner_taps(layout: Layout, before: str, after: str, parted: bool) -> list[Tap]:
    if not parted:
        return [_end_tap(layout, before, f"{before}/{after}")]
    return [_end_tap(layout, before, f"end of {before}"), _begin_tap(layout, after)]


def _begin_tap(layout: Layout, name: str) -> Tap:
    first = layout.of_section(name)[0]
    joint = (first.position - 1, first.position)
    return Tap(f"start of {name}", first.box, joint, first.plate - 1, side_after(_steps_before(layout, first)))


def _end_tap(layout: Layout, section: str, name: str) -> Tap:
    last = layout.of_section(section)[-1]
    side = side_after(_steps_before(layout, last) + 1)
    return Tap(name, last.box, (last.position, last.position + 1), last.plate, side)


def _steps_before(layout: Layout, place: Place) -> int:
    """Steps in the box before the one the plate belongs to."""
    own = (place.section, place.step)
    nearer = {(other.section, other.step) for other in layout.in_box(place.box) if other.plate < place.plate}
    return len({step for step in nearer if step[1] > 0} - {own})
