"""One number that came from outside: value, range, where it came from and how far it may be trusted."""

from dataclasses import dataclass, replace
from enum import StrEnum


class Status(StrEnum):
    """How a figure came to be known, strongest first."""

    MEASURED = "measured"
    GIVEN = "given"
    SEEN = "seen"
    DERIVED = "derived"
    ABOUT = "about"
    MEMORY = "memory"
    DERIVED_MEMORY = "derived from memory"
    ESTIMATE = "estimate"


WEAK = frozenset({Status.ABOUT, Status.MEMORY, Status.DERIVED_MEMORY, Status.ESTIMATE})


@dataclass(frozen=True, slots=True)
class Figure:
    """A number with its ends, status and source.

    ``value``, ``low`` and ``high`` share one SI unit (temperatures: degrees Celsius), named by whoever holds the
    figure; ``low <= value <= high``. ``text`` is the user's own spelling, empty where a table gave the figure.
    """

    value: float
    low: float
    high: float
    status: Status
    source: str = ""
    text: str = ""
    note: str = ""

    @classmethod
    def exact(cls, value: float, status: Status = Status.GIVEN, source: str = "", text: str = "") -> "Figure":
        """A figure without a range."""
        return cls(value, value, value, status, source, text)

    @property
    def weak(self) -> bool:
        """Whether paper marks it with the sign for 'about' and both ends are tried."""
        return self.status in WEAK or self.low != self.high

    def at(self, end: str) -> float:
        """The value at ``"low"``, ``"value"`` or ``"high"``."""
        return {"low": self.low, "value": self.value, "high": self.high}[end]

    def pinned(self, end: str) -> "Figure":
        """The same figure with value and both ends at one end; status and source stay."""
        value = self.at(end)
        return replace(self, value=value, low=value, high=value)
