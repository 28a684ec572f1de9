"""The crew card: its times are the worst there are, it is one card, and it is not printed on guesses."""

import math
from dataclasses import replace
from typing import Any

import pytest

from griddesign.figures import Figure, Status
from griddesign.heat.holds import FROM_SETTLED, crew_hold_s
from griddesign.judge.crew import crew_card_remark, no_crew_card
from griddesign.judge.records import Result
from griddesign.judge.start_result import StartResult, started
from griddesign.papers import blocks as b
from griddesign.papers.bounds import clashes
from griddesign.papers.marks import Words, flat
from griddesign.papers.pdf import lay_out
from griddesign.papers.sheets.common import stamp
from griddesign.papers.sheets.crew import crew_holds, crew_sheet, crew_words
from griddesign.papers.sheets.shown import NO_BREAK


@pytest.fixture(scope="module")
def told(demo: Result) -> StartResult:
    found = started(demo)
    assert found is not None
    return found


def words_of(result: StartResult) -> str:
    card = crew_sheet(result)
    assert card is not None
    pages = lay_out((card,), stamp(result))
    assert len(pages) == 1, "one card"
    assert clashes(pages[0].marks) == []
    printed = (mark.text for _, _, mark in flat(pages[0].marks) if isinstance(mark, Words))
    return " ".join(printed).replace(NO_BREAK, " ")


def with_figure(result: StartResult, key: str, **change: Any) -> StartResult:
    figure = replace(result.job.figures.get(key, Figure.exact(1.0)), **change)
    return replace(result, job=replace(result.job, figures={**result.job.figures, key: figure}))


def test_the_times_are_the_worst_and_rounded_down(told: StartResult) -> None:
    """Worst of stalled and running, settled, highest voltage, hottest ambient, worse end: all of it in the rows."""
    highest_v, hottest_c = (
        max(getattr(row, name) for row in told.heat if row.notch) for name in ("line_v", "ambient_c")
    )
    for notch, seconds in crew_holds(told.heat).items():
        rows = [row for row in told.heat if row.notch == notch]
        worst = [row.hold_s for row in rows if row.line_v == highest_v and row.case.endswith(FROM_SETTLED)]
        least = min((hold_s for hold_s in worst if hold_s is not None), default=math.inf)
        assert seconds is not None
        assert seconds <= least < seconds + 5.0
        assert seconds <= min(row.hold_s for row in rows if row.hold_s is not None and row.ambient_c == hottest_c)
        assert seconds == crew_hold_s(told.heat, notch)
        assert seconds % 5.0 == 0.0


def test_holds_in_the_crew_s_words() -> None:
    assert crew_words(None) == "no limit"
    assert crew_words(0.0) == "pass through"
    assert crew_words(5.0) == f"5{NO_BREAK}s"
    assert crew_words(120.0) == f"120{NO_BREAK}s"
    assert crew_words(125.0) == f"2{NO_BREAK}min 5{NO_BREAK}s"
    assert crew_words(1755.0) == f"29{NO_BREAK}min"


def test_the_card_says_all_of_it(told: StartResult) -> None:
    words = words_of(told)
    for notch in told.job.notches:
        assert f"{notch.name} {crew_words(crew_holds(told.heat).get(notch.name))}".replace(NO_BREAK, " ") in words
    assert "For the crew" in words
    for said in (
        "Never hold a notch longer than this", "Rest before the next start", "After a full hold: rest", "smells hot",
        "LETHAL VOLTAGE", "HOT METAL", "local codes", "VOID if a lead, a tap or a box is changed", "Approved by",
        told.job.title, told.fingerprint, "EXAMPLE FIGURES, NOT FOR MANUFACTURE", "DRAFT", "PROVISIONAL",
    ):  # fmt: skip
        assert said in words, said


def test_notches_and_times_are_set_in_large_type(told: StartResult) -> None:
    card = crew_sheet(told)
    assert card is not None
    (page,) = lay_out((card,), stamp(told))
    sizes = {mark.text: mark.size_pt for _, _, mark in flat(page.marks) if isinstance(mark, Words)}
    for seconds in crew_holds(told.heat).values():
        assert sizes[crew_words(seconds)] == b.CARD_PT


