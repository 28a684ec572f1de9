"""Motors of a network whose field carries a current of its own: an armature with a resistor beside it, a field with a
section of the grid beside it, and whatever else a chart makes of armature and field.

Of every motor the armature is its ohms with the emf ``k(J) n`` in series, J being the current that makes its flux: the
field's, or the armature's own where the two keep one ratio; torque is ``k(J) I``. With the wires as in ``currents``

    J = j - n B k(J)

j being what the line alone drives through the fields and B the amperes in each field for a volt in each armature. B is
neither symmetric nor positive semidefinite, so that more than one set of currents may fit, as in any machine that
excites itself. Two sets differ by ``(1 + n B Q) dJ = 0`` with Q diagonal, each entry the chord of a curve between them,
so between zero and the steepest chord from the set that was found. The determinant is linear in every entry of Q: where
it is above zero at all corners of that box, so is it within, and no other set fits. At the corners it is a principal
minor of ``1 + n B Q`` with the steepest chords. That is tried at the speed in question, and refused where it fails.
Where every such motor has a resistor beside its armature alone, B is a positive semidefinite matrix (that of the motors
as their field's current finds them) times shares between zero and one: no minor falls below one, at any speed.

Chords are those to currents that flow through a field as at standstill. Self-excited machines have sets with fields
turned round too; they are left out of the question, since the flux comes from the notch before, as at standstill.
Where Newton's rule ends in such a set, the right one is followed from standstill, speed by speed.

The curve, taken with both windings in series, holds the armature's reaction at equal currents; here the flux goes by
the field's current alone.

Refused too: a motor that does not pull forward at standstill; a field that is turned round against standstill all the
same, where only residual magnetism knows the flux; currents that would hunt between the motors: with the inductance of
the fields alone, taken as alike, ``(1 + n B D)^-1 Y``, D the slopes of the curves and Y the amperes in each field for a
volt in each, must have no eigenvalue left of zero. Left out there: the inductance of the armatures, saturation in that
of the fields.
"""

from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import chain, combinations

import numpy as np
from numpy.typing import NDArray

from griddesign.errors import NoStartError
from griddesign.grid.contacts.transfer import Layout
from griddesign.traction.curve import FloatArray
from griddesign.traction.network.currents import Driven, Measure, Turning, signed_emf
from griddesign.traction.runup.table import CurveTable

Places = NDArray[np.intp]
MOST_MOTORS = 8
FOLLOWED = 32  # steps in speed from standstill
PIECES = 4  # to a cubic of a curve
LITTLE = 1e-9
CLOSE = 1e-5  # of what is asked, against standstill: a root is closer by far, a leap never


@dataclass(frozen=True)
class NoFlux:
    """What bounds an armature whose field has a current of its own: no curve, the field is bounded by that."""

    highest_a: float = np.inf
    lowest_a: float = 0.0

    @cached_property
    def knots_a(self) -> FloatArray:
        """No point but zero, A."""
        return np.zeros(1)

    @cached_property
    def cubics(self) -> FloatArray:
        """Nothing."""
        return np.zeros((4, 1))

    def read(self, current_a: FloatArray) -> tuple[FloatArray, FloatArray]:
        """No emf and no slope."""
        return np.zeros_like(current_a), np.zeros_like(current_a)


NO_FLUX = NoFlux()


@dataclass(frozen=True, slots=True, eq=False)
class Fluxes:
    """What makes the flux of each motor. Currents are those of the motors (armature or whole), then of the fields with
    a current of their own: ``rows`` in all.

    ``tables``: emf of each motor; ``sources`` (motors,): place of the current that makes its flux; ``senses``
    (motors,): 1 or -1, the sign of its emf where that current is above zero; ``numbers``: the motors', from 1.
    """

    numbers: tuple[int, ...]
    tables: tuple[CurveTable, ...]
    sources: Places
    senses: FloatArray
    rows: int

    @property
    def apart(self) -> NDArray[np.bool_]:
        """Which motors (motors,) have a field of its own current."""
        return self.sources >= len(self.numbers)

    def read(self, current_a: FloatArray) -> tuple[FloatArray, FloatArray]:
        """k, V for one rad/s with its sign, and its slope by the current that makes the flux (..., rows)."""
        k, slope = signed_emf(self.tables, current_a[..., self.sources])
        none = np.zeros((*current_a.shape[:-1], self.rows - len(self.numbers)))
        return np.concatenate((self.senses * k, none), axis=-1), np.concatenate((self.senses * slope, none), axis=-1)


