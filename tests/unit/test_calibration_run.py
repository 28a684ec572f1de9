"""A user's heat run: reading its file, fitting the loss, and using it from then on.

The runs here are made up by an independent integrator with a factor planted in them: that shows the fit consistent, not
the model true. No open record of a bank's temperatures was found to hold it against.
"""

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from griddesign.choose.calibration import bare_body, loss_fit, loss_known
from griddesign.errors import InputError, JobError
from griddesign.heat.air import FloatArray
from griddesign.heat.cooling import LOSS_BAND, loss_w
from griddesign.heat.fit import Bench, HeatRun, fit_loss, fitted, temperatures_by_ohms
from griddesign.heat.lumps import AS_GIVEN, LOW_LOSS, MORE_LOSS, LumpShelf, LumpTables
from griddesign.heat.records import HeatedSection, PlateBody, Stack
from griddesign.job.heat_run import HeatReading
from griddesign.job.reading import read_job
from griddesign.job.records import Job
from griddesign.judge.calibration import UNPROVEN, judge_calibration, loss_words
from griddesign.judge.fingerprint import fingerprint
from griddesign.judge.records import Verdict
from griddesign.metals import Metal
from griddesign.papers.loss_json import loss_json
from griddesign.plate.ohms import cold_ohm
from griddesign.shipped import examples_folder

DEMO = (examples_folder() / "demo.toml").read_text(encoding="utf-8")
STACK = Stack(20, 0.0127)
AIR_C = 21.0
TABLE = '\n[calibration]\nheat_run = "run.csv"\nsection = "A"\n'
GOOD = "time (min),temperature (degC),current (A)\n0,21,40\n10,100,40\n20,150,0\n40,90,0\n60,60,0\n"


@pytest.fixture(scope="module")
def body() -> PlateBody:
    plate = read_job(examples_folder() / "demo.toml").plates[0]
    return bare_body(plate.shape, plate.metal, cold_ohm(plate.shape, plate.metal))


@pytest.fixture
def job(tmp_path: Path) -> Callable[..., Job]:
    """The demo with a heat run beside it."""

    def read(text: str, table: str = TABLE + 'ambient = "21 degC"\n', encoding: str = "utf-8") -> Job:
        (tmp_path / "run.csv").write_text(text, encoding=encoding)
        path = tmp_path / "job.toml"
        path.write_text(DEMO + table, encoding="utf-8")
        return read_job(path)

    return read


def planted(body: PlateBody, factor: float, amps: float, on_s: float, end_s: float) -> tuple[FloatArray, FloatArray]:
    """Minutes and degC of a plate heated, then cooling, its loss ``factor`` of the model's; scipy's own integrator."""

    def rate(current: float) -> Callable[[float, FloatArray], FloatArray]:
        def rise(_: float, t_c: FloatArray) -> FloatArray:
            heat = current**2 * body.cold_ohm * body.metal.ratio(t_c) - factor * loss_w(body, STACK, t_c, AIR_C)
            return np.asarray(heat / (body.mass_kg * body.metal.specific_heat(t_c)))

        return rise

    care = {"rtol": 1e-9, "atol": 1e-9}
    up, down = np.arange(0.0, on_s + 1.0, 225.0), np.arange(on_s, end_s + 1.0, 600.0)
    heated = solve_ivp(rate(amps), (0.0, on_s), [AIR_C], t_eval=up, **care).y[0]
    cooled = solve_ivp(rate(0.0), (on_s, end_s), heated[-1:], t_eval=down, **care).y[0]
    return np.concatenate([up, down[1:]]), np.concatenate([heated, cooled[1:]])


def run_of(time_s: FloatArray, t_c: FloatArray, amps: float, on_s: float) -> HeatRun:
    """The current is let fall in the last blink before the first reading without it."""
    at = int(np.flatnonzero(time_s == on_s)[0])
    times = np.insert(time_s, at + 1, on_s + 1e-3)
    plate_a = np.where(times <= on_s, amps, 0.0)
    return HeatRun(tuple(times), tuple(np.insert(t_c, at + 1, t_c[at])), tuple(plate_a), AIR_C)


@pytest.mark.parametrize("factor", [0.6, 0.83, 1.0, 1.4])
def test_a_planted_factor_is_found(body: PlateBody, factor: float) -> None:
    fit = fit_loss(body, STACK, run_of(*planted(body, factor, 40.0, 1800.0, 6600.0), 40.0, 1800.0))
    assert fit.factor == pytest.approx(factor, rel=2e-4)
    assert fit.residual_k < 0.02 and fit.start_c == pytest.approx(AIR_C, abs=0.02)
    assert fit.follows