def test_the_rest_is_what_the_duty_leaves_rounded_up(told: StartResult) -> None:
    every_s, run_s = told.job.duty.start_every_s, float(told.run.seconds.min())
    assert every_s is not None
    rest_s = math.ceil((every_s - run_s) / 5.0) * 5.0
    assert rest_s >= every_s - run_s
    assert f"next start: {crew_words(rest_s)}".replace(NO_BREAK, " ") in words_of(told)


@pytest.mark.parametrize(
    ("key", "change"),
    [
        ("car.mass", {"status": Status.ABOUT}),
        ("car.mass", {"low": 12e3, "high": 15e3}),
        ("motor.resistance", {"status": Status.ESTIMATE}),
        ("duty.start_every", {"status": Status.ABOUT}),
        ("limits.plate", {"status": Status.MEMORY}),
        ("duty.ambient", {"status": Status.ABOUT}),
    ],
)
def test_no_card_on_a_guess(told: StartResult, key: str, change: dict[str, Any]) -> None:
    guessed = with_figure(told, key, **change)
    assert crew_sheet(guessed) is None
    (remark,) = crew_card_remark(guessed.job, guessed.heat)
    assert remark.startswith("No crew card: ")
    assert key in remark


def test_a_range_of_ambient_is_no_guess(told: StartResult) -> None:
    assert told.job.figures["duty.ambient"].low < told.job.figures["duty.ambient"].high
    assert no_crew_card(told.job, told.heat) == ()
    assert crew_card_remark(told.job, told.heat) == ()


def test_no_card_without_duty_limit_or_holds(told: StartResult) -> None:
    job = told.job
    without = {
        "start_every": replace(job, duty=replace(job.duty, start_every_s=None)),
        "[limits] plate": replace(job, limits=replace(job.limits, plate_c=None)),
        "starter": replace(job, starter_values=("car.mass",)),
    }
    for word, changed in without.items():
        assert crew_sheet(replace(told, job=changed)) is None
        assert word in "; ".join(no_crew_card(changed, told.heat))
    assert crew_sheet(replace(told, heat=())) is None
    assert crew_card_remark(job, ()) == (), "without plates nobody waits for a card"


def test_no_card_where_the_duty_itself_is_too_hot(told: StartResult) -> None:
    hot = tuple(row if row.notch else replace(row, margin_k=-1.0) for row in told.heat)
    assert crew_sheet(replace(told, heat=hot)) is None
    assert "passes its limit" in no_crew_card(told.job, hot)[0]


def renamed(told: StartResult, name: str, times: int) -> StartResult:
    """The start with so many times its notches, each with a long name."""
    notches = [replace(notch, name=f"{name} {notch.name}.{n}") for n in range(times) for notch in told.job.notches]
    rows = [replace(row, notch=f"{name} {row.notch}.{n}") for n in range(times) for row in told.heat if row.notch]
    heat = (*(row for row in told.heat if not row.notch), *rows)
    return replace(told, job=replace(told.job, notches=tuple(notches)), heat=heat)


@pytest.mark.parametrize(("paper", "units"), [("A4", "mm"), ("Letter", "inch")])
@pytest.mark.parametrize(("name", "times"), [("n", 1), ("Stufe für <b> & Ω", 1), ("n", 2), ("Stufe vorwärts", 2)])
def test_it_stays_one_card(told: StartResult, paper: Any, units: Any, name: str, times: int) -> None:
    job = replace(told.job, paper=replace(told.job.paper, units=units, sheet=paper), title=f"{told.job.title}, " * 3)
    words = words_of(renamed(replace(told, job=job), name, times))
    assert "Approved by" in words


def test_a_car_that_brakes_on_the_grid_is_told_that_its_brake_notches_are_not_on_the_card(told: StartResult) -> None:
    brake: Any = object()  # the card asks no more than whether there is one
    assert "Brake notches are not on this card" in words_of(replace(told, braking=brake))
    assert "Brake notches" not in words_of(replace(told, braking=None))