@dataclass(frozen=True, slots=True)
class Apart(Driven):
    """``Driven`` with ``fluxes``: currents are those of its rows, ``places`` their wires."""

    fluxes: Fluxes

    @classmethod
    def with_fluxes(
        cls, layout: Layout, fluxes: Fluxes, places: list[int], ohm: FloatArray, line_v: FloatArray
    ) -> "Apart":
        """At ohms (..., wires) and volts (...) ahead of the feeder."""
        every = Driven.of(layout, fluxes.tables, places, ohm, line_v)
        return cls(every.tables, every.places, every.drive, every.answer, fluxes)

    def read(self, current_a: FloatArray) -> tuple[FloatArray, FloatArray]:
        """As ``Fluxes.read``."""
        return self.fluxes.read(current_a)

    def now(self, current_a: FloatArray, turning: FloatArray) -> Turning:
        """The motors at these currents (..., rows) and speeds (...)."""
        return Turning(current_a, *self.read(current_a), turning, self.fluxes.sources)

    def yielding(self, current: FloatArray, turning: FloatArray, pushed_a: FloatArray) -> FloatArray:
        """What pushes (..., rows, columns) of the currents come to when the motors' own emfs follow, A."""
        motors = len(self.fluxes.numbers)
        stiffer = (self.read(current)[1][..., :motors] * turning[..., None])[..., None, :]
        stiff = np.eye(len(self.places)) + 0.0 * turning[..., None, None]
        stiff[..., :, self.fluxes.sources] += self.answer[..., self.places, :motors] * stiffer
        given: FloatArray = np.linalg.solve(stiff, pushed_a).astype(np.float64, copy=False)
        return given

    def at(self, turning: FloatArray, near: FloatArray | None = None) -> FloatArray:
        """Currents (..., rows) at speeds (...), rad/s, fields the way round they are at standstill where there is such
        a set; ``near``: where to begin."""
        try:
            current = Driven.at(self, turning, near)
        except (NoStartError, np.linalg.LinAlgError):
            return self._followed(turning)
        turned = self._turned(current).any(axis=-1, keepdims=True)
        if not turned.any():
            return current
        try:
            return np.where(turned, self._followed(turning), current)
        except NoStartError:
            return current

    def _followed(self, turning: FloatArray) -> FloatArray:
        """The same from standstill on, step by step."""
        step, now = turning / FOLLOWED, self.standing_a + 0.0 * turning[..., None]
        try:
            for count in range(FOLLOWED):
                ahead = now + self.faster(now, count * step) * step[..., None]
                now = Driven.at(self, (count + 1) * step, ahead)
        except np.linalg.LinAlgError as error:
            raise NoStartError(
                "the currents of a network of motors leap at some speed", hint="Look at its chart and ohms again."
            ) from error
        return now

    def speed_near(self, mean_a: FloatArray) -> FloatArray:
        """About the speed (...) at which the motors have a mean current (...), A: as if all had one emf."""
        motors, standing = len(self.fluxes.numbers), self.standing_a
        along = np.sign(self.read(standing)[0][..., :motors])
        fall = (along * standing[..., :motors]).sum(axis=-1) - motors * mean_a
        per_volt = (self.answer[..., self.places, :motors] @ along[..., None])[..., 0]
        emf_v = fall / np.maximum((along * per_volt[..., :motors]).sum(axis=-1), LITTLE)
        k = np.abs(self.read(standing - per_volt * emf_v[..., None])[0][..., :motors]).mean(axis=-1)
        near: FloatArray = np.maximum(emf_v, 0.0) / np.where(k > 0.0, k, 1.0)
        return near

    def where(self, measure: Measure, turning: FloatArray) -> tuple[FloatArray, FloatArray]:
        """As ``Driven.where``; where the currents leap past what is asked there is no such speed."""
        current, found = Driven.where(self, measure, turning)
        left = np.abs(measure(self.now(current, np.maximum(found, 0.0)))[0])
        begin = np.abs(measure(self.now(self.standing_a + 0.0 * found[..., None], 0.0 * found))[0])
        if np.any((left > CLOSE * begin) & (found > 0.0)):
            raise NoStartError(
                "a network of motors has no speed at which its current falls so far", hint="Look at its ohms again."
            )
        return current, found

    # --- what can be relied on ---------------------------------------------------------------------------------------

    def doubt(self, current_a: FloatArray, turning: FloatArray) -> str:
        """Why currents (..., rows) found at speeds (...) are not to be relied on, "" where they are."""
        backwards = self._backwards()
        if backwards:
            return f"motor {backwards} does not pull forward at standstill: the current of its field is turned round"
        turned = self._first(self._turned(current_a))
        if turned:
            return (
                f"the current of the field of motor {turned} turns round against what it is at standstill: no curve "
                "tells the flux there"
            )
        if len(self.fluxes.numbers) > MOST_MOTORS:
            return f"of more than {MOST_MOTORS} motors with fields apart nobody has shown that one set of currents fits"
        if not self._only(current_a, turning):
            return "more than one set of currents fits: the motors excite themselves at this speed"
        if not self._settles(current_a, turning):
            return "the currents would hunt between the motors at this speed and never settle"
        return ""

    def _first(self, which: NDArray[np.bool_]) -> int:
        """Number of the first motor for which it is so in any case (..., motors); 0 for none."""
        found = np.flatnonzero(which.reshape(-1, len(self.fluxes.numbers)).any(axis=0))
        return self.fluxes.numbers[int(found[0])] if found.size else 0

    def _backwards(self) -> int:
        standing = self.standing_a
        pulls = (self.read(standing)[0] * standing)[..., : len(self.fluxes.numbers)]
        return self._first((pulls <= 0.0) & self.fluxes.apart)

    def _turned(self, current_a: FloatArray) -> NDArray[np.bool_]:
        """Which motors (..., motors) have a field apart that is turned round against standstill."""
        sources = self.fluxes.sources
        along = current_a[..., sources] * self.standing_a[..., sources]
        return (along <= 0.0) & self.fluxes.apart

    def _excited(self) -> FloatArray:
        """B with its signs (..., motors, motors)."""
        motors = len(self.fluxes.numbers)
        by_armature: FloatArray = self.answer[..., self.places[self.fluxes.sources], :motors] * self.fluxes.senses
        return by_armature

    def _only(self, current_a: FloatArray, turning: FloatArray) -> bool:
        """Whether no other set of currents fits, at every speed (...)."""
        chords = self._steepest_chords(np.abs(current_a[..., self.fluxes.sources]))
        motors = chords.shape[-1]
        whole = np.eye(motors) + self._excited() * chords[..., None, :] * turning[..., None, None]
        picks = chain.from_iterable(combinations(range(motors), count) for count in range(1, motors + 1))
        return all(bool(np.all(np.linalg.det(whole[..., pick, :][..., pick]) > LITTLE)) for pick in map(list, picks))

    def _steepest_chords(self, amount_a: FloatArray) -> FloatArray:
        """Of every motor's curve (..., motors), V·s/A: from the current that makes its flux to any that flows the same
        way; where that current is the armature's own, to any at all."""
        each = [
            steepness(table).chord(amount_a[..., place]) if own else 0.0 * amount_a[..., place] + steepness(table).most
            for place, (table, own) in enumerate(zip(self.fluxes.tables, self.fluxes.apart.tolist(), strict=True))
        ]
        return np.stack(each, axis=-1)

    def _settles(self, current_a: FloatArray, turning: FloatArray) -> bool:
        """Whether a small change of the fields' currents dies away, at every speed (...)."""
        motors, sources = len(self.fluxes.numbers), self.fluxes.sources
        if motors == 1:  # one field: what makes its currents one set makes them settle
            return True
        slopes = signed_emf(self.fluxes.tables, current_a[..., sources])[1]
        whole = np.eye(motors) + self._excited() * slopes[..., None, :] * turning[..., None, None]
        lags = np.linalg.eigvals(np.linalg.solve(whole, self.answer[..., self.places[sources], :][..., sources]))
        return bool(np.all(lags.real >= -LITTLE * np.abs(lags).max(axis=-1, keepdims=True)))


