"""What to measure next, as JSON."""

from collections.abc import Iterable
from math import isfinite
from typing import Any

from griddesign.judge.finding import Unknown
from griddesign.judge.measuring import advice


def measure_json(unknowns: Iterable[Unknown]) -> list[dict[str, Any]]:
    """One entry for each figure that is not sure, first what uses up most of its room. A swing is null where it has no
    end (no start at one end, or a section that runs away) or where nothing is known of the heat."""
    return [
        {
            "key": one.key,
            "text": one.text,
            "current_swing_percent": _finite(100.0 * one.swing),
            "heat_swing_k": _finite(one.heat_swing_k),
            "notch": one.notch,
            "section": one.section,
            "how": advice(one.key),
        }
        for one in unknowns
    ]


def _finite(value: float | None) -> float | None:
    return None if value is None or not isfinite(value) else float(value)
