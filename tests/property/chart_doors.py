"""Doors of what a controller's chart may make of a car: networks, faults, motors cut out, taps, exchanges, symptoms."""

import re
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import Any

from doors import HEAT_RUN, PLATES, SELDOM, Door, Fault, bare, example, prove_files, prove_json
from mangling import Change, changes, chart_changed, csv_changed, figures_changed, texts_changed, toml_changed

from griddesign.job.reading import read_job
from griddesign.job.records import Job

SLOW_SECONDS = 30
"""A network is run with a current of its own in every motor, at both ends of what is weak, and again for tonight."""
BETWEEN = b"\n%%% plates %%%\n"
AT = ("0 km/h", "5 km/h", "12 km/h", "40 km/h", "400 km/h", None)


def replaced(text: bytes, *changed: tuple[str, str]) -> bytes:
    """Each piece, which stands there once, in other words."""
    for was, now in changed:
        assert text.count(was.encode()) == 1, was
        text = text.replace(was.encode(), now.encode())
    return text


ARMATURE = (
    ('M1 = "motor 1 in"', 'M1 = "motor 1 armature 1"\nN1 = "motor 1 armature 2"\nN2 = "motor 1 field 1"'),
    ('M2 = "motor 1 out"', 'M2 = "motor 1 field 2"'),
    ('joined = [["M4", "G"]]', 'joined = [["M4", "G"], ["N1", "N2"]]\nfield_resistance = "0.15 ohm"'),
    ('S = "1.8 ohm" }', 'S = "1.8 ohm", W = "0.6 ohm" }'),
    ('S2 = "resistor S 2"', 'S2 = "resistor S 2"\nW1 = "resistor W 1"\nW2 = "resistor W 2"'),
)
BESIDE_ARMATURE = (*ARMATURE, ('["R4", "M1"]', '["R4", "M1", "W1"], ["N1", "W2"]'))
BESIDE_FIELD = (*ARMATURE, ('["T", "R3"], ["R4", "R6"]', '["N2", "W1"], ["M2", "W2"], ["T", "R3"], ["R4", "R6"]'))


@cache
def odd_jobs() -> tuple[bytes, ...]:
    """The odd controller: as it is; with a resistor beside an armature, beside a field; on plates with taps and a duty;
    with transitions, a motor cut out and unlike motors."""
    odd = b"\n".join(
        line for line in bare(example("odd-controller.toml")).split(b"\n") if not line.startswith(b"terminals")
    )
    armature, field = replaced(odd, *BESIDE_ARMATURE), replaced(odd, *BESIDE_FIELD)
    laid = tuple(on_plates(text) for text in (odd, armature))
    return (odd, armature, field, *laid, driven(odd), driven(armature))


COUNTS = {"A": 25, "B": 17, "C": 8, "D": 11, "E": 11}


def counted(job: bytes) -> bytes:
    """With counts of plates, which networks alone do not settle."""
    rows = [f'\n[[section]]\nname = "{name}"\nplates = {count}\nkind = "P"\n' for name, count in COUNTS.items()]
    return job[: job.index(b"[retap]")] + job[job.index(b"[duty]") :] + "".join(rows).encode()


def on_plates(odd: bytes) -> bytes:
    """With the plates, boxes, taps and duty of the other old controller."""
    old = bare(example("old-controller.toml"))
    tail = old[old.index(b"[[plate]]") :]
    odd = odd.replace(
        b'valley_current = "80 A"', b'valley_current = "75 A"'
    )  # of groupings alone the ladder allows no more
    end = b'"end of D" = "box 4, dot end"\n"start of E" = "box 4, dot end"'
    return odd + b"\n" + tail.replace(b'"D/E" = "box 4, dot end"', end)


def driven(odd: bytes) -> bytes:
    """By time, with transitions, unlike motors and all that seldom stands in a job."""
    each = b'\n[[motor.each]]\nwheel_diameter = "0.84 m"\n[[motor.each]]\nwheel_diameter = "0.82 m"\n'
    text = on_plates(odd).replace(b'"at valley current"', b'"within peak current"')
    text = text.replace(b'name = "5"\n', b'name = "5"\ntransition = { kind = "power off", seconds = "1.5 s" }\n')
    return text + each + b'resistance = "0.45 ohm"\n' + SELDOM[SELDOM.index(b"[scatter]") : SELDOM.index(b"[[sample]]")]


