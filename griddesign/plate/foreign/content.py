"""Which entities of a drawing are cut: blocks opened, layers and line types told apart, everything left out counted."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from griddesign.errors import GeometryError, InputError
from griddesign.plate.foreign.document import MOST_ENTITIES, Block, Drawing, Entity
from griddesign.plate.foreign.entities import CUT_KINDS, Shape, drawn
from griddesign.plate.foreign.opening import place
from griddesign.plate.foreign.placement import AS_DRAWN, Placement, copies_of, placed_copies
from griddesign.plate.foreign.records import Ignored

_ANNOTATION = frozenset({
    "TEXT", "MTEXT", "RTEXT", "ATTRIB", "ATTDEF", "DIMENSION", "ARC_DIMENSION", "LARGE_RADIAL_DIMENSION", "LEADER",
    "MLEADER", "MULTILEADER", "TOLERANCE", "HATCH", "POINT", "SOLID", "TRACE", "SHAPE", "IMAGE", "WIPEOUT", "VIEWPORT",
    "XLINE", "RAY", "ACAD_TABLE", "OLEFRAME", "OLE2FRAME", "PDFUNDERLAY", "DWFUNDERLAY", "DGNUNDERLAY",
    "GEOPOSITIONMARKER", "LIGHT", "SUN", "CAMERA", "SECTION",
})  # fmt: skip
_CENTRE_LINES = ("CENTER", "CENTRE", "MITTE", "DASHDOT", "PHANTOM", "DIVIDE", "ACAD_ISO04", "ACAD_ISO05", "ACAD_ISO08")
_BY_LAYER, _BY_BLOCK = "BYLAYER", "BYBLOCK"
_MOST_NESTED = 32
MOST_SHAPES = 50_000  # far above any plate: an outline of so many edges takes some seconds
_PAPER = "paper space"


@dataclass(slots=True)
class Content:
    """What is cut, in the drawing's unit, and what was left out."""

    shapes: list[Shape] = field(default_factory=list)
    heights: list[float] = field(default_factory=list)
    left_out: Counter[tuple[str, str, str]] = field(default_factory=Counter)
    wide: int = 0

    def ignored(self) -> tuple[Ignored, ...]:
        """What was left out, by kind and layer."""
        return tuple(Ignored(kind, layer, n, why) for (kind, layer, why), n in sorted(self.left_out.items()))


@dataclass(frozen=True, slots=True)
class _Inside:
    """Where an entity stands: its placement, and the layer, line type and visibility its block lends it."""

    placement: Placement = AS_DRAWN
    layer: str = "0"
    line_type: str = ""
    blocks: tuple[str, ...] = ()


def content_of(drawing: Drawing, layers: Sequence[str] = (), without: Sequence[str] = ()) -> Content:
    """Everything cut in model space, of the named layers or of all that show but ``without``.

    Raises InputError for a named layer the drawing does not have, GeometryError for what cannot be read as a line.
    """
    _check_layers(drawing, (*layers, *without))
    wanted, other = (frozenset(name.upper() for name in names) for names in (layers, without))
    _check_number(drawing)
    content = Content()
    for entity, inside in _opened(drawing, drawing.entities, _Inside(), content):
        layer = _layer(entity, inside)
        if layer.upper() in other:
            continue
        if why := _why_not(drawing, entity, inside, layer, wanted):
            content.left_out[entity.kind, layer, why] += 1
        else:
            _draw(entity, inside, layer, content)
    return content


def _draw(entity: Entity, inside: _Inside, layer: str, content: Content) -> None:
    if entity.kind not in CUT_KINDS:
        raise GeometryError(
            f"{place(entity.line)}{entity.kind} on layer {layer} cannot be read as lines and arcs",
            hint="Explode it to lines and arcs in the drawing program, delete it, or choose the layers of the outline.",
        )
    result = drawn(entity, inside.placement)
    content.shapes += result.shapes
    if len(content.shapes) > MOST_SHAPES:
        raise GeometryError(
            f"the drawing holds more than {MOST_SHAPES} lines and arcs to cut", hint="Export the plate alone."
        )
    content.heights += result.heights
    content.wide += result.width > 0


