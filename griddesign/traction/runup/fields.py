"""Fields that do not carry just their armature's current: with one of their own among the branches of a network
(``traction.network.apart``), or a share that hangs on their motor's own ohms."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from griddesign.grid.contacts.general import motors_anew
from griddesign.grid.contacts.records import MotorIn, Network
from griddesign.traction.network.apart import NO_FLUX, Fluxes
from griddesign.traction.records import Notch
from griddesign.traction.runup.wiring import Branch, Drive


def fields_apart(network: Network) -> tuple[tuple[MotorIn, int], ...]:
    """Every motor whose field has a current of its own, and the place of that field's wire."""
    pairs = ((motor, network.field_wire(motor)) for motor in network.motors if motor.apart)
    return tuple((motor, field) for motor, field in pairs if field is not None)


def own_shares(network: Network, notch: Notch, drive: Drive) -> Network:
    """The network with the shares of its fields reckoned with each motor's own ohms, where they are not alike."""
    wires = tuple(
        replace(wire, ohm=wire.ohm * drive.motor_ohms(wire.motor - 1, notch)) if wire.motor else wire
        for wire in network.wires
    )
    return replace(network, motors=motors_anew(replace(network, wires=wires), network).motors)


def fluxes_of(network: Network, drive: Drive) -> Fluxes:
    """What makes the flux of each motor: currents are those of the motors, then of ``fields_apart``."""
    apart, count = fields_apart(network), len(network.motors)
    row = {motor.number: count + place for place, (motor, _) in enumerate(apart)}
    return Fluxes(
        tuple(motor.number for motor in network.motors),
        tuple(drive.table(motor.number - 1, motor.field) for motor in network.motors),
        np.array([row.get(motor.number, place) for place, motor in enumerate(network.motors)], dtype=np.intp),
        np.array([float(motor.apart or 1) for motor in network.motors]),
        count + len(apart),
    )


def branches_of(network: Network, notch: Notch, drive: Drive) -> Iterator[Branch]:
    """A branch for every motor, then for every field with a current of its own, which its motor's curve bounds."""
    for motor, share in zip(network.motors, network.motor_ohm, strict=True):
        if motor.apart:
            ohm = network.wires[motor.wire].ohm * drive.motor_ohms(motor.number - 1, notch)
            yield Branch(((motor.number - 1,),), (), NO_FLUX, (ohm,))
        else:
            yield drive.own_branch(motor.number - 1, notch, motor.field, share)
    for motor, field in fields_apart(network):
        ohm = network.wires[field].ohm * drive.motor_ohms(motor.number - 1, notch)
        yield Branch((), (), drive.table(motor.number - 1, 1.0), (ohm,))
