"""``griddesign plate OUTLINE.dxf``: ohms, mass and hot spot of a plate somebody else drew."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from griddesign.cli.saying import answer, say
from griddesign.errors import EXIT_HOLDS, InputError
from griddesign.figures import Figure, Status
from griddesign.judge.fingerprint import fingerprint
from griddesign.metals import Metal, metal
from griddesign.papers.outlined_json import OutlineReport, outline_json
from griddesign.papers.outlined_lines import outline_lines
from griddesign.plate.foreign import read_dxf
from griddesign.plate.outline import Point
from griddesign.plate.outlined import BRACKET, WANTED_CROWDING, solve_outline
from griddesign.plate.process import refuse_unsuited
from griddesign.plate.terminals import Clamp
from griddesign.units import read

HERE = "given with the command"
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


def report_of(path: Path, words: Mapping[str, Any]) -> OutlineReport:
    """What the drawing comes to with the words of the command; every word is read before the drawing is."""
    of_metal, thickness = _metal(words), _figure("--thickness", words["thickness"], "length")
    washer_m = _above_zero("--washer", words["washer"], "length")
    heal_m = _above_zero("--heal", words["heal"], "length")
    wanted = _wanted_crowding(words["crowding"])
    bracket = _bracket(words["bracket"])
    areas = [_area(text) for text in words.get("clamp", ())]
    plate = read_dxf(
        path,
        units=words["units"],
        tolerance_m=heal_m,
        terminals=words["terminal"],
        layers=words["layer"],
        areas=len(areas),
    )
    solved = solve_outline(
        plate.outline,
        of_metal,
        thickness,
        washer_m=washer_m,
        clamps=tuple(_clamp(area, plate.origin_m) for area in areas),
        bracket=bracket,
        wanted_crowding=wanted,
        made_by=words["made_by"],
    )
    return OutlineReport(path.name, plate, solved, fingerprint([path], _asked(words)))


def _write(report: OutlineReport, folder: Path) -> None:
    from griddesign.papers.outlined_files import outline_files
    from griddesign.papers.writing import write_all

    write_all(folder, outline_files(report))


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
    return found.with_figure("resistivity", _figure("--resistivity", words["resistivity"], "resistivity"))


def _figure(option: str, text: str | None, kind: str) -> Figure:
    """A quantity above zero with its ends, as given with the command."""
    if text is None:
        raise InputError(f"{option} is missing", hint='Give it with its unit: --thickness "8 mm".')
    found = read(text, kind)
    if not found.low > 0:
        raise InputError(f"{option}: {text!r} cannot be", hint="Give a quantity above zero.")
    status = Status.ABOUT if found.approximate else Status.GIVEN
    figure = Figure.exact(found.value, status, HERE, text)
    return replace(figure, low=found.low, high=found.high)


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
    return None if text is None else _figure(option, text, kind).value


def _wanted_crowding(text: str | None) -> float:
    wanted = WANTED_CROWDING if text is None else _figure("--crowding", text, "number").value
    if wanted <= 1:
        raise InputError(
            f"--crowding: a peak of {wanted:g} times the mean current density cannot be", hint="Give more than 1."
        )
    return wanted


def _bracket(text: str | None) -> float:
    bracket = BRACKET if text is None else _figure("--bracket", text, "fraction").value
    if not _FINEST <= bracket <= _COARSEST:
        raise InputError(
            f"--bracket: {text!r} cannot be", hint=f"Give {100 * _FINEST:g} % to {100 * _COARSEST:g} % of the ohms."
        )
    return bracket
