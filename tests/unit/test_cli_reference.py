"""The reference of commands says what the commands say; a shell can complete them; ``--quiet`` says nothing."""

import os
import subprocess
import sys
from importlib.metadata import version
from pathlib import Path

import pytest
from click.shell_completion import BashComplete
from click.testing import CliRunner

from griddesign.cli import COMMANDS, root
from griddesign.metals import metal_keys
from griddesign.shipped import examples_folder

LIBRARY = tuple(map(int, version("click").split(".")[:2]))

PAGE = (examples_folder() / "commands.md").read_text(encoding="utf-8")


@pytest.mark.skipif(LIBRARY < (8, 2), reason="older versions word the limits of numbers otherwise")
def test_the_reference_is_what_the_commands_say() -> None:
    """In a process of its own: click keeps the help option of a command as it was first called, by whichever test."""
    script = "import runpy, sys; sys.stdout.buffer.write(runpy.run_path(sys.argv[1])['written']().encode())"
    words = [sys.executable, "-c", script, str(examples_folder() / "make_commands.py")]
    written = subprocess.run(words, capture_output=True, check=True).stdout.decode()
    assert written == PAGE, "If it is meant: python examples/make_commands.py"


@pytest.mark.parametrize("name", COMMANDS)
def test_every_option_that_help_shows_stands_in_the_reference(name: str) -> None:
    """Read the other way round: out of the help as printed, not out of the records behind it."""
    shown = CliRunner().invoke(root, [name, "--help"], terminal_width=200).stdout
    section = PAGE.partition(f"## griddesign {name}\n")[2].partition("\n## ")[0]
    options = {word.strip(",") for line in shown.splitlines() for word in line.split()[:2] if word.startswith("--")}
    assert "--help" in options
    assert [option for option in options if option not in section] == []


def completions(*words: str) -> set[str]:
    *before, last = words
    return {item.value for item in BashComplete(root, {}, "griddesign", "").get_completions(before, last)}


def test_commands_options_metals_and_files_are_completed() -> None:
    assert completions("") == set(COMMANDS)
    assert completions("re") == {"retap"}
    assert {"--quiet", "--version"} <= completions("--")
    assert {"--json", "--help"} <= completions("metals", "--")
    assert completions("metals", "grey") == {key for key in metal_keys() if key.startswith("grey")} != set()


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_the_line_in_the_reference_sets_completion_up(shell: str) -> None:
    """The variable of that line, given to the command as a shell does."""
    if shell == "bash" and sys.platform == "win32":
        pytest.skip("no bash here")
    assert f"_GRIDDESIGN_COMPLETE={shell}_source griddesign" in PAGE
    env = {**os.environ, "_GRIDDESIGN_COMPLETE": f"{shell}_source"}
    script = "import sys; sys.argv[0] = 'griddesign'; from griddesign.cli import main; main()"
    told = subprocess.run([sys.executable, "-c", script], env=env, capture_output=True, text=True, check=False)
    assert told.returncode == 0
    assert f"_GRIDDESIGN_COMPLETE={shell}_complete" in told.stdout


def test_completing_a_name_loads_no_command() -> None:
    script = (
        "import sys; from click.shell_completion import BashComplete; from griddesign.cli import root;"
        "print(len(BashComplete(root, {}, 'griddesign', '').get_completions([], '')));"
        "print([name for name in sys.modules if name in ('numpy', 'griddesign.cli.design', 'griddesign.metals')])"
    )
    told = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True).stdout
    assert told.split("\n")[:2] == [str(len(COMMANDS)), "[]"]


def test_quiet_leaves_the_exit_code_and_the_errors(tmp_path: Path) -> None:
    def call(*words: str) -> subprocess.CompletedProcess[str]:
        words = (sys.executable, "-m", "griddesign", *words)
        return subprocess.run(words, cwd=tmp_path, capture_output=True, text=True, check=False)

    told = call("--quiet", "metals", "copper")
    assert (told.returncode, told.stdout, told.stderr) == (0, "", "")
    assert call("--quiet", "metals", "copper", "--json").stdout.startswith("{")
    missing = call("--quiet", "metals", "unobtainium")
    assert missing.returncode == 2 and "Nothing was written." in missing.stderr
