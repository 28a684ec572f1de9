"""A notch of any topology as a network of sections, fixed resistors and motors that can be run."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from math import copysign

import numpy as np

from griddesign.grid.contacts.network import Joined
from griddesign.grid.contacts.records import Element, MotorIn, MotorOhms, Net, Network, Wire
from griddesign.grid.contacts.transfer import GROUND_NODE, LINE_NODE, Floats, Layout

SAME = 1e-9
TRIALS = 4
_GOLDEN = 0.6180339887498949


class NoNetworkError(Exception):
    """Why a notch cannot be run as a network, in words."""


def network_of(elements: Sequence[Element], net: Net, ohms: MotorOhms, why: str) -> Network:
    """The network of a notch that has a current; ``why`` is what keeps it from being a grouping.

    Raises NoNetworkError where no motor is in circuit, where an armature and its field carry currents in no fixed
    ratio (the emf would hang on a current of its own), where ohms are not known, or motors pull against each other.
    """
    wires = tuple(_wires(elements, net, ohms))
    bare = Network(wires, 1 + max(max(wire.a, wire.b) for wire in wires), (), why)
    motors = tuple(_motors(bare, ohms))
    if not motors:
        raise NoNetworkError("no motor is in circuit")
    against = [one.number for one in motors if (one.field < 0.0) != (motors[0].field < 0.0)]
    if against:
        raise NoNetworkError(f"motor {', '.join(map(str, against))} pulls against motor {motors[0].number}")
    return replace(bare, motors=tuple(replace(one, field=abs(one.field)) for one in motors))


def _wires(elements: Sequence[Element], net: Net, ohms: MotorOhms) -> Iterator[Wire]:
    """Everything in circuit, nodes numbered anew from the ground."""
    number = {net.ground: GROUND_NODE, net.line: LINE_NODE}
    for place in net.live:
        a, b = (number.setdefault(node, len(number)) for node in net.ends[place])
        element = elements[place]
        yield Wire(element.name, element.kind, a, b, element.motor, _ohm(element, ohms))


def _ohm(element: Element, ohms: MotorOhms) -> float:
    """Ohms of a fixed resistor; share of a motor's ohms of what is one or part of one."""
    if element.kind == "resistor":
        own = (ohms.resistor or {}).get(element.name)
        if own is None:
            raise NoNetworkError(f"{element.name} has no ohms")
        return own
    if element.kind == "section":
        return 0.0
    if element.kind == "motor":
        return 1.0
    field = 0.5 if ohms.field is None or ohms.whole is None else ohms.field / ohms.whole
    return field if element.kind == "field" else 1.0 - field


def _motors(network: Network, ohms: MotorOhms) -> Iterator[MotorIn]:
    """The motors in circuit, a field that is turned round against its armature with a share below zero."""
    by_part = {(wire.motor, wire.kind): place for place, wire in enumerate(network.wires) if wire.motor}
    driving = [place for place, wire in enumerate(network.wires) if wire.kind not in ("field", "resistor")]
    each = [_trial(network, ohms, number)[:, [*driving, -1]] for number in range(TRIALS)]
    for number in sorted({wire.motor for wire in network.wires if wire.motor}):
        if (number, "motor") in by_part:
            yield MotorIn(number, by_part[number, "motor"])
            continue
        armature, field = by_part.get((number, "armature")), by_part.get((number, "field"))
        if armature is None or field is None:
            lone, lacking = ("field", "armature") if armature is None else ("armature", "field")
            raise NoNetworkError(f"the {lone} of motor {number} has current and its {lacking} has none")
        yield MotorIn(number, armature, _field_share(each, (armature, field), number, ohms))


