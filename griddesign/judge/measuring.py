"""What to measure next: the unknowns of a job ranked by what they do, and the measurement that settles each."""

from collections.abc import Iterable, Iterator, Mapping

from griddesign.figures import Figure, Status
from griddesign.heat.cooling import LOSS_BAND
from griddesign.heat.lumps import AS_GIVEN, End
from griddesign.job.records import Job
from griddesign.judge.finding import Finding, Unknown, Verdict
from griddesign.judge.runup import StartCase, Starter

# Ranges by nature, not by ignorance: the duty's ambient, a width that may be ordered, what a shop keeps, scatter.
NO_UNKNOWNS = ("duty.ambient.", ".may_vary.", ".making.", "scatter.", "samples.")
LEAST_ROOM_K = 10.0  # our own: less room counts as this
LOSS = "loss model"
_METAL_ENDS: tuple[tuple[str, str], ...] = (
    ("alpha20", "temperature coefficient"),
    ("emissivity", "emissivity"),
    ("specific_heat_20", "specific heat"),
)
_ADVICE = {
    "curve_shape": "Run one motor at two or three currents and note volts, amperes and speed: [motor.magnetisation].",
    "nameplate": "Look for the motor's test sheet, or run it at its rated current and note volts and speed.",
    "motor.resistance": "Measure one motor from terminal to terminal, four-wire, and note the winding's temperature.",
    "car.mass": "Weigh the car, empty and loaded.",
    "wheel_diameter": "Measure the wheels at the tread.",
    "gear_ratio": "Count the teeth of pinion and wheel.",
    "running_resistance": "Let the car coast on the level and time its speed.",
    "feeder_resistance": "Measure the volts at the car with and without a known current.",
    "line.": "Read the voltage at the car over some days of work.",
    "alpha20": "Measure a plate cold and hot, four-wire, and note the metal's temperature.",
    "resistivity": "Measure a plate of the lot, four-wire, cold.",
    "emissivity": "Take the bank's temperatures over a worked day or a heat run.",
    LOSS: "Take the bank's temperatures over a worked day or a heat run.",
    "specific_heat": "Weigh a plate and time its first minute of warming at a known current.",
    "braking.begin_speed": "Ride along and read the speed at which the brake is put on.",
    "braking.hill": "Level the hill and pace its length.",
    "residual_emf": "Turn a motor without current at the speed of its curve and note the volts.",
    "duty.": "Time the starts of a worked day.",
    "shape": "Measure a plate with a gauge.",
    "boxes.plate_gap": "Measure the gap between plates.",
}


def advice(key: str) -> str:
    """The measurement that settles a figure, by the first word of the list that its key holds."""
    return next((what for word, what in _ADVICE.items() if word in key), f"Settle {key}.")


def weak_keys(job: Job) -> Iterator[str]:
    """Keys of the job's figures that have two ends because nobody knows better."""
    for key, figure in job.figures.items():
        if figure.low != figure.high and not any(word in f"{key}." for word in NO_UNKNOWNS):
            yield key


def metal_ends(job: Job) -> dict[str, tuple[str, tuple[End, End]]]:
    """What the tables of the job's metals and the loss model leave open: key to its words and its two ends.

    A figure the job itself gives is not among them: it is one of ``weak_keys``, or sure. All metals of the job go to
    the same end together.
    """
    metals = {plate.metal.key: plate.metal for plate in job.plates}
    found: dict[str, tuple[str, tuple[End, End]]] = {}
    for name, words in _METAL_ENDS:
        open_here = {
            key: figure
            for key, metal in metals.items()
            if (figure := getattr(metal, name)).low != figure.high and f"metal.{key}.{name}" not in job.figures
        }
        if open_here:
            where = f"metal.{next(iter(open_here))}.{name}" if len(open_here) == 1 else f"metals.{name}"
            found[where] = _said(words, open_here), _both(name)
    if metals:
        low, high = End(LOSS, loss=1.0 - LOSS_BAND), End(LOSS, loss=1.0 + LOSS_BAND)
        found[LOSS] = f"heat a plate gives off, known to ±{100 * LOSS_BAND:.0f} %", (low, high)
    return found


