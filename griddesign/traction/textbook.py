"""The hand calculations of the textbooks: one motor, one grid, nothing shared. Independent of the ladder; papers and
tests hold the ladder against them."""

from dataclasses import dataclass
from itertools import pairwise
from math import log

from griddesign.traction.equation import arriving_ohm
from griddesign.traction.records import Car, RunningResistance

SHORT_TON_KG = 907.18474
POUND_N = 4.4482216152605
MPH_M_S = 0.44704


def constant_flux_sections(volts_v: float, motor_ohm: float, peak_a: float, sections: int) -> tuple[float, ...]:
    """Sections of a starter of a constant-flux motor, ohm, first cut out first.

    ``R1 = V/Ip`` with everything in; totals fall by the ratio ``(Ra/R1)**(1/n)`` to the motor's own ohms. (Theraja and
    Theraja, A Textbook of Electrical Technology, vol. II, Ex 30.50, as re-worked in a published companion.)
    """
    first = volts_v / peak_a
    ratio = (motor_ohm / first) ** (1.0 / sections)
    totals = [first * ratio**k for k in range(sections + 1)]
    return tuple(a - b for a, b in pairwise(totals))


def constant_flux_count(volts_v: float, motor_ohm: float, peak_a: float, valley_a: float) -> float:
    """How many sections fit between peak and valley: ``ln(R1/Ra)/ln(Ip/Iv)``; seldom a whole number."""
    return log(volts_v / peak_a / motor_ohm) / log(peak_a / valley_a)


def saturating_totals(
    volts_v: float, motor_ohm: float, peak_a: float, valley_a: float, flux_ratio: float
) -> tuple[float, ...]:
    """Totals R' of a series motor's starter down to the first at or under the motor's own ohms, ohm.

    ``R(k+1) = [V - f·(V - Iv·R(k))]/Ip`` from ``R1 = V/Ip``, ``f`` flux at the peak over flux at the valley; sections
    fall by the ratio ``f·Iv/Ip``, which must be below one. (Theraja and Theraja, vol. II, Ex 30.56.) Where the totals
    tend to more than the motor's ohms the row ends when it no longer falls.
    """
    totals = [volts_v / peak_a]
    while totals[-1] > motor_ohm:
        following = arriving_ohm(volts_v, peak_a, flux_ratio, volts_v - valley_a * totals[-1], 1.0)
        if following >= totals[-1] * (1.0 - 1e-9):
            break
        totals.append(following)
    return tuple(totals)


@dataclass(frozen=True, slots=True)
class SeriesParallelStart:
    """Seconds and joules of a start of motor pairs, series then parallel, at one mean current throughout."""

    series_s: float
    parallel_s: float
    transition_share: float
    series_grid_j: float
    parallel_grid_j: float
    supply_j: float
    copper_j: float
    mechanical_j: float

    @property
    def output_efficiency(self) -> float:
        """Mechanical work over supply, 0 to 1. Another definition in print adds the copper losses to the output."""
        return self.mechanical_j / self.supply_j


def series_parallel_start(
    volts_v: float, mean_a: float, motor_ohm: float, seconds: float, pairs: int = 1
) -> SeriesParallelStart:
    """A start of pairs of motors in ``seconds``, uniformly accelerated, ``mean_a`` per motor throughout.

    ``t_s = T·(V - 2IR)/(2(V - IR))``; grid ``(V - 2IR)/2·I·t_s`` in series and ``V/2·2I·t_p/2`` in parallel for each
    pair; the speed at the change is ``t_s/T`` of the final one. (J. B. Gupta et al., Utilization of Electrical Energy
    and Traction, Ex 9.1, as re-worked in a published companion.)
    """
    drop = mean_a * motor_ohm
    series = seconds * (volts_v - 2.0 * drop) / (2.0 * (volts_v - drop))
    parallel = seconds - series
    return SeriesParallelStart(
        series_s=series,
        parallel_s=parallel,
        transition_share=series / seconds,
        series_grid_j=pairs * (volts_v - 2.0 * drop) / 2.0 * mean_a * series,
        parallel_grid_j=pairs * volts_v / 4.0 * 2.0 * mean_a * parallel,
        supply_j=pairs * volts_v * mean_a * (series + 2.0 * parallel),
        copper_j=2.0 * pairs * mean_a**2 * motor_ohm * seconds,
        mechanical_j=pairs * mean_a * (volts_v - drop) * seconds,
    )


def ideal_efficiency(groupings: tuple[int, ...]) -> float:
    """Output over supply of an ideal start (no motor ohms) through groupings of so many strings side by side each.

    The speed at the end of ``g`` strings of ``N`` is ``g/N`` of the last; the line gives ``g`` motor currents.
    """
    whole = groupings[-1]
    ends = [0.0, *(strings / whole for strings in groupings)]
    supply = sum(strings * (b - a) for strings, a, b in zip(groupings, ends, ends[1:], strict=False))
    return whole / 2.0 / supply


def unlike_in_series(
    volts_v: float, motor_ohm: float, current_a: float, alone_v: float, alone_speeds: tuple[float, float]
) -> tuple[float, float, float]:
    """Two unlike motors in series on tied shafts: their speed (in the unit given) and the volts on each.

    Each alone at ``alone_v`` and ``current_a`` turns at ``alone_speeds``: flux goes as emf over speed. (Theraja and
    Theraja, vol. III, Ex 43.24, as re-worked in a published companion.)
    """
    emf = alone_v - current_a * motor_ohm
    flux = [emf / speed for speed in alone_speeds]
    speed = (volts_v - 2.0 * current_a * motor_ohm) / sum(flux)
    first, second = (flux_of * speed + current_a * motor_ohm for flux_of in flux)
    return speed, first, second


def regeared(car: Car, gear_ratio: float, wheel_diameter_m: float) -> tuple[float, float]:
    """What a change of gears or wheels does at one current: the factor on speed, ``D/gear``, and on effort, ``gear/D``.

    (J. B. Gupta et al., Ex 8.7, as re-worked in a published companion.)
    """
    speed = (wheel_diameter_m / gear_ratio) / (car.wheel_diameter_m / car.gear_ratio)
    return speed, 1.0 / speed


def davis_law(axle_load_kg: float, mass_kg: float, printed: tuple[float, float, float, float]) -> RunningResistance:
    """A resistance of the Davis form ``a + b/w + c·V + d·V²/(w·n)`` in pounds per short ton, as an SI law.

    ``w`` short tons on an axle, ``w·n`` short tons of vehicle, ``V`` mph; ``printed`` is (a, b, c, d) as printed, ``d``
    already holding the frontal area.
    """
    a, b, c, d = printed
    per_ton = POUND_N / SHORT_TON_KG
    constant = a + b * SHORT_TON_KG / axle_load_kg
    square = d * SHORT_TON_KG / mass_kg
    return RunningResistance(constant * per_ton, c * per_ton / MPH_M_S, square * per_ton / MPH_M_S**2)
