"""What several tests share: the result of the built-in demo, worked out once in a run."""

import os

import pytest
from hypothesis import HealthCheck, settings

# As the command does, and before anything loads the linear algebra: tiny matrices, threads would only wait.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from griddesign.job.reading import read_job
from griddesign.judge.records import Result
from griddesign.judge.work import result_of
from griddesign.shipped import examples_folder

# The same inputs on every machine and run, so that red means a change and not the dice; no test asserts a time.
# ``HYPOTHESIS_PROFILE=roam`` throws fresh dice instead: for work on a room; keep what it finds as an ``@example``.
settings.register_profile("same", derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("roam", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "same"))


@pytest.fixture(scope="session")
def demo() -> Result:
    return result_of(read_job(examples_folder() / "demo.toml"))