def _field_share(each: Sequence[Floats], pair: tuple[int, int], number: int, ohms: MotorOhms) -> float:
    """Current of the field per ampere of the armature: the same whatever the sections' ohms, whatever drives them (the
    line, emfs, sections that grow hot), or none."""
    armature, field = pair
    shares = [float(k[field] @ k[armature] / (k[armature] @ k[armature])) for k in each]
    off = max(float(np.abs(k[field] - share * k[armature]).max()) for k, share in zip(each, shares, strict=True))
    scale = max(float(np.abs(k).max()) for k in each)
    if off <= SAME * scale and max(shares) - min(shares) <= SAME and abs(shares[0]) > SAME:
        whole = abs(abs(shares[0]) - 1.0) <= SAME
        return copysign(1.0, shares[0]) if whole else shares[0]
    hint = "" if ohms.field is not None else ", or their ohms ([controller] field_resistance) are not told apart"
    raise NoNetworkError(f"armature and field of motor {number} carry currents in no fixed ratio{hint}")


def _trial(network: Network, ohms: MotorOhms, number: int) -> Floats:
    """What volts in every wire, and last the line's, make of the currents at ohms of sections that have nothing to do
    with each other; motors likewise where nobody knows how their ohms lie in armature and field."""
    fixed = {"resistor"} if ohms.field is None or ohms.whole is None else {"resistor", "motor", "armature", "field"}
    scale = {"resistor": 1.0} | dict.fromkeys(("motor", "armature", "field"), ohms.whole or 1.0)
    loose = [1.0 + (7 * (place + 1) * _GOLDEN * (number + 1)) % 1.0 for place in range(len(network.wires))]
    ohm = [
        wire.ohm * scale[wire.kind] if wire.kind in fixed else own
        for wire, own in zip(network.wires, loose, strict=True)
    ]
    layout = Layout.of(network.wires, network.nodes, feeder=False)
    return layout.driven(np.array(ohm), np.column_stack((np.eye(len(ohm)), layout.source)))


def motor_ends(network: Network) -> dict[int, tuple[int, int]]:
    """Motors by number and the ends of their armatures with all else in circuit taken as joined: 0 is what is one with
    the ground, 1 the line, others as they come."""
    joined = Joined()
    armatures = {motor.wire for motor in network.motors}
    for place, wire in enumerate(network.wires):
        if place not in armatures:
            joined.join((str(wire.a), str(wire.b)))
    number = {joined.top(str(GROUND_NODE)): 0}
    number.setdefault(joined.top(str(LINE_NODE)), 1)
    ends = [(motor.number, network.wires[motor.wire]) for motor in network.motors]
    return {
        motor: (
            number.setdefault(joined.top(str(wire.a)), len(number) + 1),
            number.setdefault(joined.top(str(wire.b)), len(number) + 1),
        )
        for motor, wire in ends
    }


def arrangement(ends: Mapping[int, tuple[int, int]]) -> frozenset[tuple[frozenset[int], int]]:
    """How motors (number -> its ends, see ``motor_ends``) are grouped: which of them hang together between line and
    ground, and by how many inner points; -1 for a motor both of whose ends are one."""
    groups: list[tuple[frozenset[int], frozenset[int]]] = []
    for motor, pair in ends.items():
        if pair[0] != pair[1]:
            inner = frozenset(pair) - {0, 1}
            near = [group for group in groups if group[1] & inner]
            groups = [group for group in groups if group not in near]
            motors, points = frozenset({motor}), inner
            groups.append((motors.union(*(one for one, _ in near)), points.union(*(one for _, one in near))))
    short = ((frozenset({motor}), -1) for motor, pair in ends.items() if pair[0] == pair[1])
    return frozenset((*((motors, len(points)) for motors, points in groups), *short))


def series_classes(network: Network) -> tuple[frozenset[str], ...]:
    """Sections that carry one current, whatever the ohms and the motors' volts."""
    each = [_trial(network, MotorOhms(), number) for number in range(TRIALS)]
    classes: list[tuple[int, set[str]]] = []
    for place, wire in enumerate(network.wires):
        if wire.kind == "section":
            own = next((names for at, names in classes if all(_as_one(k, at, place) for k in each)), None)
            if own is None:
                classes.append((place, {wire.name}))
            else:
                own.add(wire.name)
    return tuple(frozenset(names) for _, names in classes)


def _as_one(k: Floats, one: int, other: int) -> bool:
    """Whether two wires carry the same current, either way round."""
    scale = SAME * float(np.abs(k).max())
    return min(float(np.abs(k[one] - k[other]).max()), float(np.abs(k[one] + k[other]).max())) <= scale