def job_in(raw: bytes, folder: Path) -> Job:
    (folder / "run.csv").write_bytes(HEAT_RUN)
    (folder / "job.toml").write_bytes(raw)
    return read_job(folder / "job.toml")


def chart_door(raw: bytes, folder: Path) -> str:
    """The chart by itself, read even where a notch cannot be run, on the screen and as JSON."""
    from griddesign.cli.chart_lines import chart_json, chart_lines, chart_turning
    from griddesign.job.contacts import chart_of_file
    from griddesign.judge.contacts import chart_now
    from griddesign.papers.as_json import text_of

    (folder / "job.toml").write_bytes(raw)
    chart = chart_of_file(folder / "job.toml")
    if chart is None:
        return "none"
    rows, found = chart_now(chart.read, chart.section_ohm), chart.read.contradictions
    at = AT[len(raw) % len(AT)]
    turning = chart_turning(chart.read, (chart.line, chart.car, chart.motor), chart.section_ohm, at)
    prove_json(text_of(chart_json(rows, found, turning)))
    return " ".join(chart_lines(rows, found, turning))[:90]


def start_door(raw: bytes, folder: Path) -> str:
    """A start through the notches, on the screen, as JSON, and for some of them the papers."""
    from griddesign.cli.start_lines import start_lines
    from griddesign.judge.start_result import start_of
    from griddesign.papers.as_json import text_of
    from griddesign.papers.start_json import start_json
    from griddesign.papers.start_set import start_files

    result = start_of(job_in(raw, folder))
    said = "\n".join(start_lines(result))
    prove_json(text_of(start_json(result)))
    if len(raw) % 3 == 0:
        prove_files(start_files(result))
    return f"{len(said) // 200} " + " ".join(finding.verdict for finding in result.findings)[:60]


def design_door(raw: bytes, folder: Path) -> str:
    """A whole set of papers of a car with networks."""
    from griddesign.judge.work import result_of
    from griddesign.papers.whole_set import files_of

    result = result_of(job_in(raw, folder))
    prove_files(files_of(result), "result.schema.json")
    return " ".join(finding.verdict for finding in result.findings)[:60]


def retap_door(raw: bytes, folder: Path) -> str:
    """New taps, exchanges and spares: job and plates in one text, parted by a line."""
    from griddesign.cli.retap_lines import retap_lines
    from griddesign.judge.retap import retap_of, searching
    from griddesign.papers.as_json import text_of
    from griddesign.papers.retap_json import retap_json
    from griddesign.papers.retap_set import retap_files

    job, _, plates = raw.partition(BETWEEN)
    (folder / "plates.csv").write_bytes(plates or example(PLATES))
    result = retap_of(job_in(job, folder), folder / "plates.csv", searching(0.3))
    list(retap_lines(result))
    prove_json(text_of(retap_json(result)), "retap.schema.json")
    if len(raw) % 3 == 0:
        prove_files(retap_files(result))
    return " ".join(finding.verdict for finding in result.findings)[:60]


def faults_door(raw: bytes, folder: Path) -> str:
    """Every single fault on today's taps, and what a symptom makes of them."""
    from griddesign.cli.chart_lines import chart_turning
    from griddesign.cli.chart_on_plates import _lines
    from griddesign.cli.fault_lines import fault_lines, symptom_fits
    from griddesign.judge.chart_now import chart_on_plates
    from griddesign.judge.faults.found import faults_on_plates
    from griddesign.papers.as_json import text_of
    from griddesign.papers.faults_json import faults_json

    job = job_in(raw, folder)
    (folder / "plates.csv").write_bytes(example(PLATES))
    found = chart_on_plates(job, folder / "plates.csv")
    turning = chart_turning(found.read, (job.line, job.car, job.motor), found.section_ohm, AT[len(raw) % len(AT)])
    list(_lines(found, turning))
    table = faults_on_plates(job, folder / "plates.csv")
    prove_json(text_of({"faults": faults_json(table)}))
    said = "".join(fault_lines(table))
    return f"{len(said) // 300} {len(symptom_fits(table, f'jerk {job.notches[0].name}'))}"


