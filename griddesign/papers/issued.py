"""What a set of papers is issued from: any result of a job that has a fingerprint."""

from typing import Protocol

from griddesign.job.records import Job


class Issued(Protocol):
    """A result as the frame of a page and the folder of a set need it."""

    @property
    def job(self) -> Job:
        """The job it came from."""

    @property
    def fingerprint(self) -> str:
        """The mark of all it was computed from."""
