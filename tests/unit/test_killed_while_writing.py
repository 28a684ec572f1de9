"""Killed at any moment, four at once, nowhere to write: a folder holds the old set or the new, never half of each.
Where its files can only be exchanged one by one, half of each says so."""

import errno
import json
import os
import subprocess
import sys
import textwrap
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from griddesign.errors import OutputError
from griddesign.papers import turn, whole_folder, writing
from griddesign.papers.cut_short import marked
from griddesign.papers.issue import issue
from griddesign.papers.turn import LOCK, turn_at
from griddesign.papers.whole_folder import put_beside, put_whole, turn_for

OLD = {"all.pdf": b"old" * 500, "bench/taps.csv": b"old", "cutter/P_cut.dxf": b"old", "written.json": b"old"}
NEW = {"all.pdf": b"new" * 500, "bench/taps.csv": b"new", "cutter/Q_cut.dxf": b"new", "written.json": b"new"}
GONE = ("cutter/P_cut.dxf",)
MINE = {"bench/filled in.csv": b"mine", "notes/photo.jpg": b"mine too"}

SWEEP = """
    import itertools, os, signal, sys
    from pathlib import Path
    from griddesign.papers import whole_folder
    from tests_data import GONE, MINE, NEW, OLD, put

    sys.dont_write_bytecode = True
    if sys.argv[1] == "two steps":
        whole_folder._exchanged_at_once = lambda one, other: False
    if sys.argv[1] == "one by one":
        whole_folder._we_stand_in = lambda folder: True
    put(Path("warm/draft"), OLD)
    put(Path("warm/draft"), NEW)  # so that the children import nothing

    def killed_at(moment, kind, old):
        folder = Path(f"{sys.argv[1]} {old is not None} {moment} {kind}") / "draft"
        if old is not None:
            put(folder, old)
            for name, content in MINE.items():
                (folder / name).parent.mkdir(exist_ok=True)
                (folder / name).write_bytes(content)
        child = os.fork()
        if not child:
            left = itertools.count(moment, -1)

            def watch(name, _):
                if name.startswith(("open", "os.", "shutil.")) and not next(left):
                    os.kill(os.getpid(), kind)

            sys.addaudithook(watch)
            put(folder, NEW, GONE)
            os._exit(0)
        return folder, os.waitpid(child, 0)[1]

    def held(folder):
        return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}

    for old in (OLD,) if sys.argv[1] == "one by one" else (OLD, None):
        own = MINE if old else {}
        before, after = {**(old or {}), **own}, {**NEW, **own}
        mixed = 0
        for moment in itertools.count(25 if old and sys.argv[1] == "two steps" else 0):  # before, they are the same
            folder, ended = killed_at(moment, (signal.SIGKILL, signal.SIGTERM)[moment % 2], old)
            found = held(folder)
            away = not folder.exists()
            if away and old and sys.argv[1] == "two steps":
                aside = [held(path) for path in folder.parent.iterdir()]
                assert before in aside and after in aside, (moment, aside)
            elif sys.argv[1] == "one by one":
                seen = {name: content for name, content in found.items() if not name.rpartition("/")[2].startswith(".")}
                marked = seen.pop(whole_folder.MARK, None) is not None
                mixed += seen not in (before, after)
                assert marked or seen in (before, after), (moment, sorted(found))
            else:
                assert found in (before, after), (moment, sorted(found))
            put(folder, NEW, GONE)
            assert held(folder) == after, (moment, sorted(held(folder)))
            assert [path.name for path in folder.parent.iterdir()] == ["draft"], (moment, os.listdir(folder.parent))
            if not ended:
                break
        assert (mixed > 5) == (sys.argv[1] == "one by one")
        print(moment, flush=True)
"""
DATA = """
    from griddesign.papers.whole_folder import put_whole, turn_for
    OLD, NEW, GONE, MINE = {old!r}, {new!r}, {gone!r}, {mine!r}

    def put(folder, files, gone=()):
        with turn_for(folder):
            put_whole(folder, files, gone)
"""


