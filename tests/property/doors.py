"""Every door by which something strange comes in, with valid inputs, how they are changed, and what stands behind."""

import contextlib
import io
import json
import os
import re
import signal
import tempfile
import warnings
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, partial
from hashlib import sha256
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

from mangling import (
    Change,
    bytes_changed,
    changes,
    csv_changed,
    dxf_changed,
    figures_changed,
    json_changed,
    texts_changed,
    toml_changed,
    words_changed,
)

import griddesign
from griddesign.errors import GriddesignError
from griddesign.job.claim import read_claim
from griddesign.job.inspected import read_inspection
from griddesign.job.plates_reading import read_plates_at_hand
from griddesign.job.reading import read_job
from griddesign.job.readings import read_plates_csv
from griddesign.job.records import Job
from griddesign.job.starters import PURPOSES, offer_text, starter_text
from griddesign.papers.issue import RECORD, issue
from griddesign.papers.whole_folder import MARK
from griddesign.plate.foreign import read_dxf
from griddesign.shipped import examples_folder
from griddesign.units import KINDS, read, read_at

SECONDS, MOST_SECONDS = 10, 120
"""Of the processor for one input, and on the clock, however busy the machine is."""
INPUTS = 20_000
READ = "read: "


class Fault(Exception):  # noqa: N818 - what the run is after, not an error of its own
    """Something a door must never let happen."""


@dataclass(frozen=True)
class Door:
    """Where something comes in: valid inputs, how they are changed, and what stands behind. ``enter`` may raise the
    project's own errors and returns a word for what it read."""

    seeds: Callable[[], Sequence[bytes]]
    mangle: Change
    enter: Callable[[bytes, Path], str]
    inputs: int = INPUTS
    deep: bool = False  # what lies behind the reading: only what is read is changed further
    seconds: int = SECONDS


def sent_through(door: Door, raw: bytes) -> str:
    """What came of one input, in a word; raises Fault, or whatever got out."""
    with tempfile.TemporaryDirectory() as name, _in_time(door.seconds), warnings.catch_warnings():
        warnings.simplefilter("error", RuntimeWarning)  # the user would see it in the middle of the answer
        try:
            return READ + door.enter(raw, Path(name))
        except GriddesignError as error:
            said = [complaint.text() for complaint in error.complaints()]
            bare = [complaint for complaint in error.complaints() if not complaint.message]
            broken = [text for text in said if not text.replace("\u00a0", " ").isprintable() or len(text) > 1100]
            if bare or broken or not said or error.exit_code != 2:
                raise Fault(f"a poor complaint: {bare or broken or said}"[:500]) from error
            return re.sub(r"[\"'].*?[\"']|\d+|" + re.escape(name), "", " ".join(said))[:300]


@contextlib.contextmanager
def _in_time(seconds: int) -> Iterator[None]:
    """Stop what takes longer, where the system has such timers."""

    def late(*_: object) -> None:
        raise Fault(f"more than {seconds} s of the processor, or {MOST_SECONDS} s")

    timers = ((signal.ITIMER_PROF, signal.SIGPROF, seconds), (signal.ITIMER_REAL, signal.SIGALRM, MOST_SECONDS))
    before = [(which, signal.signal(which, late)) for _, which, _ in timers]
    for timer, _, most in timers:
        signal.setitimer(timer, most)
    try:
        yield
    finally:
        for timer, _, _ in timers:
            signal.setitimer(timer, 0)
        for which, handler in before:
            signal.signal(which, handler)


@cache
def example(name: str) -> bytes:
    return (examples_folder() / name).read_bytes()


@cache
def example_job(name: str = "demo.toml") -> Job:
    return read_job(examples_folder() / name)


