"""Foreign DXF files as bytes: what is no DXF, cut short, damaged or silent of its unit gets its own message.

Files are written by hand as text or by the drawing library, whose reader is not used by the code under test.
"""

import io
import math
import struct
from collections.abc import Callable
from pathlib import Path

import pytest

from griddesign.errors import GeometryError, InputError
from griddesign.papers.dxf_library import library
from griddesign.plate.foreign import ForeignPlate, document, read_dxf

AREA_MM2 = 160 * 40 + math.pi * 20**2 - 2 * math.pi * 10**2  # of the link plate drawn below
PERIMETER_MM = 2 * 160 + 2 * math.pi * 20 + 4 * math.pi * 10

LINK = (
    "0 LINE 8 0 10 0 20 -20 11 160 21 -20",
    "0 ARC 8 0 10 160 20 0 40 20 50 270 51 90",
    "0 LINE 8 0 10 160 20 20 11 0 21 20",
    "0 ARC 8 0 10 0 20 0 40 20 50 90 51 270",
    "0 CIRCLE 8 0 10 0 20 0 40 10",
    "0 CIRCLE 8 0 10 160 20 0 40 10",
)
MM = "0 SECTION 2 HEADER 9 $ACADVER 1 AC1015 9 $INSUNITS 70 4 0 ENDSEC"


def by_hand(*entities: str, header: str = MM, end: str = "0 EOF") -> bytes:
    words = " ".join((header, "0 SECTION 2 ENTITIES", *entities, "0 ENDSEC", end)).split()
    return ("\n".join(words) + "\n").encode()


def by_library(release: str = "R2000", form: str = "asc") -> bytes:
    drawing = library().new(release)
    if release != "R12":
        drawing.header["$INSUNITS"] = 4
    space = drawing.modelspace()
    space.add_line((0, -20), (160, -20))
    space.add_arc((160, 0), 20, 270, 90)
    space.add_line((160, 20), (0, 20))
    space.add_arc((0, 0), 20, 90, 270)
    space.add_circle((0, 0), 10)
    space.add_circle((160, 0), 10)
    if form == "bin":
        stream = io.BytesIO()
        drawing.write(stream, fmt="bin")
        return stream.getvalue()
    text = io.StringIO()
    drawing.write(text)
    return text.getvalue().encode("utf-8")


Reader = Callable[..., ForeignPlate]


@pytest.fixture
def read(tmp_path: Path) -> Reader:
    def reader(content: bytes, **options: object) -> ForeignPlate:
        path = tmp_path / "plate.dxf"
        path.write_bytes(content)
        return read_dxf(path, **options)  # type: ignore[arg-type]

    return reader


def check_link(plate: ForeignPlate, scale: float = 1e-3) -> None:
    assert math.isclose(plate.outline.area_m2, AREA_MM2 * scale**2, rel_tol=1e-12)
    assert math.isclose(plate.outline.perimeter_m, PERIMETER_MM * scale, rel_tol=1e-12)
    assert plate.terminals == ("H1", "H2")
    assert plate.outline.terminals == (0, 1)


def test_the_link_plate_by_hand(read: Reader) -> None:
    plate = read(by_hand(*LINK))
    check_link(plate)
    assert (plate.units, plate.units_from, plate.release) == ("mm", "header", "R2000")
    assert not any((plate.healed, plate.doubled, plate.strays, plate.ignored, plate.remarks))
    assert [(hole.name, hole.is_round, hole.is_terminal) for hole in plate.holes] == [
        ("H1", True, True),
        ("H2", True, True),
    ]
    assert plate.terminals_why == "the only two holes, both round: 20 mm and 20 mm, at (0, 0) mm and (160, 0) mm"


@pytest.mark.parametrize("release", ["R12", "R2000", "R2004", "R2007", "R2010", "R2013", "R2018"])
@pytest.mark.parametrize("form", ["asc", "bin"])
def test_every_release_ascii_and_binary(read: Reader, release: str, form: str) -> None:
    units = "mm" if release == "R12" else None
    plate = read(by_library(release, form), units=units)
    check_link(plate)
    assert plate.release == release


