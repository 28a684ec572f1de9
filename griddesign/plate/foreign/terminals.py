"""Which holes are the terminals: those the user names, or the only two where nothing else can be meant."""

from collections.abc import Sequence

from griddesign.errors import GeometryError
from griddesign.plate.foreign.frame import Frame
from griddesign.plate.foreign.records import FoundHole

_LIKE = 1.1  # how many times larger one of two eyes may be


def terminals_of(
    holes: Sequence[FoundHole], asked: Sequence[str], frame: Frame, areas: int = 0
) -> tuple[tuple[str, ...], str]:
    """Names of the terminals that are holes, and why these: two, less the ``areas`` that are terminals.

    Raises GeometryError, with the table of holes in its hint, where they must be asked for or what was asked is wrong.
    """
    if areas and len(asked) + areas != 2:
        raise GeometryError(
            f"{areas} clamped area(s) and {len(asked)} named hole(s) are not two terminals",
            hint=f"Give two areas, or one area and one --terminal ID. {_table(holes, frame)}",
        )
    if areas or asked:
        return _asked(holes, asked, frame, 2 - areas), "named by the user"
    if len(holes) < 2:
        raise GeometryError(
            f"the plate has {len(holes)} hole(s): current needs two eyes to go in and out by",
            hint=f"Draw both. {_table(holes, frame)}".strip(),
        )
    small, large = sorted(hole.diameter_m for hole in holes[:2])
    if len(holes) > 2 or not all(hole.is_round for hole in holes) or large > _LIKE * small:
        raise GeometryError(
            f"which two of the {len(holes)} holes are the terminals cannot be told from the drawing",
            hint=f"Name them with --terminal ID --terminal ID. {_table(holes, frame)}",
        )
    one, other = holes
    why = (
        f"the only two holes, both round: {frame.length(one.diameter_m)} and {frame.length(other.diameter_m)},"
        f" at {_at(one, frame)} and {_at(other, frame)}"
    )
    return (one.name, other.name), why


def _asked(holes: Sequence[FoundHole], asked: Sequence[str], frame: Frame, wanted: int = 2) -> tuple[str, ...]:
    names = {hole.name.upper(): hole.name for hole in holes}
    unknown = [name for name in asked if name.upper() not in names]
    if unknown or len(asked) != wanted or len({name.upper() for name in asked}) != wanted:
        fault = (
            f"there is no hole {unknown[0]!r}" if unknown else f"two different holes are wanted, not {', '.join(asked)}"
        )
        raise GeometryError(f"{fault} for a terminal", hint=_table(holes, frame))
    return tuple(names[name.upper()] for name in asked)


def _table(holes: Sequence[FoundHole], frame: Frame) -> str:
    if not holes:
        return "The drawing shows no holes."
    return f"Holes: {'; '.join(_row(hole, frame) for hole in holes)}."


def _row(hole: FoundHole, frame: Frame) -> str:
    shape = "round" if hole.is_round else "not round"
    return f"{hole.name}: {shape}, {frame.length(hole.diameter_m)} at {_at(hole, frame)}"


def _at(hole: FoundHole, frame: Frame) -> str:
    x, y = hole.centre_m
    return frame.said((x - frame.origin_m[0], y - frame.origin_m[1]))
