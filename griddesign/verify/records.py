"""What comes of verifying: findings with both figures, weighed and ranked."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from griddesign.job.claim_records import Claim
from griddesign.job.records import Job
from griddesign.judge.finding import Verdict

RANK = {Verdict.FAILS: 0, Verdict.NOT_SHOWN: 1, Verdict.HOLDS: 2}


@dataclass(frozen=True, slots=True)
class Effect:
    """What an error of a claimed figure does to the car: share by which the current of ``notch`` moves, and kelvin by
    which a section gets hotter; None where it is not known. ``weight``: the greater of the current moved over the notch
    tolerance and the heat moved over the rise that is allowed; 1 uses up the whole room there is."""

    current: float | None = None
    notch: str = ""
    heat_k: float | None = None
    section: str = ""
    weight: float = 0.0


@dataclass(frozen=True, slots=True)
class VerifyFinding:
    """One claimed figure judged. ``claimed`` and ``computed`` in ``unit`` (SI, temperatures degC); ``kind`` is the kind
    of quantity they are shown as."""

    item: str
    claimed: float | None
    computed: float | None
    unit: str
    kind: str
    verdict: Verdict
    why: str
    measure_next: str = ""
    effect: Effect = field(default_factory=Effect)

    @property
    def weight(self) -> float:
        """As ``Effect.weight``."""
        return self.effect.weight


@dataclass(frozen=True)
class Verified:
    """A claim verified: every finding, those that fail first, each group by weight."""

    job: Job
    claim: Claim
    fingerprint: str
    findings: tuple[VerifyFinding, ...]
    remarks: tuple[str, ...] = ()
    counted: Mapping[Verdict, int] = field(default_factory=dict)

    @property
    def holds(self) -> bool:
        """Whether every finding holds."""
        return all(finding.verdict is Verdict.HOLDS for finding in self.findings)


def ranked(findings: tuple[VerifyFinding, ...]) -> tuple[VerifyFinding, ...]:
    """Fails by weight, then not shown by weight, then what holds; alike ones in the order they were found."""
    return tuple(sorted(findings, key=lambda one: (RANK[one.verdict], -one.weight)))