@pytest.mark.parametrize("release", ["R13", "R14"])
def test_releases_named_by_their_code(read: Reader, release: str) -> None:
    code = {"R13": "AC1012", "R14": "AC1014"}[release]
    assert read(by_hand(*LINK, header=MM.replace("AC1015", code))).release == release


@pytest.mark.parametrize("ending", [b"\r\n", b"\r"])
def test_line_ends_of_other_systems(read: Reader, ending: bytes) -> None:
    check_link(read(by_hand(*LINK).replace(b"\n", ending)))


def test_byte_order_mark_comments_and_control_z(read: Reader) -> None:
    check_link(read(b"\xef\xbb\xbf999\nby hand\n" + by_hand(*LINK) + b"\x1a"))


def test_figures_in_every_notation_the_format_allows(read: Reader) -> None:
    check_link(read(by_hand(*LINK).replace(b"\n160\n", b"\n  +1.6E+2 \n").replace(b"\n20\n-20\n", b"\n20\n-20.\n")))


def test_groups_in_another_order(read: Reader) -> None:
    """Some old programs write x1, x2, y1, y2."""
    check_link(read(by_hand("0 LINE 8 0 10 0 11 160 20 -20 21 -20", *LINK[1:])))


# --- what is not a DXF file ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "is empty"),
        (b"  \r\n\r\n", "is empty"),
        (b"AC1027\0\0\0\0\0\x5b\x01\x17\x1f" + bytes(200), "DWG"),
        (b"AC1.50" + bytes(200), "DWG"),
        (b"%PDF-1.7\n%\xe2\xe3", "PDF"),
        (b"PK\x03\x04\x14\0", "zip"),
        (b"\x89PNG\r\n\x1a\n", "picture"),
        (b"<?xml version='1.0'?><svg/>", "SVG"),
        (b"ISO-10303-21;\nHEADER;", "STEP"),
        ("0\nSECTION\n".encode("utf-16"), "UTF-16"),
        (bytes(range(256)) * 20, "no text has"),
        (b"the quick brown fox\njumps over\n", "'the quick brown fox'"),
        (b"0\nhello\n0\nworld\n", "no section begins"),
    ],
)
def test_what_is_no_dxf_is_named(read: Reader, content: bytes, said: str) -> None:
    with pytest.raises(InputError, match=said):
        read(content)


def test_missing_file_and_folder(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"nothing\.dxf: there is no such file"):
        read_dxf(tmp_path / "nothing.dxf")
    with pytest.raises(InputError, match="cannot be read"):
        read_dxf(tmp_path)


def test_more_than_ten_megabytes(read: Reader) -> None:
    with pytest.raises(InputError, match=r"has 11\.0 MB"):
        read(b"0\n" + b"x" * 11 * 1024**2)


