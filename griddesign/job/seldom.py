"""Tables of the job file that few jobs have: what reads one is loaded when it stands in the file."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from griddesign.job.part import Part

if TYPE_CHECKING:
    from griddesign.grid.records import BoxPlan
    from griddesign.job.contacts import ChartOfJob
    from griddesign.job.heat_run import HeatRunGiven
    from griddesign.job.records import PlateWish, SectionGiven
    from griddesign.job.retap import RetapGiven
    from griddesign.job.scatter import ScatterGiven
    from griddesign.job.stack import HardwareGiven
    from griddesign.metals import Metal
    from griddesign.traction.braking.records import Braking
    from griddesign.traction.records import Motor


def read_chart(whole: Part, motor: "Motor | None") -> "ChartOfJob | None":
    """``[controller]`` and the notches that give joined terminals, see ``job.contacts``."""
    whole.mark("controller")
    notches = whole.data.get("notch")
    joined = isinstance(notches, list) and any(isinstance(one, Mapping) and "joined" in one for one in notches)
    if not (joined or whole.has("controller")):
        return None
    from griddesign.job.contacts import read_chart as read

    return read(whole, motor)


def with_heat_run(
    whole: Part,
    plates: "tuple[PlateWish, ...]",
    boxes: "BoxPlan | None",
    sections: "Sequence[SectionGiven]",
    order: Sequence[str],
) -> "tuple[tuple[PlateWish, ...], HeatRunGiven | None]":
    """``[calibration]``, see ``job.calibration``."""
    whole.mark("calibration")
    if not whole.has("calibration"):
        return plates, None
    from griddesign.job.calibration import with_heat_run as read

    return read(whole, plates, boxes, sections, order)


def read_scatter(part: Part) -> "ScatterGiven":
    """``[scatter]``, see ``job.scatter``."""
    from griddesign.job.scatter import read_scatter as read

    return read(part)


def read_braking(part: Part, motor: "Motor | None", sections: tuple[str, ...]) -> "Braking | None":
    """``[braking]``, see ``job.braking``."""
    from griddesign.job.braking import read_braking as read

    return read(part, motor, sections)


def read_retap(part: Part, section_order: tuple[str, ...]) -> "RetapGiven":
    """``[retap]``, see ``job.retap``."""
    from griddesign.job.retap import read_retap as read

    return read(part, section_order)


def read_hardware(part: Part, kinds: tuple[str, ...], changed: "Mapping[str, Metal]") -> "HardwareGiven":
    """``[hardware]``, see ``job.stack``."""
    from griddesign.job.stack import read_hardware as read

    return read(part, kinds, changed)