def test_cooling_alone_tells_the_factor_too(body: PlateBody) -> None:
    time_s, t_c = planted(body, 0.9, 40.0, 1800.0, 6600.0)
    late = time_s >= 1800.0
    cooling = HeatRun(tuple(time_s[late]), tuple(t_c[late]), (0.0,) * int(late.sum()), AIR_C)
    assert fit_loss(body, STACK, cooling).factor == pytest.approx(0.9, rel=2e-4)


def test_the_range_holds_the_planted_factor_95_times_in_a_hundred(body: PlateBody) -> None:
    """Noise of 2 K, 16 runs: fewer than 12 hits come once in a thousand times by the binomial law.

    Nor is it wider than need be: about t times what the factors scatter by, lag or no lag.
    """
    time_s, t_c = planted(body, 0.83, 40.0, 1800.0, 4200.0)
    stream, hits, factors, halves = np.random.default_rng(11), 0, [], []
    for _ in range(16):
        run = run_of(time_s, t_c + stream.normal(0.0, 2.0, t_c.size), 40.0, 1800.0)
        fit = fit_loss(body, STACK, run)
        hits += fit.low <= 0.83 <= fit.high
        factors, halves = [*factors, fit.factor], [*halves, (fit.high - fit.low) / 2]
    assert hits >= 12
    assert 1.3 < np.median(halves) / np.std(factors, ddof=1) < 3.5
    assert fit.residual_k == pytest.approx(2.0, abs=1.0)


def test_a_run_of_another_kind_does_not_follow(body: PlateBody) -> None:
    """Ups and downs no plate has."""
    run = HeatRun(
        (0.0, 600.0, 1200.0, 1800.0, 2400.0, 3000.0), (200.0, 90.0, 180.0, 60.0, 150.0, 90.0), (0.0,) * 6, AIR_C
    )
    assert not fit_loss(body, STACK, run).follows


@pytest.mark.parametrize(
    ("run", "said"),
    [
        (HeatRun((0.0, 1.0, 2.0), (90.0, 80.0, 70.0), (0.0,) * 3, AIR_C), "3 readings"),
        (HeatRun((0.0, 2.0, 1.0, 3.0), (90.0, 80.0, 75.0, 70.0), (0.0,) * 4, AIR_C), "follow each other"),
        (HeatRun((0.0, 1.0, 2.0, 3.0), (30.0, 29.0, 28.0, 27.0), (0.0,) * 4, AIR_C), "never more than 9 K"),
        (HeatRun((0.0, 1.0, 2.0, 3.0), (9e3, 80.0, 75.0, 70.0), (0.0,) * 4, AIR_C), "table of grey_iron"),
    ],
)
def test_runs_that_tell_nothing_are_refused(body: PlateBody, run: HeatRun, said: str) -> None:
    with pytest.raises(InputError, match=said):
        fit_loss(body, STACK, run)


def test_two_readings_of_a_worked_example() -> None:
    """J. B. Gupta, Elements of Electric Drives, example 54: from cold, 20 K after 30 and 30 K after 60 minutes; final
    rise 40 K, time constant 43.28 min. A plate of 1 J/K with constant loss, its heat that of the final rise; the factor
    on a loss guessed at a time constant of 60 min comes out as 60/43.28."""
    edges_c = np.arange(-50.0, 400.0)
    columns = np.stack([np.ones_like(edges_c), np.full_like(edges_c, 60.0), edges_c], axis=1)
    tables = LumpTables(np.hstack([columns[:-1], np.diff(columns, axis=0)]), edges_c.size - 1, np.array([350.0]))
    watts = 40.0 * 60.0 / 43.28
    run = HeatRun((0.0, 30.0, 60.0), (0.0, 20.0, 30.0), (1.0, 1.0, 1.0), 0.0)
    fit = fitted(Bench(tables, watts, (30.0, 30.0), (1.0, 1.0)), run)
    assert 60.0 / fit.factor == pytest.approx(43.28, abs=0.05)
    assert fit.residual_k < 0.01