def in_own_process(folder: Path, program: str, *words: str) -> str:
    (folder / "tests_data.py").write_text(textwrap.dedent(DATA.format(old=OLD, new=NEW, gone=GONE, mine=MINE)))
    path = os.pathsep.join((str(Path(whole_folder.__file__).parents[2]), str(folder)))
    ended = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(program), *words],
        cwd=folder, capture_output=True, text=True, env={**os.environ, "PYTHONPATH": path}, timeout=120, check=False,
    )  # fmt: skip
    assert ended.returncode == 0, ended.stderr
    return ended.stdout


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
@pytest.mark.parametrize("how", ["at once", "two steps", "one by one"])
def test_killed_before_each_call_to_the_system_in_turn(tmp_path: Path, how: str) -> None:
    over_an_old_set, *into_nothing = (int(line) for line in in_own_process(tmp_path, SWEEP, how).split())
    assert over_an_old_set > 30 and all(moments > 8 for moments in into_nothing)


@pytest.mark.parametrize("revision", ["draft", "A"])
@pytest.mark.parametrize("at_once", [False, True])
def test_a_set_cut_short_is_marked_and_the_next_run_writes_it_whole_without_force(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, at_once: bool, revision: str
) -> None:
    """Three runs of different input: the second is killed, the third finds files of both and knows them as ours. Of a
    letter the second is its first issue: killed, it has issued nothing."""
    job = SimpleNamespace(path=Path("car.toml"), revision=revision)
    results: list[Any] = [SimpleNamespace(fingerprint=str(number), job=job) for number in range(3)]
    folder = tmp_path / "car" / revision
    if revision == "draft":
        issue(results[0], {"all.pdf": b"old", "bench/taps.csv": b"old", "cutter/P_cut.dxf": b"old"}, tmp_path)
    real, count = Path.replace, iter(range(100))

    def killed(path: Path, target: Path) -> Path:
        if next(count) == 2:
            raise KeyboardInterrupt
        return real(path, target)

    with monkeypatch.context() as patched, pytest.raises(KeyboardInterrupt):
        patched.setattr(whole_folder, "_we_stand_in", lambda _: True)
        patched.setattr(writing._Swap, "undo", lambda _: None)
        patched.setattr(Path, "replace", killed)
        issue(results[1], {"all.pdf": b"new", "cutter/Q_cut.dxf": b"new", "bench/taps.csv": b"new"}, tmp_path)
    left = held(folder)
    assert {left["all.pdf"], left["cutter/Q_cut.dxf"]} == {b"new"} and left.get("bench/taps.csv") != b"new"
    assert b"Do not use them" in left[whole_folder.MARK]
    if not at_once:
        monkeypatch.setattr(whole_folder, "_we_stand_in", lambda _: True)
    issue(results[2], {"all.pdf": b"last", "bench/taps.csv": b"last"}, tmp_path)
    assert held(folder).pop("written.json") and set(held(folder)) == {"all.pdf", "bench/taps.csv", "written.json"}
    (folder / whole_folder.MARK).write_bytes(b"\xff of somebody else")
    (folder / "all.pdf").write_bytes(b"edited")
    with pytest.raises(OutputError, match="was changed since it was written"):
        issue(results[2], {"all.pdf": b"last", "bench/taps.csv": b"last"}, tmp_path)


def test_files_put_beside_a_set_cut_short_do_not_take_its_mark_away(tmp_path: Path) -> None:
    folder, half = tmp_path / "out", {"all.pdf": b"new", "taps.csv": b"new"}
    put(folder, {"all.pdf": b"old", "taps.csv": b"old"})
    with pytest.raises(KeyboardInterrupt), marked(folder, half):
        (folder / "all.pdf").write_bytes(b"new")
        raise KeyboardInterrupt
    put_beside(folder, {"plate.csv": b"other"})
    mark = held(folder).pop(whole_folder.MARK)
    assert b"Do not use them" in mark and b"all.pdf" in mark and b"plate.csv" not in mark
    put_beside(folder, half)
    assert held(folder) == {**half, "plate.csv": b"other"}


