"""Makes ``commands.md``: every command with its options, read out of the commands themselves.

Run it from anywhere: ``python examples/make_commands.py``. The tests compare the file with the commands.
"""

import inspect
from collections.abc import Iterator
from pathlib import Path

import click

from griddesign.cli import COMMANDS, root

HEAD = """# Commands

Written by `python examples/make_commands.py` from the commands themselves; do not edit. The tests compare it.
"""
COMPLETION = """## Completion in a shell

One line in the start-up file of the shell, then the Tab key completes commands, options, files and metals:

| shell | file | line |
|---|---|---|
| bash 4.4 or newer | `~/.bashrc` | `eval "$(_GRIDDESIGN_COMPLETE=bash_source griddesign)"` |
| zsh | `~/.zshrc` | `eval "$(_GRIDDESIGN_COMPLETE=zsh_source griddesign)"` |
| fish | `~/.config/fish/completions/griddesign.fish` | `_GRIDDESIGN_COMPLETE=fish_source griddesign \\| source` |
"""


def written() -> str:
    """The page."""
    return "\n".join(_parts())


def _parts() -> Iterator[str]:
    yield HEAD
    context = click.Context(root, info_name="griddesign", **root.context_settings)
    yield from _section(context, "## griddesign")
    for name in COMMANDS:
        command = root.get_command(context, name)
        assert command is not None
        yield from _section(click.Context(command, context, info_name=name), f"## griddesign {name}")
    yield COMPLETION


def _section(context: click.Context, heading: str) -> Iterator[str]:
    """Heading, how it is called, what it says of itself, its options."""
    command = context.command
    pieces = " ".join(command.collect_usage_pieces(context))
    yield f"{heading}\n\n```\n{context.command_path} {pieces}\n```\n\n{inspect.cleandoc(command.help or '')}\n"
    yield "| option | |\n|---|---|"
    for option in command.get_params(context):
        record = option.get_help_record(context)
        if record is not None and isinstance(option, click.Option):
            yield f"| `{_cell(record[0])}` | {_cell(record[1])} |"
    yield ""


def _cell(text: str) -> str:
    return " ".join(text.split()).replace("|", "\\|")


if __name__ == "__main__":
    (Path(__file__).parent / "commands.md").write_text(written(), encoding="utf-8", newline="\n")
