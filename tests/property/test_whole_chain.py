"""From the job file to the result, against an independent slow reckoning of the whole chain.

Evidence: ``slow_chain.py``, which shares no code with the product. Random small jobs are written as the shop would
write them, in mixed units, read and worked out; then every stage is reckoned again from the figures drawn.
``SEEDS`` are what runs each time; more: ``CHAIN_SEEDS=100:400 python -m pytest tests/property/test_whole_chain.py``.
"""

import importlib.util
import os
import random
import sys
from dataclasses import dataclass
from functools import cache
from math import inf, pi
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from griddesign.heat.lumps import AS_GIVEN
from griddesign.job.reading import read_job
from griddesign.judge.records import Result, Verdict
from griddesign.judge.work import result_of
from griddesign.traction.records import Ladder
from griddesign.traction.runup.records import RunUp
from griddesign.traction.runup.steps import Care


def _slow() -> ModuleType:
    where = importlib.util.spec_from_file_location("slow_chain", Path(__file__).with_name("slow_chain.py"))
    assert where is not None and where.loader is not None
    module = importlib.util.module_from_spec(where)
    sys.modules["slow_chain"] = module
    where.loader.exec_module(module)
    return module


slow = _slow()
FIRST, END = map(int, os.environ.get("CHAIN_SEEDS", "0:10").split(":"))
SEEDS = range(FIRST, END)
KG_PER_LB, M_PER_IN = 0.45359237, 0.0254


@dataclass(frozen=True)
class Drawn:
    """One job: the file's text, and the same figures in SI for the slow chain."""

    text: str
    car: "slow.Car"
    notches: "tuple[slow.Notch, ...]"
    names: tuple[str, ...]
    plate: "slow.Plate"
    widths_m: tuple[float, float]
    metal: "slow.Metal"
    joint_ohm: float
    first_a: float
    peak_a: float
    per_box: int
    boxes: int
    even: bool
    plate_gap_m: float
    every_s: float | None
    air_c: tuple[float, float]
    limit_c: float
    tolerance: float
    spares: int


def draw(seed: int) -> Drawn:
    """A job that starts for certain: a car, four or five sections, plates of such ohms that a few dozen are needed."""
    dice = random.Random(seed)
    names = tuple("ABCDE"[: dice.randint(3, 4)])
    car, car_text = draw_car(dice)
    notches = draw_notches(dice, names, 1 if "count = 2" in car_text else 2)
    plate, widths, plate_text = draw_plate(dice)
    metal, metal_text = draw_metal(dice)
    peak = round(dice.uniform(0.75, 0.9) * car.amps[-1])
    first, even = round(dice.uniform(0.7, 0.9) * peak), dice.random() < 0.5
    joint, boxes, per_box = dice.choice((0.0, 0.0, 0.2e-3)), dice.randint(3, 5), 2 * dice.randint(10, 15)
    gap_in, every = dice.choice(("1/2", "5/8", "3/4")), dice.randint(200, 400) if seed % 3 == 0 else None
    cold, hot, limit, tolerance = (
        dice.randint(-5, 15),
        dice.randint(25, 40),
        dice.randint(380, 560),
        dice.randint(8, 14),
    )
    spares = dice.randint(0, 3)
    text = f"""schema = 1
title = "Drawn at random"
example = true
prefer = "closest"
{car_text}
[start]
peak_current = "{peak} A"
first_notch_current = "{first} A"
{notch_text(notches)}
{metal_text}
[[plate]]
spares = {spares}
{plate_text}
[boxes]
boxes = {boxes}
plates_per_box = {per_box}
plate_gap = "{gap_in} in"
tap_sides = {1 if even else 2}
joint_resistance = "{joint * 1e3:g} mohm"
[duty]
{f'start_every = "{every} s"' if every else ""}
ambient = "{cold} degC to {hot * 9 / 5 + 32:g} degF"
[limits]
plate = {{ value = "{limit} degC", source = "drawn" }}
notch_tolerance = "{tolerance} %"
"""
    over, under = map(int, gap_in.split("/"))
    return Drawn(
        text, car, notches, names, plate, widths, metal, joint, first, peak, per_box, boxes, even,
        over / under * M_PER_IN, every, (cold, hot), limit, tolerance / 100, spares,
    )  # fmt: skip


