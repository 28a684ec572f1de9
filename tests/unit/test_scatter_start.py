"""``griddesign start --samples``: the demo's scatter, its keys, its command."""

import io
import json
import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from griddesign.cli.scatter_lines import drawn, scatter_lines
from griddesign.cli.start import command
from griddesign.errors import InputError, JobError
from griddesign.job.reading import read_job
from griddesign.job.records import Job
from griddesign.job.scatter import ScatterGiven
from griddesign.judge.records import Result
from griddesign.judge.runup import Starter
from griddesign.judge.scatter.draws import BLOCK
from griddesign.judge.scatter.laws import ALPHA, BATCH, CAUSES, DRIVER, LINE, LOAD, PLATE, SIZES, laws_of
from griddesign.judge.scatter.records import PERCENT, Scatter
from griddesign.judge.scatter.starts import Drawn, Runs
from griddesign.judge.scatter.statistics import shares
from griddesign.judge.scatter.whole import ANY_NOTCH, dice_of, quantities, scatter_of
from griddesign.judge.start_result import StartResult
from griddesign.papers.scatter_json import scatter_json
from griddesign.shipped import examples_folder

DEMO = (examples_folder() / "demo.toml").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def ready(demo: Result) -> Starter:
    assert demo.worked is not None
    return Starter(demo.job, demo.worked)


@pytest.fixture(scope="module")
def scattered(ready: Starter) -> Scatter:
    return scatter_of(ready, 2_000, 7)


@pytest.fixture
def job(tmp_path: Path) -> Callable[[str], Job]:
    """The demo's job file with more lines at its end."""

    def read(more: str) -> Job:
        path = tmp_path / "job.toml"
        path.write_text(DEMO + more, encoding="utf-8")
        return read_job(path)

    return read


def with_scatter(ready: Starter, **given: object) -> Starter:
    return Starter(replace(ready.job, scatter=ScatterGiven(**given)), ready.worked)  # type: ignore[arg-type]


def runs_of(ready: Starter, **seeds: int) -> Runs:
    assert ready.worked.design is not None
    laws = laws_of(ready.job, ready.worked.design)
    return Runs.of(ready, dice_of(ready, ready.worked.design, laws, 7, **seeds), {})[0]


def test_same_seed_same_numbers_and_another_seed_others(ready: Starter, scattered: Scatter) -> None:
    assert scatter_of(ready, 2_000, 7) == scattered
    assert scatter_of(ready, 2_000, 8).spreads != scattered.spreads


def test_the_first_of_many_starts_are_those_of_few(ready: Starter) -> None:
    """Bit for bit, whatever the number asked for: chunks are whole blocks, the last one is cut."""
    runs, told = runs_of(ready), []
    few, many = runs.all(150, told.append), runs.all(BLOCK + 150, told.append)
    for name in ("peak_a", "line_a", "pull_n", "hot_c", "notch_ohm", "stuck"):
        assert np.array_equal(getattr(few, name), getattr(many, name)[..., :150])
    assert told == [150, BLOCK, 150]
    alone = runs._one(runs.dice.block(1))
    assert np.array_equal(alone.hot_c[:, :150], many.hot_c[:, BLOCK:])


def test_percentiles_of_notch_ohms_follow_the_normal_law(ready: Starter) -> None:
    """Only a batch scatters: a notch's ohms are normal, cut at three; quantiles by scipy.stats (reference library)."""
    from scipy.stats import truncnorm

    found = scatter_of(with_scatter(ready, batch=0.02, plate=0.0, driver=0.0, line_v=(550.0, 550.0)), 3_000, 3)
    (spread,) = (one for one in found.spreads if one.name == "notch 1, cold ohms")
    law = truncnorm(-3.0, 3.0, loc=1.0, scale=0.02)
    wanted = [sum(ready.whole_ohm.values()) * float(law.ppf(percent / 100.0)) for percent in PERCENT]
    assert spread.at == pytest.approx(wanted, rel=3e-3)
    assert dict(spread.shares)[BATCH] == pytest.approx(1.0, abs=1e-3)


def test_nothing_scattered_is_the_start_itself(ready: Starter) -> None:
    """With every law drawn together to a point, all starts are the one of the grid as chosen from the same warmth."""
    still = with_scatter(ready, batch=0.0, plate=0.0, driver=0.0, line_v=(550.0, 550.0))
    runs = runs_of(still)
    drawn = runs.all(100, lambda _: None)
    assert {cause.name for cause in runs.dice.laws.told} == {ALPHA}
    low = ~runs.dice.block(0).high_alpha[:100]
    assert np.ptp(drawn.peak_a[:, low], axis=1).max() < 1e-9
    assert drawn.notch_ohm[0] == pytest.approx(np.full(100, sum(ready.whole_ohm.values())))