@cache
def _table(which: int) -> Any:
    """Faults of the old controller on its plates, or of the odd one."""
    from griddesign.judge.faults.found import faults_on_plates

    with TemporaryDirectory() as name:
        (Path(name) / "plates.csv").write_bytes(example(PLATES))
        text = (bare(example("old-controller.toml")), odd_jobs()[3])[which]
        return faults_on_plates(job_in(text, Path(name)), Path(name) / "plates.csv")


def symptom_door(raw: bytes, folder: Path) -> str:
    """What a driver says, against the faults of two controllers."""
    from griddesign.cli.fault_lines import symptom_fits, symptom_lines

    text = raw.decode("utf-8", "surrogateescape")
    fits = symptom_fits(_table(len(raw) % 2), text)
    if any(not 0 < fit.share <= 1 for fit in fits):
        raise Fault(f"{text!r}: {[fit.share for fit in fits]}")
    return f"{len(fits)} {len(list(symptom_lines(text, fits)))}"


def symptoms() -> list[bytes]:
    said = (
        "dead 1-3, jerk 4", "weak 5", "dead 1, jerk 2, sound 3-7", "dead 1-2, jerk 3, weak 5-6, jerk 7",
        "jerk 7, dead 6", "dead 1 to 3", "weak 1, dead 7", "dead 3-1", "sound 1-7",
    )  # fmt: skip
    return [text.encode() for text in said]


def exchanges() -> list[bytes]:
    """Jobs and plates where plates may change places or spares stand in."""
    keys = (
        'swap = true\nexchange_gain = "0.5 %"\nmost_swaps = 2',
        "use_spares = true\nmost_spares = 1",
        'swap = true\nuse_spares = true\nmost_swaps = 3\nmost_spares = 2\nexchange_gain = "0.2 %"',
    )
    jobs = (bare(example("retap.toml")), odd_jobs()[3], odd_jobs()[4])
    return [
        job.replace(b"[retap]", b"[retap]\n" + key.encode(), 1) + BETWEEN + example(PLATES)
        for job, key in zip(jobs, keys, strict=True)
    ] + [bare(example("old-controller.toml")) + BETWEEN + example(PLATES)]


def _split(of_job: Change, of_plates: Change) -> Change:
    """The job changed, or its plates."""

    def mangle(dice: Random, raw: bytes, others: Sequence[bytes]) -> bytes:
        job, between, plates = raw.partition(BETWEEN)
        if dice.random() < 0.7:
            job = of_job(dice, job, others)
        if dice.random() < 0.5:
            plates = of_plates(dice, plates, [other.partition(BETWEEN)[2] or other for other in others])
        return job + between + plates

    return mangle


def said_changed(dice: Random, raw: bytes, others: Sequence[bytes]) -> bytes:
    """A notch, a range of them or a word of what the driver says put in place of another, doubled or left out."""
    parts = re.split(rb"([ ,-])", raw)
    at, other = 2 * dice.randrange(len(parts) // 2 + 1), dice.choice(re.split(rb"[ ,-]", dice.choice(others)))
    match dice.randrange(4):
        case 0:
            parts[at] = other
        case 1:
            parts[at] = dice.choice(
                (b"1", b"3", b"7", b"8", b"0", b"dead", b"weak", b"jerk", b"sound", b"Dead", b"1-7", b"")
            )
        case 2:
            parts[at:at] = [other, dice.choice((b" ", b", ", b"-"))]
        case _:
            parts[at : at + 2] = []
    return b"".join(parts)


_DEEP = changes(chart_changed, figures_changed, figures_changed, texts_changed, blind=False)
CHART_DOORS = {
    "chart": Door(
        lambda: odd_jobs()[:3], changes(chart_changed, chart_changed, figures_changed, toml_changed), chart_door
    ),
    "symptom": Door(symptoms, changes(said_changed), symptom_door),
    "network-start": Door(odd_jobs, _DEEP, start_door, 500, True, SLOW_SECONDS),
    "network-faults": Door(lambda: odd_jobs()[3:5], _DEEP, faults_door, 300, deep=True),
    "network-design": Door(
        lambda: [counted(job) for job in odd_jobs()[3:]], _DEEP, design_door, 100, True, SLOW_SECONDS
    ),
    "exchanges": Door(
        exchanges,
        _split(
            changes(figures_changed, chart_changed, texts_changed, blind=False),
            changes(csv_changed, figures_changed, blind=False),
        ),
        retap_door,
        120,
        True,
        SLOW_SECONDS,
    ),
}
