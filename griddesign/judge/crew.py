"""Whether a crew card may be printed at all: never on a car, duty or limit that is only estimated."""

from collections.abc import Iterator, Sequence

from griddesign.figures import WEAK
from griddesign.heat.records import HeatRow
from griddesign.job.records import Job

_RESTS_ON = ("line.", "car.", "motor.", "duty.", "limits.plate")
_BY_NATURE = "duty.ambient"


def no_crew_card(job: Job, rows: Sequence[HeatRow]) -> tuple[str, ...]:
    """Why no crew card may be printed, in words; empty where one may be.

    Its times are held by people who cannot check them. So every figure of line, car, motor, duty and limit they rest on
    must be a given one without doubt (the ambient is a range by nature), and the grid must keep its limit in the duty.
    """
    return tuple(_reasons(job, rows))


def _reasons(job: Job, rows: Sequence[HeatRow]) -> Iterator[str]:
    if not any(row.notch for row in rows):
        yield "no hold was computed"
        return
    if job.duty.start_every_s is None:
        yield "no duty was given: [duty] start_every"
    if job.limits.plate_c is None:
        yield "no limit of the plates was given: [limits] plate"
    for key, figure in job.figures.items():
        if key.startswith(_RESTS_ON) and (figure.status in WEAK if key == _BY_NATURE else figure.weak):
            yield f"{key} is not sure: {figure.text or figure.value}"
    if job.starter_values:
        yield f"values left from the starter: {', '.join(job.starter_values)}"
    over = dict.fromkeys(row.section for row in rows if not row.notch and row.margin_k < 0.0)
    if over:
        yield f"section {', '.join(over)} passes its limit without any hold"


def crew_card_remark(job: Job, rows: Sequence[HeatRow]) -> tuple[str, ...]:
    """One remark that says why there is no crew card; none where there is one, or where no hold was computed."""
    reasons = no_crew_card(job, rows)
    return (f"No crew card: {'; '.join(reasons)}.",) if reasons and any(row.notch for row in rows) else ()
