"""Measured samples judged: whether each can be its metal at all, and how many stand behind the heat's own figures."""

from collections.abc import Iterable, Iterator, Sequence

from griddesign import metals
from griddesign.job.records import PlateWish
from griddesign.judge.records import Finding, PlateReport, Verdict
from griddesign.plate.measured import CHECK_BAND, MetalCheck, metal_check

ENOUGH = 2
"""Samples from which a spread can be told."""


def sample_checks(plate: PlateWish) -> tuple[MetalCheck, ...]:
    """Ohms times mass of the plate's own samples against the metal as tabled, for those that were weighed."""
    tabled = metals.metal(plate.metal.key)
    checks = (metal_check(plate.shape, sample, tabled) for sample in plate.samples)
    return tuple(check for check in checks if check is not None)


def judge_samples(plates: Sequence[PlateReport]) -> Iterator[Finding]:
    """Each weighed sample against its metal; then, metal by metal, the number of samples and their spread."""
    for plate in plates:
        yield from (_can_be(plate.wish, check) for check in sample_checks(plate.wish))
    for key in dict.fromkeys(plate.wish.metal.key for plate in plates if plate.wish.samples):
        yield _heat([plate for plate in plates if plate.wish.metal.key == key])


def _can_be(wish: PlateWish, check: MetalCheck) -> Finding:
    why = (
        f"{check.measured_ohm_kg:.4g} ohm kg, the table of {wish.metal.key} {check.tabled_ohm_kg:.4g} "
        f"({check.low_ohm_kg:.4g} to {check.high_ohm_kg:.4g}, with {100 * CHECK_BAND:.0f} % for the weighing)"
    )
    item = f"plate {wish.name}, sample {check.name}, ohms times mass"
    if check.holds:
        return Finding(item, Verdict.HOLDS, f"can be the metal: {why}")
    settle = "Weigh and measure again; compare certificate and outline."
    return Finding(item, Verdict.FAILS, f"wrong metal? {why}", settle)


def _heat(plates: Sequence[PlateReport]) -> Finding:
    """One sample tells a heat's middle and not its spread: not shown where more than one plate is built of it."""
    metal = plates[0].wish.metal
    count, weighed = sum(len(plate.wish.samples) for plate in plates), _weighed(plates)
    why = f"resistivity {1e8 * metal.resistivity.value:.4g} µΩ·cm from {metal.resistivity.source}; {weighed}"
    item = f"heat of {metal.key}"
    if count >= ENOUGH or sum(plate.count for plate in plates) <= 1:
        return Finding(item, Verdict.HOLDS, why)
    return Finding(item, Verdict.NOT_SHOWN, why, f"Measure more plates of this heat: {ENOUGH} or more show a spread.")


def _weighed(plates: Iterable[PlateReport]) -> str:
    samples = [sample for plate in plates for sample in plate.wish.samples]
    weighed = sum(sample.mass_kg is not None for sample in samples)
    return f"{weighed} of {len(samples)} weighed" if weighed else "none weighed, so a wrong metal would not show"