@dataclass(frozen=True, slots=True, eq=False)
class Steepness:
    """A curve in pieces: their ``ends`` (pieces + 1,), A, ``k`` there, the ``steepest`` slope of each; past the last
    end it is level."""

    table: CurveTable
    ends: FloatArray
    k: FloatArray
    steepest: FloatArray

    @property
    def most(self) -> float:
        """The steepest slope of all, V·s/A."""
        return float(self.steepest.max(initial=0.0))

    def chord(self, current_a: FloatArray) -> FloatArray:
        """The steepest chord from a current (...) to any other of zero and more, V·s/A, or a little steeper.

        To a point of a piece below it is a mean of the chord to that piece's upper end and of a slope in the piece: no
        steeper than the bound of the next piece, or the whole rise with the piece at its steepest; to a point of its
        own piece or above no steeper than the steepest there.
        """
        own = np.clip(np.searchsorted(self.ends, current_a, side="right") - 1, 0, len(self.steepest))
        bound: FloatArray = np.append(np.maximum.accumulate(self.steepest[::-1])[::-1], 0.0)[own]
        k = self.table.read(current_a)[0]
        for piece, steepest in enumerate(self.steepest):
            low, high = self.ends[piece], self.ends[piece + 1]
            below = own > piece
            rise = steepest * (high - low) + k - self.k[piece + 1]
            bound = np.where(below, np.maximum(bound, rise / np.where(below, current_a - low, 1.0)), bound)
        return bound


@lru_cache(maxsize=64)
def steepness(table: CurveTable) -> Steepness:
    """A table in pieces, several to a cubic. The slope of a cubic is steepest at an end of a piece or at its own
    summit."""
    width = np.diff(table.knots_a)[:, None]
    _, first, second, third = (one[:-1, None] for one in table.cubics)
    at = width * np.linspace(0.0, 1.0, PIECES + 1)
    with np.errstate(divide="ignore", invalid="ignore"):
        summit = np.clip(np.nan_to_num(-second / (3.0 * third)), at[:, :-1], at[:, 1:])
    places = np.stack((at[:, :-1], at[:, 1:], summit))
    steepest = (first + places * (2.0 * second + 3.0 * places * third)).max(axis=0).ravel()
    ends = np.append((table.knots_a[:-1, None] + at[:, :-1]).ravel(), table.knots_a[-1])
    return Steepness(table, ends, table.read(ends)[0], np.maximum(steepest, 0.0))
