"""A notch that is a network, on a run: every motor a branch with a current of its own, either way round.

It has the same face as the strings of a grouping (``strings.Strings``), so that the run steps along the mean current of
the motors as it does elsewhere: at each moment the emfs follow from speed and flux, the currents from Kirchhoff's laws
with the sections as hot as they are (``traction.network``). With r the sections' ohms, n the speed and D = k'(I) n

    dI/dt = -(1 + Y D)^-1 [Y k(I) dn/dt + Y_r (i_r dr/dt)]

since a section whose ohms rise stands for a source of ``i dr`` in it. Needs a mean current that falls as the car
gathers way, else NoStartError; where the current of one motor does not, steps are finer than the curve's points ask.

A field with a current of its own, not a share of its armature's, is a branch too, after those of the motors
(``network.apart``): its heat is its own, the peak of a notch is that of the winding with most, and the mean current is
that of the armatures. States whose currents are not to be relied on are refused (NoStartError).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import count, islice, pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from griddesign.errors import CircuitError, NoStartError
from griddesign.grid.contacts.general import arrangement, motor_ends
from griddesign.grid.contacts.records import Network, Wire
from griddesign.grid.contacts.transfer import Layout
from griddesign.traction.curve import FloatArray
from griddesign.traction.network.currents import Driven, Measure, Turning, mean_of, signed_emf
from griddesign.traction.network.cut import left_of
from griddesign.traction.problem import strings_of
from griddesign.traction.records import Notch
from griddesign.traction.runup.table import EmfTable
from griddesign.traction.runup.wiring import Branch, Drive, Wired

if TYPE_CHECKING:
    from griddesign.traction.network.apart import Fluxes
    from griddesign.traction.runup.flow import Bench, Moment

Places = NDArray[np.intp]
BELOW = 1e-9
LOOK_AGAIN = "Look at the chart and its ohms again; at a lower speed, or with other ohms, it may run."


@dataclass(frozen=True, slots=True, eq=False)
class Mesh:
    """A network laid out for sections of a job. ``motors``: wires of the motors, then of fields with a current of their
    own; ``motor_share`` (wires,): ohms in terms of those stated for a motor; ``fixed_ohm`` (wires,): of resistors and
    feeder; ``sections``: their wires and their places among the job's; ``fluxes``: where a field has its own current;
    ``lone_share`` (wires,): the part of ``motor_share`` that is no motor's, None where there is none.
    """

    name: str
    network: Network
    layout: Layout
    tables: tuple[EmfTable, ...]
    motors: Places
    motor_share: FloatArray
    fixed_ohm: FloatArray
    sections: tuple[Places, Places]
    feeder: int
    fluxes: "Fluxes | None" = None
    lone_share: FloatArray | None = None

    @property
    def resistors(self) -> FloatArray:
        """Ohms of the fixed resistors (wires,), nothing for all else."""
        own = self.fixed_ohm.copy()
        own[: self.feeder] = 0.0
        return own

    def read(self, current_a: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Emf for one rad/s of every motor and its slope at currents (..., motors, M)."""
        last = _last(current_a)
        k, slope = signed_emf(self.tables, last) if self.fluxes is None else self.fluxes.read(last)
        return _first(k), _first(slope)

    def of_motors(self, by_winding: FloatArray) -> FloatArray:
        """Of currents along the last axis those of the motors, without fields that have their own."""
        return by_winding[..., : len(self.tables)]

    def beyond_curve(self, current_a: FloatArray) -> bool:
        """Whether of one case's currents one that makes a motor's flux passes the end of its curve."""
        exciting = current_a if self.fluxes is None else current_a[self.fluxes.sources]
        return any(abs(amps) > one.highest_a for amps, one in zip(exciting.tolist(), self.tables, strict=True))

    def field_of(self, motor: int) -> int | None:
        """Place among the currents of the field of a motor of the network (from 0); None where it has none of its
        own."""
        source = motor if self.fluxes is None else int(self.fluxes.sources[motor])
        return source if source >= len(self.tables) else None

    def refuse_bare(self, section_ohm: FloatArray) -> None:
        """Raise CircuitError on a section (ohms (sections, M)) or a resistor in circuit without ohms."""
        wires, places = self.sections
        bare = [wire for wire, place in zip(wires, places, strict=True) if not np.all(section_ohm[place] > 0.0)]
        bare += [at for at, one in enumerate(self.network.wires, self.feeder) if one.kind != "section" and not one.ohm]
        if bare:
            lacking = self.network.wires[bare[0] - self.feeder].name
            raise CircuitError(
                f"notch {self.name} is a network ({self.network.why}), and {lacking} in it has no ohms",
                hint="Give it ohms, or join its ends in the chart.",
            )

    def meshed(self, bench: "Bench", hot_ohm: FloatArray) -> "Meshed":
        """The network with sections of these ohms (..., sections, M).

        Past a balance, in states that nobody keeps, temperatures mean nothing and ohms may come out below zero; there
        any ohms do."""
        live_ohm = _last(hot_ohm[..., self.sections[1], :])
        cases = bench.cases
        driven = self.driven(np.where(live_ohm > 0.0, live_ohm, 1.0), cases.motor_ohm, cases.line_v)
        lone = None if self.lone_share is None else self.lone_share * cases.motor_ohm[..., None]
        return Meshed(self, driven, hot_ohm.shape[-2], lone)

    def driven(self, live_ohm: FloatArray, motor_ohm: FloatArray, line_v: FloatArray) -> Driven:
        """The network with its own sections at these ohms (..., sections in circuit), motors of ohms (...) as stated
        and volts (...) ahead of the feeder."""
        ohm = np.empty((*live_ohm.shape[:-1], len(self.fixed_ohm)))
        ohm[:] = self.fixed_ohm + self.motor_share * motor_ohm[..., None]
        ohm[..., self.sections[0]] = live_ohm
        volts = np.broadcast_to(line_v, ohm.shape[:-1])
        if self.fluxes is None:
            return Driven.of(self.layout, self.tables, self.motors.tolist(), ohm, volts)
        from griddesign.traction.network.apart import Apart

        return Apart.with_fluxes(self.layout, self.fluxes, self.motors.tolist(), ohm, volts)