def _check_layers(drawing: Drawing, layers: Sequence[str]) -> None:
    inner = [entity for block in drawing.blocks.values() for entity in block.entities]
    used = {entity.layer.upper(): entity.layer for entity in (*drawing.entities, *inner)}
    for name in layers:
        if name.upper() not in used:
            raise InputError(
                f"the drawing has nothing on a layer {name!r}", hint=f"Its layers: {', '.join(sorted(used.values()))}."
            )


def _check_number(drawing: Drawing) -> None:
    """Entities once all blocks are opened, counted without opening them: ten in ten in ten come to many."""
    known: dict[str, int] = {}

    def number(entities: Iterable[Entity], within: tuple[str, ...]) -> int:
        return sum(
            copies_of(e) * max(1, inside(e.text(2).upper(), within)) if e.kind == "INSERT" else 1 for e in entities
        )

    def inside(name: str, within: tuple[str, ...]) -> int:
        if name not in drawing.blocks or name in within or len(within) > _MOST_NESTED:
            return 1  # told of when the block is opened
        if name not in known:
            known[name] = number(drawing.blocks[name].entities, (*within, name))
        return known[name]

    total = number(drawing.entities, ())
    if total > MOST_ENTITIES:
        raise InputError(
            f"with its blocks opened the drawing holds {total} entities; more than {MOST_ENTITIES} are not read",
            hint="Export the plate alone.",
        )


def _opened(
    drawing: Drawing, entities: Iterable[Entity], inside: _Inside, content: Content
) -> Iterator[tuple[Entity, _Inside]]:
    """Entities with those of inserted blocks in place of their inserts."""
    for entity in entities:
        if entity.kind != "INSERT":
            yield entity, inside
        elif why := _unseen(drawing, entity, inside):
            content.left_out["INSERT", _layer(entity, inside), why] += 1
        else:
            block = _block(drawing, entity, inside)
            for attribute in entity.parts:
                content.left_out["ATTRIB", attribute.layer, "not cut"] += 1
            for own in placed_copies(entity, block):
                here = _Inside(
                    inside.placement.of(own),
                    _layer(entity, inside),
                    _line_type(drawing, entity, inside),
                    (*inside.blocks, block.name.upper()),
                )
                yield from _opened(drawing, block.entities, here, content)


def _block(drawing: Drawing, insert: Entity, inside: _Inside) -> Block:
    name = insert.text(2)
    block = drawing.blocks.get(name.upper())
    if block is None or block.external:
        raise GeometryError(
            f"{place(insert.line)}block {name!r} is not in the file",
            hint="Bind the block or the outer reference into the drawing, or explode it.",
        )
    if name.upper() in inside.blocks or len(inside.blocks) >= _MOST_NESTED:
        raise GeometryError(f"{place(insert.line)}block {name!r} holds itself", hint="Explode it.")
    if drawing.clipped:
        raise GeometryError("the drawing shows blocks through a clip", hint="Explode or remove the clipped block.")
    return block


def _layer(entity: Entity, inside: _Inside) -> str:
    """What lies on layer 0 of a block goes with the insert's layer."""
    return inside.layer if entity.layer == "0" else entity.layer


def _line_type(drawing: Drawing, entity: Entity, inside: _Inside) -> str:
    own = entity.text(6, _BY_LAYER).upper()
    if own == _BY_BLOCK:
        return inside.line_type
    if own != _BY_LAYER:
        return own
    layer = drawing.layers.get(_layer(entity, inside).upper())
    return layer.line_type.upper() if layer else ""


def _unseen(drawing: Drawing, entity: Entity, inside: _Inside) -> str:
    """Why an entity does not show in model space, if it does not."""
    if entity.whole(67, 0) and not inside.blocks:
        return _PAPER
    if entity.whole(60, 0):
        return "invisible"
    layer = _layer(entity, inside).upper()
    if layer in drawing.layers and drawing.layers[layer].hidden:
        return "layer off or frozen"
    return "layer never plotted" if layer == "DEFPOINTS" else ""


def _why_not(drawing: Drawing, entity: Entity, inside: _Inside, layer: str, wanted: frozenset[str]) -> str:
    """Why an entity is not cut, or nothing."""
    if entity.kind in _ANNOTATION:
        return "not cut"
    unseen = _unseen(drawing, entity, inside)
    if wanted and unseen != _PAPER:  # a layer asked for is cut even where it does not show
        return "" if layer.upper() in wanted else "another layer"
    if unseen:
        return unseen
    return "centre line" if _line_type(drawing, entity, inside).startswith(_CENTRE_LINES) else ""