def test_shares_against_pick_and_freeze(ready: Starter) -> None:
    """First-order shares by the other method: f(B) (f(A with the cause from B) - f(A)) / Var, A. Saltelli et al.,
    Comput. Phys. Commun. 181 (2010) 259, table 2; its own error at 2000 starts is some hundredths."""

    def rows(**seeds: int) -> tuple[np.ndarray, Drawn, list[str]]:
        found = runs_of(ready, **seeds).all(2_000, lambda _: None)
        told = list(quantities(ready, found))
        values = np.stack([row for _, _, row in told])
        return values - values.mean(axis=1, keepdims=True), found, [name for name, _, _ in told]

    first, found, names = rows()
    second = rows(**dict.fromkeys(CAUSES, 1234))[0]
    moved = (ALPHA, LINE, DRIVER, BATCH)
    ours = shares({name: found.signs[name] for name in (*moved, PLATE)}, first)
    assert ours is not None
    places = [
        names.index(name) for name in ("notch 1, peak current per motor", "section D, hottest", "notch 3, cold ohms")
    ]
    for cause in moved:
        mixed = rows(**{cause: 1234})[0]
        theirs = (second * (mixed - first)).mean(axis=1) / first.var(axis=1)
        assert ours[0][cause][places] == pytest.approx(theirs[places], abs=0.09)


def test_chances_and_lots_of_the_demo(scattered: Scatter, demo: Result) -> None:
    chances = {chance.item: chance for chance in scattered.chances}
    never = chances["section A, temperature"]
    assert (never.broken, never.low) == (0, 0.0) and 0.0 < never.high < 0.003
    assert chances[ANY_NOTCH].chance >= max(
        chance.chance for item, chance in chances.items() if item.startswith("notch ")
    )
    (lot,) = scattered.lots
    (plate,) = demo.plates
    assert (lot.low_ohm, lot.high_ohm) == (plate.low_ohm, plate.high_ohm)
    assert lot.needed == plate.count and 0.0 < lot.outside < lot.outside_95
    assert f"Of a hundred plates P, {100 * lot.outside:.2g} fall outside" in lot.advice


def test_plates_outside_as_the_normal_law_has_it(ready: Starter) -> None:
    """One law alone: the share outside is the tail of the cut normal law (scipy.stats, reference library)."""
    from scipy.stats import truncnorm

    found = scatter_of(with_scatter(ready, batch=0.0, plate=0.02), 2_000, 5).lots[0]
    law = truncnorm(-3.0, 3.0, loc=1.0, scale=0.02)
    assert ready.worked.design is not None
    nominal = ready.worked.design.kinds[0].cold_ohm
    wanted = law.cdf(found.low_ohm / nominal) + law.sf(found.high_ohm / nominal)
    assert found.outside == pytest.approx(float(wanted), abs=0.003)
    assert "spares" in found.advice


def test_boxes_add_up_to_the_grid(scattered: Scatter, ready: Starter) -> None:
    assert sum(box.cold_ohm for box in scattered.boxes) == pytest.approx(sum(ready.whole_ohm.values()))
    for box in scattered.boxes:
        assert box.accept_low_ohm <= box.cold_ohm <= box.accept_high_ohm


def test_shares_add_up_to_one(scattered: Scatter) -> None:
    for spread in scattered.spreads:
        assert spread.together is not None
        assert sum(share for _, share in spread.shares) + spread.together == pytest.approx(1.0)
        assert list(spread.at) == sorted(spread.at)


def test_by_time_the_driver_misses_seconds(ready: Starter) -> None:
    assert ready.job.start is not None
    clock = replace(ready.job, start=replace(ready.job.start, notch_up="by time", notch_s=1.4))
    runs = runs_of(Starter(clock, ready.worked))
    assert runs.dice.block(0).driver.shape == (len(ready.job.notches), BLOCK)
    drawn = runs.all(100, lambda _: None)
    assert not drawn.stuck.any() and np.ptp(drawn.peak_a, axis=1)[1:].min() > 1.0


def test_within_a_peak_the_driver_misses_that(ready: Starter) -> None:
    assert ready.job.start is not None
    fastest = replace(ready.job, start=replace(ready.job.start, notch_up="within peak current"))
    missing, sure = (runs_of(with_scatter(Starter(fastest, ready.worked), driver=part)) for part in (0.05, 0.0))
    peaks = [np.max(runs.all(200, lambda _: None).peak_a[1:], axis=0) for runs in (missing, sure)]
    assert peaks[0].std() > 1.2 * peaks[1].std()


