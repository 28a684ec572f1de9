"""Partly decided grids, many at a time: one row each, one column per section or per kind of plate."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from griddesign.choose.network import Floats, Ints

_LARGEST_KEY = 2**62


@dataclass(frozen=True, slots=True, eq=False)
class Frontier:
    """Rows of partial designs.

    ``low_ohm`` and ``high_ohm`` hold the plate ohms still open, a column per kind; ``option`` and ``steps`` what was
    decided for each section (-1 and 0 where open); ``plates`` the plates so far, a column per kind; ``room`` the plate
    places used up so far, full boxes counted whole; ``cell`` the slice of plate ohms the row started from.
    """

    low_ohm: Floats
    high_ohm: Floats
    option: Ints
    steps: Ints
    plates: Ints
    room: Ints
    cell: Ints

    def __len__(self) -> int:
        return len(self.room)

    def take(self, rows: "Ints | NDArray[np.bool_] | slice") -> "Frontier":
        """Some of the rows, by number or by mask."""
        return Frontier(
            self.low_ohm[rows],
            self.high_ohm[rows],
            self.option[rows],
            self.steps[rows],
            self.plates[rows],
            self.room[rows],
            self.cell[rows],
        )


def joined(parts: Sequence[Frontier]) -> Frontier:
    """All rows of several frontiers, one after another; at least one."""
    return Frontier(
        np.concatenate([part.low_ohm for part in parts]),
        np.concatenate([part.high_ohm for part in parts]),
        np.concatenate([part.option for part in parts]),
        np.concatenate([part.steps for part in parts]),
        np.concatenate([part.plates for part in parts]),
        np.concatenate([part.room for part in parts]),
        np.concatenate([part.cell for part in parts]),
    )


def pack(room: Ints, steps: Ints, in_parallel: int, together: int, plates_per_box: int) -> Ints:
    """Places used after ``steps`` more steps of ``in_parallel`` plates, filling box after box.

    ``together`` plates are never parted by a link. A group that does not fit leaves the rest of its box empty. The
    result rises with ``room``, so less room used so far is never worse; and since the fewest boxes for a row of groups
    in a fixed order are the same counted from either end, the grid may be packed from either end.
    """
    groups = steps * in_parallel // together
    per_box = plates_per_box // together
    if per_box == 0:
        return np.full_like(room, np.iinfo(np.int64).max // 4)
    closed, used = np.divmod(room, plates_per_box)
    fit = np.minimum(groups, (plates_per_box - used) // together)
    rest = groups - fit
    more = -(-rest // per_box)
    in_last = (rest - (more - 1) * per_box) * together
    filled = closed * plates_per_box + used + fit * together
    packed: Ints = np.where(rest > 0, (closed + more) * plates_per_box + in_last, filled)
    return packed


def boxes_used(room: Ints, plates_per_box: int) -> Ints:
    """Boxes in use once ``room`` places are used up."""
    return -(-room // plates_per_box)


def undominated(front: Frontier, keys: Sequence[Ints]) -> Frontier:
    """The rows worth keeping: among rows alike in every key, one that uses no more room and no more plates of any kind
    and leaves the plate ohms at least as free makes another needless.

    Two sweeps, each against one row per key (least room, then widest range): some needless rows may stay, none that
    matters goes.
    """
    key = _one_key((front.cell, *keys)) if len(front) else front.cell
    for room_first in (True, False):
        if len(front) < 2:
            break
        width, total = -(front.high_ohm - front.low_ohm).sum(axis=1), front.plates.sum(axis=1)
        ranks = (width, total, front.room) if room_first else (total, front.room, width)
        order = np.lexsort((*ranks, key))
        front, key = front.take(order), key[order]
        keep = _against_leader(front, key)
        front, key = front.take(keep), key[keep]
    return front


def _against_leader(front: Frontier, key: Ints) -> NDArray[np.bool_]:
    starts = np.concatenate(([True], key[1:] != key[:-1]))
    leader = np.flatnonzero(starts)[np.cumsum(starts) - 1]
    needless = (
        ~starts
        & (front.room >= front.room[leader])
        & np.all(front.plates >= front.plates[leader], axis=1)
        & np.all(front.low_ohm >= front.low_ohm[leader], axis=1)
        & np.all(front.high_ohm <= front.high_ohm[leader], axis=1)
    )
    keep: NDArray[np.bool_] = ~needless
    return keep


def _one_key(columns: Sequence[Ints]) -> Ints:
    """One integer per row that tells apart what the columns tell apart."""
    key = np.zeros(len(columns[0]), dtype=np.int64)
    size = 1
    for column in columns:
        base = int(column.min())
        span = int(column.max()) - base + 1
        if size * span > _LARGEST_KEY:
            _, key = np.unique(key, return_inverse=True)
            size = len(key)
        key = key * span + (column - base)
        size *= span
    return key
