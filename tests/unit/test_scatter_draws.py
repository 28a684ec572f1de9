"""What is drawn: the same for the same seed, in any chunks, by the laws stated; and what is made of it."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import binomtest, kstest, truncnorm

from griddesign.grid.build import build_section
from griddesign.judge.records import Result
from griddesign.judge.scatter.draws import BLOCK, Block, Dice
from griddesign.judge.scatter.laws import ALPHA, BATCH, DRIVER, LINE, LOAD, PLATE, SIZES, KindLaw, Laws, SizeLaw
from griddesign.judge.scatter.statistics import STARTS_A_SIGN, chance_range, shares

SECTIONS = (
    build_section("A", "P", 6, 1, 0.07),
    build_section("B", "P", 4, 2, 0.07),
    build_section("C", "Q", 3, 1, 0.05),
)
PLAIN = KindLaw(0.03, 0.02, (), 0)
LAWS = Laws({"P": PLAIN, "Q": PLAIN}, True, (500.0, 600.0), (10e3, 14e3), 0.1, ())


def dice(seed: int = 5, laws: Laws = LAWS, **seeds: int) -> Dice:
    return Dice(SECTIONS, laws, 1, seed, seeds)


def same(one: Block, two: Block) -> bool:
    arrays = [(getattr(one, name), getattr(two, name)) for name in ("section_ohm", "line_v", "mass_kg", "driver")]
    return all(np.array_equal(left, right) for left, right in arrays)


def test_a_block_depends_on_seed_and_number_alone() -> None:
    forwards = [dice().block(number) for number in range(3)]
    backwards = [dice().block(number) for number in (2, 1, 0)][::-1]
    assert all(same(one, two) for one, two in zip(forwards, backwards, strict=True))
    assert not same(forwards[0], forwards[1])
    assert not same(forwards[0], dice(6).block(0))


def test_a_cause_taken_out_leaves_the_draws_of_the_others() -> None:
    steady = replace(LAWS, kinds={kind: replace(PLAIN, batch=0.0) for kind in ("P", "Q")}, driver=0.0)
    here, there = dice().block(4), dice(laws=steady).block(4)
    assert np.array_equal(here.line_v, there.line_v) and np.array_equal(here.high_alpha, there.high_alpha)
    assert np.array_equal(here.signs[PLATE], there.signs[PLATE])
    assert not there.signs[BATCH].any() and np.all(there.driver == 1.0)


def test_a_cause_with_a_seed_of_its_own_moves_alone() -> None:
    here, there = dice().block(0), dice(**{LINE: 99}).block(0)
    assert not np.array_equal(here.line_v, there.line_v)
    assert np.array_equal(here.section_ohm, there.section_ohm) and np.array_equal(here.driver, there.driver)


def test_sections_are_the_sum_of_their_steps_plate_by_plate() -> None:
    block = dice().block(0)
    plates = block.plate_ohm["P"]
    assert plates.shape == (14, BLOCK)
    assert block.section_ohm[0] == pytest.approx(plates[:6].sum(axis=0))
    pairs = [
        plates[6 + 2 * step] * plates[7 + 2 * step] / (plates[6 + 2 * step] + plates[7 + 2 * step]) for step in range(4)
    ]
    assert block.section_ohm[1] == pytest.approx(np.sum(pairs, axis=0))
    assert block.section_ohm[2] == pytest.approx(block.plate_ohm["Q"].sum(axis=0))


def test_laws_are_those_stated() -> None:
    """Against the distributions of scipy.stats (a reference library), by Kolmogorov and Smirnov's test."""
    blocks = [dice().block(number) for number in range(20)]
    driver = np.concatenate([block.driver[0] for block in blocks])
    line_v = np.concatenate([block.line_v for block in blocks])
    assert kstest((driver - 1.0) / 0.1, truncnorm(-3.0, 3.0).cdf).pvalue > 0.01
    assert kstest(line_v, "uniform", args=(500.0, 100.0)).pvalue > 0.01
    assert np.abs(driver - 1.0).max() <= 0.3
    assert np.concatenate([block.high_alpha for block in blocks]).mean() == pytest.approx(0.5, abs=0.015)


def test_plates_of_a_batch_move_together() -> None:
    law = replace(PLAIN, plate=0.0, plates_per_batch=7)
    plates = dice(laws=replace(LAWS, kinds={"P": law, "Q": law})).block(0).plate_ohm["P"]
    assert np.all(plates[:7] == plates[0]) and np.all(plates[7:] == plates[7])
    assert abs(np.corrcoef(plates[0], plates[7])[0, 1]) < 0.1


@pytest.mark.parametrize("shared", [True, False])
def test_sizes_go_as_their_power(shared: bool) -> None:
    law = KindLaw(0.0, 0.0, (SizeLaw(0.05, -1.0, shared),), 0)
    plates = dice(laws=replace(LAWS, kinds={"P": law, "Q": law})).block(0).plate_ohm["P"] / 0.07
    assert 1.0 / 1.05 <= plates.min() < 0.96 and 1.04 < plates.max() <= 1.0 / 0.95
    assert np.all(plates == plates[0]) == shared


