"""Windows of taps cut by what each notch still allows.

A window is the first and last choice of every unknown (two lists). Each rule narrows windows in place and tells which
unknowns it has cut, as a bit mask, or -1 where nothing is left. By Rayleigh's law the ohms of any circuit rise with
those of every section, so the ends of the windows bound the ohms of any circuit whatever its shape.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from math import inf
from typing import Protocol

from griddesign.grid.records import Branches, Run
from griddesign.retaps.ground import Ground, Link, PresentTap, Unknown

EMPTY = -1
SLACK = 1e-13


class Rule(Protocol):
    """Anything that can narrow windows; ``mask`` has a bit for every unknown it looks at."""

    mask: int

    def narrow(self, low: list[int], high: list[int]) -> int:
        """Cut the windows; mask of the unknowns cut, or ``EMPTY``."""


class Linked:
    """Two ends of a section, or of a gap between two."""

    __slots__ = ("link", "mask")

    def __init__(self, link: Link) -> None:
        self.link = link
        self.mask = 1 << link.before | 1 << link.after

    def narrow(self, low: list[int], high: list[int]) -> int:
        """Each end stays where the other leaves room for it."""
        link = self.link
        a, b, cut = link.before, link.after, 0
        least, most = link.after_from[low[a]], link.after_to[high[a]]
        if low[b] < least:
            low[b], cut = least, 1 << b
        if high[b] > most:
            high[b], cut = most, 1 << b
        if low[b] > high[b]:
            return EMPTY
        least, most = link.before_from[low[b]], link.before_to[high[b]]
        if low[a] < least:
            low[a], cut = least, cut | 1 << a
        if high[a] > most:
            high[a], cut = most, cut | 1 << a
        return EMPTY if low[a] > high[a] else cut


class FewMoves:
    """At most so many taps leave their joints: once so many must, the others stay."""

    __slots__ = ("mask", "most", "taps")

    def __init__(self, taps: Sequence[PresentTap], most: int) -> None:
        self.taps, self.most = taps, most
        self.mask = sum({1 << v for tap in taps for v in tap.unknowns})

    def narrow(self, low: list[int], high: list[int]) -> int:
        """Count the taps that cannot stay; where no more may move, hold the rest."""
        open_taps = [tap for tap in self.taps if can_stay(tap, low, high)]
        moved = len(self.taps) - len(open_taps)
        if moved > self.most:
            return EMPTY
        return 0 if moved < self.most else _hold(open_taps, low, high)


def can_stay(tap: PresentTap, low: Sequence[int], high: Sequence[int]) -> bool:
    """Whether the windows still let the tap stay where it is."""
    return all(low[v] <= own <= high[v] for v, own in zip(tap.unknowns, tap.choices, strict=True))


def _hold(taps: Sequence[PresentTap], low: list[int], high: list[int]) -> int:
    cut = 0
    for tap in taps:
        for v, own in zip(tap.unknowns, tap.choices, strict=True):
            if not low[v] <= own <= high[v]:
                return EMPTY
            if low[v] != high[v]:
                low[v] = high[v] = own
                cut |= 1 << v
    return cut


class Stretch:
    """A notch whose sections follow each other: the ohms between two taps. ``least`` and ``most`` are its band."""

    __slots__ = ("after", "before", "least", "lowly", "mask", "most", "ohm_after", "ohm_before")

    def __init__(self, before: int, after: int, unknowns: Sequence[Unknown]) -> None:
        self.before, self.after = before, after
        self.ohm_before, self.ohm_after = unknowns[before].ohm, unknowns[after].ohm
        self.mask = 1 << before | 1 << after
        self.least, self.most = -inf, inf
        self.lowly = True

    def ends(self, low: Sequence[int], high: Sequence[int]) -> tuple[float, float]:
        """Least and most ohms within the windows."""
        a, b, xa, xb = self.before, self.after, self.ohm_before, self.ohm_after
        return xb[low[b]] - xa[high[a]], xb[high[b]] - xa[low[a]]

    def narrow(self, low: list[int], high: list[int]) -> int:
        """Each tap stays within the band from what the other leaves; found by bisection."""
        a, b, xa, xb = self.before, self.after, self.ohm_before, self.ohm_after
        cut, first, last = 0, low[b], high[b]
        bound = xa[low[a]] + self.least
        if xb[first] < bound:
            first = bisect_left(xb, bound, first, last + 1)
            low[b], cut = first, 1 << b
        bound = xa[high[a]] + self.most
        if xb[last] > bound:
            last = bisect_right(xb, bound, first, last + 1) - 1
            high[b], cut = last, 1 << b
        if first > last:
            return EMPTY
        nearest, farthest = xb[first] - self.most, xb[last] - self.least
        first, last = low[a], high[a]
        if xa[first] < nearest:
            first = bisect_left(xa, nearest, first, last + 1)
            low[a], cut = first, cut | 1 << a
        if xa[last] > farthest:
            last = bisect_right(xa, farthest, first, last + 1) - 1
            high[a], cut = last, cut | 1 << a
        return EMPTY if first > last else cut


class Sum:
    """Ohms added up over sections, tap by tap: ``sum(times * ohms up to the tap)``; neighbours cancel."""

    __slots__ = ("mask", "terms", "unknowns")

    def __init__(self, terms: Sequence[tuple[int, int]], unknowns: Sequence[Unknown]) -> None:
        self.terms, self.unknowns = tuple(terms), unknowns
        self.mask = sum(1 << v for v, _ in self.terms)

    def ends(self, low: Sequence[int], high: Sequence[int]) -> tuple[float, float]:
        """Least and most ohms within the windows."""
        least = most = 0.0
        for v, times in self.terms:
            ohm = self.unknowns[v].ohm
            least += times * ohm[low[v] if times > 0 else high[v]]
            most += times * ohm[high[v] if times > 0 else low[v]]
        return max(least, 0.0), most

    def cut(self, least: float, most: float, low: list[int], high: list[int]) -> int:
        """Keep every tap where the others leave the sum between ``least`` and ``most``."""
        bottom = top = 0.0
        for v, times in self.terms:
            ohm = self.unknowns[v].ohm
            bottom += times * ohm[low[v] if times > 0 else high[v]]
            top += times * ohm[high[v] if times > 0 else low[v]]
        found, spare_low, spare_high = 0, top - least, most - bottom
        if spare_low < 0.0 or spare_high < 0.0:
            return EMPTY
        for v, times in self.terms:
            ohm = self.unknowns[v].ohm
            first, last = ohm[low[v]], ohm[high[v]]
            down, up = (spare_low, spare_high) if times > 0 else (spare_high, spare_low)
            cut = _between(v, last - down / abs(times), first + up / abs(times), ohm, low, high)
            if cut == EMPTY:
                return EMPTY
            found |= cut
        return found


def _between(v: int, least: float, most: float, ohm: list[float], low: list[int], high: list[int]) -> int:
    cut = 0
    if ohm[low[v]] < least:
        low[v] = bisect_left(ohm, least, low[v], high[v] + 1)
        cut = 1 << v
    if low[v] <= high[v] and ohm[high[v]] > most:
        high[v] = bisect_right(ohm, most, low[v], high[v] + 1) - 1
        cut = 1 << v
    return EMPTY if low[v] > high[v] else cut


class Tree:
    """A run with branches side by side, nested to any depth."""

    __slots__ = ("groups", "mask", "own")

    def __init__(self, run: Run, ground: Ground) -> None:
        plain = [part for part in run.parts if isinstance(part, str)]
        self.own = Sum(terms_of(plain, ground), ground.unknowns)
        branched = [part for part in run.parts if isinstance(part, Branches)]
        self.groups = tuple(tuple(Tree(branch, ground) for branch in part.runs) for part in branched)
        self.mask = self.own.mask
        for tree in (tree for group in self.groups for tree in group):
            self.mask |= tree.mask

    def ends(self, low: Sequence[int], high: Sequence[int]) -> tuple[float, float]:
        """Least and most ohms within the windows."""
        least, most = self.own.ends(low, high)
        for group in self.groups:
            bottom, top = _together([tree.ends(low, high) for tree in group])
            least, most = least + bottom, most + top
        return least, most

    def cut(self, least: float, most: float, low: list[int], high: list[int]) -> int:
        """Pass the band down to every part: what the others leave of it."""
        inner = [[tree.ends(low, high) for tree in group] for group in self.groups]
        parts = [self.own.ends(low, high), *map(_together, inner)]
        below = sum(part[1] for part in parts) - least
        above = most - sum(part[0] for part in parts)
        if below < 0.0 or above < 0.0:
            return EMPTY
        found = self.own.cut(parts[0][1] - below, parts[0][0] + above, low, high) if self.own.terms else 0
        for group, ends, part in zip(self.groups, inner, parts[1:], strict=True):
            if found != EMPTY:
                cut = _cut_branches(group, ends, (part[1] - below, part[0] + above), low, high)
                found = EMPTY if cut == EMPTY else found | cut
        return found


def _together(ends: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Least and most ohms of branches side by side."""
    return _abreast([least for least, _ in ends]), _abreast([most for _, most in ends])