def test_temperature_by_ohms(body: PlateBody) -> None:
    """Rise by resistance with the linear law of heat-run practice: 0.200 ohm at 20 degC, 0.210 hot, and the metal's own
    coefficient: (0.210/0.200 - 1)/alpha20."""
    hot_c = float(temperatures_by_ohms(body.metal, np.array([0.21]), 0.2, 20.0)[0])
    assert float(body.metal.ratio(hot_c)) == pytest.approx(1.05, rel=1e-6)
    with pytest.raises(InputError, match="lie outside"):
        temperatures_by_ohms(body.metal, np.array([9.0]), 0.2, 20.0)


def test_ohms_stand_for_temperatures(job: Callable[..., Job], body: PlateBody) -> None:
    time_s, t_c = planted(body, 0.8, 40.0, 1800.0, 6600.0)
    late = np.flatnonzero(time_s >= 1800.0)
    lines = [f"{time_s[at]:.0f},,{1.7 * float(body.metal.ratio(float(t_c[at]))):.6f}" for at in late]
    first = f"0,20,{1.7:.6f}"
    text = "\n".join(["time (s),temperature (degC),ohm", first, *lines[1:]])
    run = job(text).calibration
    assert run is not None
    warm = replace(run, readings=run.readings[1:])
    with pytest.raises(InputError, match="no line gives both"):
        loss_fit(warm)
    known = replace(
        run,
        readings=(
            HeatReading(1800.0, float(t_c[late[0]]), 1.7 * float(body.metal.ratio(float(t_c[late[0]]))), 0.0),
            *run.readings[1:],
        ),
    )
    assert loss_fit(known).factor == pytest.approx(0.8, rel=2e-3)


@pytest.mark.parametrize(
    "text",
    [
        GOOD,
        "\ufeff" + GOOD.replace(",", ";").replace("\n", "\r\n"),
        "sep=;\n" + GOOD.replace(",", ";").replace("100;", "100,0;"),
        "minutes\ttemp (degF)\tamps\n0\t69.8\t40\n10\t212\t40\n20\t302\t\n40\t194\t\n60\t140\t\n",
        "t (s), Temperature, current\n0,21 degC,40 A\n600,100 degC,40 A\n1200,150 degC,0 A\n"
        "2400,90 degC,\n3600,60 degC,\n",
    ],
)
def test_files_as_spreadsheets_save_them(job: Callable[..., Job], text: str) -> None:
    run = job(text).calibration
    assert run is not None and run.ambient_c == AIR_C
    assert [reading.time_s for reading in run.readings] == pytest.approx([0.0, 600.0, 1200.0, 2400.0, 3600.0])
    assert [reading.t_c for reading in run.readings] == pytest.approx([21.0, 100.0, 150.0, 90.0, 60.0])
    assert [reading.current_a for reading in run.readings] == [40.0, 40.0, 0.0, 0.0, 0.0]


def test_the_air_may_stand_in_a_column(job: Callable[..., Job]) -> None:
    lines = GOOD.splitlines()
    text = "\n".join([lines[0] + ",ambient (degC)", *(f"{line},{20 + place}" for place, line in enumerate(lines[1:]))])
    run = job(text, TABLE).calibration
    assert run is not None and run.ambient_c == pytest.approx(22.0)


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ("", None, "empty"),
        ("time (s),temperature (degC)\n", None, "no reading"),
        ("time (s),colour\n0,red\n", 1, "missing among its columns"),
        (GOOD + "50,55,0\n", 7, "does not come after"),
        (GOOD.replace("10,100", "ten,100"), 3, "ten"),
        (GOOD.replace("10,100", "10,"), 3, "neither temperature nor ohms"),
        (GOOD.replace("(degC)", ""), 2, "has no unit"),
        (GOOD.replace("(degC)", "(stone)"), 1, "stone"),
        (GOOD.replace("90,0", "90,0,7"), 5, "cells under"),
        (GOOD.replace("\n20", '\n"20'), None, "quotes"),
    ],
)
def test_wrong_files_are_refused_with_the_line(job: Callable[..., Job], text: str, line: int | None, said: str) -> None:
    with pytest.raises(JobError) as caught:
        job(text)
    (complaint,) = caught.value.complaints()
    assert said in complaint.message
    assert complaint.file.endswith("run.csv") and (line is None or complaint.line == line)


