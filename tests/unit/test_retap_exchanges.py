"""Exchanges of plates in a job: what the file may say, the words of the proof, what is kept where exchanges do harm."""

import json
import random
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import jsonschema
import pytest

from griddesign.cli.retap_lines import retap_lines
from griddesign.errors import JobError
from griddesign.found.tapped import TappedSection
from griddesign.job.reading import read_job
from griddesign.job.starters import starter_text
from griddesign.judge.retap import retap_of, searching
from griddesign.judge.retapping.proof import exchange_words, proof_words
from griddesign.judge.retapping.records import RetapResult
from griddesign.judge.retapping.targets import question_of
from griddesign.judge.retapping.tonight import Search
from griddesign.papers.retap_json import _section, retap_json
from griddesign.retaps.best import best_taps
from griddesign.retaps.records import Answer, Question

HEAD = "box,position,kind,ohm,method,accuracy,temperature (degC),dead\n"
SPARE = '\n[[retap.spare]]\nname = "S1"\nkind = "P"\nohm = "0.0668 ohm"\ncarries = "80 A"\n'


def retapped(folder: Path, keys: str, search: Search, dead: int = 0) -> RetapResult:
    """The starter's grid with plates that scatter, and these keys under [retap]."""
    job, plates, rng = folder / "job.toml", folder / "plates.csv", random.Random(3)
    text = starter_text("retap").replace("[retap]\n", f"[retap]\n{keys}\n", 1)
    job.write_text(text + SPARE, encoding="utf-8")
    rows = []
    for n in range(54):
        read = f"{0.066 * rng.gauss(1.0, 0.03):.5f},four-wire,0.5 %,20,"
        rows.append(f"{n // 18 + 1},{n % 18 + 1},P,{'open,,,,yes' if n + 1 == dead else read}\n")
    plates.write_text(HEAD + "".join(rows), encoding="utf-8")
    return retap_of(read_job(job), plates, search)


def test_the_job_says_how_many_exchanges_and_what_each_must_gain(tmp_path: Path) -> None:
    asked: list[Question] = []

    def search(question: Question) -> Answer:
        asked.append(question)
        return best_taps(replace(question, rules=replace(question.rules, may_swap=False, spares=())))

    retapped(
        tmp_path, 'swap = true\nuse_spares = true\nmost_swaps = 3\nmost_spares = 0\nexchange_gain = "0.2 %"', search
    )
    rules = asked[-1].rules
    assert (rules.may_swap, rules.most_swaps, rules.most_spares, rules.worth) == (True, 3, 0, 0.002)
    assert [(spare.name, spare.current_a) for spare in rules.spares] == [("S1", 80.0)]


@pytest.mark.parametrize(
    ("keys", "says"),
    [
        ("most_swaps = 2", "says nothing without swap = true"),
        ("most_spares = 2", "says nothing without use_spares = true"),
        ('exchange_gain = "1 %"', "says nothing without swap = true or use_spares = true"),
        ('swap = true\nexchange_gain = "-1 %"', "below 0"),
        ("swap = true\nmost_swaps = -1", "out of range"),
    ],
)
def test_keys_that_say_nothing_or_nonsense_are_told(tmp_path: Path, keys: str, says: str) -> None:
    with pytest.raises(JobError) as refused:
        retapped(tmp_path, keys, best_taps)
    assert any(says in one.text() for one in refused.value.complaints())


def test_a_hasty_answer_says_how_much_better_the_best_may_be(tmp_path: Path) -> None:
    """Screen, finding and JSON say the same; the file keeps its schema."""
    result = retapped(tmp_path, 'swap = true\nuse_spares = true\nexchange_gain = "0.01 %"', searching(0.05))
    assert result.answer is not None and not result.answer.proved
    data = json.loads(json.dumps(retap_json(result), allow_nan=False))
    schema = json.loads((files("griddesign") / "papers" / "retap.schema.json").read_text(encoding="utf-8"))
    jsonschema.validate(data["proof"], schema["properties"]["proof"])
    assert data["proof"]["reached"] - data["proof"]["bound"] == pytest.approx(
        result.answer.reached - result.answer.bound
    )
    said = "\n".join(retap_lines(result))
    assert proof_words(result.answer) in said and "best found, at most" in said and "better possible" in said


def test_a_section_of_unlike_steps_is_one_by_the_schema() -> None:
    """Single plates and pairs between the same taps have no one number side by side."""
    one = TappedSection("A", 0, 3, 0.2, 0.001, (1, 2, 3, 4), (), None)
    schema = json.loads((files("griddesign") / "papers" / "retap.schema.json").read_text(encoding="utf-8"))
    jsonschema.validate(_section(one, (0.19, 0.21), None), schema["properties"]["sections"]["items"])


@pytest.mark.parametrize(("gap", "words"), [(0.0012345, "0.13"), (0.1, "10"), (0.00000512, "0.00052"), (0.0999, "10")])
def test_the_most_that_may_be_gained_is_rounded_up(gap: float, words: str) -> None:
    answer = Answer((), (), 0.2, 0.2 - gap, False)
    assert proof_words(answer) == f"best found, at most {words} % better possible"


def test_exchanges_are_counted_in_words() -> None:
    answer = Answer((), (), 0.2, 0.2, True, swaps=((1, 2),), spares=(("S", 4),), exchange_cost=0.01)
    assert exchange_words(answer) == "with 2 exchanges of plates, each worth 0.5 % or more"
    assert proof_words(answer) == "proved best"
    assert exchange_words(replace(answer, swaps=(), spares=())) == ""


def test_taps_alone_stand_where_exchanges_settle_further_off(tmp_path: Path) -> None:
    """A search whose answers with exchanges are worse (as heat can make them): they are not taken, and it is said."""

    def search(question: Question) -> Answer:
        plain = best_taps(replace(question, rules=replace(question.rules, may_swap=False, spares=())))
        return replace(plain, worst_error=plain.worst_error + 0.01) if question.rules.may_swap else plain

    result = retapped(tmp_path, "swap = true", search)
    assert result.answer is not None
    assert (result.answer.swaps, result.answer.proved) == ((), False)
    open_ones = [one for one in result.findings if one.item == "best taps, proved"]
    assert "none is made" in open_ones[0].why and open_ones[0].measure_next == ""


def test_no_tap_moves_tonight_where_none_may(tmp_path: Path) -> None:
    """``most_moves = 0``: the cables are short tonight as well."""
    free, held = (retapped(tmp_path, keys, searching(1.0), dead=45) for keys in ("most_moves = 1", "most_moves = 0"))
    assert any("and move" in option.name for option in free.options)
    assert not any("ove tap" in option.name for option in held.options)
    assert question_of(held.job, held.worked.wanted, held.found).rules.most_moves == 0
