"""A notch of any topology as a network of sections, fixed resistors and motors that can be run."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from math import copysign

import numpy as np

from griddesign.grid.contacts.network import Joined, closed_on_itself
from griddesign.grid.contacts.records import Element, MotorIn, MotorOhms, Net, Network, Wire
from griddesign.grid.contacts.transfer import GROUND_NODE, LINE_NODE, Floats, Layout

SAME = 1e-9
TRIALS = 4
_GOLDEN = 0.6180339887498949


class NoNetworkError(Exception):
    """Why a notch cannot be run as a network, in words."""


def network_of(elements: Sequence[Element], net: Net, ohms: MotorOhms, why: str) -> Network:
    """The network of a notch that has a current; ``why`` is what keeps it from being a grouping.

    Raises NoNetworkError where no motor is in circuit, where ohms are not known, where which way a motor pulls hangs on
    the ohms of the sections, motors pull against each other, or one brakes: its armature is closed on itself, out of
    the line's reach, while its field has current.
    """
    wires = tuple(_wires(elements, net, ohms))
    stated_ohm = 0.0 if ohms.field is None or ohms.whole is None else ohms.whole
    bare = Network(wires, 1 + max(max(wire.a, wire.b) for wire in wires), (), why, stated_ohm)
    braking = tuple(_braking(elements, net))
    if braking:
        raise NoNetworkError(brakes(braking))
    motors = tuple(_motors(bare, ohms))
    if not motors:
        raise NoNetworkError("no motor is in circuit")
    return replace(bare, motors=_one_way(motors, motors[0], f"against motor {motors[0].number}"))


def motors_anew(network: Network, before: Network) -> Network:
    """The network with the shares of its fields reckoned anew: motors have been cut out of ``before``, whose fields may
    have taken their part of a current, or motors have ohms of their own. Raises NoNetworkError where a motor would pull
    against what it did before."""
    stated_ohm = before.stated_ohm
    if not stated_ohm:  # every field has its armature's current, whatever lies beside the two
        return network
    ohms = MotorOhms(stated_ohm, field=stated_ohm)
    first = next(_motors(before, ohms))
    return replace(network, motors=_one_way(tuple(_motors(network, ohms)), first, "backwards then"))


def _one_way(motors: tuple[MotorIn, ...], first: MotorIn, else_it: str) -> tuple[MotorIn, ...]:
    """The motors, all of which pull as the first does; ``else_it``: which way one pulls that does not."""
    against = [one.number for one in motors if _turned(one) != _turned(first)]
    if against:
        numbers, one = ", ".join(map(str, against)), len(against) == 1
        raise NoNetworkError(f"motor{'s' * (not one)} {numbers} {'pulls' if one else 'pull'} {else_it}")
    return tuple(replace(one, field=abs(one.field)) for one in motors)


def brakes(motors: Sequence[int]) -> str:
    """Why motors (from 1) that generate into a loop of their own are not run."""
    if len(motors) == 1:
        told = f"the field of motor {motors[0]} has current and its armature is closed on itself: it brakes"
    else:
        numbers = ", ".join(map(str, motors))
        told = f"the fields of motors {numbers} have current and their armatures are closed on themselves: they brake"
    return f"{told} hard once the car rolls"


def _braking(elements: Sequence[Element], net: Net) -> Iterator[int]:
    """Motors whose field has current, and whose armature has none from the line and is closed on itself."""
    live = {elements[place].name for place in net.live}
    ends = {place: pair for place, pair in enumerate(net.ends) if elements[place].name not in net.without}
    for place in ends:
        one = elements[place]
        idle = one.kind == "armature" and one.name not in live
        if idle and f"motor {one.motor} field" in live and closed_on_itself(ends, place):
            yield one.motor


def _turned(motor: MotorIn) -> bool:
    """Whether a motor's field lies turned round against its armature."""
    return motor.field < 0.0 or motor.apart < 0


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
    """The motors in circuit, a field that is turned round against its armature with a share below zero. A field without
    its armature, and an armature without its field, are no motor but ohms."""
    by_part = {(wire.motor, wire.kind): place for place, wire in enumerate(network.wires) if wire.motor}
    driving = [place for place, wire in enumerate(network.wires) if wire.kind not in ("field", "resistor")]
    each = [_trial(network, ohms, number)[:, [*driving, -1]] for number in range(TRIALS)]
    for number in sorted({wire.motor for wire in network.wires if wire.motor}):
        if (number, "motor") in by_part:
            yield MotorIn(number, by_part[number, "motor"])
            continue
        armature, field = by_part.get((number, "armature")), by_part.get((number, "field"))
        if armature is not None and field is not None:
            yield _in_parts(each, (armature, field), number, ohms)
        elif ohms.field is None or ohms.whole is None:
            lone, lacking = ("field", "armature") if armature is None else ("armature", "field")
            raise NoNetworkError(
                f"the {lone} of motor {number} has current and its {lacking} has none, and their ohms ([controller] "
                "field_resistance) are not told apart"
            )


