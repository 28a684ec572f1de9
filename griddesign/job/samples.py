"""Measured sample plates in a job file: ``[[sample]]`` tables, and the metals they give their own figures.

[[sample]]
plate = "P"                        # which [[plate]]; may be left out where there is one
ohm = "0.0692 ohm at 22 degC"      # four wires, at the metal's temperature; or
two_temperatures = ["0.0690 ohm at 20 degC", "0.0921 ohm at 200 degC"]
current = "20 A"                   # or these four: the voltage is read again with the current reversed
forward = "1.384 V"
reversed = "1.379 V"
temperature = "22 degC"
thickness = "5.1 mm"               # thickness, strip_width, mass, remarks: where they were measured
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from griddesign.figures import Figure
from griddesign.job.part import Part, read_figure_at
from griddesign.job.records import PlateWish
from griddesign.plate.measured import HeatFigures, MeasuredPlate, Reading, four_wire, heat_figures

_WAYS = ("ohm", "two_temperatures", "current")
_EXAMPLE = '"0.0692 ohm at 22 degC"'
_OVERRIDDEN = ("resistivity", "alpha20", "two_temperatures")


@dataclass(frozen=True, slots=True)
class _Sample:
    part: Part
    kind: str
    plate: MeasuredPlate


def with_samples(whole: Part, plates: tuple[PlateWish, ...]) -> tuple[PlateWish, ...]:
    """The plates with their samples, and with the measured figures in every metal that was sampled."""
    parts = whole.tables("sample")
    if parts and not whole.has("plate"):
        whole.complain("sample", "there is no plate it could be a sample of", "Add its [[plate]] with shape and metal.")
    samples = [found for part in parts if (found := _read_sample(part, plates)) is not None]
    metals = dict.fromkeys(plate.metal.key for plate in plates)
    for key in metals:
        plates = _with_heat(whole, plates, key, samples)
    return plates


def _with_heat(
    whole: Part, plates: tuple[PlateWish, ...], key: str, samples: Sequence[_Sample]
) -> tuple[PlateWish, ...]:
    """The plates of one metal with what its samples give; all plates of a metal count as one heat."""
    shapes = {plate.name: plate for plate in plates if plate.metal.key == key}
    own = [sample for sample in samples if sample.kind in shapes]
    if not own or _given_twice(whole, key, own[0]):
        return plates
    pairs = [(shapes[sample.kind].shape, sample.plate) for sample in own]
    metal = next(iter(shapes.values())).metal
    heat = own[0].part.attempt("", lambda: heat_figures(pairs, metal))
    if heat is None:
        return plates
    for name, figure in _noted(own[0].part, key, heat).items():
        metal = metal.with_figure(name, figure)
    return tuple(
        replace(
            plate,
            metal=metal,
            samples=tuple(sample.plate for sample in own if sample.kind == plate.name),
        )
        if plate.name in shapes
        else plate
        for plate in plates
    )


def _given_twice(whole: Part, key: str, sample: _Sample) -> bool:
    """Complain where the file gives the metal a figure of its own beside the samples."""
    changed = whole.data.get("metal", {})
    given = changed.get(key, {}) if isinstance(changed, Mapping) else {}
    twice = [name for name in _OVERRIDDEN if isinstance(given, Mapping) and name in given]
    for name in twice:
        sample.part.complain("", f"[metal.{key}] gives {name} as well", "Keep the samples, or that line.")
    return bool(twice)


def _noted(part: Part, key: str, heat: HeatFigures) -> dict[str, Figure]:
    """The heat's figures, noted under the metal's name, so that papers show them and both ends are tried."""
    here = Part(part.notebook, part.key, f"metal.{key}", {})
    found = {"resistivity": replace(heat.resistivity, text=_shown(heat.resistivity, 1e8, "uohm cm"))}
    if heat.alpha20 is not None:
        found["alpha20"] = replace(heat.alpha20, text=_shown(heat.alpha20, 1.0, "/K"))
    return {name: here.noted(name, figure) for name, figure in found.items()}


def _shown(figure: Figure, scale: float, unit: str) -> str:
    return f"{figure.value * scale:.4g} {unit}"


def _read_sample(part: Part, plates: tuple[PlateWish, ...]) -> _Sample | None:
    names = [plate.name for plate in plates]
    kind = part.choice("plate", names, names[0] if len(names) == 1 else None) if names else None
    name = part.text("name", part.label)
    found = _readings(part)
    thickness, width = (part.quantity(key, "length", required=False) for key in ("thickness", "strip_width"))
    mass = part.quantity("mass", "mass", required=False)
    remarks = part.text("remarks")
    part.mark("plate")
    part.close()
    if kind is None or found is None:
        return None
    readings, emf_v = found
    one_way = part.has("current") and emf_v is None
    return _Sample(part, kind, MeasuredPlate(name, readings, thickness, width, mass, emf_v, remarks, one_way))


def _readings(part: Part) -> tuple[tuple[Reading, ...], float | None] | None:
    """The sample's readings by the one way the table uses."""
    ways = [way for way in _WAYS if part.has(way)]
    for name in _WAYS:
        part.mark(name)
    if len(ways) != 1:
        found = " and ".join(ways) or "no reading"
        part.complain(
            "", f"holds {found}", f"Give one: ohm = {_EXAMPLE}, or two_temperatures, or current and voltages."
        )
        return None
    if ways == ["current"]:
        return _by_current(part)
    value = part.data[ways[0]]
    texts = [value] if ways == ["ohm"] else value
    wanted = 1 if ways == ["ohm"] else 2
    if not isinstance(texts, list) or len(texts) != wanted or not all(isinstance(text, str) for text in texts):
        example = _EXAMPLE if wanted == 1 else f'[{_EXAMPLE}, "0.0921 ohm at 200 degC"]'
        part.complain(ways[0], "is not a reading", f"Write {ways[0]} = {example}.")
        return None
    readings = tuple(reading for text in texts if (reading := _reading(part, ways[0], text)) is not None)
    return (readings, None) if len(readings) == wanted else None


def _reading(part: Part, name: str, text: str) -> Reading | None:
    found = part.attempt(name, lambda: read_figure_at(text, "resistance"))
    if found is None:
        return None
    figure, t_c = found
    if t_c is None:
        part.complain(name, f"{text!r} lacks the metal's temperature", f"Write {_EXAMPLE}.")
        return None
    if figure.value <= 0:
        part.complain(name, f"{text!r} cannot be", "It must be above zero.")
        return None
    return Reading(figure.value, t_c)


def _by_current(part: Part) -> tuple[tuple[Reading, ...], float | None] | None:
    current = part.quantity("current", "current", example="20 A")
    forward = part.quantity("forward", "voltage", example="1.384 V")
    back = part.quantity("reversed", "voltage", required=False)
    t_c = part.quantity("temperature", "temperature", example="22 degC", above=None)
    if current is None or forward is None or t_c is None:
        return None
    found = part.attempt("forward", lambda: four_wire(current, forward, back))
    return None if found is None else ((Reading(found[0], t_c),), found[1])