def networked(notch: Notch, sections: Sequence[str], drive: Drive) -> Wired:
    """The notch with its sections found by name. Raises CircuitError on an unknown section, or motors cut out."""
    network = notch.network if not notch.out else left_of(notch).network
    if network is None:
        raise CircuitError(f"notch {notch.name} has every motor cut out", hint="Leave one in.")
    unknown = [name for name in network.sections if name not in sections]
    if unknown:
        raise CircuitError(
            f"notch {notch.name} names section {unknown[0]}, which has no ohms", hint=f"Known: {', '.join(sections)}."
        )
    mesh = mesh_of(notch, network, sections, drive)
    return Wired(notch.name, _branches(mesh, notch, drive), "network", (), np.eye(len(sections))[:, :, None], mesh=mesh)


def _branches(mesh: Mesh, notch: Notch, drive: Drive) -> tuple[Branch, ...]:
    """A branch for every motor, and for every field with a current of its own."""
    network = mesh.network
    if mesh.fluxes is not None:
        from griddesign.traction.runup.fields import branches_of

        return tuple(branches_of(network, notch, drive))
    return tuple(
        drive.own_branch(motor.number - 1, notch, motor.field, share)
        for motor, share in zip(network.motors, network.motor_ohm, strict=True)
    )


def mesh_of(notch: Notch, network: Network, sections: Sequence[str], drive: Drive) -> Mesh:
    """The network laid out for these sections, among which are all of its own; shares of fields by each motor's own
    ohms."""
    if any(own.resistance_ohm for own in drive.motor.each) and any(one.field != 1.0 for one in network.motors):
        from griddesign.traction.runup.fields import own_shares

        network = own_shares(network, notch, drive)
    feeder, wires = int(drive.feeder_ohm > 0.0), network.wires
    ahead = [drive.feeder_ohm] * feeder
    live = [place for place, wire in enumerate(wires) if wire.kind == "section"]
    places, fluxes = tuple(motor.wire for motor in network.motors), None
    if any(motor.apart for motor in network.motors):
        from griddesign.traction.runup.fields import fields_apart, fluxes_of

        places, fluxes = (*places, *(field for _, field in fields_apart(network))), fluxes_of(network, drive)
    return Mesh(
        notch.name,
        network,
        Layout.of(wires, network.nodes, feeder=bool(feeder)),
        tuple(drive.table(motor.number - 1, motor.field) for motor in network.motors)
        if fluxes is None
        else fluxes.tables,
        np.array(places, dtype=np.intp) + feeder,
        np.array([*[0.0] * feeder, *(_motor_share(wire, notch, drive) for wire in wires)]),
        np.array([*ahead, *(wire.ohm if wire.kind == "resistor" else 0.0 for wire in wires)]),
        (
            np.array([place + feeder for place in live], dtype=np.intp),
            np.array([sections.index(wires[place].name) for place in live], dtype=np.intp),
        ),
        feeder,
        fluxes,
        _lone_share(notch, network, drive),
    )