SELDOM = b"""
[braking]
begin_speed = "18 km/h"
peak_current = "130 A"
motors = "parallel"
sharing = "cross-connected fields"
field_reversed = true
hill = { gradient = "5 %", length = "900 m", notch = "B1" }
[[braking.notch]]
name = "B1"
circuit = ["C", "D", "E"]
[scatter]
batch = "3 %"
plates_per_batch = 40
line = "500 V to 600 V"
load = "0 t to 4 t"
driver = "10 %"
[[sample]]
plate = "P"
ohm = "0.0692 ohm at 22 degC"
thickness = "5.1 mm"
[metal.copper]
resistivity = { value = "1.7 uohm cm to 1.8 uohm cm", source = "own" }
[papers]
sheet = "Letter"
owner = "works"
"""
HEAT_RUN = (
    b"time (min),temperature (degC),current (A),ambient (degC)\n0,21,40,21\n10,100,40,21\n20,150,0,22\n40,90,0,21"
)
FIRST_OFFS = (
    b"plate;ohm (mohm);temperature (degC);thickness (mm);mass (kg);remarks\nP-1;71,2;24,5;4,92;1,05;first off\n",
    b"plate,ampere,millivolt,mV reversed,temperature (degC)\nP,20,1384,-1379,22\nP-2,20,1390,1380,22 degC\n",
)
FORM = (
    b"item,box,position,kind,section,from,to,ohm,method,temperature (degC),test voltage (V),insulation (Mohm),stood\n"
    b'plate,1,1,P,,,,70.5 mohm,four-wire,20,,,\nbox,1,,,,"box 1, 0","box 1, 20",1.41,volt-drop,20,,,\n'
    b'section,,,,A,"box 1, 0","box 2, 6",1.85,four-wire,20,,,\ninsulation,1,,,,,,,,,1500 V,200,yes\n'
)


BOXES = b"""
[boxes]
boxes = 1
plates_per_box = 20
plate_gap = "12 mm"
"""


def job_door(raw: bytes, folder: Path) -> str:
    (folder / "run.csv").write_bytes(HEAT_RUN)
    (folder / "job.toml").write_bytes(raw)
    return f"{len(read_job(folder / 'job.toml').figures) // 8}"


def heat_run_door(raw: bytes, folder: Path) -> str:
    table = b'\n[calibration]\nheat_run = "run.csv"\nsection = "A"\n'
    (folder / "run.csv").write_bytes(raw)
    (folder / "job.toml").write_bytes(PLATE_JOB + BOXES + table)
    run = read_job(folder / "job.toml").calibration
    return str(run and len(run.readings))


def claim_door(raw: bytes, folder: Path) -> str:
    (folder / "offered-plate.dxf").write_bytes(b"")
    (folder / "claim.toml").write_bytes(raw)
    return f"{len(read_claim(folder / 'claim.toml', example_job()).figures) // 4}"


def plates_door(raw: bytes, folder: Path) -> str:
    from griddesign.found.as_found import as_found

    (folder / "plates.csv").write_bytes(raw)
    read = read_plates_at_hand(folder / "plates.csv", {"A/B": 26, "start of A": 0})
    return f"{len(read.readings) // 8} {len(as_found(example_job('retap.toml'), read).plates.plates) // 8}"


def first_off_door(raw: bytes, folder: Path) -> str:
    (folder / "first.csv").write_bytes(raw)
    return f"{len(read_plates_csv(folder / 'first.csv').plates)}"


def readings_door(raw: bytes, folder: Path) -> str:
    (folder / "readings.csv").write_bytes(raw)
    return f"{len(read_inspection(folder / 'readings.csv').rows)}"


def dxf_door(raw: bytes, folder: Path) -> str:
    (folder / "plate.dxf").write_bytes(raw)
    areas = 2 if b"ELLIPSE" in raw else 0  # its holes are more than two: no terminals among them
    plate = read_dxf(folder / "plate.dxf", units="mm", areas=areas)
    return f"{len(plate.holes)} {len(plate.healed)} {len(plate.strays)} {len(plate.doubled)} {plate.curves}"


def units_door(raw: bytes, folder: Path) -> str:
    text = raw.decode("utf-8", "surrogateescape")
    kind, _, words = text.partition("|")
    found = read(words, kind if kind in KINDS else "length")
    read_at(words, kind if kind in KINDS else "length")
    if not found.low <= found.value <= found.high:
        raise Fault(f"{words!r}: {found}")
    return f"{found.approximate} {found.value < 1}"


@cache
def plate_result() -> Any:
    from griddesign.judge.work import result_of

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.toml"
        path.write_text(starter_text("plate").replace('revision = "draft"', 'revision = "A"'), encoding="utf-8")
        return result_of(read_job(path))


WRITTEN = {"all.pdf": sha256(b"old").hexdigest(), "../../../x": sha256(b"not to be touched").hexdigest()}


def record_door(raw: bytes, folder: Path, name: str = RECORD) -> str:
    """What an earlier run has left in the folder of a set, as anybody may have changed it."""
    own = folder / "out" / "job" / plate_result().job.revision
    own.mkdir(parents=True)
    (own / name).write_bytes(raw)
    (own / "all.pdf").write_bytes(b"old")
    (folder / "x").write_bytes(b"not to be touched")
    try:
        issue(plate_result(), {"all.pdf": b"new", "bench/y.csv": b"y"}, folder / "out")
    finally:
        if (folder / "x").read_bytes() != b"not to be touched":
            raise Fault("a file outside the folder was touched")
    return "issued"


