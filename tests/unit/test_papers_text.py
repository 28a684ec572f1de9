"""Cleaning, measuring and wrapping of text; widths against the font's own tables."""

import pytest
from fontTools.ttLib import TTFont
from hypothesis import given, settings
from hypothesis import strategies as st

from griddesign.papers import text, typefaces
from griddesign.papers.marks import MM_PER_PT


@pytest.mark.parametrize("name", [typefaces.REGULAR, typefaces.BOLD])
def test_the_shipped_font_has_every_sign_the_papers_use(name: str) -> None:
    known = TTFont(typefaces.font_file(name)).getBestCmap()
    assert [sign for sign in "µμΩ\u2126°±Δ≈∥·×–≤≥≠√∠Ø⌀½¼¾²³∞η□ÅÄÖåäöéèñłøšžğ" if ord(sign) not in known] == []


def test_licence_of_the_font_lies_beside_it() -> None:
    licence = typefaces.font_file(typefaces.REGULAR).with_name("LICENSE.txt").read_text(encoding="utf-8")
    assert "Permission is hereby granted, free of charge" in licence


def test_heights_are_those_of_the_font() -> None:
    font = TTFont(typefaces.font_file(typefaces.REGULAR))
    per_em = font["head"].unitsPerEm
    assert font["glyf"]["H"].yMax / per_em == typefaces.CAP_HEIGHT
    assert (font["hhea"].ascent / per_em, -font["hhea"].descent / per_em) == (typefaces.ASCENT, typefaces.DESCENT)


@pytest.mark.parametrize("name", [typefaces.REGULAR, typefaces.BOLD])
def test_small_letters_are_those_of_the_font(name: str) -> None:
    font = TTFont(typefaces.font_file(name))
    per_em = font["head"].unitsPerEm
    assert (font["glyf"]["x"].yMax / per_em, -font["glyf"]["p"].yMin / per_em) == (typefaces.X_HEIGHT, typefaces.TAIL)


def test_width_is_the_sum_of_the_fonts_advances() -> None:
    font = TTFont(typefaces.font_file(typefaces.BOLD))
    glyphs = font.getBestCmap()
    wanted = sum(font["hmtx"][glyphs[ord(char)]][0] for char in "0.283 Ω ±2 %") / font["head"].unitsPerEm
    assert text.width_mm("0.283 Ω ±2 %", 14.0, True) == pytest.approx(wanted * 14.0 * MM_PER_PT, rel=1e-3)


@pytest.mark.parametrize(
    ("given_text", "printed"),
    [
        ("e\u0301", "é"),  # combining accent composed
        ("a\tb\x00c", "a bc"),
        ("one\r\ntwo\rthree", "one\ntwo\nthree"),
        ("<b>&amp;</b>", "<b>&amp;</b>"),  # no markup is known here
        ("\ud800", text.MISSING),  # a lone surrogate cannot be written
        ("\U0001f9ff", text.MISSING),  # no glyph: the reader sees that something stood there
        ("R\u200dΩ", "RΩ"),
    ],
)
def test_clean(given_text: str, printed: str) -> None:
    assert text.clean(given_text) == printed


def test_wrap_breaks_between_words_and_keeps_units_to_numbers() -> None:
    lines = text.wrap("grid of 3.21\u00a0Ω cold", text.width_mm("grid of 3.21"))
    assert lines == ("grid of", "3.21\u00a0Ω cold")


def test_wrap_keeps_line_breaks_and_gives_at_least_one_line() -> None:
    assert text.wrap("one\n\ntwo", 100.0) == ("one", "", "two")
    assert text.wrap("", 100.0) == ("",)


@settings(max_examples=60, deadline=None)
@given(st.text(max_size=120), st.floats(min_value=8.0, max_value=180.0), st.sampled_from((8.0, 11.0, 18.0)))
def test_no_wrapped_line_is_wider_than_its_room(words: str, room_mm: float, size_pt: float) -> None:
    lines = text.wrap(words, room_mm, size_pt)
    assert all(text.width_mm(line, size_pt) <= room_mm + 1e-9 or len(line) == 1 for line in lines)
    assert "".join(lines).replace(" ", "") == text.clean(words).replace(" ", "").replace("\n", "")