def test_sections_spread_as_batch_and_plates_say() -> None:
    """Variance of a sum of n plates: (n b)^2 + n p^2, each law narrowed by the cut at three."""
    found = np.concatenate([dice(seed).block(0).section_ohm[0] for seed in range(20)]) / (6 * 0.07) - 1.0
    narrowed = truncnorm(-3.0, 3.0).var()
    assert found.std() == pytest.approx(np.sqrt(narrowed * (0.03**2 + 0.02**2 / 6)), rel=0.02)


def linear(seed: int, size: int) -> tuple[dict[str, np.ndarray], np.ndarray]:
    """Three causes of which the second has two numbers; one quantity that is a plain sum of them."""
    stream = np.random.default_rng(seed)
    causes = {
        LINE: stream.uniform(-1, 1, (1, size)),
        BATCH: stream.normal(0, 1, (2, size)),
        DRIVER: stream.normal(0, 1, (1, size)),
    }
    found = 3.0 * causes[LINE][0] + causes[BATCH][0] - 2.0 * causes[BATCH][1] + 1.0 * causes[DRIVER][0] + 70.0
    return causes, found


def test_shares_of_a_linear_model_are_exact() -> None:
    """Var of 3 U(-1, 1) is 3, of the two normals 1 + 4, of the last 1: shares 3/9, 5/9, 1/9 and nothing left over."""
    causes, found = linear(1, 100_000)
    parts, together = shares(causes, found[None]) or ({}, np.array([]))
    assert {name: float(part[0]) for name, part in parts.items()} == pytest.approx(
        {LINE: 3 / 9, BATCH: 5 / 9, DRIVER: 1 / 9}, abs=0.01
    )
    assert together[0] == pytest.approx(0.0, abs=1e-9)


def test_shares_of_a_product_are_left_together() -> None:
    """x y of independent normals has no share of the first order at all; x^2 + y has 2/3 and 1/3."""
    stream = np.random.default_rng(3)
    x, y = stream.normal(0, 1, (2, 1, 50_000))
    parts, together = shares({LINE: x, LOAD: y}, np.stack([x[0] * y[0], x[0] ** 2 + y[0]])) or ({}, np.array([]))
    assert [float(parts[name][0]) for name in (LINE, LOAD)] == pytest.approx([0.0, 0.0], abs=0.02)
    assert together == pytest.approx([1.0, 0.0], abs=0.02)
    assert [float(parts[name][1]) for name in (LINE, LOAD)] == pytest.approx([2 / 3, 1 / 3], abs=0.02)


def test_shares_add_up_and_noise_has_none() -> None:
    causes, found = linear(2, 2_000)
    noise = np.random.default_rng(9).normal(0, 1, 2_000)
    parts, together = shares(causes, np.stack([found, noise])) or ({}, np.array([]))
    assert sum(part for part in parts.values()) + together == pytest.approx([1.0, 1.0])
    assert together[1] == pytest.approx(1.0, abs=0.03)


def test_rows_that_never_move_or_move_alike_have_their_place() -> None:
    stream = np.random.default_rng(4)
    x = stream.normal(0, 1, (1, 4_000))
    causes = {
        BATCH: np.repeat(x, 3, axis=0),
        SIZES: np.zeros((2, 4_000)),
        ALPHA: stream.integers(0, 2, (1, 4_000)) * 1.0,
    }
    parts, _ = shares(causes, (x[0] + causes[ALPHA][0])[None]) or ({}, np.array([]))
    assert {name: float(part[0]) for name, part in parts.items()} == pytest.approx(
        {BATCH: 0.8, SIZES: 0.0, ALPHA: 0.2}, abs=0.02
    )


def test_too_few_starts_tell_no_shares() -> None:
    causes, found = linear(2, STARTS_A_SIGN)
    assert shares(causes, found[None]) is None


@pytest.mark.parametrize(("broken", "starts"), [(0, 100), (5, 10), (3, 1000), (17, 10_000), (100, 100)])
def test_chances_against_a_reference_library(broken: int, starts: int) -> None:
    """The exact interval of scipy.stats.binomtest (reference library)."""
    theirs = binomtest(broken, starts).proportion_ci(0.95, method="exact")
    assert chance_range(broken, starts) == pytest.approx((theirs.low, theirs.high), rel=1e-9, abs=1e-12)


def test_none_of_n_is_not_never() -> None:
    """1 - (1 - p)^N = 0.975 solved by hand."""
    assert chance_range(0, 1000)[1] == pytest.approx(1.0 - 0.025 ** (1.0 / 1000.0))


def test_the_demo_says_which_laws_are_assumed(demo: Result) -> None:
    from griddesign.judge.scatter.laws import laws_of

    assert demo.worked is not None and demo.worked.design is not None
    told = {cause.name: cause.assumed for cause in laws_of(demo.job, demo.worked.design).told}
    assert told == {BATCH: True, PLATE: True, ALPHA: False, LINE: True, DRIVER: True}
