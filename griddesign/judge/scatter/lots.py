"""Plates against their band: what is to be ordered beside what is needed, or done instead."""

from collections.abc import Iterator, Mapping
from math import ceil

import numpy as np
from numpy.typing import NDArray

from griddesign.choose.records import Design
from griddesign.judge.scatter.records import Lot
from griddesign.units import show

FEW, MANY = 0.05, 0.30
"""Up to so many plates outside spares will do, up to so many sorting; beyond, the process is wrong. Ours, no source."""


def lots(
    design: Design, bands: Mapping[str, tuple[float, float]], outside: Mapping[str, NDArray[np.intp]]
) -> Iterator[Lot]:
    """Each kind with the plates of every set drawn that lie outside its band."""
    for kind, (low_ohm, high_ohm) in bands.items():
        needed = sum(section.plates for section in design.sections if section.kind == kind)
        shares = outside[kind] / needed
        mean, worst = float(shares.mean()), float(np.percentile(shares, 95.0))
        spares = ceil(needed * worst / (1.0 - worst)) if worst < 1.0 else -1
        advice = _advice(kind, (low_ohm, high_ohm), (mean, worst), needed, spares)
        yield Lot(kind, low_ohm, high_ohm, mean, worst, needed, spares, advice)


def _advice(kind: str, band: tuple[float, float], shares: tuple[float, float], needed: int, spares: int) -> str:
    mean, worst = (100.0 * share for share in shares)
    low, high = (show(ohm, "resistance", digits=4) for ohm in band)
    fallen = f"Of a hundred plates {kind}, {mean:.2g} fall outside {low} to {high} ({worst:.2g} in the 95th set)"
    if shares[0] <= FEW:
        return f"{fallen}: order {spares} spares beside the {needed}."
    if shares[0] <= MANY and spares >= 0:
        return (
            f"{fallen}: measure every plate and sort; order {spares} spares beside the {needed}, or set the taps on "
            "measured plates."
        )
    return (
        f"{fallen}: too many to sort. Make a first batch, measure it and correct the width, set the taps on measured "
        "plates, or have the plates made by another process."
    )
