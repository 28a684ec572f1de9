"""``all.html`` in a real browser, opened from a disk at the width of a phone and of a desk. Skips where none is."""

import html
import json
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from pypdf import PdfReader

from griddesign.judge.records import Result
from griddesign.papers.whole_set import files_of

BROWSERS = ("chromium-headless-shell", "chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
BROWSER = next((found for name in BROWSERS if (found := shutil.which(name))), None)
pytestmark = pytest.mark.skipif(BROWSER is None, reason=f"no browser on this machine: none of {', '.join(BROWSERS)}")

PHONE_PX, DESK_PX = 360, 1100
# A page round the file that may look into it; the file's own policy would let no script of ours run inside.
PROBE = """<!DOCTYPE html><meta charset="utf-8"><iframe id="f" width="{wide}" height="700" style="border:0"></iframe>
<pre id="out"></pre><script>
const f = document.getElementById("f");
f.onload = () => {{
  const d = f.contentDocument, w = f.contentWindow, all = s => [...d.querySelectorAll(s)];
  const size = e => parseFloat(w.getComputedStyle(e).fontSize);
  const behind = () => {{ const s = all(".sheet").pop(), y = s.offsetTop + 2500; w.scrollTo(0, y);
    const r = s.querySelector(".across svg").getBoundingClientRect(); w.scrollTo(0, 0); return [r.top, r.height]; }};
  const texts = all(".sheet svg text").filter(t => !t.closest(".across"));
  document.getElementById("out").textContent = JSON.stringify({{
    title: d.title, tried: w.tried === undefined ? null : w.tried,
    loaded: all("img").filter(i => i.naturalWidth).length,
    wide: d.documentElement.scrollWidth,
    fetched: w.performance.getEntriesByType("resource").map(e => e.name),
    small: Math.min(...all("h1,h2,h3,p,li,dt,dd,th,td,figcaption").map(size)),
    drawn: Math.min(...texts.map(t => t.getScreenCTM().a ? Math.hypot(t.getScreenCTM().a, t.getScreenCTM().b)
      * parseFloat(t.getAttribute("font-size")) : 99)),
    off: Math.max(...texts.map(t => Math.abs(t.getComputedTextLength() - parseFloat(t.getAttribute("textLength"))))),
    outside: texts.filter(t => {{ const s = t.ownerSVGElement.getBoundingClientRect(), b = t.getBoundingClientRect();
      return b.left < s.left - 4 || b.right > s.right + 4; }}).map(t => t.textContent),
    sheets: all(".sheet").map(s => s.id), links: all("nav a").map(a => a.getAttribute("href").slice(1)),
    cut: all(".sheet").filter(s => s.querySelector("h2").textContent == "Crew card")
      .flatMap(s => [...s.querySelectorAll(".scroll")]).filter(e => e.scrollWidth > e.clientWidth + 1)
      .map(e => e.textContent),
    behind: behind(), stacked: all(".stack thead").map(e => w.getComputedStyle(e).display),
  }});
}};
f.src = "{name}";
</script>"""


def browse(*words: str) -> str:
    assert BROWSER is not None
    fixed = ("--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--hide-scrollbars")
    run = subprocess.run(
        [BROWSER, *fixed, "--allow-file-access-from-files", *words], capture_output=True, timeout=120, check=True
    )
    return run.stdout.decode()


def probe(file: Path, wide: int) -> dict[str, Any]:
    page = file.with_name(f"probe-{file.stem}-{wide}.htm")
    page.write_text(PROBE.format(wide=wide, name=file.name), encoding="utf-8")
    dom = browse("--virtual-time-budget=8000", "--window-size=1300,900", "--dump-dom", page.as_uri())
    found = re.search(r'<pre id="out">(.+?)</pre>', dom, re.DOTALL)
    assert found, "the file did not load"
    answer: dict[str, Any] = json.loads(html.unescape(found[1]))
    return answer


@pytest.fixture(scope="module")
def file(demo: Result, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("screen") / "all.html"
    path.write_bytes(files_of(demo)["all.html"])
    return path


@pytest.fixture(scope="module")
def phone(file: Path) -> dict[str, Any]:
    return probe(file, PHONE_PX)


@pytest.fixture(scope="module")
def desk(file: Path) -> dict[str, Any]:
    return probe(file, DESK_PX)


def test_it_opens_from_a_disk_and_asks_for_nothing(phone: dict[str, Any], demo: Result) -> None:
    assert phone["title"] == f"{demo.job.title}, revision {demo.job.revision}"
    assert phone["fetched"] == []
    assert phone["sheets"] == phone["links"] != []


def test_a_phone_needs_no_sideways_turn_of_the_page(phone: dict[str, Any], desk: dict[str, Any]) -> None:
    assert phone["wide"] <= PHONE_PX
    assert desk["wide"] <= DESK_PX
    assert set(phone["stacked"]) == {"none"}
    assert set(desk["stacked"]) == {"table-header-group"}


def test_letters_stay_large_enough(phone: dict[str, Any], desk: dict[str, Any]) -> None:
    """12 px for words; drawings shrink on a phone, where two fingers spread them again: not to nothing."""
    assert min(phone["small"], desk["small"]) >= 11.5
    assert phone["drawn"] >= 3.0
    assert desk["drawn"] >= 6.0


def test_the_driver_reads_the_whole_card(phone: dict[str, Any]) -> None:
    assert phone["cut"] == []


def test_the_words_across_stay_behind_the_text_while_it_is_read(phone: dict[str, Any], desk: dict[str, Any]) -> None:
    for seen in (phone, desk):
        assert seen["behind"] == pytest.approx([0.0, 700.0], abs=1.0), "top and height in a window 700 px high"


def test_words_of_drawings_keep_their_width_and_their_frame(phone: dict[str, Any], desk: dict[str, Any]) -> None:
    for seen in (phone, desk):
        assert seen["off"] < 0.1
        assert seen["outside"] == []


def test_what_slips_past_the_escaping_still_does_not_run(file: Path) -> None:
    """Markup put in by hand, to prove the policy: no script, no handler, no picture fetched, no style of its own."""
    bad = '<script>tried=1</script><img src="x.png" onload="tried=2"/><p style="font-size:1px">x</p>'
    text = file.read_text(encoding="utf-8")
    with_policy, without = file.with_name("bad.html"), file.with_name("worse.html")
    with_policy.write_text(text.replace("<main>", f"<main>{bad}"), encoding="utf-8")
    without.write_text(re.sub(r"<meta http-equiv[^>]*>", "", with_policy.read_text(encoding="utf-8")), encoding="utf-8")
    Image.new("L", (1, 1)).save(file.with_name("x.png"))
    held, open_door = probe(with_policy, DESK_PX), probe(without, DESK_PX)
    assert (held["tried"], held["loaded"]) == (None, 0)
    assert held["small"] >= 11.5
    assert open_door["tried"] and open_door["loaded"] == 1 and open_door["small"] == 1.0, (
        "the probe sees what it should"
    )


def test_the_screen_is_grey(file: Path) -> None:
    shot = file.with_name("shot.png")
    browse(f"--window-size={DESK_PX},4000", f"--screenshot={shot}", file.as_uri())
    with Image.open(shot) as image:
        red, green, blue = image.convert("RGB").split()
        assert red.tobytes() == green.tobytes() == blue.tobytes()
        assert red.getextrema() == (0, 255)


def test_who_prints_it_finds_the_words_across_every_page(file: Path) -> None:
    """Hollow letters are no text any more but paths, the only thing of their grey: 191 of 255."""
    pdf = file.with_name("printed.pdf")
    browse("--no-pdf-header-footer", f"--print-to-pdf={pdf}", file.as_uri())
    pages = PdfReader(pdf).pages
    assert len(pages) > 20
    assert [
        number
        for number, page in enumerate(pages, start=1)
        if b".749 .749 .749 RG" not in page.get_contents().get_data()
    ] == []