MANY = """
    import os, sys
    from pathlib import Path
    from griddesign.errors import FrozenRevisionError
    from griddesign.papers.issue import issue
    from types import SimpleNamespace

    def run(number, revision, times):
        job = SimpleNamespace(path=Path("car.toml"), revision=revision)
        result = SimpleNamespace(job=job, fingerprint=str(number))
        names = ("all.pdf", "bench/taps.csv", f"cutter/{number}_cut.dxf")
        for _ in range(times):
            try:
                issue(result, {name: str(number).encode() for name in names}, Path("out"), force=True)
            except FrozenRevisionError:
                return 3
        return 0

    revision, times = sys.argv[1], int(sys.argv[2])
    children = {}
    for number in range(4):
        child = os.fork()
        if not child:
            os._exit(run(number, revision, times))
        children[child] = number
    def seen(handle, name):
        file = os.open(name, os.O_RDONLY, dir_fd=handle)
        try:
            return os.read(file, 9)
        finally:
            os.close(file)

    while children:  # meanwhile look as anybody may, each look at a folder that stays
        try:
            handle = os.open(f"out/car/{revision}", os.O_RDONLY)
        except FileNotFoundError:
            continue
        try:
            found = {seen(handle, name) for name in ("all.pdf", "bench/taps.csv")}
            assert len(found) == 1, found
        except FileNotFoundError:
            pass  # that set was exchanged and removed while we looked
        finally:
            os.close(handle)
        done, ended = os.waitpid(-1, os.WNOHANG)
        if done:
            print(children.pop(done), os.waitstatus_to_exitcode(ended))
"""


def set_left(folder: Path) -> set[bytes]:
    record = json.loads((folder / "written.json").read_text())
    assert set(record["files"]) == {str(path.relative_to(folder)) for path in folder.rglob("*.*")} - {"written.json"}
    assert [path.name for path in folder.parent.iterdir()] == [folder.name]
    return {(folder / name).read_bytes() for name in record["files"]} | {record["fingerprint"].encode()}


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
def test_four_at_once_into_one_folder_do_not_mix(tmp_path: Path) -> None:
    ended = in_own_process(tmp_path, MANY, "draft", "6")
    assert sorted(ended.split("\n")) == ["", "0 0", "1 0", "2 0", "3 0"]
    assert len(set_left(tmp_path / "out" / "car" / "draft")) == 1


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
def test_of_four_at_once_one_gets_the_letter(tmp_path: Path) -> None:
    codes = [line.split()[1] for line in in_own_process(tmp_path, MANY, "A", "2").splitlines()]
    assert sorted(codes) == ["0", "3", "3", "3"]
    assert len(set_left(tmp_path / "out" / "car" / "A")) == 1


# --- nowhere to write ------------------------------------------------------------------------------------------------


def put(folder: Path, files: dict[str, bytes], gone: tuple[str, ...] = ()) -> None:
    with turn_for(folder):
        put_whole(folder, files, gone)


def held(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.mark.parametrize("at", range(len(NEW)))
@pytest.mark.parametrize("there", [True, False])
def test_a_disk_full_at_any_file_changes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, at: int, there: bool
) -> None:
    folder = tmp_path / "out" / "car" / "draft"
    if there:
        put(folder, OLD)
    real, count = writing.write_through, iter(range(100))

    def failing(path: Path, content: bytes) -> None:
        if next(count) == at:
            path.write_bytes(content[:1])
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(path))
        real(path, content)

    monkeypatch.setattr(whole_folder, "write_through", failing)
    with pytest.raises(OutputError, match="the disk is full") as caught:
        put(folder, NEW, GONE)
    assert str(folder / list(NEW)[at]) in caught.value.message
    assert held(tmp_path) == ({f"out/car/draft/{name}": raw for name, raw in OLD.items()} if there else {})
    assert there or not (tmp_path / "out").exists()


@pytest.mark.parametrize("at", range(2 * len(NEW)))
def test_a_folder_that_cannot_be_moved_and_a_file_held_open(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, at: int
) -> None:
    """As on Windows: a folder with something open in it cannot be renamed, nor a file that somebody has open."""
    folder = tmp_path / "car" / "draft"
    put(folder, OLD)
    real, count = Path.replace, iter(range(100))

    def unmovable(path: Path, _: Path) -> None:
        raise PermissionError(errno.EACCES, "Access is denied", str(path))

    def held_open(path: Path, target: Path) -> Path:
        if next(count) == at:
            raise PermissionError(errno.EACCES, "Access is denied", str(path))
        return real(path, target)

    monkeypatch.setattr(whole_folder, "_exchanged_at_once", lambda _one, _other: False)
    monkeypatch.setattr(Path, "rename", unmovable)
    monkeypatch.setattr(Path, "replace", held_open)
    if at < len(NEW):
        with pytest.raises(OutputError, match=r"open elsewhere|may not be written") as caught:
            put(folder, NEW, GONE)
        assert list(NEW)[at] in caught.value.message
        assert held(folder) == OLD
    else:
        put(folder, NEW, GONE)
        assert held(folder) == NEW
    assert [path.name for path in folder.parent.iterdir()] == ["draft"]


