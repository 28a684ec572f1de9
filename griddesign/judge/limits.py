"""The parts the job gives a limit for: plates apart, each is judged here, or it is said what would settle it."""

from collections.abc import Iterator

from griddesign.errors import InputError
from griddesign.heat.timber import IGNITION_W_M2
from griddesign.job.records import Job
from griddesign.judge.records import Finding, Verdict
from griddesign.judge.run_heat import RunHeat
from griddesign.judge.timber import TimberHeat, timber_heat
from griddesign.units import show

LIMITED = {
    "timber": "timber_c",
    "mica": "mica_c",
    "lead at the tap": "lead_c",
    "clearance": "clearance_m",
    "test voltage": "test_voltage_v",
}
_AS_HOT_AS = {
    "mica": (
        "the mica tube taken as hot as the eye of the hottest plate, and that as hot as its strip",
        "Measure the tie rod's mica on the first worked day, beside the hottest section.",
    ),
    "lead at the tap": (
        "the lead taken as hot at its lug as the hottest plate it hangs on, nothing credited for what the lead carries "
        "away",
        "Measure the lug of the hottest tap on the first worked day.",
    ),
}


def judge_limits(job: Job, ran: RunHeat | None) -> Iterator[Finding]:
    """Timber, mica, lead, clearance and test voltage, as far as the job limits them."""
    if job.limits.timber_c is not None:
        yield from _timber(job, ran)
    for name, (how, measure) in _AS_HOT_AS.items():
        limit_c = getattr(job.limits, LIMITED[name])
        if limit_c is not None:
            yield _as_hot_as_the_plate(job, ran, (name, how, measure), limit_c)
    yield from _by_the_bench(job)


def not_checked(job: Job, heated: bool) -> tuple[str, ...]:
    """Parts no limit was given for: paper prints NOT CHECKED beside each."""
    missing = tuple(name for name, field in LIMITED.items() if getattr(job.limits, field) is None)
    return missing if heated else ("temperature of the plates", *missing)


def _as_hot_as_the_plate(job: Job, ran: RunHeat | None, words: tuple[str, str, str], limit_c: float) -> Finding:
    """An estimate from above: it can show that a limit holds, never that it fails."""
    name, how, measure = words
    if ran is None:
        return Finding(f"limit of {name}", Verdict.NOT_SHOWN, "no heat was worked out", measure)
    section, peak_c = max(ran.peak_c.items(), key=lambda item: item[1])
    holds = peak_c <= limit_c
    reached, limit = (_degrees(job, t_c) for t_c in (peak_c, limit_c))
    why = f"at most {reached} at section {section}, limit {limit}: {how}"
    return Finding(f"limit of {name}", Verdict.HOLDS if holds else Verdict.NOT_SHOWN, why, "" if holds else measure)


def _timber(job: Job, ran: RunHeat | None) -> Iterator[Finding]:
    measure = "Measure the face of the timber on the first worked day, or put a shield between and measure behind it."
    if ran is None:
        yield Finding("limit of timber", Verdict.NOT_SHOWN, "no heat was worked out", measure)
        return
    if job.limits.timber_distance_m is None:
        give = 'Measure how far the nearest timber is and give timber = { value = "…", distance = "…" }.'
        yield Finding("limit of timber", Verdict.NOT_SHOWN, "no distance to it is given", give)
        return
    try:
        found = timber_heat(ran, job.limits.timber_distance_m)
    except InputError as error:
        yield Finding("limit of timber", Verdict.FAILS, error.message)
        return
    for one in found:
        yield _judged_timber(job, one, measure)


def _judged_timber(job: Job, one: TimberHeat, measure: str) -> Finding:
    limit_c = job.limits.timber_c
    assert limit_c is not None
    item, why = f"timber, {one.what}", timber_words(job, one)
    if one.face_c > limit_c:
        fails = one.mean_face_c is not None and one.mean_face_c > limit_c
        return Finding(item, Verdict.FAILS if fails else Verdict.NOT_SHOWN, why, measure)
    if one.choked:
        choked = f"{why}; the way out under the floor is narrower than the gaps between the plates: the air backs up"
        return Finding(item, Verdict.NOT_SHOWN, choked, measure)
    return Finding(item, Verdict.HOLDS, why)


def timber_words(job: Job, one: TimberHeat) -> str:
    """What comes of timber at its distance, with what wood was set alight by beside it."""
    away = show(one.distance_m, "length", units=job.paper.units)
    over = show(one.plume_k, "temperature_difference", units=job.paper.units)
    plume = f", the plume {over} over the air there" if one.plume_k else ""
    mean = "" if one.mean_face_c is None else f", with the duty's mean heat about {_degrees(job, one.mean_face_c)}"
    assert job.limits.timber_c is not None
    return (
        f"{away} from box {one.box}, unshielded: at most about {_degrees(job, one.face_c)}{mean}, limit "
        f"{_degrees(job, job.limits.timber_c)}; {one.irradiance_w_m2 / 1e3:.2f} kW/m² shines on it{plume} "
        f"(wood was set alight by {IGNITION_W_M2 / 1e3:.1f} kW/m²)"
    )


def _by_the_bench(job: Job) -> Iterator[Finding]:
    """What no reckoning shows: air and insulation, to be measured on the finished bank."""
    units = job.paper.units
    if job.limits.clearance_m is not None:
        clear = show(job.limits.clearance_m, "length", units=units)
        yield Finding(
            "limit of clearance",
            Verdict.NOT_SHOWN,
            f"at least {clear} of air from live metal to anything else is asked; the job does not say where frames, "
            "floor and leads lie",
            f"Measure the shortest way through air from plates, taps and leads to frame and car: {clear} or more.",
        )
    if job.limits.test_voltage_v is not None:
        volts = show(job.limits.test_voltage_v, "voltage")
        yield Finding(
            "limit of test voltage",
            Verdict.NOT_SHOWN,
            f"{volts} is asked between grid and frames; only the finished bank shows whether it stands that",
            f"Have a qualified person apply {volts} to the finished bank, for as long as the clause asks.",
        )


def _degrees(job: Job, t_c: float) -> str:
    return show(t_c, "temperature", units=job.paper.units) if t_c < 3000.0 else "no end"