def test_too_many_entities(read: Reader, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(document, "MOST_ENTITIES", 100)
    with pytest.raises(InputError, match="has 106 entities; more than 100"):
        read(by_hand(*LINK, *["0 POINT 8 0 10 0 20 0"] * 100))


def test_no_entities_section(read: Reader) -> None:
    with pytest.raises(InputError, match="no section ENTITIES"):
        read(b"\n".join([*MM.encode().split(), b"0", b"EOF", b""]))


def test_nothing_to_cut_says_what_was_left_out(read: Reader) -> None:
    with pytest.raises(GeometryError, match=r"no lines to cut; left out: 1 TEXT on layer NOTES \(not cut\)"):
        read(by_hand("0 TEXT 8 NOTES 10 0 20 0 40 5 1 plate"))


# --- cut short and damaged -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("share", [0.02, 0.1, 0.3, 0.5, 0.7, 0.9, 0.99])
@pytest.mark.parametrize("form", ["asc", "bin"])
def test_cut_short(read: Reader, share: float, form: str) -> None:
    content = by_library("R2000", form)
    with pytest.raises(InputError, match=r"cut short|no section begins"):
        read(content[: int(share * len(content))])


def test_cut_short_at_every_line(read: Reader) -> None:
    lines = by_hand(*LINK).split(b"\n")
    for count in range(1, len(lines) - 1):
        with pytest.raises(InputError, match=r"cut short|no section begins"):
            read(b"\n".join(lines[:count]))


def test_sections_not_ended(read: Reader) -> None:
    whole = by_hand(*LINK)
    with pytest.raises(InputError, match="cut short"):
        read(whole.replace(b"0\nENDSEC\n0\nEOF", b"0\nEOF"))
    with pytest.raises(InputError, match=r"line 14: SECTION out of place"):
        read(whole.replace(b"0\nENDSEC\n", b"", 1))


def test_a_line_too_many_is_found_by_its_number(read: Reader) -> None:
    lines = by_hand(*LINK).split(b"\n")
    lines.insert(20, b"0.5")
    with pytest.raises(InputError, match=r"line 21: '0\.5' stands where a group code should"):
        read(b"\n".join(lines))


@pytest.mark.parametrize("bad", ["100,5", "1_000", "0x10", "ten", "1.2.3", "--5", "1.#QNAN", "nan", "inf", "1e999"])
def test_what_is_no_number_is_never_read_as_one(read: Reader, bad: str) -> None:
    """A decimal comma cut at the comma would be a plate of another size."""
    content = by_hand(f"0 LINE 8 0 10 0 20 -20 11 {bad} 21 -20", *LINK[1:])
    with pytest.raises(GeometryError, match=r"not a number|not finite") as caught:
        read(content)
    assert bad in caught.value.message
    assert caught.value.message.startswith("line 28: ")
    assert ("decimal point" in caught.value.hint) == ("," in bad)


def test_not_finite_in_a_binary_file(read: Reader) -> None:
    content = by_library("R2000", "bin")
    good, bad = struct.pack("<d", 160.0), struct.pack("<d", math.nan)
    assert good in content
    with pytest.raises(GeometryError, match="not finite"):
        read(content.replace(good, bad))


@pytest.mark.parametrize(
    ("entity", "said"),
    [
        ("0 LINE 8 0 10 0 20 -20 11 160", "LINE without its group 21"),
        ("0 ARC 8 0 10 0 20 0 40 20 50 90", "ARC without its group 51"),
        ("0 CIRCLE 8 0 10 1e300 20 0 40 5", "a figure of 1e[+]300, larger than any drawing"),
        ("0 REGION 8 0 70 1", "REGION on layer 0 cannot be read"),
        ("0 CIRCLE 8 0 10 0 20 0", "CIRCLE without its group 40"),
        ("0 CIRCLE 8 0 10 0 20 0 40 0", "radius of 0"),
        ("0 CIRCLE 8 0 10 0 20 0 40 -5", "radius of -5"),
        ("0 ARC 8 0 10 0 20 0 40 20 50 90 51 90", "same angle"),
    ],
)
def test_damaged_entities(read: Reader, entity: str, said: str) -> None:
    with pytest.raises(GeometryError, match=said):
        read(by_hand(*LINK, entity))


R12_POLYLINE = """0 POLYLINE 8 0 66 1 10 0 20 0 30 0 70 1
0 VERTEX 8 0 10 0 20 -20 30 0 0 VERTEX 8 0 10 160 20 -20 42 1 0 VERTEX 8 0 10 160 20 20
0 VERTEX 8 0 10 0 20 20 42 1 0 SEQEND 8 0"""


def test_an_old_polyline_by_hand(read: Reader) -> None:
    check_link(read(by_hand(R12_POLYLINE, *LINK[4:], header=""), units="mm"))


def test_a_block_by_hand_and_one_seen_through_a_clip(read: Reader) -> None:
    block = "0 SECTION 2 BLOCKS 0 BLOCK 2 EYE 70 0 10 1 20 2 30 0 0 CIRCLE 8 0 10 1 20 2 40 5 0 ENDBLK 0 ENDSEC"
    inserts = [f"0 INSERT 8 0 2 eye 10 {x} 20 0 41 -2 42 2 43 2 50 33" for x in (0, 160)]
    content = by_hand(*LINK[:4], *inserts, header=f"{MM} {block}")
    check_link(read(content))
    clip = b"0 SECTION 2 OBJECTS 0 SPATIAL_FILTER 5 FF 0 ENDSEC 0 EOF".replace(b" ", b"\n")
    with pytest.raises(GeometryError, match="through a clip"):
        read(content.replace(b"0\nEOF", clip))


# --- the unit --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "header",
    ["", "0 SECTION 2 HEADER 9 $ACADVER 1 AC1009 0 ENDSEC", MM.replace("70 4", "70 0")],
    ids=["no header", "no $INSUNITS", "$INSUNITS 0"],
)
def test_a_silent_header_is_asked_for(read: Reader, header: str) -> None:
    with pytest.raises(InputError, match="does not say its unit") as caught:
        read(by_hand(*LINK, header=header))
    assert caught.value.hint == "Give the drawing's unit: mm, cm, m, inch."
    plate = read(by_hand(*LINK, header=header), units="inch")
    check_link(plate, 0.0254)
    assert (plate.units, plate.units_from) == ("inch", "given")