def test_the_job_gives_its_own_laws(job: Callable[[str], Job], ready: Starter) -> None:
    own = job(
        '\n[scatter]\nbatch = "3 %"\nplate = "1 %"\nplates_per_batch = 22\nsizes = "tolerances"\n'
        'line = "500 V to 600 V"\nload = "0 t to 4 t"\ndriver = "10 %"\n'
    )
    assert own.scatter == ScatterGiven(0.03, 0.01, 22, "tolerances", (500.0, 600.0), (0.0, 4000.0), 0.1)
    assert ready.worked.design is not None
    laws = laws_of(own, ready.worked.design)
    assert not any(cause.assumed for cause in laws.told)
    assert {cause.name for cause in laws.told} == {BATCH, PLATE, SIZES, ALPHA, LINE, LOAD, DRIVER}
    assert laws.mass_kg == (13_500.0, 17_500.0)
    assert [size.shared for size in laws.kinds["P"].sizes] == [False] * len(laws.kinds["P"].sizes)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ('batch = "50 %"', "cannot be"),
        ('plate = "1 % to 2 %"', "is a range"),
        ('line = "500 A"', "voltage"),
        ("driver = 0.1", "is not a text"),
        ('sizes = "some"', "is not known here"),
        ("plates_per_batch = 0", "is out of range"),
        ('colour = "red"', "is not a key"),
    ],
)
def test_wrong_laws_are_told_with_their_line(job: Callable[[str], Job], line: str, said: str) -> None:
    with pytest.raises(JobError) as caught:
        job(f"\n[scatter]\n{line}\n")
    (complaint,) = caught.value.complaints()
    assert said in complaint.message and complaint.line == DEMO.count("\n") + 3


def test_too_few_starts_and_no_plates_are_refused(ready: Starter) -> None:
    with pytest.raises(InputError, match="99 starts"):
        scatter_of(ready, 99, 1)
    with pytest.raises(InputError, match="no plates"):
        scatter_of(Starter(ready.job, replace(ready.worked, design=None)), 100, 1)


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_a_bar_on_a_terminal_and_none_in_a_pipe(ready: Starter) -> None:
    terminal, pipe = Terminal(), io.StringIO()
    assert drawn(ready, 100, 1, terminal) == drawn(ready, 100, 1, pipe)
    assert "starts drawn" in terminal.getvalue() and "100%" in terminal.getvalue()
    assert pipe.getvalue() == ""


def test_lines_say_what_was_drawn_and_what_is_assumed(scattered: Scatter) -> None:
    text = "\n".join(scatter_lines(scattered))
    for words in ("2000 starts", "seed 7", "≈ assumed: batch", "variance from", "under 0.18 %", "Box 1 is accepted"):
        assert words in text


def test_command_gives_the_same_as_the_library(ready: Starter, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("griddesign.cli.start.start_of", lambda _: result_on(ready))
    words = [str(examples_folder() / "demo.toml"), "--json", "--samples", "200", "--seed", "5"]
    told = json.loads(CliRunner().invoke(command, words, standalone_mode=False).stdout)
    assert told["scatter"] == json.loads(json.dumps(scatter_json(scatter_of(ready, 200, 5))))
    assert (told["scatter"]["samples"], told["scatter"]["seed"]) == (200, 5)
    assert {"p5", "p50", "p95", "p99", "shares", "together"} <= set(told["scatter"]["spreads"][0])
    assert told["loss_model"]["proven"] is False


def test_json_is_plain(scattered: Scatter) -> None:
    json.dumps(scatter_json(scattered), allow_nan=False)


def result_on(ready: Starter) -> StartResult:
    """The demo's start without its heat, which takes longest."""
    told = ready.run(ready.cases, trace=True)
    plain = StartResult(ready.job, "0", "", ready.valley_a, ready.cases, told, told, (), {}, {}, (), (), ())
    return replace(plain, ready=ready)


INTERRUPTED = """
import os, signal
from types import SimpleNamespace
import griddesign.cli.scatter_lines as lines
import griddesign.cli.start as start
from griddesign.cli import main
from griddesign.judge.runup import starter
signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell's background jobs are born deaf to it
start.start_of = lambda job: SimpleNamespace(ready=starter(job))
whole = lines.scatter_of
lines.scatter_of = lambda ready, samples, seed, step: whole(
    ready, samples, seed, lambda _: os.kill(os.getpid(), signal.SIGINT)
)
main(["start", os.environ["JOB"], "--json", "--samples", "50000"])
"""


@pytest.mark.skipif(os.name != "posix", reason="signals as POSIX has them")
def test_interrupted_it_says_so_and_leaves_nothing(tmp_path: Path) -> None:
    """The signal comes for certain while starts are drawn: after the first block."""
    job = {"JOB": str(examples_folder() / "demo.toml")}
    run = subprocess.run(
        [sys.executable, "-c", INTERRUPTED], cwd=tmp_path, env=os.environ | job, capture_output=True, check=False
    )
    assert run.returncode == 130
    assert run.stdout == b"" and b"Stopped." in run.stderr and b"Traceback" not in run.stderr
    assert list(tmp_path.iterdir()) == []
