"""The working of the bench's tables: ohms at other temperatures, masses, blank, pattern."""

from collections.abc import Iterator

from griddesign.judge.inspection import PassBand, alpha_doubts, pass_bands
from griddesign.judge.records import PlateReport, Result
from griddesign.papers.cold import cold
from griddesign.papers.sheets.common import length, ohm, percent
from griddesign.papers.sheets.inspection import TEMPERATURES_C, band_name
from griddesign.papers.sheets.plate import MASS_BAND
from griddesign.papers.sheets.shown import ABOUT, NO_BREAK, Shown, source_and_status
from griddesign.papers.sheets.trace import Line, Part
from griddesign.papers.tolerances import class_name, half_width_m
from griddesign.plate.made import Made
from griddesign.plate.pattern import OldPlate, Pattern, eye_span_m

_SAID = (
    "R(T) = R(cold) · r(T) with the metal's own r(T); a box is the sum of its steps, each with the room of its "
    "section and the r(T) of its plates. Between two temperatures it goes as r(T) does. Bands come from the notch "
    "tolerance shared out."
)


def band_parts(result: Result) -> tuple[Part, ...]:
    """Ohms by temperature of everything that is read, and the sizes and masses of each plate as it is ordered."""
    shown = Shown(result.job.paper.units)
    lines = (*_nominal(result), *(_band_line(band) for band in pass_bands(result, TEMPERATURES_C)))
    said = (_SAID, *_ratios(result), *_doubt_words(result, shown))
    titles = ("Read", "From", "Ohms", "")
    across = tuple(map(shown.temperature, TEMPERATURES_C))
    ohms = (Part("Ohms at other temperatures", lines, said, titles, across),) if lines else ()
    return (*ohms, *(_ordered(result, plate, shown) for plate in result.plates))


def _doubt_words(result: Result, shown: Shown) -> Iterator[str]:
    for doubt in alpha_doubts(result, TEMPERATURES_C[-1]):
        yield (
            f"≈ α20 of {doubt.metal.key} is not sure: at {shown.temperature(doubt.t_c)} every line may lie "
            f"{100 * doubt.share:.1f}{NO_BREAK}% higher or lower, at {cold(shown.units)} none does."
        )


def _ratios(result: Result) -> Iterator[str]:
    """The law of each metal at the temperatures of the table."""
    for metal in {plate.wish.metal.key: plate.wish.metal for plate in result.plates}.values():
        about = ABOUT if metal.alpha20.weak else ""
        ratios = ", ".join(f"{about}{float(metal.ratio(t_c)):.4f}" for t_c in TEMPERATURES_C)
        yield f"r(T) of {metal.key}: {ratios} ({source_and_status(metal.alpha20)})."


def _nominal(result: Result) -> Iterator[Line]:
    for plate in result.plates:
        metal = plate.wish.metal
        about = ABOUT if metal.alpha20.weak else ""
        rows = [f"{about}{ohm(plate.ohms_at(t_c)[0])}" for t_c in TEMPERATURES_C]
        yield Line(f"plate {plate.wish.name}", f"{ohm(plate.order_ohm)} · r(T)", "", "\n".join(rows))


def _band_line(band: PassBand) -> Line:
    rows = "\n".join(f"{ohm(low)} to {ohm(high)}" for _, low, high in band.at)
    return Line(f"{band_name(band)}, accepted", f"as chosen {ohm(band.cold_ohm)}", "", rows)


# --- a plate as it is ordered ----------------------------------------------------------------------------------------


def _ordered(result: Result, plate: PlateReport, shown: Shown) -> Part:
    made = plate.made
    lines = (
        *_shares(plate),
        *_sizes(result, plate, shown),
        *(_pattern_lines(result, made) if made is not None else ()),
    )
    return Part(f"Plate {plate.wish.name}, as ordered", lines)


def _shares(plate: PlateReport) -> Iterator[Line]:
    """The ranges of the plate sheet as shares of the ohms of shape and metal."""
    figures, rho = plate.figures, plate.wish.metal.resistivity
    ranges = [
        ("R, calculation", figures.low_ohm / figures.cold_ohm - 1, figures.high_ohm / figures.cold_ohm - 1, "bracket"),
        ("R, metal", rho.low / rho.value - 1, rho.high / rho.value - 1, source_and_status(rho)),
    ]
    if plate.made is not None:
        ranges.append(("R, making", plate.made.spread.low, plate.made.spread.high, "see Spread of the ohms"))
    for symbol, low, high, source in ranges:
        digits = 3 if high - low < 2e-3 else 1
        ohms = (
            f"{ohm(figures.cold_ohm * (1 + low))} to {ohm(figures.cold_ohm * (1 + high))}" if high < 1e9 else "no end"
        )
        shares = f"{percent(low, digits)} to {percent(high, digits) if high < 1e9 else 'no end'}"
        yield Line(symbol, f"{ohm(figures.cold_ohm)} · (1 + share)", "", ohms, source, shares)


