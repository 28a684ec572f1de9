"""What is known of the loss of the plates, as JSON."""

from typing import Any

from griddesign.choose.calibration import loss_fit
from griddesign.job.records import Job
from griddesign.judge.calibration import loss_words


def loss_json(job: Job) -> dict[str, Any]:
    """``loss_model``: whether a heat run proves it, the words the papers say, and from the run the factor on the
    modelled loss with its 95 per cent range, and the misses in K."""
    words = " ".join(loss_words(job))
    if job.calibration is None:
        return {"proven": False, "words": words, "fit": None}
    fit = loss_fit(job.calibration)
    return {
        "proven": fit.follows,
        "words": words,
        "fit": {
            "section": job.calibration.section,
            "plate": job.calibration.kind,
            "factor": fit.factor,
            "factor_low": fit.low,
            "factor_high": fit.high,
            "residual_k": fit.residual_k,
            "worst_residual_k": fit.worst_k,
            "start_c": fit.start_c,
            "rise_k": fit.rise_k,
            "readings": fit.readings,
        },
    }
