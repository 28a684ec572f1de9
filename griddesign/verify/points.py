"""One claimed figure against every independent way of computing it, and the verdict that comes of it."""

from dataclasses import dataclass
from math import inf

from griddesign.judge.finding import Verdict
from griddesign.units import show, show_change, show_cold
from griddesign.verify.spans import Span

_EPS = 1e-9
OF_OUR_OWN = {"ohm mass": "Ω·kg", "per metre": "squares per m of thickness"}
"""Kinds of figures that no claim states and no shop measures, with their unit."""


@dataclass(frozen=True, slots=True)
class Allowed:
    """How far a claimed figure may be off, as a fraction, and whose tolerance that is."""

    share: float
    whose: str

    @property
    def words(self) -> str:
        """``±5 % (the job's notch tolerance)``."""
        return f"±{100 * self.share:.3g} % ({self.whose})"


@dataclass(frozen=True, slots=True)
class Route:
    """One way to the figure: what it is computed from, and what comes out."""

    words: str
    span: Span


@dataclass(frozen=True, slots=True)
class Point:
    """One claimed figure with its routes.

    ``missing`` says what the claim would have to give for a route there is not. ``excuse``: another figure already
    stands accused of what is found here; the point is then not shown, and nothing is accused twice.
    """

    item: str
    claimed: Span
    kind: str
    unit: str
    allowed: Allowed
    routes: tuple[Route, ...]
    missing: str = ""
    measure: str = ""
    excuse: str = ""
    no_reference: bool = False


@dataclass(frozen=True, slots=True)
class Judged:
    """A point with its verdict, the route that decides it, and by what share the claimed figure is off there: at its
    worst end where it is not shown. ``excused``: another figure stands accused in its place."""

    point: Point
    verdict: Verdict
    route: Route | None
    off: float
    why: str
    excused: bool = False


def against(claimed: Span, computed: Span, share: float) -> Verdict:
    """Holds where the figures agree within ``share`` at both ends, fails where they do at none between; else, and
    where the agreement rests on an estimate, not shown."""
    most, least = _share_off(claimed.high, computed.low), _share_off(claimed.low, computed.high)
    room = share + _EPS
    if least > room or most < -room:
        return Verdict.FAILS
    firm = not (claimed.rests_on or computed.rests_on)
    return Verdict.HOLDS if firm and most <= room and least >= -room else Verdict.NOT_SHOWN


def judge(point: Point, units: str) -> Judged:
    """Fails by any route that fails; holds by any that holds; else not shown. The words are in ``units``, those of the
    papers."""
    found = [(against(point.claimed, route.span, point.allowed.share), route) for route in point.routes]
    for wanted in (Verdict.FAILS, Verdict.HOLDS, Verdict.NOT_SHOWN):
        for verdict, route in found:
            if verdict is wanted:
                return _judged(point, verdict, route, units)
    words = f"nothing to compute it from: the claim does not give {point.missing}"
    return Judged(point, Verdict.NOT_SHOWN, None, 0.0, words)


def _judged(point: Point, verdict: Verdict, route: Route, units: str) -> Judged:
    off = _share_off(point.claimed.value, route.span.value)
    words = "; ".join((*_others(point, route, units), _words(point, verdict, route, off, units)))
    if verdict is Verdict.FAILS and point.excuse:
        return Judged(point, Verdict.NOT_SHOWN, route, off, f"{words}; {point.excuse}", excused=True)
    if verdict is Verdict.HOLDS and point.no_reference:
        verdict = Verdict.NOT_SHOWN
    if verdict is Verdict.NOT_SHOWN:
        off = max(_ends_off(point, route), key=abs)
    return Judged(point, verdict, route, off, words)


def _ends_off(point: Point, route: Route) -> tuple[float, float]:
    """By what share the claimed figure is off where it is highest above the computed, and lowest below."""
    return _share_off(point.claimed.high, route.span.low), _share_off(point.claimed.low, route.span.high)


def _share_off(claimed: float, computed: float) -> float:
    """By what share a figure is above a computed one; above nought, as a notch without grid has, beyond any share."""
    if computed:
        return claimed / computed - 1.0
    return inf if claimed else 0.0


def _words(point: Point, verdict: Verdict, route: Route, off: float, units: str) -> str:
    computed = spanned(route.span, point.kind, units)
    if point.no_reference:
        tail = " and at no temperature fit" if verdict is Verdict.FAILS else ""
        return (
            f"no reference temperature: the ohms may have been read cold or hot{tail}; by {route.words}: {computed} "
            f"at {show_cold(units)}"
        )
    said = f"by {route.words}: {computed}, claimed {show_change(off)} off, allowed {point.allowed.words}"
    if verdict is not Verdict.NOT_SHOWN:
        return said
    estimates = tuple(dict.fromkeys((*point.claimed.rests_on, *route.span.rests_on)))
    most, least = _ends_off(point, route)
    ends = "" if max(most, -least) <= point.allowed.share + _EPS else "; the two ends disagree"
    rests = f"; rests on an estimate: {', '.join(estimates)}" if estimates else ""
    return f"{said}{ends}{rests}"


def _others(point: Point, decided: Route, units: str) -> tuple[str, ...]:
    """What the other routes say, in short."""
    return tuple(
        f"{route.words}: {spanned(route.span, point.kind, units)}"
        for route in point.routes
        if route is not decided and not point.no_reference
    )


def spanned(span: Span, kind: str, units: str) -> str:
    """A span as text: the number, and its ends where they are apart."""
    middle = _show(span.value, kind, units)
    if span.high - span.low <= 1e-3 * abs(span.value):
        return middle
    return f"{middle} ({_show(span.low, kind, units)} to {_show(span.high, kind, units)})"


def _show(value: float, kind: str, units: str) -> str:
    bare = OF_OUR_OWN.get(kind)
    return show(value, kind, digits=4, units=units) if bare is None else f"{value:.4g} {bare}"
