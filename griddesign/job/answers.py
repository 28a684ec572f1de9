"""Plain questions about a job, and the starter with their answers put in: ``griddesign new FILE --ask``.

Who does not know says so: the key then holds a wide range, or stands as the starter had it where there is no range to
give, and either way says behind it that it is not known.
"""

import re
import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from griddesign import metals
from griddesign.errors import InputError, QuantityError
from griddesign.job.document import Document, Key, key_lines
from griddesign.job.letters import LETTERS, dotted
from griddesign.job.reading import build
from griddesign.job.starters import starter_text
from griddesign.units import read

MOST_QUESTIONS = 12
DONT_KNOW = frozenset({"", "?", "don't know", "dont know", "don’t know", "unknown", "not known", "no idea"})
NOT_KNOWN = "NOT KNOWN when asked"
_WORDS, _COUNT, _METAL = "words", "count", "metal"


@dataclass(frozen=True, slots=True)
class Question:
    """One question: the dotted ``key`` it fills (with the number of its table where there are several), what is asked,
    its ``kind`` (a kind of quantity, or words, count, metal), an example, and the range that "don't know" leaves."""

    key: str
    words: str
    kind: str
    example: str
    unknown: str = ""

    @property
    def letter(self) -> str:
        """Its letter on the measuring sheet, "" where it has none."""
        plain = re.sub(r"\.\d+\b", "", self.key)
        return next((one.letter for one in LETTERS if one.key == plain), "")


_TITLE = Question("title", "What shall the job be called?", _WORDS, "Starting grid, works car 7")
_METAL_OF = Question("plate.0.metal", "What metal are the plates? (griddesign metals lists them)", _METAL,
                     "grey_iron_class30")  # fmt: skip
_SHAPE = (
    Question("plate.0.shape.height", "How high is a plate over its return bends, without the eyes?", "length", "250 mm",
             "150 mm to 400 mm"),
    Question("plate.0.shape.passes", "How many straight runs of strip has it?", _COUNT, "13"),
    Question("plate.0.shape.strip_width", "How wide is the strip?", "length", "8 mm", "6 mm to 10 mm"),
    Question("plate.0.shape.pass_gap", "How wide is the gap between two runs?", "length", "7.2 mm", "5 mm to 9 mm"),
    Question("plate.0.shape.thickness", "How thick is the strip?", "length", "5 mm", "4 mm to 7 mm"),
)  # fmt: skip
_BOXES = (
    Question("boxes.boxes", "How many boxes are there, or is there room for?", _COUNT, "4"),
    Question("boxes.plates_per_box", "How many plates does a box hold?", _COUNT, "20"),
)
QUESTIONS: Mapping[str, tuple[Question, ...]] = {
    "plate": (
        _TITLE,
        _METAL_OF,
        *_SHAPE,
        Question("plate.0.shape.eye.diameter", "How large is the eye's ring?", "length", "28 mm", "26 mm to 30 mm"),
        Question("plate.0.shape.eye.hole", "How large is its hole?", "length", "14 mm", "12 mm to 16 mm"),
        Question("plate.0.shape.eye.reach", "How far is the hole's centre from the plate's edge?", "length", "22 mm",
                 "20 mm to 24 mm"),
    ),
    "retap": (
        _TITLE,
        _METAL_OF,
        *_BOXES,
        Question("plate.0.measured", "How many ohms has one sound plate, cold?", "resistance", "0.066 ohm",
                 "0.05 ohm to 0.08 ohm"),
        Question("notch.0.wanted", "How many ohms should the first notch have, cold?", "resistance", "3.2 ohm",
                 "2.8 ohm to 3.6 ohm"),
        Question("notch.1.wanted", "And the second?", "resistance", "1.7 ohm", "1.5 ohm to 1.9 ohm"),
        Question("notch.2.wanted", "And the third?", "resistance", "0.67 ohm", "0.6 ohm to 0.74 ohm"),
        Question("limits.notch_tolerance", "How far may a notch be off?", "fraction", "5 %"),
    ),
    "car": (
        _TITLE,
        Question("line.nominal", "What is the line voltage?", "voltage", "600 V", "500 V to 600 V"),
        Question("line.highest", "What is the highest it has ever been?", "voltage", "690 V", "660 V to 720 V"),
        Question("car.mass", "What does the car weigh as it runs?", "mass", "14 t", "10 t to 20 t"),
        Question("car.wheel_diameter", "How large is a wheel over its tread?", "length", "33 in", "30 in to 34 in"),
        Question("car.gear_ratio", "What is the gear ratio, wheel teeth over pinion teeth?", "number", "4", "3.5 to 5"),
        Question("motor.count", "How many motors has it?", _COUNT, "2"),
        Question("motor.nameplate.power", "What power does the plate of one motor say?", "power", "25 kW"),
        Question("motor.nameplate.voltage", "What voltage does it say?", "voltage", "550 V"),
        Question("motor.nameplate.current", "What current does it say?", "current", "53 A"),
        Question("start.peak_current", "How many amperes may one motor draw in starting?", "current", "130 A",
                 "about 130 A"),
        Question("duty.start_every", "How often does the car start?", "time", "120 s", "90 s to 150 s"),
    ),
    "claim": (_TITLE, _METAL_OF, *_SHAPE, *_BOXES),
}  # fmt: skip

Answers = Mapping[str, str | None]
"""Key of a question -> its answer as given, None for "don't know"."""