def _lone_share(notch: Notch, network: Network, drive: Drive) -> FloatArray | None:
    """Ohms of windings that are no motor's in terms of those stated for one (wires,); None where there are none."""
    lone = network.lone
    if not lone:
        return None
    ahead = [0.0] * int(drive.feeder_ohm > 0.0)
    return np.array([*ahead, *(_motor_share(one, notch, drive) if one in lone else 0.0 for one in network.wires)])


def _motor_share(wire: Wire, notch: Notch, drive: Drive) -> float:
    """Ohms of a motor or a part of it in terms of those stated for one motor."""
    return wire.ohm * drive.motor_ohms(wire.motor - 1, notch) if wire.motor else 0.0


def arrangement_of(notch: Notch) -> frozenset[tuple[frozenset[int], int]]:
    """How the controller groups the motors of a notch, cut out or not, a network or not; see
    ``grid.contacts.general.arrangement``."""
    if notch.network is not None:
        return arrangement(motor_ends(notch.network))
    ends: dict[int, tuple[int, int]] = {}
    inner = count(2)
    for string in strings_of(notch):
        points = (1, *islice(inner, len(string) - 1), 0)
        ends |= {motor + 1: pair for motor, pair in zip(string, pairwise(points), strict=True)}
    return arrangement(ends)


