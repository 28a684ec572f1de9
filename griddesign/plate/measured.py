"""What measured sample plates say of their heat of metal: its resistivity, its temperature coefficient, and whether it
is the metal it should be.

Ohms are measured with four wires, the voltage leads inside the current leads, at the metal's own temperature. A
current read both ways rids the voltage of thermo-emf.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import isfinite

from griddesign.errors import QuantityError
from griddesign.figures import Figure, Status
from griddesign.metals import Metal, alpha_from_two, resistivity_from
from griddesign.plate.bends import plate_squares
from griddesign.plate.freeing import pitch_kept, with_thickness
from griddesign.plate.outline import Outline
from griddesign.plate.shapes import Zigzag
from griddesign.plate.zigzag import outline_of

CHECK_BAND = 0.05
"""How far measured ohms times mass may be off beside the metal's own range: weighing, reading, a casting's rough
outline (our own figure, no source)."""

APART_K = 30.0
"""Least difference of two readings' temperatures that a coefficient is taken from (our own figure, no source)."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading of ohms at a temperature of the metal, degC."""

    ohm: float
    t_c: float


@dataclass(frozen=True, slots=True)
class MeasuredPlate:
    """One sample: its readings (a second one, hot, gives the temperature coefficient), and what else was measured.

    ``emf_v`` is the thermo-emf that reading both ways took out, None where ohms were read off a meter, or where the
    voltage was read ``one_way`` only and the emf is still in it.
    """

    name: str
    readings: tuple[Reading, ...]
    thickness_m: float | None = None
    strip_width_m: float | None = None
    mass_kg: float | None = None
    emf_v: float | None = None
    remarks: str = ""
    one_way: bool = False

    @property
    def cold(self) -> Reading:
        """The reading nearest to 20 degC."""
        return min(self.readings, key=lambda reading: abs(reading.t_c - 20.0))


@dataclass(frozen=True, slots=True)
class HeatFigures:
    """What the samples give for their heat: figures with ranges, how many samples, ``spread`` = (most - least)/mean."""

    resistivity: Figure
    alpha20: Figure | None
    samples: int
    spread: float


@dataclass(frozen=True, slots=True)
class MetalCheck:
    """Cold ohms times mass against what the metal's table says. ``holds``: inside ``low`` to ``high``, ohm kg."""

    name: str
    measured_ohm_kg: float
    tabled_ohm_kg: float
    low_ohm_kg: float
    high_ohm_kg: float

    @property
    def holds(self) -> bool:
        """Whether the sample can be the metal."""
        return self.low_ohm_kg <= self.measured_ohm_kg <= self.high_ohm_kg


def joined(plates: Sequence[MeasuredPlate]) -> tuple[MeasuredPlate, ...]:
    """Rows of one plate read cold and hot as one sample: same name, metal at least 30 K apart, no other figure of
    theirs that differs. All else stays as it is: two plates may go by the name of their kind."""
    found: list[MeasuredPlate] = []
    for plate in plates:
        at = next((number for number, other in enumerate(found) if _same_plate(other, plate)), None)
        if at is None:
            found.append(plate)
        else:
            found[at] = _both(found[at], plate)
    return tuple(found)


def _same_plate(one: MeasuredPlate, other: MeasuredPlate) -> bool:
    apart_k = min(abs(a.t_c - b.t_c) for a in one.readings for b in other.readings)
    sizes = ((plate.thickness_m, plate.strip_width_m, plate.mass_kg) for plate in (one, other))
    agree = all(None in pair or pair[0] == pair[1] for pair in zip(*sizes, strict=True))
    return one.name == other.name and apart_k >= APART_K and agree


def _both(one: MeasuredPlate, other: MeasuredPlate) -> MeasuredPlate:
    return replace(
        one,
        readings=(*one.readings, *other.readings),
        thickness_m=one.thickness_m or other.thickness_m,
        strip_width_m=one.strip_width_m or other.strip_width_m,
        mass_kg=one.mass_kg or other.mass_kg,
        remarks="; ".join(words for words in (one.remarks, other.remarks) if words),
        one_way=one.one_way or other.one_way,
    )


def four_wire(current_a: float, forward_v: float, reversed_v: float | None = None) -> tuple[float, float | None]:
    """(ohms, thermo-emf V) from the voltage at one current, read again with the current reversed.

    ``U+ = I R + e`` and ``U- = -I R + e`` give ``R = (U+ - U-)/(2 I)`` and ``e = (U+ + U-)/2``. ``reversed_v`` may be
    given with its minus sign or as a magnitude (leads swapped along with the current). One way only: ``U/I``, and the
    emf stays in it (None). Raises QuantityError for numbers no resistance can have.
    """
    back_v = None if reversed_v is None else -abs(reversed_v)
    given = [current_a, forward_v, *([] if back_v is None else [back_v])]
    if not all(isfinite(number) and number != 0.0 for number in given) or current_a < 0 or forward_v < 0:
        raise QuantityError(
            f"{', '.join(f'{number:g}' for number in given)} (A, V, V) give no resistance",
            hint="Give current and voltage above zero, the reversed voltage as read.",
        )
    if back_v is None:
        return forward_v / current_a, None
    return (forward_v - back_v) / (2.0 * current_a), (forward_v + back_v) / 2.0