@pytest.mark.parametrize(("code", "scale"), [(1, 0.0254), (4, 1e-3), (5, 1e-2), (6, 1.0)])
def test_units_of_the_header(read: Reader, code: int, scale: float) -> None:
    """An inch is 25.4 mm exactly (international yard and pound agreement, 1959; NIST SP 811 (2008), appendix B)."""
    check_link(read(by_hand(*LINK, header=MM.replace("70 4", f"70 {code}"))), scale)


@pytest.mark.parametrize(("code", "name"), [(2, "feet"), (13, "microns"), (99, "code 99")])
def test_units_of_no_plate(read: Reader, code: int, name: str) -> None:
    with pytest.raises(InputError, match=f"unit is {name}, no unit of a plate"):
        read(by_hand(*LINK, header=MM.replace("70 4", f"70 {code}")))


def test_a_given_unit_goes_before_the_header_and_says_so(read: Reader) -> None:
    plate = read(by_hand(*LINK), units="inch")
    check_link(plate, 0.0254)
    assert plate.remarks == ("the header says mm, read as inch as asked",)


def test_an_unknown_unit(read: Reader) -> None:
    with pytest.raises(InputError, match="'furlong' is no unit"):
        read(by_hand(*LINK), units="furlong")


@pytest.mark.parametrize("tolerance_m", [0.0, 1e-8, -1e-5, math.nan, math.inf, 0.002])
def test_tolerances_that_cannot_be(read: Reader, tolerance_m: float) -> None:
    with pytest.raises(InputError, match="tolerance"):
        read(by_hand(*LINK), tolerance_m=tolerance_m)


def test_layer_names_in_an_old_code_page(read: Reader) -> None:
    layered = [entity.replace("8 0", "8 ÄUSSEN") for entity in LINK]
    header = MM.replace("9 $INS", "9 $DWGCODEPAGE 3 ANSI_1252 9 $INS")
    content = by_hand(*layered, "0 LINE 8 REST 10 0 20 0 11 9 21 9", header=header).decode().encode("cp1252")
    check_link(read(content, layers=["äussen"]))
    with pytest.raises(InputError, match="nothing on a layer 'INNEN'") as caught:
        read(content, layers=["INNEN"])
    assert caught.value.hint == "Its layers: REST, ÄUSSEN."


def test_layer_names_with_escaped_letters(read: Reader) -> None:
    """``\\U+`` and four hexadecimal digits (Open DXF reference; from memory)."""
    layered = [entity.replace("8 0", "8 \\U+00C4U\\U+00DFEN") for entity in LINK]
    check_link(read(by_hand(*layered), layers=["ÄUßEN"]))


def test_lumps_of_bytes_in_a_binary_file_are_passed_over(read: Reader) -> None:
    """Group 310: a count and so many bytes, whatever they are."""
    content = by_library("R2000", "bin")
    after = content.index(b"\0\0LINE\0") + 7
    lump = struct.pack("<HB", 310, 5) + b"\0\0EOF"
    check_link(read(content[:after] + lump + content[after:]))


def test_what_stands_after_the_end_of_a_binary_file_is_not_read(read: Reader) -> None:
    check_link(read(by_library("R2000", "bin") + bytes(7)))