def metal_cases(ready: Starter) -> tuple[StartCase, ...]:
    """As given and each end of ``metal_ends``, at the highest voltage and in the hottest ambient."""
    last = ready.cases[-1]
    ends = (AS_GIVEN, *(end for _, both in metal_ends(ready.job).values() for end in both))
    return tuple(StartCase(last.line_v, last.ambient_c, end) for end in ends)


def _said(words: str, figures: Mapping[str, Figure]) -> str:
    ranges = {key: f"{figure.low:.3g} to {figure.high:.3g}, {figure.status}" for key, figure in figures.items()}
    if len(ranges) == 1:
        return f"{words} {next(iter(ranges.values()))}"
    return f"{words}: {'; '.join(f'{key} {known}' for key, known in ranges.items())}"


def _both(name: str) -> tuple[End, End]:
    if name == "alpha20":
        return End(name, alpha20="low"), End(name, alpha20="high")
    if name == "emissivity":
        return End(name, emissivity="low"), End(name, emissivity="high")
    return End(name, specific_heat="low"), End(name, specific_heat="high")


def ranked(unknowns: Iterable[Unknown], tolerance: float, room_k: float) -> tuple[Unknown, ...]:
    """The unknowns, first what uses up most of the room there is.

    Current is held against the notch tolerance, heat against the margin of the hottest section (10 K at least).
    """
    room_k = max(room_k, LEAST_ROOM_K)

    def share(unknown: Unknown) -> float:
        return max(unknown.swing / tolerance, (unknown.heat_swing_k or 0.0) / room_k)

    return tuple(sorted(unknowns, key=lambda unknown: -share(unknown)))


def settled(
    findings: Iterable[Finding],
    others: Iterable[tuple[str, tuple[str, ...], tuple[Finding, ...]]],
    rank: Mapping[str, int],
) -> tuple[Finding, ...]:
    """The findings, those whose verdict is another one at some end become *not shown*.

    The end told is one with a single figure moved where there is one, and of those the one that ranks highest.
    """
    ends = [(words, keys, {one.item: one for one in found}) for words, keys, found in others]
    return tuple(_settled(finding, ends, rank) for finding in findings)


def _settled(
    finding: Finding, ends: list[tuple[str, tuple[str, ...], dict[str, Finding]]], rank: Mapping[str, int]
) -> Finding:
    if finding.verdict is Verdict.NOT_SHOWN:
        return finding
    last = len(rank)
    against = [
        (len(keys) > 1, min((rank.get(key, last) for key in keys), default=last), place)
        for place, (_, keys, found) in enumerate(ends)
        if found and (other := found.get(finding.item)) is not None and other.verdict is not finding.verdict
    ]
    if not against:
        return finding
    words, keys, found = ends[min(against)[2]]
    first = min(keys, key=lambda key: rank.get(key, last))
    why = f"{finding.why}; {words}: {found[finding.item].why}"
    return Finding(finding.item, Verdict.NOT_SHOWN, why, advice(first))


def nameplate_remarks(job: Job) -> tuple[str, ...]:
    """What paper and screen say of a motor known by its nameplate only; nothing of any other."""
    if "motor.nameplate.curve_shape" not in job.figures:
        return ()
    guessed = [
        figure.text.removeprefix("not known: ")
        for key in ("motor.nameplate.curve_shape", "motor.nameplate.speed", "motor.resistance")
        if (figure := job.figures.get(key)) is not None and figure.status is Status.ESTIMATE
    ]
    return (
        f"≈ The motor is known by its nameplate only. Taken for it, and tried at both ends: {'; '.join(guessed)}. "
        "Beyond 1.5 times its rated current no published curve reaches: there flux lies between level and its last "
        "slope.",
    )