COMMANDS = (
    "metals|copper|--json", "metals", "--version", "-h", "new|a.toml|--for|retap|--paper|Letter|--force", "wanted|job",
    "plate|plate|--metal|ss304|--ohms|0.07 ohm|--free|passes|--sheet|3 mm|--out|out", "plate|plate|--json|--name|P",
    "plate|plate|--kerf|0.2 mm|--nest|2500 mm x 1250 mm, web 6 mm, passes along|--out|out|--force",
    "plate|plate|--measured|first.csv|--current|60 A|--made-by|laser", "design|plate|--out|out|--sheets|plate,tap",
    "design|plate|--field|--kerf|0.2 mm|--json", "retap|plate|plates.csv|--time-limit|1 s|--symptom|dead 1-3, jerk 4",
    "plate|plate.dxf|--metal|copper|--thickness|8 mm|--units|mm|--terminal|H1|--terminal|H2|--washer|20 mm|--heal|1 mm",
    "plate|plate.dxf|--metal|copper|--thickness|8 mm|--clamp|0 mm, 0 mm, 9 mm, 9 mm|--bracket|5 %|--crowding|3|-v",
    "verify|plate|claim.toml|--out|out", "verify|plate|first.csv", "start|plate|--samples|5|--seed|1", "-q|wanted|plate"
)  # fmt: skip


def command_door(raw: bytes, folder: Path) -> str:
    """Command words, in a folder with a few files; nothing may be written but in it."""
    from griddesign.cli import OWN_FAULT, _run

    given = {"plate": starter_text("plate").encode(), "first.csv": FIRST_OFFS[0], "plates.csv": example(PLATES)}
    given |= {"claim.toml": offer_text().encode(), "plate.dxf": example("offered-plate.dxf")}
    home = folder / "home" / "here"
    home.mkdir(parents=True)
    for name, content in given.items():
        (home / name).write_bytes(content)
    words = [os.fsdecode(word) for word in raw.split(b"\0")]
    if any(word in {"design", "desig"} for word in words) and not any("plate" in word for word in words):
        return "the demo, not here"
    sink = io.TextIOWrapper(io.BytesIO(), encoding="cp1252", errors="replace")
    with contextlib.chdir(home), contextlib.redirect_stdout(sink), contextlib.redirect_stderr(sink):
        code = _run(words, None)
    sink.flush()
    said = sink.buffer.getvalue().decode("cp1252", "replace")  # type: ignore[attr-defined]
    if code == OWN_FAULT or code not in (0, 1, 2) or "Traceback" in said:
        raise Fault(f"exit {code}: {said[-300:]}")
    if sorted(path.name for path in folder.iterdir()) != ["home"] or len(list((folder / "home").iterdir())) != 1:
        raise Fault("something was written outside")
    return f"{code} {re.sub(r'[^a-z ]+', '', said)[:60]}"


PLATE_JOB = (
    re.sub(r"(?m)^(?:#|example).*$", "", starter_text("plate"))
    + '[papers]\nowner = "works"\ndrawn_by = "d"\napproved_by = "a"\nunits = "mm"\nsheet = "A4"\n'
    + '[metal.grey_iron_class30]\nresistivity = { value = "85 uohm cm", source = "own test" }\n'
).encode()


def papers_door(raw: bytes, folder: Path) -> str:
    """All papers of a job: nothing of its texts may become markup in them, nor break their form."""
    from griddesign.judge.work import result_of
    from griddesign.papers.whole_set import files_of

    (folder / "job.toml").write_bytes(raw)
    files = files_of(result_of(read_job(folder / "job.toml")))
    prove_files(files, "result.schema.json")
    return f"{len(files)} files"


def prove_files(files: Mapping[str, bytes], schema: str | None = None) -> None:
    """Names that are no trick, contents that another library reads and that do nothing."""
    for name, content in files.items():
        if not re.fullmatch(r"(?:[a-z]+/)?[A-Za-z0-9.+_-]{1,120}", name):
            raise Fault(f"a poor name: {name!r}")
        if name.endswith(".json"):
            prove_json(content, schema)
        else:
            _PROOFS.get(Path(name).suffix, len)(content)


def _prove_html(content: bytes) -> None:
    """Well-formed, nothing in it that runs or leads away."""
    for element in ElementTree.fromstring(content.decode().replace("<!DOCTYPE html>", "", 1)).iter():
        bad = [name for name in element.attrib if name.lower().startswith("on") or "href" in name.lower()]
        if element.tag in {"script", "iframe", "object", "img", "link", "form"}:
            raise Fault(f"HTML holds {element.tag}")
        if any(not element.attrib[name].startswith("#") for name in bad):
            raise Fault(f"HTML holds {element.attrib}")