def answer_of(question: Question, said: str) -> str | None:
    """What an answer comes to: the text for the job file, None for "don't know".

    Raises QuantityError, TableError or InputError where it is no answer to the question.
    """
    words = said.strip()
    if words.lower() in DONT_KNOW:
        return None
    if any(ord(sign) < 32 for sign in words) or len(words) > 200:
        raise InputError("that cannot be written into a job file", hint="Up to 200 letters and figures, on one line.")
    if question.kind == _COUNT:
        return _whole(words)
    if question.kind == _METAL:
        return metals.metal(words).key
    if question.kind != _WORDS and not read(words, question.kind).value > 0.0:
        raise QuantityError(f"{words} cannot be", hint="It must be above zero.")
    return words


def _whole(words: str) -> str:
    if not re.fullmatch(r"[1-9][0-9]{0,3}", words):
        raise QuantityError(f"{words} is no count", hint="Write a whole number, 1 or more.")
    return words


def job_text(purpose: str, answers: Answers) -> str:
    """The starter with the answers in it. Raises JobError where they do not go together."""
    text = starter_text(purpose)
    if purpose == "car":
        text = _with_nameplate(text, answers)
    if purpose == "retap":
        text = _without_taps(text)
    for question in QUESTIONS[purpose]:
        text = _put(text, question, answers.get(question.key))
    text = _with_what_follows(text, answers)
    build(Document(Path("the answers"), tomllib.loads(text), dict(key_lines(text))))
    return text


def _put(text: str, question: Question, answer: str | None) -> str:
    """One answer in its place; a key that the text no longer holds is passed over."""
    wanted = tuple(int(part) if part.isdigit() else part for part in question.key.split("."))
    line = next((number for key, number in key_lines(text) if key == wanted), None)
    if line is None or question.key.startswith("motor.nameplate"):  # that stands in one line, put in as a whole
        return text
    if answer is not None:
        return _with_value(text, line, answer if question.kind == _COUNT else quoted(answer))
    value = quoted(question.unknown) if question.unknown else None
    return _with_value(text, line, value, NOT_KNOWN)


_LINE = re.compile(r"""^(\s*[\w.-]+\s*=\s*)("[^"]*"|'[^']*'|[^#"']*?)(\s*(?:#.*)?)$""")


def _with_value(text: str, line: int, value: str | None, remark: str = "") -> str:
    """The text with another value on a line (None: the old one), and a remark first in the comment behind it."""
    lines = text.split("\n")
    found = _LINE.match(lines[line - 1])
    assert found is not None, lines[line - 1]
    comment = found[3].strip().lstrip("# ")
    words = "; ".join(word for word in (remark, comment) if word)
    lines[line - 1] = f"{found[1]}{found[2] if value is None else value}{f'   # {words}' if words else ''}"
    return "\n".join(lines)


def quoted(words: str) -> str:
    """A TOML string, whatever is in the words."""
    plain = words.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{plain}"'


# --- what one answer does to others ----------------------------------------------------------------------------------


def _with_nameplate(text: str, answers: Answers) -> str:
    """The motor by its nameplate, where all three figures of it are known; else by the starter's invented curve."""
    plate = {name: answers.get(f"motor.nameplate.{name}") for name in ("power", "voltage", "current")}
    if any(value is None for value in plate.values()):
        return text
    inner = ", ".join(f"{name} = {quoted(str(value))}" for name, value in plate.items())
    without = _without(text, lambda key: key[:2] in (("motor", "magnetisation"), ("motor", "resistance")))
    return without.replace("[motor]", f"[motor]\nnameplate = {{ {inner} }}   # (h, k, m) as its plate says", 1)


def _without_taps(text: str) -> str:
    """The starter's invented taps fit its invented boxes alone."""
    return _without(text, lambda key: key[:2] == ("retap", "taps"))


def _without(text: str, gone: Callable[[Key], bool]) -> str:
    """The text without the lines of some keys."""
    lines = {line for key, line in key_lines(text) if gone(key)}
    return "\n".join(line for number, line in enumerate(text.split("\n"), start=1) if number not in lines)


FIRST_OF_PEAK = 0.85
"""Ours, no source: where nobody knows better the first notch is given this share of the peak; the file says so."""


def _with_what_follows(text: str, answers: Answers) -> str:
    """What follows from an answer and was not asked for: where the eyes are, the current of the first notch."""
    passes, peak = answers.get("plate.0.shape.passes"), answers.get("start.peak_current")
    metal = answers.get("plate.0.metal")
    places = {dotted(key): line for key, line in key_lines(text)}
    if passes is not None and "plate.shape.eyes" in places:
        eyes = "opposite edges" if int(passes) % 2 else "one edge"
        text = _with_value(text, places["plate.shape.eyes"], quoted(eyes))
    if peak is not None and "start.first_notch_current" in places:
        first = f"about {FIRST_OF_PEAK * read(peak, 'current').value:.3g} A"
        text = _with_value(text, places["start.first_notch_current"], quoted(first), "NOT ASKED: 85 % of the peak")
    if metal is not None and not metals.metal(metal).castable and "plate.made_by" in places:
        text = _with_value(text, places["plate.made_by"], quoted("laser"), "NOT ASKED: this metal is not cast")
    return text


def asked_again(purpose: str, keys: Iterable[str]) -> tuple[Question, ...]:
    """The questions that complaints about ``keys`` of the file speak of: those of the same table, else all."""
    tables = {key.split(".")[0] for key in keys if key}
    found = tuple(one for one in QUESTIONS[purpose] if one.key.split(".")[0] in tables)
    return found or QUESTIONS[purpose]
