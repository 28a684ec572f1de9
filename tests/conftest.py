"""What several tests share: the result of the built-in demo, worked out once in a run."""

import os

import pytest

# As the command does, and before anything loads the linear algebra: tiny matrices, threads would only wait.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from griddesign.job.reading import read_job
from griddesign.judge.records import Result
from griddesign.judge.work import result_of
from griddesign.shipped import examples_folder


@pytest.fixture(scope="session")
def demo() -> Result:
    return result_of(read_job(examples_folder() / "demo.toml"))
