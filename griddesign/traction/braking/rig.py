"""The car on its brake: no line, and a notch wired up as generators."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from griddesign.errors import CircuitError
from griddesign.traction.braking.excited import Excited, excited
from griddesign.traction.curve import FloatArray
from griddesign.traction.mechanics import rim_n_per_nm
from griddesign.traction.records import Car, Line, Motor, Notch
from griddesign.traction.runup.flow import Bench
from griddesign.traction.runup.records import Cases, Plates
from griddesign.traction.runup.wiring import Drive, Wired, wired

NO_LINE = Line(0.0, 0.0)


def rim_brake_n_per_nm(car: Car) -> float:
    """Newtons at the rim that hold the car back for one N·m in the motors: ``gear·2/(D·efficiency)``."""
    return rim_n_per_nm(car) / car.drive_efficiency**2


def rig(car: Car, motor: Motor, cases: Cases, plates: Plates, gradient: float) -> Bench:
    """Car, motors and plates on a gradient, with no line: the circuit is closed on itself."""
    return Bench(NO_LINE, replace(car, gradient=gradient), motor, cases, plates)


@dataclass(frozen=True, slots=True)
class BrakeNotch:
    """A brake notch: strings alike on one grid, or each string on a grid of its own.

    ``each`` is how many strings a row of currents stands for, ``excited`` the generators of every row.
    """

    wired: Wired
    excited: tuple[Excited, ...]

    @property
    def name(self) -> str:
        """The notch's name."""
        return self.wired.name

    @property
    def each(self) -> int:
        """How many strings each current stands for."""
        return self.wired.each

    def own_ohm(self, bench: Bench, grid_ohm: FloatArray) -> FloatArray:
        """R' of every string (..., strings, M): its motors, and the grid as its own current feels it."""
        return self.wired.motor_ohms * bench.cases.motor_ohm + self.each * grid_ohm

    def read(self, current_a: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Emf of every string for one rad/s and its slope at currents (..., strings, M)."""
        if len(self.excited) == 1:
            return self.excited[0].read(current_a)
        pairs = [one.read(current_a[..., row, :]) for row, one in enumerate(self.excited)]
        return np.stack([k for k, _ in pairs], axis=-2), np.stack([slope for _, slope in pairs], axis=-2)

    def current_a(self, ohm_s: FloatArray) -> FloatArray:
        """Currents (..., strings, M) at ohms per rad/s."""
        if len(self.excited) == 1:
            return self.excited[0].current_a(ohm_s)
        return np.stack([one.current_a(ohm_s[..., row, :]) for row, one in enumerate(self.excited)], axis=-2)


def brake_notch(notch: Notch, sections: Sequence[str], drive: Drive) -> BrakeNotch:
    """The notch wired up. Raises CircuitError without a grid in circuit or with unlike strings on one grid, CurveError
    on a curve no brake is steady on."""
    found = wired(notch, sections, drive)
    if any(circuit.places.size == 0 for circuit in found.circuits):
        raise CircuitError(
            f"brake notch {notch.name} has no grid in circuit: 0 ohm shorts the motors",
            hint="Name the sections that take the heat.",
        )
    if len(found.branches) != len(found.circuits):
        raise CircuitError(
            f"brake notch {notch.name} has unlike motors side by side on one grid, which is not worked out",
            hint='Give each string a grid of its own: strings = [["A"], ["B"]].',
        )
    return BrakeNotch(found, tuple(excited(branch) for branch in found.branches))