def _abreast(ohms: Sequence[float]) -> float:
    return 0.0 if min(ohms) <= 0.0 else 1.0 / sum(1.0 / ohm for ohm in ohms)


def _cut_branches(
    group: Sequence[Tree], ends: Sequence[tuple[float, float]], band: tuple[float, float],
    low: list[int], high: list[int],
) -> int:  # fmt: skip
    """A branch needs at least what makes up the band with all others at their most, and the other way about."""
    found = 0
    for own, tree in enumerate(group):
        others = [pair for at, pair in enumerate(ends) if at != own]
        least = _lone(band[0], [most for _, most in others])
        most = _lone(band[1], [least for least, _ in others])
        if least == inf:
            return EMPTY
        cut = tree.cut(least * (1.0 - SLACK), most * (1.0 + SLACK), low, high)
        if cut == EMPTY:
            return EMPTY
        found |= cut
    return found


def _lone(together: float, others: Sequence[float]) -> float:
    """Ohms one branch must have for all to make ``together``; inf where no ohms do."""
    if together <= 0.0:
        return 0.0
    if min(others) <= 0.0:
        return inf
    left = 1.0 / together - sum(1.0 / ohm for ohm in others)
    return 1.0 / left if left > 0.0 else inf


class Net:
    """A notch of any circuit. ``least`` and ``most`` are its band."""

    __slots__ = ("least", "lowly", "mask", "most", "tree")

    def __init__(self, run: Run, ground: Ground) -> None:
        self.tree = Tree(run, ground)
        self.mask = self.tree.mask
        self.least, self.most = -inf, inf
        self.lowly = not self.tree.groups and len(self.tree.own.terms) < 2

    def ends(self, low: Sequence[int], high: Sequence[int]) -> tuple[float, float]:
        """Least and most ohms within the windows."""
        return self.tree.ends(low, high)

    def narrow(self, low: list[int], high: list[int]) -> int:
        """Pass the band down the circuit."""
        return self.tree.cut(self.least, self.most, low, high)


Notch = Stretch | Net


def terms_of(sections: Sequence[str], ground: Ground) -> tuple[tuple[int, int], ...]:
    """Sections in series as taps: the end counts up, the beginning down, and what two share cancels."""
    spans, counted = ground.section_unknowns, dict[int, int]()
    for name in sections:
        before, after = spans[name]
        counted[after] = counted.get(after, 0) + 1
        counted[before] = counted.get(before, 0) - 1
    return tuple((v, times) for v, times in counted.items() if times)


def notch_rule(run: Run, ground: Ground) -> Notch:
    """The rule of one notch: the quick one where its sections follow each other."""
    if all(isinstance(part, str) for part in run.parts):
        terms = sorted(terms_of([part for part in run.parts if isinstance(part, str)], ground), key=lambda t: t[1])
        if [times for _, times in terms] == [-1, 1]:
            return Stretch(terms[0][0], terms[1][0], ground.unknowns)
    return Net(run, ground)