def draw_car(dice: random.Random) -> "tuple[slow.Car, str]":
    volts, mass_t, wheel_in = dice.choice((500, 550, 600)), dice.randint(90, 160) / 10, dice.choice((30, 33, 36))
    gear, efficiency, count = dice.randint(35, 50) / 10, dice.randint(92, 97), dice.choice((2, 4))
    constant, per_kmh, rotating = dice.randint(35, 60), dice.randint(5, 12) / 10, dice.randint(8, 12)
    size, slope = dice.uniform(0.8, 1.3) * (2 if count == 2 else 1), dice.choice((0, 0, 5, 15))
    amps = tuple(round(x * size * 70) for x in (0.21, 0.5, 1.0, 1.5, 2.0))
    emf = tuple(round(volts * x * dice.uniform(0.995, 1.005)) for x in (0.19, 0.4, 0.69, 0.87, 0.985))
    motor_mohm, feeder_mohm, rpm = round(330 / size), dice.randint(10, 60), dice.randint(500, 700)
    text = f"""[line]
nominal = "{volts} V"
highest = "{volts + 50} V"
feeder_resistance = "{feeder_mohm} mohm"
[car]
mass = "{mass_t} t"
rotating_mass = "{rotating} %"
wheel_diameter = "{wheel_in} in"
gear_ratio = "{gear}"
drive_efficiency = "{efficiency} %"
gradient = "{slope / 10} %"
running_resistance = {{ constant = "{constant} N/t", per_speed = "{per_kmh} N/t per km/h" }}
[motor]
count = {count}
resistance = "{motor_mohm} mohm at 75 degC"
[motor.magnetisation]
speed = "{rpm} rpm"
current = {[f"{x} A" for x in amps]}
emf = {[f"{x} V" for x in emf]}"""
    law = (constant / 1000, per_kmh / 1000 * 3.6)
    car = slow.Car(
        volts, volts + 50, feeder_mohm / 1e3, mass_t * 1e3, rotating / 100, wheel_in * M_PER_IN, gear,
        efficiency / 100, law, slope / 1000, motor_mohm / 1e3, 75.0, rpm * pi / 30, amps, emf,
    )  # fmt: skip
    return car, text


def draw_notches(dice: random.Random, names: tuple[str, ...], pairs: int) -> "tuple[slow.Notch, ...]":
    """Sections cut out from the first on with the motors of every pair in series; the last ones again in parallel."""
    tails = [names[n:] for n in range(len(names))]
    series = [slow.Notch(2, pairs, tail) for tail in [*tails, ()]]
    again = [slow.Notch(1, 2 * pairs, tail) for tail in [*tails[dice.randint(1, 2) :], ()]]
    if dice.random() < 0.35:  # the last two sections side by side
        again.insert(-1, slow.Notch(1, 2 * pairs, (), names[-2:]))
    return (*series, *again)


def notch_text(notches: "tuple[slow.Notch, ...]") -> str:
    rows = []
    for number, notch in enumerate(notches, 1):
        circuit: list[object] = [*notch.plain, *([list(notch.abreast)] if notch.abreast else [])]
        motors = "series" if notch.series == 2 else "parallel"
        rows.append(f'[[notch]]\nname = "{number}"\nmotors = "{motors}"\ncircuit = {circuit}')
    return "\n".join(rows)