def _prove_pdf(content: bytes) -> None:
    """One that another library reads, without a script or a link out of it."""
    from pypdf import PdfReader

    reader = PdfReader(io.BytesIO(content), strict=True)
    words = "".join(page.extract_text() for page in reader.pages)
    objects = [found for number in reader.xref[0] if (found := reader.get_object(number))]
    bad = [
        one for one in objects if isinstance(one, dict) and {"/JS", "/JavaScript", "/URI", "/Launch", "/AA"} & set(one)
    ]
    if bad or "griddesign" not in str(reader.metadata) or not words:
        raise Fault(f"PDF holds {bad}")


def _prove_dxf(content: bytes) -> None:
    """One that the drawing library finds nothing to mend in."""
    from griddesign.papers.dxf_library import read_dxf as read_back

    auditor = read_back(content).audit()
    if auditor.errors or auditor.fixes:
        raise Fault(f"DXF with faults: {[one.message for one in (*auditor.errors, *auditor.fixes)][:3]}")


def prove_json(content: bytes | str, schema: str | None = None) -> None:
    """One object of numbers that JSON has, by the schema where there is one."""

    def refuse(word: str) -> None:
        raise Fault(f"JSON holds {word}")

    found = json.loads(content, parse_constant=refuse)
    if schema:
        import jsonschema

        jsonschema.validate(found, json.loads((PACKAGE / "papers" / schema).read_text(encoding="utf-8")))


PACKAGE = Path(griddesign.__file__).parent
_PROOFS: dict[str, Callable[[bytes], object]] = {
    ".html": _prove_html, ".pdf": _prove_pdf, ".dxf": _prove_dxf,
}  # fmt: skip


def whole_job_door(raw: bytes, folder: Path) -> str:
    """The result of a job that is read, and the answer of the command."""
    from griddesign.judge.work import result_of
    from griddesign.papers.as_json import result_json, text_of

    (folder / "run.csv").write_bytes(HEAT_RUN)
    (folder / "job.toml").write_bytes(raw)
    result = result_of(read_job(folder / "job.toml"))
    prove_json(text_of(result_json(result)), "result.schema.json")
    return " ".join(finding.verdict for finding in result.findings)[:60]


def whole_claim_door(raw: bytes, folder: Path) -> str:
    """The verdict on a claim that is read."""
    from griddesign.papers.as_json import text_of
    from griddesign.papers.verify_json import verify_json
    from griddesign.verify.claim import verify_claim

    (folder / "offered-plate.dxf").write_bytes(example("offered-plate.dxf"))
    (folder / "claim.toml").write_bytes(raw)
    found = verify_claim(example_job(), read_claim(folder / "claim.toml", example_job()))
    json.loads(text_of(verify_json(found)))
    return " ".join(finding.verdict for finding in found.findings)[:60]


def whole_retap_door(raw: bytes, folder: Path) -> str:
    """New taps on plates that are read."""
    from griddesign.judge.retap import retap_of, searching
    from griddesign.papers.as_json import text_of
    from griddesign.papers.retap_json import retap_json

    (folder / "plates.csv").write_bytes(raw)
    found = retap_of(example_job("retap.toml"), folder / "plates.csv", searching(0.3))
    json.loads(text_of(retap_json(found)))
    return " ".join(finding.verdict for finding in found.findings)[:60]


def solve_door(raw: bytes, folder: Path) -> str:
    """The ohms of a drawing that is read: a bracket, never a number outside it."""
    from griddesign.figures import Figure, Status
    from griddesign.metals import metal
    from griddesign.plate.outlined import solve_outline

    (folder / "plate.dxf").write_bytes(raw)
    plate = read_dxf(folder / "plate.dxf", units="mm")
    if len(plate.terminals) != 2:
        return "no terminals"
    figures = solve_outline(
        plate.outline, metal("copper"), Figure.exact(0.008, Status.GIVEN, "", "8 mm"), bracket=0.05
    ).figures
    if not 0 < figures.low_ohm <= figures.cold_ohm <= figures.high_ohm:
        raise Fault(f"{figures.low_ohm} {figures.cold_ohm} {figures.high_ohm}")
    return f"{figures.cold_ohm:.0e}"


def bare(raw: bytes) -> bytes:
    """A file without its remarks."""
    return re.sub(rb"(?m)\s*#[^\n\"]*$|^#.*$", b"", raw)


