"""What to measure next, as told on the screen."""

from collections.abc import Iterator, Sequence
from math import isfinite

from griddesign.cli.saying import table
from griddesign.judge.finding import Unknown
from griddesign.judge.measuring import advice

MOST_LINES = 6


def measure_lines(unknowns: Sequence[Unknown]) -> Iterator[str]:
    """The unknowns that do most, strongest first, and the measurement for the first of them; nothing without any."""
    if not unknowns:
        return
    rows = [
        (
            f"≈ {one.key}",
            f"{100 * one.swing:.1f} %" if isfinite(one.swing) else "no start",
            one.notch or "-",
            _heat(one.heat_swing_k),
            one.section or "-",
        )
        for one in unknowns[:MOST_LINES]
    ]
    yield ""
    yield from table(("measure next", "moves the current by", "of notch", "moves the heat by", "of section"), rows)
    if len(unknowns) > MOST_LINES:
        yield f"  and {len(unknowns) - MOST_LINES} more that do less."
    yield f"  First: {advice(unknowns[0].key)}"


def _heat(heat_k: float | None) -> str:
    if heat_k is None:
        return "-"
    return f"{heat_k:.0f} K" if isfinite(heat_k) else "without end"
