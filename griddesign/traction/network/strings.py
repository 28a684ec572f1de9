"""Motor strings in a network: what a change of grouping that parts every string in two halves goes by."""

from griddesign.grid.contacts.general import motor_ends
from griddesign.grid.contacts.records import Network
from griddesign.traction.problem import String
from griddesign.traction.records import Grouping, Notch

GROUND, LINE = 0, 1


def grouping_of(notch: Notch) -> Grouping | None:
    """The grouping, of a network that of its strings; None where it has none."""
    if notch.network is None:
        return notch.grouping
    strings = strings_in(notch.network)
    return None if strings is None else Grouping(len(strings[0]), len(strings))


def strings_in(network: Network) -> tuple[String, ...] | None:
    """Chains of motors from line to ground with all grids and resistors taken as joined; None where some motor is in
    none, chains meet on the way, they are unlike in length, or a field has not all of its armature's current."""
    if any(motor.apart or motor.field != 1.0 for motor in network.motors):
        return None
    ends = motor_ends(network)
    beside: dict[int, list[int]] = {}
    for number, pair in ends.items():
        for point in set(pair):
            beside.setdefault(point, []).append(number)
    if any(len(motors) != 2 for point, motors in beside.items() if point not in (GROUND, LINE)):
        return None
    chains = tuple(_chain(first, ends, beside) for first in beside.get(LINE, ()))
    whole = sum(map(len, chains)) == len(ends) and all(GROUND in ends[chain[-1]] for chain in chains)
    if not whole or len(set(map(len, chains))) != 1:
        return None
    return tuple(tuple(number - 1 for number in chain) for chain in chains)


def _chain(first: int, ends: dict[int, tuple[int, int]], beside: dict[int, list[int]]) -> list[int]:
    """Motors (from 1) one after another from the line on, to the ground or a point where it goes no farther."""
    found, point = [first], LINE
    while len(found) <= len(ends):
        a, b = ends[found[-1]]
        point = b if a == point else a
        if point in (GROUND, LINE):
            break
        found.append(next(one for one in beside[point] if one != found[-1]))
    return found