def _in_parts(each: Sequence[Floats], pair: tuple[int, int], number: int, ohms: MotorOhms) -> MotorIn:
    """A motor whose armature and field stand in the chart apart."""
    share = _field_share(each, pair)
    if share is not None:
        return MotorIn(number, pair[0], share)
    if ohms.field is None or ohms.whole is None:
        raise NoNetworkError(
            f"armature and field of motor {number} carry unlike currents, and their ohms ([controller] "
            "field_resistance) are not told apart"
        )
    return MotorIn(number, pair[0], apart=_sense(each, pair, number))


def _field_share(each: Sequence[Floats], pair: tuple[int, int]) -> float | None:
    """Current of the field per ampere of the armature: the same whatever the sections' ohms, whatever drives them (the
    line, emfs, sections that grow hot); None where there is no such share."""
    armature, field = pair
    shares = [float(k[field] @ k[armature] / (k[armature] @ k[armature])) for k in each]
    off = max(float(np.abs(k[field] - share * k[armature]).max()) for k, share in zip(each, shares, strict=True))
    scale = max(float(np.abs(k).max()) for k in each)
    if off > SAME * scale or max(shares) - min(shares) > SAME or abs(shares[0]) <= SAME:
        return None
    whole = abs(abs(shares[0]) - 1.0) <= SAME
    return copysign(1.0, shares[0]) if whole else shares[0]


def _sense(each: Sequence[Floats], pair: tuple[int, int], number: int) -> int:
    """1 where the line drives current through armature and field the same way round, -1 where not.

    In a circuit of runs and branches that is so whatever the ohms; of a wire across a bridge it hangs on them, and a
    grid that grows hot, or a plate that burns through, would turn the motor round.
    """
    both = [float(k[pair[0], -1] * k[pair[1], -1]) / float(np.abs(k[:, -1]).max()) ** 2 for k in each]
    senses = {0 if abs(one) <= SAME else int(copysign(1.0, one)) for one in both}
    if len(senses) > 1 or senses == {0}:
        raise NoNetworkError(
            f"which way motor {number} pulls hangs on the ohms of the sections: its armature or field lies across a "
            "bridge of them"
        )
    return senses.pop()


def unlike_ohm(place: int, number: int = 0) -> float:
    """An ohm to try with, between 1 and 2: of all places and numbers ohms that have nothing to do with each other."""
    return 1.0 + (7 * (place + 1) * _GOLDEN * (number + 1)) % 1.0


def _trial(network: Network, ohms: MotorOhms, number: int) -> Floats:
    """What volts in every wire, and last the line's, make of the currents at ohms of sections that have nothing to do
    with each other; motors likewise where nobody knows how their ohms lie in armature and field."""
    fixed = {"resistor"} if ohms.field is None or ohms.whole is None else {"resistor", "motor", "armature", "field"}
    scale = {"resistor": 1.0} | dict.fromkeys(("motor", "armature", "field"), ohms.whole or 1.0)
    loose = [unlike_ohm(place, number) for place in range(len(network.wires))]
    ohm = [
        wire.ohm * scale[wire.kind] if wire.kind in fixed else own
        for wire, own in zip(network.wires, loose, strict=True)
    ]
    layout = Layout.of(network.wires, network.nodes, feeder=False)
    return layout.driven(np.array(ohm), np.column_stack((np.eye(len(ohm)), layout.source)))


def motor_ends(network: Network) -> dict[int, tuple[int, int]]:
    """Motors by number and the ends of their armatures with all else in circuit taken as joined: 0 is what is one with
    the ground, 1 the line, others as they come. An armature that a resistor beside it then shorts stands for nothing,
    and where its field has a current of its own the field's ends are taken: opening a shunt regroups no motor."""
    chosen = {motor.number: motor.wire for motor in network.motors}
    ends = _ends(network, chosen)
    fields = {one.number: network.field_wire(one) for one in network.motors if one.apart}
    led = {number: field for number, field in fields.items() if field is not None and len(set(ends[number])) == 1}
    return _ends(network, chosen | led) if led else ends


def _ends(network: Network, chosen: Mapping[int, int]) -> dict[int, tuple[int, int]]:
    """Motors by number and the ends of one wire of each with all other wires taken as joined."""
    joined = Joined()
    for place, wire in enumerate(network.wires):
        if place not in chosen.values():
            joined.join((str(wire.a), str(wire.b)))
    number = {joined.top(str(GROUND_NODE)): 0}
    number.setdefault(joined.top(str(LINE_NODE)), 1)
    wires = {motor: network.wires[place] for motor, place in chosen.items()}
    return {
        motor: (
            number.setdefault(joined.top(str(wire.a)), len(number) + 1),
            number.setdefault(joined.top(str(wire.b)), len(number) + 1),
        )
        for motor, wire in wires.items()
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