def jobs() -> list[bytes]:
    shipped = [example(name) for name in ("demo.toml", "retap.toml", "old-controller.toml")]
    return [*shipped, example("demo.toml") + SELDOM, *(starter_text(purpose).encode() for purpose in PURPOSES)]


PLATES = "retap-plates.csv"


def drawings(form: str) -> list[bytes]:
    """Drawings of every kind of line, written by the drawing library: ASCII or binary."""
    from griddesign.papers.dxf_library import library

    made = [example("offered-plate.dxf")] if form == "asc" else []
    for release in ("R12", "R2010"):
        drawing = library().new(release)
        space, block = drawing.modelspace(), drawing.blocks.new("EYE")
        block.add_circle((0, 0), 4)
        for x in (15, 45):
            space.add_blockref("EYE", (x, 30), dxfattribs={"xscale": -1})
        space.add_line((0, 0), (60, 0))
        space.add_arc((60, 30), 30, -90, 90)
        curved = release == "R2010"
        rest = [(60, 60, 0), (30, 60, 0), (0, 60, 0), (0, 40, 0.3), (0, 20, 0), (0, 0, 0)]
        if curved:
            space.add_lwpolyline(rest, format="xyb")
            space.add_ellipse((30, 12), (6, 0), 0.5)
            space.add_open_spline([(20, 45), (25, 50), (35, 50), (40, 45)])
            space.add_line((40, 45), (20, 45))
        else:
            space.add_polyline2d(rest, format="xyb")
        space.add_text("8 off")
        sink: Any = io.StringIO() if form == "asc" else io.BytesIO()
        drawing.write(sink, fmt=form)
        made.append(sink.getvalue().encode() if form == "asc" else sink.getvalue())
    return made


def texts() -> list[bytes]:
    words = (
        "12.5 mm", "7 1/4 in", "3 ft 6 in", "3' 6 1/2\"", "about 14 t", "12 t to 16 t", "12 to 16 t", "1 in 40", "5 %",
        "0.42 ohm at 75 degC", "92 µΩ·cm", "1.2e-3 m", "7½ in", "45 N/t", "0.9 N/t per km/h", "600 rpm", "20 degC",
        "-2 %", "125 uohm cm", "450 J/(kg K)", "2 h", "28 km/h", "1500 V", "20 N m", "0.0045 /K",
    )  # fmt: skip
    return [f"{kind}|{word}".encode() for kind in KINDS for word in words]


DOORS = {
    "job": Door(jobs, changes(toml_changed), job_door),
    "claim": Door(lambda: [example("claim.toml"), offer_text().encode()], changes(toml_changed), claim_door),
    "plates": Door(lambda: [example(PLATES)], changes(csv_changed), plates_door),
    "first-off": Door(lambda: FIRST_OFFS, changes(csv_changed), first_off_door),
    "readings": Door(lambda: [FORM, example(PLATES)], changes(csv_changed), readings_door),
    "heat-run": Door(lambda: [HEAT_RUN], changes(csv_changed), heat_run_door),
    "dxf": Door(lambda: drawings("asc"), changes(dxf_changed), dxf_door),
    "binary-dxf": Door(lambda: drawings("bin"), changes(bytes_changed), dxf_door),
    "units": Door(texts, changes(bytes_changed), units_door),
    "record": Door(
        lambda: [json.dumps({"fingerprint": plate_result().fingerprint, "files": WRITTEN}).encode()],
        changes(json_changed),
        record_door,
    ),
    "mark": Door(
        lambda: ["".join(f"{digest}  {name}\n" for name, digest in WRITTEN.items()).encode()],
        changes(bytes_changed),
        partial(record_door, name=MARK),
        2000,
    ),
    "papers": Door(lambda: [PLATE_JOB], changes(texts_changed, blind=False), papers_door, 200, deep=True),
    "whole-job": Door(
        lambda: [bare(raw) for raw in jobs()], changes(figures_changed, blind=False), whole_job_door, 400, deep=True
    ),
    "whole-claim": Door(
        lambda: [bare(example("claim.toml"))], changes(figures_changed, blind=False), whole_claim_door, 500, deep=True
    ),
    "whole-retap": Door(
        lambda: [example(PLATES)], changes(csv_changed, figures_changed, blind=False), whole_retap_door, 80, deep=True
    ),
    "solve": Door(lambda: drawings("asc"), changes(dxf_changed, blind=False), solve_door, 600, deep=True),
    "command": Door(lambda: [line.replace("|", "\0").encode() for line in COMMANDS], words_changed, command_door, 5000),
}