def test_what_stands_in_the_way_is_named(tmp_path: Path) -> None:
    folder = tmp_path / "draft"
    (folder / "all.pdf").mkdir(parents=True)
    with pytest.raises(OutputError, match=r"all\.pdf was not written: a folder stands where the file is wanted"):
        put(folder, NEW)
    (folder / "all.pdf").rmdir()
    (folder / "bench").write_bytes(b"a file")
    with pytest.raises(OutputError, match="bench was not written: a file stands where a folder is wanted"):
        put(folder, NEW)
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(OutputError, match="a file stands where a folder is wanted"):
        put(tmp_path / "file", NEW)
    assert held(tmp_path) == {"draft/bench": b"a file", "file": b""}


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write everywhere")
def test_a_folder_closed_to_us(tmp_path: Path) -> None:
    (tmp_path / "closed").mkdir(mode=0o500)
    with pytest.raises(OutputError, match="may not be written"):
        put(tmp_path / "closed" / "car" / "draft", NEW)


def test_links_modes_and_empty_folders_of_the_user_go_along(tmp_path: Path) -> None:
    folder = tmp_path / "draft"
    put(folder, OLD)
    (tmp_path / "elsewhere").write_bytes(b"elsewhere")
    (folder / "bench" / "link").symlink_to(tmp_path / "elsewhere")
    (folder / "photos").mkdir()
    folder.chmod(0o750)
    put(folder, NEW, GONE)
    assert (folder / "bench" / "link").readlink() == tmp_path / "elsewhere"
    assert (folder / "photos").is_dir()
    assert folder.stat().st_mode & 0o777 == 0o750


def test_the_current_folder_stays_the_one_it_is(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A shell that stands in the folder must not be left in one that is gone."""
    put(tmp_path / "draft", OLD)
    before = (tmp_path / "draft").stat().st_ino
    monkeypatch.chdir(tmp_path / "draft")
    put_beside(Path(), NEW)
    assert (tmp_path / "draft").stat().st_ino == before
    assert held(tmp_path / "draft") == {**OLD, **NEW}


def test_a_folder_of_the_users_keeps_what_is_in_it(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_bytes(b"mine")
    put_beside(tmp_path, {"plate_field.pdf": b"new"})
    assert held(tmp_path) == {"mine.txt": b"mine", "plate_field.pdf": b"new"}


def test_one_turn_at_a_time(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Both ways of taking it, the second as on Windows but for the system's removing of the file."""
    monkeypatch.setattr(turn, "LONGEST_WAIT_S", 0.05)
    for platform in (sys.platform, "win32"):
        monkeypatch.setattr(sys, "platform", platform)
        with (
            turn_at(tmp_path),
            pytest.raises(OutputError, match="another run is writing"),
            turn_at(tmp_path),
        ):
            raise AssertionError("two had the turn")
        (tmp_path / LOCK).unlink(missing_ok=True)


def test_a_lock_that_is_being_removed_is_waited_for_and_a_closed_folder_is_not(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(turn, "LONGEST_REMOVAL_S", 0.1)
    real, denied = os.open, iter((True, True, False))

    def denying(*words: object) -> int:
        if next(denied, True):
            raise PermissionError(errno.EACCES, "Access is denied")
        return real(*words)  # type: ignore[arg-type]

    monkeypatch.setattr(os, "open", denying)
    handle = turn._take_file(tmp_path)
    assert handle is not None
    os.close(handle)
    with pytest.raises(PermissionError):
        turn._take_file(tmp_path)


def test_a_disk_that_knows_no_capitals_loses_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where files are exchanged one by one, the old name of a plate may be the new one in other letters."""
    put(tmp_path / "draft", {"cutter/p_cut.dxf": b"old"})
    monkeypatch.chdir(tmp_path / "draft")  # a folder one stands in is exchanged file by file
    put(tmp_path / "draft", {"cutter/P_cut.dxf": b"new"}, ("cutter/p_cut.dxf",))
    assert (tmp_path / "draft" / "cutter" / "p_cut.dxf").exists(), "there it would be the new file itself"
