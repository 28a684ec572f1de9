"""What a claim must say for a grid under a car to be safe, and the clause behind it."""

from collections.abc import Iterator

from griddesign.job.claim_records import Claim, Claimed
from griddesign.job.records import Job
from griddesign.judge.finding import Verdict
from griddesign.units import show
from griddesign.verify.records import Effect, VerifyFinding

SAFETY_WEIGHT = 1.0
"""What is left out here uses up the whole room there is: nothing else shows that the grid is safe."""
_ASKED = (
    ("temperature limit", "temperature", "degC", "temperature_limit", "plate_c", False),
    ("test voltage", "voltage", "V", "test_voltage", "test_voltage_v", True),
    ("clearance", "length", "m", "clearance", "clearance_m", True),
)
_ASK = "Ask for {name}{clause}, in writing, before anything is ordered."


def find_safety(job: Job, claim: Claim) -> Iterator[VerifyFinding]:
    """Temperature limit, test voltage, clearance: given at all, with their clause, and against what the job asks."""
    for name, kind, unit, key, limit, clause in _ASKED:
        claimed: Claimed | None = getattr(claim.safety, key)
        asked: float | None = getattr(job.limits, limit)
        yield _point((name, kind, unit), claimed, asked, clause, job.paper.units)


def _point(
    named: tuple[str, str, str], claimed: Claimed | None, asked: float | None, clause: bool, units: str
) -> VerifyFinding:
    name, kind, unit = named
    needs = " with the clause it comes from" if clause else ""
    ask = _ASK.format(name=f"the {name}", clause=needs)
    value = None if claimed is None else claimed.figure.value
    verdict, why = _verdict(kind, claimed, asked, clause, units)
    effect = Effect() if verdict is Verdict.HOLDS else Effect(weight=SAFETY_WEIGHT)
    return VerifyFinding(
        f"safety: {name}", value, asked, unit, kind, verdict, why, "" if verdict is Verdict.HOLDS else ask, effect
    )


def _verdict(kind: str, claimed: Claimed | None, asked: float | None, clause: bool, units: str) -> tuple[Verdict, str]:
    wanted = "" if asked is None else f"; the job asks {show(asked, kind, units=units)}"
    if claimed is None:
        return Verdict.NOT_SHOWN, f"the claim leaves it out{wanted}"
    said = show(claimed.figure.value, kind, units=units)
    if clause and not claimed.figure.source:
        return Verdict.NOT_SHOWN, f"{said} without the clause it comes from{wanted}"
    if claimed.figure.weak:
        return Verdict.NOT_SHOWN, f"{claimed.figure.text}: no figure for a limit{wanted}"
    source = f" ({claimed.figure.source})" if claimed.figure.source else ""
    if asked is not None and claimed.figure.value < asked * (1.0 - 1e-9):  # the job goes as far as its own figure
        return Verdict.FAILS, f"{said}{source}{wanted}"
    return Verdict.HOLDS, f"{said}{source}{wanted}"