@pytest.mark.parametrize("name", ["../run.csv", "/etc/passwd", "a/../../run.csv", "..\\run.csv", "x" * 130])
def test_files_out_of_the_folder_are_refused(job: Callable[..., Job], name: str) -> None:
    table = TABLE.replace('"run.csv"', json.dumps(name)) + 'ambient = "21 degC"\n'
    with pytest.raises(JobError) as caught:
        job(GOOD, table)
    (complaint,) = caught.value.complaints()
    assert "leads out of" in complaint.message and complaint.key == "calibration.heat_run"


def test_a_link_out_of_the_folder_is_refused(job: Callable[..., Job], tmp_path: Path) -> None:
    outside = tmp_path.parent / f"{tmp_path.name}-outside.csv"
    outside.write_text(GOOD, encoding="utf-8")
    (tmp_path / "link.csv").symlink_to(outside)
    with pytest.raises(JobError) as caught:
        job(GOOD, TABLE.replace("run.csv", "link.csv") + 'ambient = "21 degC"\n')
    assert "leads out of" in caught.value.complaints()[0].message


@pytest.mark.parametrize(
    ("table", "said"),
    [
        (TABLE, "neither key nor column"),
        ('\n[calibration]\nheat_run = "run.csv"\nambient = "21 degC"\n', "is missing"),
        (TABLE + 'ambient = "21 degC"\nplate = "Z"\n', "is not known here"),
        (TABLE.replace('"A"', '"Z"') + 'ambient = "21 degC"\n', "is no section of the job"),
        (TABLE + 'ambient = "21 degC"\nloss = "2"\n', "is not a key"),
    ],
)
def test_wrong_tables_are_told(job: Callable[..., Job], table: str, said: str) -> None:
    with pytest.raises(JobError) as caught:
        job(GOOD, table)
    assert any(said in complaint.message for complaint in caught.value.complaints())


def test_the_factor_stands_in_place_of_the_band(job: Callable[..., Job], body: PlateBody) -> None:
    """A plate with a heat run loses factor times what it loses without; its low end is that of the run's range."""
    run = job(GOOD).calibration
    known = loss_known(run)
    assert run is not None and known is not None and known.low < known.factor < known.high

    def loss(which: PlateBody, end: object) -> float:
        shelf = LumpShelf()
        shelf.number(HeatedSection("", which, 1, 1, STACK, 400.0), end, 20.0)  # type: ignore[arg-type]
        return float(shelf.tables().read(np.array(0), np.array(300.0))[2])

    told = replace(body, loss=known)
    plain = loss(body, AS_GIVEN)
    assert loss(told, AS_GIVEN) == pytest.approx(known.factor * plain)
    assert loss(told, LOW_LOSS) == pytest.approx(known.low * plain)
    assert loss(told, MORE_LOSS) == pytest.approx(known.high * plain)
    assert loss(body, MORE_LOSS) == pytest.approx((1.0 + LOSS_BAND) * plain)
    assert loss(told, AS_GIVEN.adiabatic()) == 0.0


def test_every_body_of_the_job_carries_it(job: Callable[..., Job]) -> None:
    from griddesign.choose.kinds import Kind

    read = job(GOOD)
    kind = Kind(read.plates[0])
    assert kind.body(kind.candidate.low_ohm).loss == loss_known(read.calibration)


def test_papers_say_proven_or_not(job: Callable[..., Job]) -> None:
    bare = read_job(examples_folder() / "demo.toml")
    assert UNPROVEN in loss_words(bare) and loss_json(bare)["proven"] is False and not list(judge_calibration(bare))
    read = job(GOOD)
    assert read.calibration is not None
    fit, told = loss_fit(read.calibration), loss_json(read)["fit"]
    assert (told["factor"], told["residual_k"], told["section"]) == (fit.factor, fit.residual_k, "A")
    assert UNPROVEN not in loss_words(read) and f"{fit.residual_k:.1f} K (root mean square)" in loss_words(read)[0]
    (finding,) = judge_calibration(read)
    assert finding.verdict is (Verdict.HOLDS if fit.follows else Verdict.NOT_SHOWN)


def test_another_run_is_another_fingerprint(job: Callable[..., Job]) -> None:
    one = fingerprint(job(GOOD).files)
    assert one != fingerprint(job(GOOD.replace("150", "151")).files)


def test_ohms_that_hardly_change_tell_no_temperature(body: PlateBody) -> None:
    flat: Metal = replace(body.metal, law="table", ratio_points_c=(20.0, 400.0), ratio_points=(1.0, 1.0))
    with pytest.raises(InputError, match="change too little"):
        temperatures_by_ohms(flat, np.array([0.21]), 0.2, 20.0)