def cold_from(reading: Reading, metal: Metal) -> float:
    """Ohms at 20 degC of a reading: ``R20 = R / r(T)``, r the metal's R(T)/R(20).

    For a linear law the rule ``R20 = R (k + 20)/(k + T)`` with ``k = 1/alpha20 - 20`` (copper: 234.5 degC).
    """
    return reading.ohm / metal.ratio(reading.t_c)


def as_measured(shape: Zigzag, plate: MeasuredPlate) -> Zigzag:
    """The plate's shape with the sample's own thickness and strip width where they were measured."""
    own = shape if plate.thickness_m is None else with_thickness(shape, plate.thickness_m)
    return own if plate.strip_width_m is None else pitch_kept(own, plate.strip_width_m)


def heat_figures(plates: Sequence[tuple[Zigzag, MeasuredPlate]], metal: Metal) -> HeatFigures:
    """The heat's own figures from samples, each with the shape it was made to.

    alpha20 from every sample read at two temperatures, mean and range; resistivity ``R t / (squares r(T))`` of every
    sample, its mean, and a range that takes in all samples and, where they were read warm or cold, both ends of
    alpha20. Raises QuantityError without samples, and where readings cannot be.
    """
    if not plates:
        raise QuantityError("there are no samples", hint="Measure at least one plate.")
    alpha20 = _alpha20([plate for _, plate in plates])
    known = metal if alpha20 is None else metal.with_figure("alpha20", alpha20)
    values = [_resistivity(shape, plate, known) for shape, plate in plates]
    mean = sum(values) / len(values)
    spread = (max(values) - min(values)) / mean
    pinned = [known.at_ends(alpha20=end) for end in ("low", "high")]
    ends = [_resistivity(shape, plate, end) for shape, plate in plates for end in pinned]
    figure = Figure(mean, min(*values, *ends), max(*values, *ends), Status.MEASURED, _source(len(values), spread))
    return HeatFigures(figure, alpha20, len(values), spread)


def with_heat(metal: Metal, heat: HeatFigures) -> Metal:
    """The metal with its heat's own figures in place of the table's."""
    own = metal if heat.alpha20 is None else metal.with_figure("alpha20", heat.alpha20)
    return own.with_figure("resistivity", heat.resistivity)


def metal_check(shape: Zigzag, plate: MeasuredPlate, metal: Metal) -> MetalCheck | None:
    """Cold ohms times mass of a sample against the table; None where it was not weighed.

    ``R m = resistivity density squares area``, whatever the thickness; along a strip it is ``resistivity density
    length^2``, whatever the section, so a plate worn thin or cut wide still shows its metal. ``metal`` is the tabled
    one, not the one measured on the same samples.
    """
    if plate.mass_kg is None:
        return None
    own = as_measured(shape, plate)
    outline: Outline = outline_of(own)
    lot = plate_squares(own).value * outline.area_m2
    rho, density = metal.resistivity, metal.density
    return MetalCheck(
        name=plate.name,
        measured_ohm_kg=cold_from(plate.cold, metal) * plate.mass_kg,
        tabled_ohm_kg=rho.value * density.value * lot,
        low_ohm_kg=rho.low * density.low * lot * (1.0 - CHECK_BAND),
        high_ohm_kg=rho.high * density.high * lot * (1.0 + CHECK_BAND),
    )


def _resistivity(shape: Zigzag, plate: MeasuredPlate, metal: Metal) -> float:
    own = as_measured(shape, plate)
    squares = plate_squares(own).value
    return resistivity_from(plate.cold.ohm, squares, own.effective_thickness_m, metal.ratio(plate.cold.t_c))


def _alpha20(plates: Sequence[MeasuredPlate]) -> Figure | None:
    values = list(_alphas(plates))
    if not values:
        return None
    mean = sum(values) / len(values)
    spread = abs((max(values) - min(values)) / mean) if mean else 0.0
    return Figure(mean, min(values), max(values), Status.MEASURED, _source(len(values), spread))


def _alphas(plates: Sequence[MeasuredPlate]) -> Iterator[float]:
    for plate in plates:
        cold = plate.cold
        others = [reading for reading in plate.readings if reading is not cold]
        if others:
            hot = max(others, key=lambda reading: abs(reading.t_c - cold.t_c))
            yield alpha_from_two(cold.ohm, cold.t_c, hot.ohm, hot.t_c)


def _source(count: int, spread: float) -> str:
    if count == 1:
        return "1 sample, spread not known"
    return f"{count} samples, spread {100 * spread:.2g} %"
