"""What several tests share: the result of the built-in demo, worked out once in a run."""

import pytest

from griddesign.job.reading import read_job
from griddesign.judge.records import Result
from griddesign.judge.work import result_of
from griddesign.shipped import examples_folder


@pytest.fixture(scope="session")
def demo() -> Result:
    return result_of(read_job(examples_folder() / "demo.toml"))
