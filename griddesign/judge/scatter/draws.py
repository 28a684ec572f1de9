"""The draws, in blocks of a thousand starts. A block depends on the seed and its own number, on nothing else.

Each cause of each block has a stream of its own (Philox, seeded through SeedSequence by seed, block and cause: J. K.
Salmon et al., Parallel random numbers: as easy as 1, 2, 3, SC 2011). So the first thousand starts of ten thousand are
those of a thousand, and a cause that is taken out leaves the draws of the others as they were.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from griddesign.grid.records import SectionBuild
from griddesign.heat.air import FloatArray
from griddesign.judge.scatter.laws import ALPHA, BATCH, CAUSES, CUT_AT, DRIVER, LINE, LOAD, PLATE, SIZES, KindLaw, Laws

BLOCK = 1000


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """A thousand draws, arrays ending in their axis.

    ``section_ohm`` (sections, M) without joints, at 20 degC; ``driver`` (rows, M) factors; ``high_alpha`` which end of
    the coefficient; ``plate_ohm`` by kind (plates, M); ``signs`` by cause (rows, M) what its share is reckoned from.
    """

    section_ohm: FloatArray
    line_v: FloatArray
    mass_kg: FloatArray
    driver: FloatArray
    high_alpha: NDArray[np.bool_]
    plate_ohm: Mapping[str, FloatArray]
    signs: Mapping[str, FloatArray]


@dataclass(frozen=True)
class Dice:
    """All there is to draw for: sections as built, laws, rows of the driver (1, or one for each notch), and the seed.

    ``seeds`` gives single causes a seed of their own.
    """

    sections: tuple[SectionBuild, ...]
    laws: Laws
    driver_rows: int
    seed: int
    seeds: Mapping[str, int]

    def block(self, number: int) -> Block:
        """The block of that number."""
        factors, signs = self._plates(number)
        section_ohm = np.stack([self._section_ohm(section, factors[section.name]) for section in self.sections])
        line_v = _between(self._stream(number, LINE), self.laws.line_v)
        mass_kg = _between(self._stream(number, LOAD), self.laws.mass_kg)
        driver = 1.0 + self.laws.driver * _cut_normal(self._stream(number, DRIVER), self.driver_rows)
        high = self._stream(number, ALPHA).integers(0, 2, BLOCK).astype(np.bool_)
        signs |= {LINE: line_v[None], LOAD: mass_kg[None], DRIVER: driver, ALPHA: high[None].astype(np.float64)}
        return Block(section_ohm, line_v, mass_kg, driver, high, self._by_kind(factors), signs)

    def _stream(self, number: int, cause: str) -> np.random.Generator:
        seed = self.seeds.get(cause, self.seed)
        return np.random.Generator(
            np.random.Philox(np.random.SeedSequence(seed, spawn_key=(number, CAUSES.index(cause))))
        )

    @cached_property
    def _of_kind(self) -> dict[str, list[SectionBuild]]:
        return {kind: [one for one in self.sections if one.kind == kind] for kind in self.laws.kinds}

    def _plates(self, number: int) -> tuple[dict[str, FloatArray], dict[str, FloatArray]]:
        """Factors on the ohms of every plate by section (plates, M), and each cause's mean over a section, by cause."""
        streams = {cause: self._stream(number, cause) for cause in (BATCH, PLATE, SIZES)}
        factors: dict[str, FloatArray] = {}
        signs: dict[str, list[FloatArray]] = {cause: [] for cause in streams}
        for kind, sections in self._of_kind.items():
            counts = [section.plates for section in sections]
            drawn = _draw_kind(self.laws.kinds[kind], sum(counts), streams)
            whole = (1.0 + drawn[BATCH]) * (1.0 + drawn[PLATE]) * (1.0 + drawn[SIZES])
            ends = np.cumsum(counts)[:-1]
            factors |= {one.name: part for one, part in zip(sections, np.split(whole, ends), strict=True)}
            for cause, deviation in drawn.items():
                signs[cause] += [part.mean(axis=0) for part in np.split(deviation, ends)]
        return factors, {cause: np.stack(rows) for cause, rows in signs.items()}

    @staticmethod
    def _section_ohm(section: SectionBuild, factors: FloatArray) -> FloatArray:
        """Ohms of a section whose plates have these factors, without its joints (M,)."""
        if section.in_parallel == 1:
            return np.asarray(section.plate_ohm * factors.sum(axis=0))
        steps = factors.reshape(section.series, section.in_parallel, -1)
        return np.asarray(section.plate_ohm * (1.0 / (1.0 / steps).sum(axis=1)).sum(axis=0))

    def _by_kind(self, factors: Mapping[str, FloatArray]) -> dict[str, FloatArray]:
        return {
            kind: np.concatenate([one.plate_ohm * factors[one.name] for one in sections])
            for kind, sections in self._of_kind.items()
        }


def _draw_kind(law: KindLaw, plates: int, streams: Mapping[str, np.random.Generator]) -> dict[str, FloatArray]:
    """Deviations of the ohms of every plate by cause (plates, M)."""
    batch_of = np.arange(plates) // (law.plates_per_batch or plates)
    batches = int(batch_of[-1]) + 1
    sizes = np.ones((plates, BLOCK))
    for size in law.sizes:
        reach = streams[SIZES].uniform(-size.reach, size.reach, (batches if size.shared else plates, BLOCK))
        grown = np.exp(size.power * np.log1p(reach))
        sizes *= grown[batch_of] if size.shared else grown
    return {
        BATCH: law.batch * _cut_normal(streams[BATCH], batches)[batch_of],
        PLATE: law.plate * _cut_normal(streams[PLATE], plates),
        SIZES: sizes - 1.0,
    }


def _between(stream: np.random.Generator, ends: tuple[float, float]) -> FloatArray:
    return stream.uniform(*ends, BLOCK)


def _cut_normal(stream: np.random.Generator, rows: int) -> FloatArray:
    """Standard normal numbers (rows, M) of which none lies beyond CUT_AT: those that do are drawn again."""
    drawn = stream.standard_normal((rows, BLOCK))
    while (beyond := np.abs(drawn) > CUT_AT).any():
        drawn[beyond] = stream.standard_normal(int(beyond.sum()))
    return drawn


def moving(signs: Sequence[FloatArray]) -> NDArray[np.bool_]:
    """Which rows change at all."""
    return np.array([float(np.ptp(row)) > 0.0 for row in signs])
