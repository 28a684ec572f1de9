"""Numbers with two ends that remember which estimates they rest on, and the claimed ohms brought to 20 degC."""

from dataclasses import dataclass, replace

from griddesign.figures import WEAK, Figure
from griddesign.job.claim_records import Claimed
from griddesign.metals import COLD_C, Metal
from griddesign.units import ABOUT_SHARE

SAME_SHARE = 0.01
"""An estimate that moves a number by less than this share is not what it rests on (ours, no source)."""


@dataclass(frozen=True, slots=True)
class Span:
    """A number above zero, its two ends, and the names of the estimates it rests on."""

    value: float
    low: float
    high: float
    rests_on: tuple[str, ...] = ()

    @classmethod
    def exact(cls, value: float) -> "Span":
        """A number without doubt."""
        return cls(value, value, value)

    @classmethod
    def of(cls, figure: Figure, name: str) -> "Span":
        """A figure. An estimate without a range is taken as "about" is: ``ABOUT_SHARE`` either way."""
        if figure.status not in WEAK:
            return cls(figure.value, figure.low, figure.high)
        wide = ABOUT_SHARE * abs(figure.value) if figure.low == figure.high else 0.0
        return cls(figure.value, figure.low - wide, figure.high + wide, (name,))

    def __mul__(self, other: "Span") -> "Span":
        names = joined(self, other)
        return Span(self.value * other.value, self.low * other.low, self.high * other.high, names)

    def __truediv__(self, other: "Span") -> "Span":
        names = joined(self, other)
        return Span(self.value / other.value, self.low / other.high, self.high / other.low, names)

    def __add__(self, other: "Span") -> "Span":
        return Span(self.value + other.value, self.low + other.low, self.high + other.high, joined(self, other))

    def times(self, factor: float) -> "Span":
        """The span times a plain number above zero."""
        return replace(self, value=self.value * factor, low=self.low * factor, high=self.high * factor)

    def plus(self, more: float) -> "Span":
        """The span and a plain number."""
        return replace(self, value=self.value + more, low=self.low + more, high=self.high + more)

    def resting_on(self, *names: str) -> "Span":
        """The span with more estimates under it."""
        return replace(self, rests_on=tuple(dict.fromkeys((*self.rests_on, *names))))


def joined(*spans: Span) -> tuple[str, ...]:
    """All estimates the spans rest on, each once."""
    return tuple(dict.fromkeys(name for span in spans for name in span.rests_on))


@dataclass(frozen=True, slots=True)
class Cold:
    """Claimed ohms at 20 degC. ``no_reference``: the claim does not say at which temperature they hold, so the span
    reaches from ohms read hot to ohms read cold; ``missing`` says what keeps them from being corrected at all."""

    span: Span
    no_reference: bool = False
    missing: str = ""


def cold(claimed: Claimed, metal: Metal | None, default_c: float | None, hottest_c: float) -> Cold:
    """``R20 = R / r(T)`` at both ends of the metal's coefficient; ``default_c`` where the figure names no temperature.

    Without either the ohms may hold anywhere between 20 degC and ``hottest_c``.
    """
    span = Span.of(claimed.figure, claimed.key)
    at_c = claimed.at_c if claimed.at_c is not None else default_c
    if at_c == COLD_C:
        return Cold(span)
    if at_c is not None:
        return Cold(span, missing="the metal") if metal is None else Cold(span / _ratio(metal, at_c))
    hot = 1.0 if metal is None else max(1.0, _ratio(metal, hottest_c).high)
    return Cold(replace(span, low=span.low / hot), no_reference=True)


def _ratio(metal: Metal, at_c: float) -> Span:
    ends = [metal.at_ends(alpha20=end).ratio(at_c) for end in ("low", "high")]
    found = Span(metal.ratio(at_c), min(ends), max(ends))
    matters = found.high / found.low - 1.0 > SAME_SHARE
    return found.resting_on(f"coefficient of {metal.key}") if matters and metal.alpha20.status in WEAK else found
