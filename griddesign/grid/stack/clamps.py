"""Where terminal clamps go: at every tap, and at both ends of every link from box to box."""

from collections.abc import Iterable, Iterator

from griddesign.grid.layout import BoxLink, Layout, box_links
from griddesign.grid.records import Tap
from griddesign.grid.stack.records import Clamped


def parted_at(taps: Iterable[Tap]) -> frozenset[int]:
    """Plates (whole-grid count) after which the chain is parted: two taps stand there that must not touch."""
    at = [tap.after_plate for tap in taps if tap.name.startswith("start of ") and tap.after_plate > 0]
    return frozenset(at)


def links_made(layout: Layout, taps: Iterable[Tap], parted: frozenset[int] | None = None) -> tuple[BoxLink, ...]:
    """The leads from box to box. Where the chain is parted between two boxes there is none: it would join what must
    stay apart. ``parted``: plates after which it is, else as the taps say."""
    parted = parted_at(taps) if parted is None else parted
    return tuple(link for link in box_links(layout) if layout.in_box(link.to_box)[0].plate - 1 not in parted)


def link_label(link: BoxLink) -> str:
    """The name both clamps of a link carry."""
    return f"link {link.from_box}–{link.to_box}"


def clamps(layout: Layout, taps: Iterable[Tap], parted: frozenset[int] | None = None) -> tuple[Clamped, ...]:
    """Every lead that is clamped to the stack."""
    every = tuple(taps)
    links = links_made(layout, every, parted)
    return (*map(_of_tap, every), *(one for link in links for one in _of_link(layout, link)))


def _of_tap(tap: Tap) -> Clamped:
    hand = "after" if tap.name.startswith("start of ") else "before"
    return Clamped(tap.box, tap.joint[0], tap.side, "after" if hand == "after" else "before", tap.name)


def _of_link(layout: Layout, link: BoxLink) -> Iterator[Clamped]:
    last = [place for place in layout.in_box(link.from_box) if place.in_circuit][-1]
    first = next(place for place in layout.in_box(link.to_box) if place.in_circuit)
    yield Clamped(link.from_box, last.position, link.side, "before", link_label(link))
    yield Clamped(link.to_box, first.position - 1, "terminal side", "after", link_label(link))
