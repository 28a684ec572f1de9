"""Sections as they are made: how many plates, how joined, and the cold ohms that gives."""

from collections.abc import Iterable

from griddesign.errors import InputError
from griddesign.grid.records import SectionBuild


def section_ohm(series: int, in_parallel: int, plate_ohm: float, joint_ohm: float = 0.0) -> float:
    """Cold ohms of ``series`` steps of ``in_parallel`` like plates: ``series (plate_ohm / in_parallel + joint)``, ohm.

    One clamped joint is counted to each step. Where q plates lie side by side their joints lie side by side too, so
    counting a whole joint is on the high side for them. Zero steps are zero ohms.
    """
    return series * (plate_ohm / in_parallel + joint_ohm)


def build_section(
    name: str, kind: str, series: int, in_parallel: int, plate_ohm: float, joint_ohm: float = 0.0
) -> SectionBuild:
    """A section of like plates with its cold ohms (``plate_ohm`` and ``joint_ohm`` in ohm).

    Raises InputError on counts below one or on plates without resistance.
    """
    if series < 1 or in_parallel < 1:
        raise InputError(f"section {name}: {series} steps of {in_parallel} plates", hint="Both must be at least 1.")
    if not plate_ohm > 0.0 or joint_ohm < 0.0:
        raise InputError(
            f"section {name}: plate of {plate_ohm:g} ohm, joint of {joint_ohm:g} ohm", hint="Plates have resistance."
        )
    cold_ohm = section_ohm(series, in_parallel, plate_ohm, joint_ohm)
    return SectionBuild(name, kind, series, in_parallel, plate_ohm, cold_ohm)


def ohms_by_section(sections: Iterable[SectionBuild]) -> dict[str, float]:
    """Section name to cold ohms, as the circuit room reads it."""
    return {section.name: section.cold_ohm for section in sections}