def _sizes(result: Result, plate: PlateReport, shown: Shown) -> Iterator[Line]:
    figures, (wide_m, high_m) = plate.figures, plate.blank_m
    span_m = eye_span_m(plate.shape)
    half_m = half_width_m(span_m, plate.wish.made_by)
    if half_m is not None:
        centres = f"tolerance over {length(result, span_m)}"
        yield Line("eye centres, ±", centres, "", length(result, half_m), class_name(plate.wish.made_by))
    blank = f"{length(result, wide_m)} × {length(result, high_m)}"
    yield Line("blank", "box round the outline with its eyes", "", blank, "outline")
    yield Line("strip", "straights and bends along their middle, eye to eye", "", length(result, figures.strip_m), "")
    ends = shown.range((1 - MASS_BAND) * figures.mass_kg, (1 + MASS_BAND) * figures.mass_kg, "mass")
    share = f"{100 * MASS_BAND:.0f}{NO_BREAK}%"
    yield Line("mass, goods in", f"mass · (1 ± {share})", "", ends, "common practice, no source")
    lot, each = shown.of(plate.lot * figures.mass_kg, "mass"), shown.of(figures.mass_kg, "mass")
    yield Line("mass of the lot", "plates · mass of one", f"{plate.lot} · {each}", lot, "plates alone")
    strip = shown.of(plate.test_strip_kg, "mass")
    yield Line("test strip", "density · section · height of a plate", "", strip, "one a ladle")


def _pattern_lines(result: Result, made: Made) -> Iterator[Line]:
    if made.pattern is not None:
        yield from _pattern(result, made.pattern)
    if made.old_plate is not None:
        yield from _old_plate(result, made.old_plate)


def _pattern(result: Result, pattern: Pattern) -> Iterator[Line]:
    def of(value_m: float, digits: int = 3) -> str:
        return Shown(result.job.paper.units).of(value_m, "length", digits)

    weak = ABOUT if pattern.shrinkage.weak else ""
    larger = f"{weak}{100 * pattern.shrinkage.value:.3g}{NO_BREAK}%"
    yield Line("s, pattern larger by", "", "", larger, source_and_status(pattern.shrinkage))
    spans = length(result, pattern.eye_span_m), length(result, pattern.pattern_eye_span_m)
    yield Line("eye centres on the pattern", "casting · (1 + s)", f"{spans[0]} · {pattern.factor:.4f}", spans[1], "s")
    step = f"t/2 · tan(draft), t {of(pattern.thickness_m / pattern.factor)}"
    yield Line("step of the draft", step, "", of(pattern.draft_step_m, 2), source_and_status(pattern.draft))
    allowed = f"(t + 2 · {of(pattern.machining.value)}) · (1 + s)"
    over = f"{of(pattern.eye_thickness_m)}, {of(pattern.thickness_m)} elsewhere"
    yield Line("pattern over the eyes", allowed, "", over, source_and_status(pattern.machining))
    if pattern.hole_m:
        bore = f"{length(result, pattern.hole_m / pattern.factor)} · {pattern.factor:.4f}"
        yield Line("core", "bore · (1 + s)", bore, length(result, pattern.hole_m), "s")


def _old_plate(result: Result, old: OldPlate) -> Iterator[Line]:
    def of(value_m: float) -> str:
        return length(result, value_m)

    sizes = f"strip {of(old.strip_width_m)}, thickness {of(old.thickness_m)}, hole {of(old.hole_m)}"
    yield Line("an old plate as its own pattern", "size / (1 + s)", "", sizes, "s")
    centres = f"{of(old.eye_span_m)}, {of(old.short_m)} short"
    yield Line("its eye centres", "casting / (1 + s)", "", centres, "s")
    yield Line("its ohms", "R · (1 + s)", "", ohm(old.ohm), f"mass {percent(old.mass_share - 1.0)}")
