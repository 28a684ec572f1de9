"""What a claim certifies of its metals, held against the tables."""

from collections.abc import Iterator

from griddesign import metals
from griddesign.figures import Figure
from griddesign.job.claim_records import Claim
from griddesign.judge.finding import Verdict
from griddesign.units import show, show_range
from griddesign.verify.records import VerifyFinding

CERTIFIED = {
    "resistivity": ("resistivity", "ohm m"),
    "density": ("density", "kg/m3"),
    "alpha20": ("temperature_coefficient", "1/K"),
    "specific_heat_20": ("specific_heat", "J/(kg K)"),
}
SLACK = 0.10
"""A certificate may lie so far outside the table's range before it names another metal (ours, no source)."""


def find_certificates(claim: Claim, units: str) -> Iterator[VerifyFinding]:
    """Each figure a claim gives for a metal: inside the table's range it holds, far outside it fails; told in
    the papers' ``units``."""
    for key, metal in claim.metals.items():
        tabled = metals.metal(key)
        for name, (kind, unit) in CERTIFIED.items():
            if f"metal.{key}.{name}" in claim.figures:
                yield _point((key, name), (kind, unit), getattr(metal, name), getattr(tabled, name), units)


def _point(
    named: tuple[str, str], measured: tuple[str, str], claimed: Figure, tabled: Figure, units: str
) -> VerifyFinding:
    (key, name), (kind, unit) = named, measured
    share = SLACK * abs(tabled.value)
    inside = tabled.low - 1e-9 * abs(tabled.low) <= claimed.value <= tabled.high * (1.0 + 1e-9)
    near = tabled.low - share <= claimed.value <= tabled.high + share
    verdict = Verdict.HOLDS if inside and not claimed.weak else Verdict.NOT_SHOWN if near else Verdict.FAILS
    said, known = show(claimed.value, kind, units=units), show_range(tabled.low, tabled.high, kind, units=units)
    why = f"certified {said}; the table has {known} ({tabled.status})"
    measure = "" if verdict is Verdict.HOLDS else f"Have {name} of a piece of the lot measured by a house of your own."
    return VerifyFinding(f"metal {key}, {name}", claimed.value, tabled.value, unit, kind, verdict, why, measure)
