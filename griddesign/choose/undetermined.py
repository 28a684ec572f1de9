"""What groupings leave open and networks hang on: ohms that no notch sought for parts from one another."""

from collections.abc import Iterator

import numpy as np

from griddesign.grid.circuit import shares
from griddesign.grid.contacts.general import series_classes, unlike_ohm
from griddesign.heat.air import FloatArray
from griddesign.job.records import Job
from griddesign.traction.problem import circuits_of, grouped

SAME = 1e-9


def felt(job: Job) -> FloatArray:
    """By how much the ohms of each circuit of a grouping rise with those of each section (circuits, sections).

    Of plain runs 1 or 0; of branches the square of the current's share, at ohms that have nothing to do with one
    another.
    """
    names = job.section_order
    ohm = {name: unlike_ohm(place) for place, name in enumerate(names)}
    runs = [run for notch in grouped(job.notches) for run in circuits_of(notch)]
    parts = [shares(run, ohm) for run in runs]
    return np.array([[part.get(name, 0.0) ** 2 for name in names] for part in parts]).reshape(len(runs), len(names))


def open_ohms(job: Job) -> tuple[str, ...]:
    """Sections whose ohms may be shared out anew without any grouping feeling it, though a network would."""
    matrix, names = felt(job), job.section_order
    _, strength, rows = np.linalg.svd(matrix, full_matrices=True)
    null = rows[int((strength > SAME).sum()) :]
    moved = np.zeros(len(names), dtype=bool)
    for sums in _sums(job):
        moved |= np.abs(sums @ null.T @ null) > SAME  # the part no grouping feels, whichever null vectors came out
    return tuple(name for name, open_one in zip(names, moved, strict=True) if open_one)


def _sums(job: Job) -> Iterator[FloatArray]:
    """For every current of every network, the sections that carry it: only the sum of their ohms counts."""
    for notch in job.notches:
        if notch.network is not None:
            for one in series_classes(notch.network):
                yield np.array([float(name in one) for name in job.section_order])


def network_taps(job: Job) -> tuple[str, ...]:
    """Names of the taps between two sections that only networks part, so that no grouping says where they sit."""
    matrix, names, found = felt(job), job.section_order, []
    for place in range(len(names) - 1):
        alike = np.abs(matrix[:, place] - matrix[:, place + 1]).max(initial=0.0) <= SAME
        if alike and any(sums[place] != sums[place + 1] for sums in _sums(job)):
            found.append(f"{names[place]}/{names[place + 1]}")
    return tuple(found)
