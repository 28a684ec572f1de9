"""A job given for a claim, or a claim for a job: said in one line, not in thirty about keys that are not known."""

from griddesign.errors import Complaint, JobError
from griddesign.job.document import Document

OF_JOBS = frozenset({"line", "car", "motor", "start", "duty", "limits", "revision", "starter", "example", "prefer"})
OF_CLAIMS = frozenset({"offered_by", "rating", "safety", "test", "tap", "ohms_at"})


def refuse_claim(document: Document) -> None:
    """Raise JobError where a claim stands in the place of a job."""
    if _is_one(document, OF_CLAIMS, OF_JOBS):
        raise _refuse(document, "this is a claim, and a job is wanted here")


def refuse_job(document: Document) -> None:
    """Raise JobError where a job stands in the place of a claim."""
    if _is_one(document, OF_JOBS, OF_CLAIMS):
        raise _refuse(document, "this is a job, and a claim is wanted here")


def _is_one(document: Document, keys: frozenset[str], others: frozenset[str]) -> bool:
    return len(keys & set(document.data)) > 1 and not others & set(document.data)


def _refuse(document: Document, message: str) -> JobError:
    hint = "The job comes first: griddesign verify JOB CLAIM.toml."
    return JobError((Complaint(message, hint, str(document.path)),))
