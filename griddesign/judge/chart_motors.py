"""What a contact chart makes of every notch with the motors turning: currents of line, motors and sections, pull."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from griddesign.errors import NoStartError
from griddesign.grid.contacts.general import NoNetworkError, network_of
from griddesign.grid.contacts.read import ChartRead
from griddesign.grid.contacts.records import Network
from griddesign.traction.mechanics import motor_rad_s, rim_n_per_nm
from griddesign.traction.records import Car, Grouping, Line, Motor, Notch
from griddesign.traction.runup.networked import Mesh, mesh_of
from griddesign.traction.runup.wiring import Drive

NO_CURRENT = "no current"


@dataclass(frozen=True, slots=True)
class NotchAtSpeed:
    """One notch at a speed of the car and nominal volts: amperes from line, of each motor by its number (against its
    direction from in to out, or from armature 1 to 2, below zero), of each section (against its direction from the dot
    end below zero), the pull of all motors at the rim in newtons.

    ``field_a``: by its motor's number the current of each field that carries its own, not a share of its armature's;
    ``motor_a`` is then the armature's. ``beyond_curve``: a current that makes the flux passed the end of its motor's
    curve, where the flux is kept at its last value, so the pull is too low and the currents too high. ``why``: why
    nothing is known; then nothing else is said.
    """

    name: str
    line_a: float = 0.0
    motor_a: tuple[tuple[int, float], ...] = ()
    section_a: tuple[tuple[str, float], ...] = ()
    effort_n: float = 0.0
    beyond_curve: bool = False
    why: str = ""
    field_a: tuple[tuple[int, float], ...] = ()

    @property
    def dead(self) -> bool:
        """Whether no current flows at all."""
        return self.why == NO_CURRENT


@dataclass(frozen=True, slots=True)
class CarOfChart:
    """Line, car and motors that a chart's currents hang on."""

    line: Line
    car: Car
    motor: Motor

    @property
    def drive(self) -> Drive:
        """For wiring notches up."""
        return Drive(self.car, self.motor, self.line.feeder_ohm)


def at_speed(
    read: ChartRead, car: CarOfChart, section_ohm: Mapping[str, float], speed_m_s: float = 0.0
) -> tuple[NotchAtSpeed, ...]:
    """Every notch, a grouping or not, by Kirchhoff's laws and the motors' curves, motors at their stated ohms."""
    return tuple(_notch(read, place, car, section_ohm, speed_m_s) for place in range(len(read.nets)))


def _notch(
    read: ChartRead, place: int, car: CarOfChart, section_ohm: Mapping[str, float], speed_m_s: float
) -> NotchAtSpeed:
    net = read.nets[place]
    if not net.live:
        return NotchAtSpeed(net.name, why="line and ground are joined" if net.joined else NO_CURRENT)
    try:
        network = network_of(read.elements, net, read.ohms, "")
    except NoNetworkError as error:
        return NotchAtSpeed(net.name, why=str(error))
    bare = [name for name in network.sections if not section_ohm.get(name)]
    if bare:
        return NotchAtSpeed(net.name, why=f"nothing is known of the ohms of section {', '.join(bare)}")
    mesh = mesh_of(_as_notch(net.name, network), network, network.sections, car.drive)
    return _turning(mesh, car, [section_ohm[name] for name in network.sections], speed_m_s)


def _as_notch(name: str, network: Network) -> Notch:
    return Notch(name, Grouping(1, len(network.motors)), None, network=network)


def _turning(mesh: Mesh, car: CarOfChart, section_ohm: Sequence[float], speed_m_s: float) -> NotchAtSpeed:
    volts, motor_ohm = np.array(car.line.nominal_v), np.array(car.motor.resistance_ohm)
    driven, n = mesh.driven(np.array(section_ohm), motor_ohm, volts), np.array(motor_rad_s(car.car, speed_m_s))
    try:
        current = driven.at(n)
    except NoStartError as error:
        return NotchAtSpeed(mesh.name, why=error.message)
    doubt = driven.doubt(current, n)
    if doubt:
        return NotchAtSpeed(mesh.name, why=doubt)
    k, _ = driven.read(current)
    through, network = driven.wires(k * n), mesh.network
    each = zip(network.sections, through[mesh.sections[0]].tolist(), strict=True)
    fields = ((motor.number, mesh.field_of(place)) for place, motor in enumerate(network.motors))
    return NotchAtSpeed(
        mesh.name,
        float(through @ mesh.layout.source),
        tuple((one.number, float(amps)) for one, amps in zip(network.motors, mesh.of_motors(current), strict=True)),
        tuple((name, amps) for name, amps in each),
        float(rim_n_per_nm(car.car) * (k * current).sum()),
        mesh.beyond_curve(current),
        field_a=tuple((number, float(current[at])) for number, at in fields if at is not None),
    )
