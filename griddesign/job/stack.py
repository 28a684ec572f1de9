"""What a box is put together with, in a job file; every key may be missing, and paper then leaves a blank for it.

[hardware]
metal_washer = "2 mm"            # thickness, as all of these
mica_washer = "1 mm"             # all the mica at one face of an eye
terminal_clamp = "5 mm"
end_insulation = "10 mm"
end_frame = "8 mm"
rod_diameter = "10 mm"
rod_metal = "steel_low_carbon"   # of rods, washers and spacers
frames_apart = "420 mm"          # clear between the end frames, where the boxes are there already
mass_without_plates = "14 kg"    # of one box: frames, rods, washers, leads
rod_torque = { value = "20 N m", source = "drawing 12" }   # printed with its source, never without
eye_thickness = { P = "8 mm" }   # where it is not that of the strip
eye_tolerance = "0.3 mm"         # plus and minus on the thickness of an eye
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from griddesign import metals
from griddesign.figures import Figure
from griddesign.grid.stack.records import Hardware
from griddesign.job.part import Part
from griddesign.metals import Metal

LONGEST_M = 0.5


@dataclass(frozen=True, slots=True)
class HardwareGiven:
    """The table as read. ``eye_m``: thickness of the eyes of a kind, by its name."""

    hardware: Hardware = field(default_factory=Hardware)
    rod_metal: Metal | None = None
    frames_apart_m: float | None = None
    mass_kg: float | None = None
    torque: Figure | None = None
    eye_m: Mapping[str, float] = field(default_factory=dict)
    eye_tolerance_m: float | None = None


def read_hardware(part: Part, kinds: tuple[str, ...], changed: Mapping[str, Metal]) -> HardwareGiven:
    """The ``[hardware]`` table; ``kinds`` names the plates of the job, ``changed`` the metals the job changes."""
    given = HardwareGiven(
        hardware=Hardware(
            metal_washer_m=_thick(part, "metal_washer"),
            mica_washer_m=_thick(part, "mica_washer"),
            terminal_clamp_m=_thick(part, "terminal_clamp"),
            end_insulation_m=_thick(part, "end_insulation"),
            end_frame_m=_thick(part, "end_frame"),
            rod_diameter_m=_thick(part, "rod_diameter"),
        ),
        rod_metal=_rod_metal(part, changed),
        frames_apart_m=part.quantity("frames_apart", "length", required=False),
        mass_kg=part.quantity("mass_without_plates", "mass", required=False),
        torque=_torque(part),
        eye_m=_eyes(part, kinds),
        eye_tolerance_m=part.quantity("eye_tolerance", "length", required=False, most=0.02),
    )
    part.close()
    return given


def _thick(part: Part, name: str) -> float | None:
    return part.quantity(name, "length", required=False, most=LONGEST_M)


def _rod_metal(part: Part, changed: Mapping[str, Metal]) -> Metal | None:
    key = part.text("rod_metal")
    return changed.get(key) or (part.attempt("rod_metal", lambda: metals.metal(key)) if key else None)


def _torque(part: Part) -> Figure | None:
    figure = part.figure("rod_torque", "torque", required=False, above=0.0)
    if figure is not None and not figure.source.strip():
        hint = 'Write rod_torque = { value = "…", source = "…" }, or leave it out: it is then a blank on the sheet.'
        part.complain("rod_torque", "has no source", hint)
    return figure


def _eyes(part: Part, kinds: tuple[str, ...]) -> dict[str, float]:
    inner = part.table("eye_thickness")
    if inner is None:
        return {}
    found = {name: inner.quantity(name, "length", example="8 mm", most=LONGEST_M) for name in inner.data}
    for name in found:
        if name not in kinds:
            inner.complain(name, "is no plate of this job", f"Plates: {', '.join(kinds) or 'none'}.")
    return {name: thick_m for name, thick_m in found.items() if thick_m is not None}