def draw_plate(dice: random.Random) -> "tuple[slow.Plate, tuple[float, float], str]":
    height, passes, strip, gap = (
        dice.randint(200, 300),
        dice.randint(9, 14),
        dice.randint(60, 80) / 10,
        dice.randint(55, 80) / 10,
    )
    thick, hole, web = dice.randint(30, 45) / 10, dice.randint(12, 15), dice.randint(6, 8)
    eye, reach = hole + 2 * web, hole / 2 + web + dice.randint(4, 8)
    free = dice.random() < 0.6
    low, high = (strip - 0.6, strip + 0.8) if free else (strip, strip)
    vary = f'may_vary = {{ strip_width = "{low:.4g} mm to {high:.4g} mm" }}' if free else ""
    text = f"""name = "P"
metal = "a436_type1"
made_by = "cast"
{vary}
[plate.shape]
family = "zigzag"
height = "{height / 10} cm"
passes = {passes}
strip_width = "{strip} mm"
pass_gap = "{gap} mm"
thickness = "{thick} mm"
eyes = "{"opposite edges" if passes % 2 else "one edge"}"
[plate.shape.eye]
diameter = "{eye} mm"
hole = "{hole} mm"
reach = "{reach} mm"
"""
    plate = slow.Plate(height / 1e3, passes, strip / 1e3, gap / 1e3, thick / 1e3, eye / 1e3, hole / 1e3, reach / 1e3)
    return plate, (round(low, 4) / 1e3, round(high, 4) / 1e3), text


def draw_metal(dice: random.Random) -> "tuple[slow.Metal, str]":
    rho, alpha, density = dice.randint(90, 140), dice.choice((5e-5, 3e-4, 8e-4)), dice.randint(7100, 7800)
    heat_20, heat_400, emissivity = dice.randint(440, 500), dice.randint(520, 600), dice.randint(70, 90)
    text = f"""[metal.a436_type1]
resistivity = "{rho} uohm cm"
alpha20 = "{alpha:g} /K"
density = "{density} kg/m3"
specific_heat_20 = "{heat_20} J/(kg K)"
specific_heat_400 = "{heat_400} J/(kg K)"
emissivity = "{emissivity} %"
"""
    return slow.Metal(rho * 1e-8, alpha, density, heat_20, heat_400, emissivity / 100), text


