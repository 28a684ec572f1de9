"""``griddesign plate OUTLINE.dxf``: ohms, mass and hot spot of a plate somebody else drew."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from griddesign.cli.plate_thickness import AskedThickness, asked_thickness, figure_of
from griddesign.cli.saying import answer, say
from griddesign.errors import EXIT_HOLDS, InputError
from griddesign.figures import Figure
from griddesign.judge.fingerprint import fingerprint
from griddesign.metals import Metal, metal
from griddesign.papers.outlined_json import OutlineReport, outline_json
from griddesign.papers.outlined_lines import outline_lines
from griddesign.plate.foreign import read_dxf
from griddesign.plate.outline import Point
from griddesign.plate.outlined import BRACKET, WANTED_CROWDING, solve_outline
from griddesign.plate.process import refuse_unsuited
from griddesign.plate.terminals import Clamp, TerminalModel
from griddesign.units import read

if TYPE_CHECKING:
    from griddesign.plate.outline_order import OutlineWish

_FINEST, _COARSEST = 1e-6, 0.1


def answer_outline(path: Path, words: Mapping[str, Any], as_json: bool) -> int:
    """Say the plate in a drawing, write its papers where a folder was named, and return the exit code."""
    report = report_of(path, words)
    if words["out"] is not None:
        _write(report, words["out"])
    if as_json:
        answer(outline_json(report))
    else:
        say(outline_lines(report))
    if words["out"] is not None:
        say([f"Papers in {words['out']}"], to_stderr=as_json)
    return EXIT_HOLDS


@dataclass(frozen=True, slots=True)
class _Said:
    """The words of the command, read and checked."""

    metal: Metal
    thickness: AskedThickness
    washer_m: float | None
    heal_m: float | None
    crowding: float
    bracket: float
    areas: list[list[float]]
    wish: "OutlineWish | None"
    kerf: Figure | None


def report_of(path: Path, words: Mapping[str, Any]) -> OutlineReport:
    """What the drawing comes to with the words of the command; every word is read before the drawing is."""
    said = _said(words)
    plate = read_dxf(
        path,
        units=words["units"],
        tolerance_m=said.heal_m,
        terminals=words["terminal"],
        layers=words["layer"],
        areas=len(said.areas),
        regions=said.thickness.layers,
    )
    uneven = said.thickness.uneven(plate)
    clamps = tuple(_clamp(area, plate.origin_m) for area in said.areas)
    solve = partial(
        solve_outline,
        metal=said.metal,
        washer_m=said.washer_m,
        clamps=clamps,
        bracket=said.bracket,
        wanted_crowding=said.crowding,
        made_by=words["made_by"],
        uneven=uneven,
    )
    mark, order = fingerprint([path], _asked(words)), None
    if said.wish is None:
        solved = solve(plate.outline, thickness=said.thickness.nominal(uneven, plate))
    else:
        from griddesign.cli.outline_order import ordered

        order = ordered(plate.outline, said.wish, solve, TerminalModel(said.washer_m, clamps), uneven)
        solved = order.ordered
    return OutlineReport(path.name, plate, solved, mark, order, said.kerf)


def _said(words: Mapping[str, Any]) -> _Said:
    of_metal, asked, wish = _metal(words), asked_thickness(words), None
    if words.get("ohms") is not None:
        from griddesign.cli.outline_order import outline_wish

        wish = outline_wish(words, of_metal, asked)
    elif words.get("free") or words.get("sheet"):
        raise InputError("--free and --sheet are for an order", hint='Say what is wanted: --ohms "0.07 ohm".')
    return _Said(
        of_metal,
        asked,
        _above_zero("--washer", words["washer"], "length"),
        _above_zero("--heal", words["heal"], "length"),
        _wanted_crowding(words["crowding"]),
        _bracket(words["bracket"]),
        [_area(text) for text in words.get("clamp", ())],
        wish,
        _kerf(words),
    )


def _kerf(words: Mapping[str, Any]) -> Figure | None:
    """The kerf a cutting file is to be offset for. Raises InputError where none is written, or nothing is cut."""
    if words.get("kerf") is None:
        return None
    from griddesign.job.making import kerf_asked
    from griddesign.plate.kerf import CUT_BY

    if words["out"] is None:
        raise InputError("--kerf means a cutting file, and none is written", hint="Say where: --out DIR.")
    if words["made_by"] not in (None, *CUT_BY):
        raise InputError(f"a plate made by {words['made_by']!r} has no kerf", hint="Leave --kerf out.")
    return kerf_asked(words["kerf"])


def _write(report: OutlineReport, folder: Path) -> None:
    from griddesign.papers.outlined_files import outline_files
    from griddesign.papers.whole_folder import put_beside

    put_beside(folder, outline_files(report))


def _asked(words: Mapping[str, Any]) -> Iterator[str]:
    """All the command asked for that the figures rest on, in one order."""
    for name in sorted(words):
        if name != "out" and words[name]:
            yield f"{name}={words[name]}"


def _metal(words: Mapping[str, Any]) -> Metal:
    if words["metal"] is None:
        raise InputError("an outline does not say its metal", hint='Give --metal NAME, "griddesign metals" lists them.')
    found = metal(words["metal"])
    if words["made_by"] is not None:
        refuse_unsuited(found, words["made_by"])
    if words["resistivity"] is None:
        return found
    return found.with_figure("resistivity", figure_of("--resistivity", words["resistivity"], "resistivity"))


def _area(text: str) -> list[float]:
    """x and y of two opposite corners in the drawing's axes, metres."""
    parts = [part for part in text.split(",") if part.strip()]
    if len(parts) != 4:
        raise InputError(f"--clamp: {text!r} is not x and y of two corners", hint='As in "0 mm, 0 mm, 30 mm, 20 mm".')
    found = [read(part, "offset") for part in parts]
    if any(one.low != one.high for one in found):
        raise InputError(f"--clamp: {text!r} holds a range", hint="Name the one place of each corner.")
    return [one.value for one in found]


def _clamp(area: list[float], origin_m: Point) -> Clamp:
    """The area in the outline's own axes."""
    x, y, far_x, far_y = area
    left, low = origin_m
    return Clamp((x - left, y - low), (far_x - left, far_y - low))


def _above_zero(option: str, text: str | None, kind: str) -> float | None:
    return None if text is None else figure_of(option, text, kind).value


def _wanted_crowding(text: str | None) -> float:
    wanted = WANTED_CROWDING if text is None else figure_of("--crowding", text, "number").value
    if wanted <= 1:
        raise InputError(
            f"--crowding: a peak of {wanted:g} times the mean current density cannot be", hint="Give more than 1."
        )
    return wanted


def _bracket(text: str | None) -> float:
    bracket = BRACKET if text is None else figure_of("--bracket", text, "fraction").value
    if not _FINEST <= bracket <= _COARSEST:
        raise InputError(
            f"--bracket: {text!r} cannot be", hint=f"Give {100 * _FINEST:g} % to {100 * _COARSEST:g} % of the ohms."
        )
    return bracket
