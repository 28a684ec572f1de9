"""One notch wired up for many cases: its motor strings, how its current divides among the sections, what ohms it meets.

Motors are numbered from 0, string after string. Strings alike on one common circuit are one branch that stands for all
of them; else every string is a branch of its own, sharing speed, feeder and a common grid, and finds its own current.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from griddesign.errors import CircuitError
from griddesign.grid.circuit import is_plain_series, names
from griddesign.grid.divide import Divide, divider
from griddesign.grid.records import Run
from griddesign.traction.curve import FloatArray
from griddesign.traction.mechanics import motor_rad_s
from griddesign.traction.problem import String, circuits_of, live_strings
from griddesign.traction.records import Car, Motor, MotorOwn, Notch
from griddesign.traction.runup.table import CurveTable, EmfTable, curve_table, in_series

if TYPE_CHECKING:
    from griddesign.traction.runup.networked import Mesh

Places = NDArray[np.intp]
Kind = Literal["common", "strings", "bridge", "network"]


@dataclass(frozen=True, slots=True, eq=False)
class Circuit:
    """One circuit of a notch: places of its sections, and how branches divide it (None: a plain run)."""

    places: Places
    divide: Divide | None


@dataclass(frozen=True, slots=True)
class Branch:
    """Motor strings alike as one: motor numbers of each string, the emf tables of one string's motors and their sum.

    ``each_ohms`` are the ohms of one string's motors in terms of the resistance stated for one motor.
    """

    strings: tuple[String, ...]
    tables: tuple[CurveTable, ...]
    table: EmfTable
    each_ohms: tuple[float, ...]


@dataclass(frozen=True, eq=False)
class Wired:
    """A notch or a transition: branches of motors, and circuits of the grid, which carry the current of all strings
    (``common``), of one string each (``strings``), or lie beside the two halves of a bridge (``bridge``). In a
    ``network`` every motor is a branch and every section a circuit, and ``mesh`` says how they hang together.

    Arrays over branches or circuits come first, then sections, then M. ``ahead_ohm`` and ``string_ohm``: fixed
    resistors in series with all strings, and in each of them.
    """

    name: str
    branches: tuple[Branch, ...]
    kind: Kind
    circuits: tuple[Circuit, ...]
    plain_shares: FloatArray
    ahead_ohm: float = 0.0
    string_ohm: float = 0.0
    mesh: "Mesh | None" = None

    @cached_property
    def each(self) -> int:
        """How many motor strings a branch stands for."""
        return len(self.branches[0].strings)

    @cached_property
    def alike(self) -> EmfTable | None:
        """The one table of all branches, None where they differ."""
        first = self.branches[0].table
        return first if all(one.table == first for one in self.branches) else None

    @cached_property
    def motor_ohms(self) -> FloatArray:
        """Resistance of the motors of each branch (branches, 1) over the one stated for a motor, no unit."""
        return np.array([[sum(one.each_ohms)] for one in self.branches])

    def read(self, current_a: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Emf for one rad/s of every branch and its slope at currents (..., branches, M)."""
        if self.mesh is not None:
            return self.mesh.read(current_a)
        if self.alike is not None:
            return self.alike.read(current_a)
        pairs = [one.table.read(current_a[..., place, :]) for place, one in enumerate(self.branches)]
        return np.stack([k for k, _ in pairs], axis=-2), np.stack([slope for _, slope in pairs], axis=-2)

    def divided(self, section_ohm: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Ohms of every circuit (..., circuits, M) and the shares of its current (..., circuits, sections, M or 1),
        at ohms of the sections (..., sections, M)."""
        shares = self.plain_shares
        if any(one.divide is not None for one in self.circuits):
            shares = np.array(
                np.broadcast_to(shares, (*section_ohm.shape[:-2], *shares.shape[:-1], section_ohm.shape[-1]))
            )
        ohms = [self._one(number, section_ohm, shares) for number in range(len(self.circuits))]
        return np.stack(ohms, axis=-2), shares

    def _one(self, number: int, section_ohm: FloatArray, shares: FloatArray) -> FloatArray:
        """Ohms of one circuit; the shares of branches are filled in."""
        one = self.circuits[number]
        live_ohm = section_ohm[..., one.places, :]
        if one.divide is None:
            plain: FloatArray = live_ohm.sum(axis=-2)
            return plain
        columns = np.moveaxis(live_ohm, -2, -1)
        ohms, parts = one.divide(columns.reshape(-1, one.places.size))
        shares[..., number, one.places, :] = np.moveaxis(parts.reshape(columns.shape), -1, -2)
        return ohms.reshape(columns.shape[:-1])


def through(shares: FloatArray, circuit_a: FloatArray) -> FloatArray:
    """Current of every section (..., sections, M) at currents of the circuits (..., circuits, M), A."""
    if shares.shape[-3] == 1:
        return shares[..., 0, :, :] * circuit_a[..., 0, None, :]
    total: FloatArray = (shares * circuit_a[..., :, None, :]).sum(axis=-3)
    return total


def grid_rise(shares: FloatArray, section_rise: FloatArray) -> FloatArray:
    """Rise of the circuits' ohms (..., circuits, M) with those of the sections: ``dR = sum of share^2·dr``."""
    rise: FloatArray = (shares**2 * section_rise[..., None, :, :]).sum(axis=-2)
    return rise


@dataclass(frozen=True, slots=True)
class Drive:
    """Car and motors as a notch wires them up; ``feeder_ohm`` ahead of a network."""

    car: Car
    motor: Motor
    feeder_ohm: float = 0.0

    def branch(self, strings: tuple[String, ...], notch: Notch) -> Branch:
        """Like strings as one branch, with the field and the motor resistance of a notch."""
        tables = tuple(self.table(number, notch.field) for number in strings[0])
        ohms = tuple(self.motor_ohms(number, notch) for number in strings[0])
        return Branch(strings, tables, in_series(tables), ohms)

    def own_branch(self, number: int, notch: Notch, field: float, share: float) -> Branch:
        """One motor by itself, with its own field; its current feels ``share`` of its stated ohms."""
        table = self.table(number, field)
        return Branch(((number,),), (table,), table, (share * self.motor_ohms(number, notch),))

    def branches(self, strings: tuple[String, ...], notch: Notch, *, together: bool) -> tuple[Branch, ...]:
        """The strings as branches: as one where they are alike and ``together``."""
        single = tuple(self.branch((string,), notch) for string in strings)
        alike = all((one.tables, one.each_ohms) == (single[0].tables, single[0].each_ohms) for one in single)
        return (self.branch(strings, notch),) if together and alike else single

    def table(self, number: int, field: float) -> CurveTable:
        """The emf of one motor for one rad/s of a motor with the car's own wheels and gear."""
        own = self._own(number)
        wheel = own.wheel_diameter_m or self.car.wheel_diameter_m
        turns = (own.gear_ratio or self.car.gear_ratio) * 2.0 / wheel
        factor = own.emf_factor * turns / motor_rad_s(self.car, 1.0)
        return curve_table(own.magnetisation or self.motor.magnetisation, field, factor)

    def motor_ohms(self, number: int, notch: Notch) -> float:
        """Ohms of one motor in terms of the resistance stated for all; a notch's own figure goes before both."""
        stated = self.motor.resistance_ohm
        own = self._own(number).resistance_ohm or stated
        return (own if notch.motor_ohm is None else notch.motor_ohm * own / stated) / stated

    def _own(self, number: int) -> MotorOwn:
        each = self.motor.each
        return each[number] if number < len(each) else MotorOwn()


def wired(notch: Notch, sections: Sequence[str], drive: Drive) -> Wired:
    """The notch with its sections found by name and its strings without the motors cut out.

    Raises CircuitError on an unknown section, one in two strings, circuits that do not fit the strings, or no motor.
    """
    if notch.network is not None:
        from griddesign.traction.runup.networked import networked

        return networked(notch, sections, drive)
    circuits, strings = circuits_of(notch), live_strings(notch)
    common = notch.common is not None
    if not common:
        _refuse_shared(notch.name, circuits)
    runs = circuits if common else tuple(circuits[place] for place, _ in strings)
    branches = drive.branches(tuple(string for _, string in strings), notch, together=common)
    found = assembled(notch.name, branches, "common" if common else "strings", runs, sections)
    return replace(found, ahead_ohm=notch.ahead_ohm, string_ohm=notch.string_ohm)


def assembled(
    name: str,
    branches: tuple[Branch, ...],
    kind: Kind,
    runs: Sequence[Run],
    sections: Sequence[str],
) -> Wired:
    """Branches and circuits put together, sections found by name."""
    circuits = tuple(_circuit(name, run, sections) for run in runs)
    shares = np.zeros((len(circuits), len(sections), 1))
    for number, one in enumerate(circuits):
        shares[number, one.places] = 1.0
    return Wired(name, branches, kind, circuits, shares)


def _circuit(name: str, run: Run, sections: Sequence[str]) -> Circuit:
    live = names(run)
    unknown = [section for section in live if section not in sections]
    if unknown:
        raise CircuitError(
            f"notch {name} names section {unknown[0]}, which has no ohms", hint=f"Known: {', '.join(sections)}."
        )
    places = np.array([sections.index(section) for section in live], dtype=np.intp)
    return Circuit(places, None if is_plain_series(run) else divider(run))


def _refuse_shared(notch: str, runs: Sequence[Run]) -> None:
    named = [section for run in runs for section in names(run)]
    twice = sorted({section for section in named if named.count(section) > 1})
    if twice:
        raise CircuitError(
            f"notch {notch} has section {twice[0]} in the circuits of two motor strings",
            hint='A grid that carries several strings is a common one: write circuit = ["…"].',
        )
