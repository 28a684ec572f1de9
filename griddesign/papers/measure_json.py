"""What to measure next, as JSON."""

from collections.abc import Iterable

from griddesign.judge.finding import Unknown
from griddesign.judge.measuring import advice
from griddesign.papers.json_parts import Json, finite


def measure_json(unknowns: Iterable[Unknown]) -> list[Json]:
    """One entry for each figure that is not sure, first what uses up most of its room. A swing is null where it has no
    end (no start at one end, or a section that runs away) or where nothing is known of the heat."""
    return [
        {
            "key": one.key,
            "text": one.text,
            "current_swing_percent": finite(100.0 * one.swing),
            "heat_swing_k": finite(one.heat_swing_k),
            "notch": one.notch,
            "section": one.section,
            "how": advice(one.key),
        }
        for one in unknowns
    ]
