"""What a reading must lie between, plate by plate, box by box, section by section, at any temperature of the metal."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from griddesign.grid.layout import Layout
from griddesign.grid.records import SectionBuild
from griddesign.job.inspection_csv import Item
from griddesign.judge.records import PlateReport, Result, SectionBand
from griddesign.metals import Metal
from griddesign.metals.record import COLD_C

Ratio = Callable[[float], float]


@dataclass(frozen=True, slots=True)
class PassBand:
    """One thing to be read: ``low_ohm`` to ``high_ohm`` at 20 degC, and the same at each of the temperatures asked for
    as (degC, ohm, ohm)."""

    item: Item
    name: str
    cold_ohm: float
    low_ohm: float
    high_ohm: float
    at: tuple[tuple[float, float, float], ...]


@dataclass(frozen=True, slots=True)
class AlphaDoubt:
    """How far a reading carried to 20 degC may be off since the metal's alpha is not sure: ``share`` (a fraction, the
    worse end) for metal read at ``t_c`` degC."""

    metal: Metal
    t_c: float
    share: float


def pass_bands(result: Result, temperatures_c: Sequence[float]) -> tuple[PassBand, ...]:
    """Every kind of plate, box and section of the grid, in this order; () where there is no grid.

    ``R(T) = R(20) r(T)`` with the metal's own ratio; of a box the sum over its steps, each with the ratio of its
    plates. Bands come from the notch tolerance shared out (``bands.shared_out``).
    """
    layout = result.layout
    if layout is None:
        return ()
    return (
        *(band for plate in result.plates for band in _plate(plate, temperatures_c)),
        *_boxes(result, layout, temperatures_c),
        *_sections(result, layout, temperatures_c),
    )


def alpha_doubts(result: Result, t_c: float) -> tuple[AlphaDoubt, ...]:
    """What the range of alpha does to a reading taken at ``t_c``, for each metal whose alpha is not sure."""
    metals = {plate.wish.metal.key: plate.wish.metal for plate in result.plates if plate.count}
    doubts = []
    for metal in metals.values():
        if metal.alpha20.weak:
            ends = [metal.at_ends(alpha20=end).ratio(t_c) for end in ("low", "high")]
            doubts.append(AlphaDoubt(metal, t_c, max(abs(end / metal.ratio(t_c) - 1.0) for end in ends)))
    return tuple(doubts)


def _plate(plate: PlateReport, temperatures_c: Sequence[float]) -> Iterator[PassBand]:
    if plate.low_ohm is not None and plate.high_ohm is not None:
        ends = (plate.order_ohm, plate.low_ohm, plate.high_ohm)
        yield _band("plate", plate.wish.name, [(plate.wish.metal.ratio, ends)], temperatures_c)


def _boxes(result: Result, layout: Layout, temperatures_c: Sequence[float]) -> Iterator[PassBand]:
    """Each step of a box may be off by as much as its section may."""
    built = {section.name: section for section in layout.sections}
    bands = {band.name: band for band in result.bands}
    for box in range(1, layout.boxes + 1):
        steps = sorted({(place.section, place.step) for place in layout.in_box(box) if place.in_circuit})
        parts = [(_ratio(result, built[name]), _of_one_step(built[name], bands[name])) for name, _ in steps]
        yield _band("box", str(box), parts, temperatures_c)


def _of_one_step(section: SectionBuild, band: SectionBand) -> tuple[float, float, float]:
    whole = (section.cold_ohm, band.accept_low_ohm, band.accept_high_ohm)
    return whole[0] / section.series, whole[1] / section.series, whole[2] / section.series


def _sections(result: Result, layout: Layout, temperatures_c: Sequence[float]) -> Iterator[PassBand]:
    bands = {band.name: band for band in result.bands}
    for section in layout.sections:
        band = bands[section.name]
        ends = (section.cold_ohm, band.accept_low_ohm, band.accept_high_ohm)
        yield _band("section", section.name, [(_ratio(result, section), ends)], temperatures_c)


def _ratio(result: Result, section: SectionBuild) -> Ratio:
    return next(plate.wish.metal.ratio for plate in result.plates if plate.wish.name == section.kind)


def _band(
    item: Item,
    name: str,
    parts: Sequence[tuple[Ratio, tuple[float, float, float]]],
    temperatures_c: Sequence[float],
) -> PassBand:
    def at(t_c: float) -> tuple[float, float, float]:
        cold, low, high = (sum(float(ratio(t_c)) * ends[end] for ratio, ends in parts) for end in range(3))
        return cold, low, high

    table = tuple((t_c, *at(t_c)[1:]) for t_c in temperatures_c)
    return PassBand(item, name, *at(COLD_C), table)