@pytest.fixture(params=SEEDS, scope="module")
def both(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[Drawn, Result]:
    """A drawn job and what the product makes of it."""
    drawn = draw(request.param)
    path = tmp_path_factory.mktemp("chain") / "job.toml"
    path.write_text(drawn.text, encoding="utf-8")
    return drawn, result_of(read_job(path))


def built(drawn: Drawn, result: Result) -> "tuple[dict[str, float], dict[str, float], float]":
    """Ohms of the plates and of the joints of every section from the counts and plate ohms that were chosen."""
    assert result.worked is not None and result.worked.design is not None
    (kind,) = result.worked.design.kinds
    sections = result.worked.design.sections
    plates = {each.name: each.series * kind.cold_ohm / each.in_parallel for each in sections}
    return plates, {each.name: each.series * drawn.joint_ohm for each in sections}, kind.cold_ohm


def whole(drawn: Drawn, result: Result) -> dict[str, float]:
    plates, joints, _ = built(drawn, result)
    return {name: plates[name] + joints[name] for name in plates}


def ladder_of(result: Result) -> Ladder:
    assert result.worked is not None and isinstance(result.worked.wanted, Ladder)
    return result.worked.wanted


@cache
def ordered(drawn: Drawn, strip_m: float) -> "slow.Plate":
    """The plate as it is to be made: another strip in the same pitch."""
    one = drawn.plate
    pitch = one.strip_m + one.gap_m
    return slow.Plate(one.height_m, one.passes, strip_m, pitch - strip_m, *_rest(one))


def _rest(one: "slow.Plate") -> tuple[float, ...]:
    return one.thickness_m, one.eye_m, one.hole_m, one.reach_m


def test_plate(both: tuple[Drawn, Result]) -> None:
    """Ohms, area, mass, surface and the lot."""
    drawn, result = both
    (report,) = result.plates
    low, high = drawn.widths_m
    assert low * (1 - 1e-9) <= report.shape.strip_width_m <= high * (1 + 1e-9)
    plate = ordered(drawn, report.shape.strip_width_m)
    ohm = plate.squares * drawn.metal.rho / plate.thickness_m
    assert report.figures.cold_ohm == pytest.approx(ohm, rel=1e-4)
    assert report.order_ohm == pytest.approx(ohm, rel=1e-4)
    area, rim = plate.metal
    assert report.figures.area_m2 == pytest.approx(area, rel=2e-5)
    assert report.figures.mass_kg == pytest.approx(area * plate.thickness_m * drawn.metal.density, rel=2e-5)
    assert report.figures.surface_m2 == pytest.approx(2 * area + rim * plate.thickness_m, rel=2e-5)
    assert (report.figures.width_m, report.figures.height_m) == pytest.approx((plate.depth_m, plate.height_m))
    assert report.count == sum(each.plates for each in result.worked.design.sections)  # type: ignore[union-attr]
    assert report.lot == report.count + drawn.spares


def test_ladder(both: tuple[Drawn, Result]) -> None:
    """The first notch takes its current, no peak is over the limit, and no ohms allow a stronger start.

    With a start every so often the limit holds with the sections that are dropped as hot as the duty makes them, too.
    """
    drawn, result = both
    ladder, car = ladder_of(result), drawn.car
    wanted, valley = dict(ladder.sections), ladder.valley_a
    first = drawn.notches[0].total_ohm(car, wanted, car.motor_ohm)
    assert first == pytest.approx(car.line_v / drawn.first_a, rel=1e-6)
    peaks = slow.peaks_a(car, drawn.notches, wanted, valley, drawn.air_c[0])
    assert max(peaks[1:]) <= drawn.peak_a * (1 + 1e-5)
    for notch, row in zip(drawn.notches, ladder.notches, strict=True):
        assert row.wanted_ohm == pytest.approx(notch.grid_ohm(wanted), rel=1e-9, abs=1e-12)
        assert row.total_ohm == pytest.approx(notch.total_ohm(car, wanted, car.motor_ohm), rel=1e-9)
    if any(notch.abreast for notch in drawn.notches):
        return
    if drawn.every_s is None:
        asked = (car, drawn.notches, drawn.names, drawn.first_a, drawn.peak_a)
        assert [row.peak_a for row in ladder.notches] == pytest.approx(peaks, rel=1e-6)
        assert slow.feasible(*asked, valley * (1 - 1e-5), drawn.air_c[0])
        assert not slow.feasible(*asked, valley * (1 + 1e-5), drawn.air_c[0]), "a stronger start is possible"
        return
    assert result.worked is not None
    hot = slow.peaks_a(car, drawn.notches, wanted, valley, drawn.air_c[0], dict(result.worked.hot_ratio))
    assert max(hot[1:]) <= drawn.peak_a * 1.005, "but for the 1 % of ohms at which the rounds end"


def test_counts_taps_and_boxes(both: tuple[Drawn, Result]) -> None:
    """No other counts, plates side by side and plate ohms give a smaller worst error; taps by a walk plate by plate."""
    drawn, result = both
    assert result.worked is not None and result.worked.design is not None and result.layout is not None
    design, (worst, *_) = result.worked.design, result.worked.design.proofs
    wanted, ohm = dict(ladder_of(result).sections), whole(drawn, result)
    got = [notch.total_ohm(drawn.car, ohm, drawn.car.motor_ohm) for notch in drawn.notches]
    aims = [notch.total_ohm(drawn.car, wanted, drawn.car.motor_ohm) for notch in drawn.notches]
    errors = [aim / now - 1 for aim, now in zip(aims, got, strict=True)]
    assert worst.objective == "smallest worst notch error" and worst.proved
    assert max(map(abs, errors)) == pytest.approx(worst.reached, abs=1e-9)
    assert [notch.error for notch in result.notches] == pytest.approx(errors, abs=1e-9)
    counts = [(each.name, each.series, each.in_parallel) for each in design.sections]
    if not drawn.joint_ohm and not any(notch.abreast for notch in drawn.notches):
        assert least_error(drawn, aims, worst.reached) == pytest.approx(worst.reached, abs=2e-4)
    places = slow.fill(counts, drawn.per_box, drawn.even)
    assert [(p.section, p.box, p.position, p.plate) for p in result.layout.places] == places
    assert design.boxes == places[-1][1] <= drawn.boxes
    ends = [max(place[3] for place in places if place[0] == name) for name in drawn.names]
    assert [tap.after_plate for tap in design.taps] == [0, *ends]
    for tap in design.taps[1:]:
        _, number, position, _ = places[tap.after_plate - 1]
        assert (tap.box, tap.joint) == (number, (position, position + 1))
    if drawn.even:
        assert all(tap.side == "terminal side" for tap in design.taps)


def least_error(drawn: Drawn, aims: list[float], reached: float) -> float:
    """Smallest worst error of any counts, looked for where an error no larger than ``reached`` can lie."""
    car = drawn.car
    low, high = sorted(
        ordered(drawn, width).squares * drawn.metal.rho / drawn.plate.thickness_m for width in drawn.widths_m
    )
    bare = [n.series * car.motor_ohm + n.parallel * car.feeder_ohm for n in drawn.notches]
    bands = {}
    for notch, aim, other in zip(drawn.notches, aims, bare, strict=True):
        band = [(aim / (1 + sign * (reached + 1e-3)) - other) / notch.parallel for sign in (1, -1)]
        known = bands.get(notch.plain, (-inf, inf))
        bands[notch.plain] = (max(known[0], band[0]), min(known[1], band[1]))
    limits = []
    for number in range(len(drawn.names)):
        here, after = bands[drawn.names[number:]], bands.get(drawn.names[number + 1 :], (0.0, 0.0))
        after = after if drawn.names[number + 1 :] else (0.0, 0.0)
        limits.append((max(here[0] - after[1], 0.0), here[1] - after[0]))
    best = inf
    for counts in slow.every_count(limits, low, high, drawn.even):
        placed = [(name, *count) for name, count in zip(drawn.names, counts, strict=True)]
        plates = {name: n / q for name, n, q in placed}
        slopes = [notch.parallel * sum(plates[name] for name in notch.plain) for notch in drawn.notches]
        error = slow.worst_error(list(zip(aims, bare, slopes, strict=True)), low, high)
        if error < best and slow.fill(placed, drawn.per_box, drawn.even)[-1][1] <= drawn.boxes:
            best = error
    return best


def test_start_at_mean_currents(both: tuple[Drawn, Result]) -> None:
    """Currents, seconds, speeds and joules of every section, on the sections as built."""
    drawn, result = both
    assert result.start is not None
    found = slow.mean_start(drawn.car, drawn.notches, whole(drawn, result), ladder_of(result).valley_a)
    for ours, notch in zip(result.start.notches, found, strict=True):
        assert ours.arrive_a == pytest.approx(notch.amps, rel=1e-8)
        assert (ours.seconds, ours.leave_m_s) == pytest.approx((notch.seconds, notch.leave_m_s), rel=1e-7, abs=1e-9)
        joules = {name: amount for name, amount in ours.section_j if amount}
        assert joules == pytest.approx(notch.joules, rel=1e-7)


def bank_of(drawn: Drawn, result: Result, air_c: float, factor: float = 1.0) -> "slow.Bank":
    plates, joints, _ = built(drawn, result)
    plate = ordered(drawn, result.plates[0].shape.strip_width_m)
    loss = slow.loss_law(plate, drawn.metal, drawn.plate_gap_m, air_c, factor)
    count = {each.name: each.plates for each in result.worked.design.sections}  # type: ignore[union-attr]
    mass = plate.metal[0] * plate.thickness_m * drawn.metal.density
    return slow.Bank(drawn.names, plates, joints, count, drawn.metal, mass, loss)


def started(both: tuple[Drawn, Result]) -> tuple[Drawn, Result]:
    """The same, where the start can be run at every voltage; else a finding says why not and there is no heat of it."""
    if both[1].ran is None:
        assert "the start as run" in [one.item for one in both[1].findings if one.verdict is not Verdict.HOLDS]
        pytest.skip("the start cannot be run")
    return both


def test_start_as_run(both: tuple[Drawn, Result]) -> None:
    """Peaks, speeds, way, heat and energies against an integration along the clock, highest voltage, hottest air.

    Stepped twice as finely as usual the run closes to 1e-6; as usual, which is what is printed, it is within 3e-4.
    """
    drawn, result = started(both)
    assert result.ran is not None
    ready, air_c, volts = result.ran.ready, drawn.air_c[1], drawn.car.highest_v
    case = next(n for n, each in enumerate(ready.cases) if (each.line_v, each.ambient_c) == (volts, air_c))
    bank, begin = bank_of(drawn, result, air_c), [air_c] * len(drawn.names)
    ran = slow.run_up(drawn.car, drawn.notches, bank, volts, ready.valley_a, begin)
    compare(ready.told, case, ran, 3e-4)
    compare(ready.run([ready.cases[case]], care=Care(2, 3)), 0, ran, 5e-6)


def compare(ours: RunUp, case: int, ran: "slow.Ran", within: float) -> None:
    for log, (peak, _, seconds, speed, way, t_c) in zip(ours.notches, ran.notches, strict=True):
        assert log.peak_a[case] == pytest.approx(peak, rel=within)
        assert log.leave_m_s[case] == pytest.approx(speed, rel=within)
        assert log.leave_s[case] == pytest.approx(seconds, rel=3 * within)
        assert log.leave_m[case] == pytest.approx(way, rel=3 * within)
        assert log.leave_c[:, case] == pytest.approx(t_c, rel=3e-4, abs=0.05)
    energy, joules = ours.energy, ran.joules
    found = [energy.line_j, energy.feeder_j, energy.motors_j, energy.shaft_j, energy.wheel_j]
    told = [*map(joules.__getitem__, ("line", "feeder", "motors", "shaft")), joules["against"] + joules["kinetic"]]
    assert [float(each[case]) for each in found] == pytest.approx(told, rel=within)
    assert ours.section_j[:, case] == pytest.approx(list(ran.section_j.values()), rel=within)


def test_settled_heat(both: tuple[Drawn, Result]) -> None:
    """The duty until it settles, each section by itself; within 1 % of its rise, the air being another's."""
    drawn, result = started(both)
    assert result.ran is not None
    day = next((ran for ran in result.ran.duties if ran.round_s), None)
    assert (day is None) == (drawn.every_s is None)
    if day is None:
        return
    air_c, volts = drawn.air_c[1], drawn.car.line_v
    case = next(n for n, c in enumerate(day.cases) if (c.line_v, c.ambient_c, c.end) == (volts, air_c, AS_GIVEN))
    bank = bank_of(drawn, result, air_c)
    found = slow.settled_c(drawn.car, drawn.notches, bank, volts, result.ran.ready.valley_a, air_c, drawn.every_s)
    assert day.hot_c[:, case] - air_c == pytest.approx(np.array(found) - air_c, rel=0.01, abs=0.1)


def test_hold_standing(both: tuple[Drawn, Result]) -> None:
    """The first notch held with the car standing, from cold: the shorter of motors cold and warm, loss a fifth low."""
    drawn, result = both
    air_c, volts, car = drawn.air_c[1], drawn.car.highest_v, drawn.car
    rows = [
        r
        for r in result.heat
        if (r.case, r.notch, r.line_v, r.ambient_c) == ("stalled, from ambient", "1", volts, air_c)
    ]
    bank = bank_of(drawn, result, air_c, 0.8)
    motors = (car.motor_ohm, car.cold_motor_ohm(drawn.air_c[0]))
    seconds = min(slow.stalled_s(car, drawn.notches[0], bank, volts, ohm, air_c, drawn.limit_c) for ohm in motors)
    held = {inf if row.hold_s is None else row.hold_s for row in rows}
    assert len(rows) == len(drawn.names) and len(held) == 1
    assert held.pop() == pytest.approx(seconds, rel=0.01)
