"""A network with some of its wires open and some bridged: what current can still pass through."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from griddesign.grid.contacts.general import motors_anew
from griddesign.grid.contacts.network import Edge, Joined, closed_on_itself, live_edges
from griddesign.grid.contacts.records import MotorIn, Network, Wire
from griddesign.grid.contacts.transfer import GROUND_NODE, LINE_NODE

NOTHING: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Left:
    """What is left of a network: None where no current flows; ``joined``: line and ground are one point; ``brakes``:
    motors (from 1) whose field still has current while their armature is closed on itself."""

    network: Network | None
    joined: bool = False
    brakes: tuple[int, ...] = ()


def changed(network: Network, opened: frozenset[str] = NOTHING, bridged: frozenset[str] = NOTHING) -> Left:
    """The network with the wires of these names open, and those of these names joined at their ends.

    Left are the wires that lie on a path from line to ground (see ``network.live_edges``), nodes numbered anew, and the
    motors whose armature is among them, and their field where it has a current of its own. A field's share of its
    armature's current stays as it was: it is the same whatever drives the wires that carry sections and armatures, an
    open one and a bridged one among them. Of fields that are open or bridged see ``without_motors``.
    """
    if not opened and not bridged:
        return Left(network)
    joined = Joined()
    for wire in network.wires:
        if wire.name in bridged:
            joined.join((str(wire.a), str(wire.b)))
    ends = {
        place: (int(joined.top(str(wire.a))), int(joined.top(str(wire.b))))
        for place, wire in enumerate(network.wires)
        if wire.name not in opened
    }
    line, ground = (int(joined.top(str(node))) for node in (LINE_NODE, GROUND_NODE))
    if line == ground:
        return Left(None, joined=True)
    kept = {place: pair for place, pair in ends.items() if pair[0] != pair[1]}
    live = live_edges(kept, line, ground)
    left = _of(network, kept, live, {ground: GROUND_NODE, line: LINE_NODE})
    return Left(left, brakes=tuple(_brakes(network, ends, live)))


def _brakes(network: Network, ends: Mapping[int, Edge], live: tuple[int, ...]) -> Iterator[int]:
    for motor in network.motors:
        idle = motor.wire in ends and motor.wire not in live
        if idle and network.field_wire(motor) in live and closed_on_itself(ends, motor.wire):
            yield motor.number


def _of(
    network: Network, ends: dict[int, tuple[int, int]], live: tuple[int, ...], number: dict[int, int]
) -> Network | None:
    """The wires at these places between nodes numbered anew, those in ``number`` as they are there."""
    if not live:
        return None
    wires: list[Wire] = []
    for place in live:
        a, b = (number.setdefault(node, len(number)) for node in ends[place])
        wires.append(replace(network.wires[place], a=a, b=b))
    return Network(tuple(wires), len(number), tuple(_motors(network, live)), network.why, network.stated_ohm)


def _motors(network: Network, live: tuple[int, ...]) -> Iterator[MotorIn]:
    """The motors whose armature is left; one with a field apart only with its field, else it has no flux."""
    now = {old: new for new, old in enumerate(live)}
    for motor in network.motors:
        if motor.wire in now and (not motor.apart or network.field_wire(motor) in now):
            yield replace(motor, wire=now[motor.wire])


def without_motors(network: Network, out: frozenset[int]) -> tuple[Left, tuple[str, ...]]:
    """The network with those motors (from 1) cut out, and in words what became of each.

    One after another: a motor is bridged, armature and field, where opening it would leave a motor that stays without
    its current; else it is open. In a string of several that is what a grouping does: a motor cut out is bridged in
    its string, and a string without any motor is open. Raises NoNetworkError where a motor would then pull backwards.
    """
    left, words, opened, bridged = Left(network), [], NOTHING, NOTHING
    for number in sorted(out):
        if number not in _numbers(left.network):
            continue
        own = frozenset(wire.name for wire in network.wires if wire.motor == number)
        without = changed(network, opened | own, bridged)
        opens = _numbers(left.network) - out <= _numbers(without.network)
        opened, bridged = (opened | own, bridged) if opens else (opened, bridged | own)
        left = without if opens else changed(network, opened, bridged)
        words.append(f"motor {number} {'open' if opens else 'bridged'}")
    if left.network is not None and words:
        left = replace(left, network=motors_anew(left.network, network))
    return left, tuple(words)


def _numbers(network: Network | None) -> frozenset[int]:
    return frozenset() if network is None else frozenset(motor.number for motor in network.motors)