@dataclass(frozen=True, slots=True, eq=False)
class Meshed:
    """The motors of a network at one moment, or at many; arrays over motors, circuits or sections come before M."""

    mesh: Mesh
    driven: Driven
    section_count: int
    lone_ohm: FloatArray | None = None

    def standing(self, emf_v: FloatArray) -> FloatArray:
        """Currents (..., motors, M) against emfs that stay as they are, A."""
        return _first(self.driven.against(_last(emf_v)))

    def arriving(self, motor_rad_s: FloatArray) -> FloatArray:
        """Currents (..., motors, M) at a speed of the motors (..., M), A."""
        turning = np.maximum(motor_rad_s, 0.0)
        current = self.driven.at(turning)
        self._rely_on(current, turning)
        return _first(current)

    def _rely_on(self, current_a: FloatArray, turning: FloatArray) -> None:
        """Raise NoStartError where currents (M before motors) at a speed are not to be relied on."""
        doubt = self.driven.doubt(current_a, turning)
        if doubt:
            raise NoStartError(f"notch {self.mesh.name}: {doubt}", hint=LOOK_AGAIN)

    def from_mean(self, mean_a: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Currents (..., motors, M) and the motors' speed (..., M), rad/s, at a mean current (..., M), A."""
        current, turning = self._where(mean_of(mean_a), self.driven.speed_near(mean_a))
        self._rely_on(current, turning)
        return _first(current), turning

    def _where(self, measure: Measure, turning: FloatArray) -> tuple[FloatArray, FloatArray]:
        try:
            return self.driven.where(measure, turning)
        except NoStartError as error:
            raise NoStartError(f"notch {self.mesh.name}: {error.message}", hint=error.hint) from error

    def crossings(self) -> FloatArray:
        """Mean currents (points, M) at which a motor passes a point of its curve.

        A little below it, so that a step that begins there is wholly in the cell below: past the last point the slope
        of a curve leaps. Of a motor whose current does not fall with the speed none is found; then where all have the
        point's current.
        """
        rows = np.array([row for row, one in self._curves() for _ in one.knots_a[1:]])
        knots = np.array([[knot] for _, one in self._curves() for knot in one.knots_a[1:]]) * (1.0 - BELOW)
        alike = np.broadcast_to(knots[..., None], (len(rows), self.driven.drive.shape[-2], len(self.mesh.motors)))
        guess = self.driven.evenly(alike)[np.arange(len(rows)), :, rows]
        try:
            current, turning = self.driven.where(_passing(knots, rows), guess)
        except NoStartError:
            return knots + np.zeros(alike.shape[:-1])
        return self.driven.now(current, turning).mean_a()[0]

    def _curves(self) -> list[tuple[int, EmfTable]]:
        """Every motor's curve and the place of the current that makes its flux."""
        count = len(self.mesh.tables)
        rows = range(count) if self.mesh.fluxes is None else self.mesh.fluxes.sources.tolist()
        return list(zip(rows, self.mesh.tables, strict=True))

    def flows(self, emf_v: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Currents of all sections of the job (..., sections, M) and from line (..., M), A."""
        through, (wires, places) = self.driven.wires(_last(emf_v)), self.mesh.sections
        each = np.zeros((*through.shape[:-1], self.section_count))
        each[..., places] = through[..., wires]
        return _first(each), through @ self.mesh.layout.source

    def fixed_w(self, emf_v: FloatArray) -> FloatArray:
        """Watts of the fixed resistors, and of windings that are no motor's (..., M)."""
        square = self.driven.wires(_last(emf_v)) ** 2
        watts: FloatArray = square @ self.mesh.resistors
        return watts if self.lone_ohm is None else watts + (square * self.lone_ohm).sum(axis=-1)

    def falling(self, now: "Moment", section_v: FloatArray, motor_v: FloatArray) -> FloatArray:
        """Change of the mean current (..., M) that takes up changes of volts of sections and motors."""
        wires, places = self.mesh.sections
        motors, sections = self.driven.answer[..., self.mesh.motors, :], self.driven.answer[..., wires, :]
        pushed = motors @ _last(motor_v)[..., None]
        pushed += np.swapaxes(sections, -1, -2) @ _last(section_v[..., places, :])[..., None]
        current = _last(now.current_a)
        change = -self.driven.yielding(current, now.turning_rad_s, pushed)[..., 0]
        if self.mesh.fluxes is None:
            mean: FloatArray = (np.sign(current) * change).mean(axis=-1)
            return mean
        _, by_current = self.driven.now(current, now.turning_rad_s).mean_a()
        driving: FloatArray = (by_current * change).sum(axis=-1)
        return driving


def _passing(knots: FloatArray, rows: Places) -> Measure:
    """By how much each point's own motor is above its point."""

    def measure(now: Turning) -> tuple[FloatArray, FloatArray, FloatArray]:
        picked = np.arange(len(rows)), slice(None), rows
        own, by_current = now.current_a[picked], np.zeros_like(now.current_a)
        by_current[picked] = np.sign(own)
        return np.abs(own) - knots, by_current, np.zeros(own.shape)

    return measure


def _last(by_row: FloatArray) -> FloatArray:
    """Rows before M -> M before rows."""
    return np.swapaxes(by_row, -1, -2)


def _first(by_row: FloatArray) -> FloatArray:
    """M before rows -> rows before M."""
    return np.swapaxes(by_row, -1, -2)
