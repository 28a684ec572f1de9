"""The drawing library, loaded so that it neither reads nor leaves anything on the user's machine.

Left alone, ezdxf obeys an ``ezdxf.ini`` in the current folder and writes a list of the machine's fonts below the user's
home on its first import. Here it starts from its own defaults and knows the two shipped fonts and no others.
"""

import io
import json
import os
import sys
import tempfile
from collections.abc import Iterator
from configparser import Error as SettingsError
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from griddesign.errors import InputError
from griddesign.papers import typefaces

if TYPE_CHECKING:
    from ezdxf.document import Drawing


DxfVersion = Literal["R12", "R2000", "R2010"]
LengthUnit = Literal["mm", "inch"]
UNITS_PER_M: dict[LengthUnit, float] = {"mm": 1000.0, "inch": 1.0 / 0.0254}
UNIT_WORDS: dict[LengthUnit, str] = {"mm": "millimetres", "inch": "inches"}
_INSUNITS: dict[LengthUnit, int] = {"inch": 1, "mm": 4}


@cache
def library() -> Any:
    """The ezdxf module, made ready once."""
    if "ezdxf" not in sys.modules:
        _import_leaving_nothing()
    import ezdxf
    from ezdxf.fonts import fonts

    module: Any = ezdxf
    module.options.reset()
    _know_our_fonts_only(fonts.font_manager)
    return module


def _import_leaving_nothing() -> None:
    """Import with the library's own cache and settings folders turned to a throw-away one."""
    kept = {name: os.environ.get(name) for name in ("XDG_CACHE_HOME", "XDG_CONFIG_HOME")}
    with tempfile.TemporaryDirectory() as folder:
        store = Path(folder) / "ezdxf"
        store.mkdir()
        (store / "font_manager_cache.json").write_text(_font_list(), encoding="utf-8")
        os.environ.update(dict.fromkeys(kept, folder))
        try:
            import ezdxf  # noqa: F401
        except SettingsError as error:
            raise InputError(
                "the file ezdxf.ini in this folder cannot be read", hint="It is another program's: run from elsewhere."
            ) from error
        finally:
            for name, value in kept.items():
                os.environ.pop(name) if value is None else os.environ.update({name: value})


def _font_list() -> str:
    """The shipped fonts in the library's own form of a font list."""
    faces = ((typefaces.REGULAR, "Regular", 400), (typefaces.BOLD, "Bold", 700))
    entries = [[str(typefaces.font_file(name)), typefaces.FAMILY, style, weight, 5] for name, style, weight in faces]
    return json.dumps({"version": 2, "font-faces": entries})


def _know_our_fonts_only(manager: Any) -> None:
    manager.clear()
    try:
        manager.loads(_font_list())
    except OSError:  # the list of another version of the library looks different: let it look at the two files
        manager.build([str(typefaces.font_file(typefaces.REGULAR).parent)], support_dirs=False)


@contextmanager
def _fixed_identity() -> Iterator[None]:
    """No clock and no random identity in documents made or written inside."""
    options = library().options
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


def new_document(version: DxfVersion, unit: LengthUnit) -> "Drawing":
    """An empty document that says its unit in the header."""
    with _fixed_identity():
        document: Drawing = library().new(version)
    if version != "R12":  # R12 has no such entry: there the unit stands in the file's name alone
        document.header["$INSUNITS"] = _INSUNITS[unit]
    document.header["$MEASUREMENT"] = int(unit == "mm")
    document.header["$LUNITS"] = 2  # decimal
    return document


def set_extents(document: "Drawing", box: tuple[float, float, float, float], *, grow: bool = False) -> None:
    """Say in the header how far the drawing reaches (left, low, right, high, in its units); ``grow`` keeps what it
    said before. The library leaves the header of an empty file, and some viewers then open on nothing."""
    left, low, right, high = box
    space = document.modelspace()
    least, most = space.dxf.get("extmin"), space.dxf.get("extmax")
    if grow and least is not None and least[0] <= most[0]:
        left, low, right, high = min(left, least[0]), min(low, least[1]), max(right, most[0]), max(high, most[1])
    space.reset_extents((left, low, 0.0), (right, high, 0.0))
    document.header["$EXTMIN"], document.header["$EXTMAX"] = (left, low, 0.0), (right, high, 0.0)


def dxf_bytes(document: "Drawing") -> bytes:
    """The document as a file, lines ended as DXF readers on every system take them. Same document, same bytes."""
    stream = io.StringIO()
    _order_classes(document)
    with _fixed_identity():
        document.write(stream)
    encoding = "utf-8" if document.dxfversion >= "AC1021" else document.encoding
    return stream.getvalue().replace("\n", "\r\n").encode(encoding, errors="dxfreplace")


def _order_classes(document: "Drawing") -> None:
    """Left alone, the library declares its classes in the order of a set, another one in every process."""
    declared = document.classes
    declared.add_required_classes(document.dxfversion)
    declared.classes = dict(sorted(declared.classes.items()))


def read_dxf(content: bytes) -> "Drawing":
    """Our own file read back."""
    text = content.decode("utf-8" if b"AC1024" in content[:400] else "cp1252")
    document: Drawing = library().read(io.StringIO(text.replace("\r\n", "\n")))
    return document
