"""The sheets of a set as one HTML file that opens from a disk, on a phone too, and asks the network for nothing.

There is no script in it, and its own content policy lets a browser run none and load nothing: should a text ever get
past the escaping, it stays a text.
"""

from base64 import b64encode
from collections.abc import Sequence
from hashlib import sha256

from griddesign.papers.blocks import Sheet, Stamp
from griddesign.papers.frame import across_marks, across_words, live_mm
from griddesign.papers.html.content import all_html, said
from griddesign.papers.html.style import STYLE
from griddesign.papers.html.svg import svg_of
from griddesign.papers.marks import Picture
from griddesign.papers.picking import numbered

SCREEN = "For reading on a screen, not to scale: measure nothing on it. Work from the papers, all.pdf printed at 100 %."
_FOOT = "Not to scale on a screen: measure nothing on this sheet."
_POLICY = "default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"


def html_bytes(sheets: Sequence[Sheet], stamp: Stamp, only: frozenset[str] = frozenset()) -> bytes:
    """The sheets as one HTML file, XML well-formed, UTF-8; of ``only`` those of these keys, under their numbers in the
    whole set. Same sheets, same bytes."""
    count, wanted = numbered(sheets, only)
    body = (
        _everywhere(stamp),
        _front(stamp),
        _contents(wanted),
        "<main>",
        *(_sheet(sheet, number, count, stamp) for number, sheet in wanted),
        "</main>",
    )
    lines = ("<!DOCTYPE html>", '<html lang="en">', _head(stamp), '<body id="top">', *body, "</body>", "</html>", "")
    return "\n".join(lines).encode()


def _head(stamp: Stamp) -> str:
    policy = _POLICY.format(digest=b64encode(sha256(STYLE.encode()).digest()).decode())
    return "\n".join(
        (
            '<head><meta charset="utf-8"/>',
            f'<meta http-equiv="Content-Security-Policy" content="{policy}"/>',
            '<meta name="viewport" content="width=device-width, initial-scale=1"/>',
            '<meta name="format-detection" content="telephone=no"/>',
            '<meta name="referrer" content="no-referrer"/>',
            f"<title>{said(f'{stamp.job_title}, revision {stamp.revision}')}</title>",
            f"<style>{STYLE}</style></head>",
        )
    )


def _front(stamp: Stamp) -> str:
    """Which set this is, and what it is no good for."""
    owner = f"<p>{said(stamp.owner)}</p>" if stamp.owner else ""
    mark = f"<p>revision {said(stamp.revision)} · fingerprint {said(stamp.fingerprint)}</p>"
    return f'<header><h1>{said(stamp.job_title)}</h1>{owner}{mark}<p class="screen">{SCREEN}</p></header>'


def _contents(wanted: Sequence[tuple[int, Sheet]]) -> str:
    items = (
        f'<li><a href="#sheet-{number}">{number} · {said(sheet.name)}</a>'
        f"<p>For the {sheet.hand}. {said(sheet.imperative)}</p></li>"
        for number, sheet in wanted
    )
    return f'<nav aria-label="Contents"><h3>Contents</h3><ol>{"".join(items)}</ol></nav>'


def _sheet(sheet: Sheet, number: int, count: int, stamp: Stamp) -> str:
    return "\n".join(
        (
            f'<section class="sheet" id="sheet-{number}" aria-labelledby="name-{number}">',
            _across(across_words(sheet, stamp), live_mm(sheet)),
            _band(sheet, number, count, stamp),
            all_html(sheet.blocks),
            f'<p class="foot t9">{_FOOT} <a href="#top">Contents</a></p></section>',
        )
    )


def _band(sheet: Sheet, number: int, count: int, stamp: Stamp) -> str:
    """The band of a page in the order the paper has it; a screen has no pages to count."""
    owner = f'<p class="t9">{said(stamp.owner)}</p>' if stamp.owner else ""
    across = across_words(sheet, stamp)
    warning = f'<p class="warn">{said(" · ".join(across))}</p>' if across else ""
    side = (
        f'<p class="b">For the {sheet.hand}</p><p class="b">sheet {number} of {count}</p>'
        f'<p class="t9">revision {said(stamp.revision)}, fingerprint {said(stamp.fingerprint)}</p>'
    )
    return (
        f'<header class="band"><div><div><h2 id="name-{number}">{said(sheet.name)}</h2><p>{said(stamp.job_title)}</p>'
        f'{owner}</div><div class="side">{side}</div></div>{warning}<p class="order">{said(sheet.imperative)}</p>'
        "</header>"
    )


def _everywhere(stamp: Stamp) -> str:
    """The words across every page, for those who print the file all the same. Browsers repeat them page by page only
    where they are no drawing."""
    if not stamp.across:
        return ""
    words = "\n".join(stamp.across)
    return f'<div class="everywhere" aria-hidden="true"><p>{said(words)}</p></div>'


def _across(words: tuple[str, ...], live: tuple[float, float]) -> str:
    """Hollow grey words that stay behind the text while it is read; the band has them in plain words."""
    if not words:
        return ""
    return f'<div class="across" aria-hidden="true">{svg_of(Picture(*live, across_marks(words, live)))}</div>'
