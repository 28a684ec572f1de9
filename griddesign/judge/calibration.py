"""What is known of the loss of the plates: a user's own heat run, or nothing but the model."""

from collections.abc import Iterator

from griddesign.choose.calibration import loss_fit
from griddesign.heat.cooling import LOSS_BAND
from griddesign.job.records import Job
from griddesign.judge.records import Finding, Verdict

UNPROVEN = (
    "The loss model is unproven on the real thing: no measured temperature record of a bank under a car floor is known "
    "to us. Take a heat run of yours and give it: [calibration] heat_run."
)


def loss_words(job: Job) -> tuple[str, ...]:
    """What papers say of the loss: its band and that it is unproven, or what the heat run told."""
    if job.calibration is None:
        return (f"The loss is not claimed to be known better than ±{100 * LOSS_BAND:.0f} %.", UNPROVEN)
    fit, run = loss_fit(job.calibration), job.calibration
    told = (
        f"The loss is {fit.factor:.3f} of the modelled one ({fit.low:.3f} to {fit.high:.3f}, 95 %), fitted to the heat "
        f"run {run.path.name} on section {run.section}: {fit.readings} readings up to {fit.rise_k:.0f} K over the air, "
        f"missed by {fit.residual_k:.1f} K (root mean square), {fit.worst_k:.1f} K at most."
    )
    bound = "It holds for that bank where it stood; another place or a covered floor loses otherwise."
    return (told, bound) if fit.follows else (told, "The model does not follow that run: look at the readings.", bound)


def judge_calibration(job: Job) -> Iterator[Finding]:
    """Whether the model follows the heat run, where there is one."""
    if job.calibration is None:
        return
    fit = loss_fit(job.calibration)
    why = (
        f"misses of {fit.residual_k:.1f} K (root mean square) at a rise of {fit.rise_k:.0f} K; loss {fit.factor:.3f} "
        "of the modelled one"
    )
    if fit.follows:
        yield Finding("heat run", Verdict.HOLDS, why)
    else:
        yield Finding("heat run", Verdict.NOT_SHOWN, why, "Check times, currents and where temperatures were taken.")
