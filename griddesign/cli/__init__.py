"""The command line: one file per command, loaded only when its command is called."""

import importlib
import sys
from typing import Any

import click

from griddesign import __version__
from griddesign.errors import Complaint, GriddesignError

COMMANDS = {
    "new": "write a commented starter job file",
    "wanted": "the ohms each notch should have, and why",
    "plate": "one plate: ohms, mass, size",
    "design": "counts, taps, all papers",
    "metals": "the metals, each figure with source and status",
}


class LazyCommands(click.Group):
    """A group that imports a command's module when the command is asked for: ``--help`` stays light."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names in the order in which a job uses them."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of that name, imported now."""
        if cmd_name not in COMMANDS:
            return None
        module = importlib.import_module(f"griddesign.cli.{cmd_name}")
        command: click.Command = module.command
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands without importing them."""
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.group(cls=LazyCommands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="griddesign")
def root() -> None:
    """Design resistor grids for hand-controlled electric cars, and write the papers to make them.

    Exit codes: 0 all holds; 1 something fails or is not shown; 2 the input is wrong.
    """


def main(arguments: list[str] | None = None) -> None:
    """Run the command line; every error of the house ends as one message on stderr and its exit code."""
    _make_streams_forgiving()
    try:
        result: Any = root.main(args=arguments, prog_name="griddesign", standalone_mode=False)
    except click.exceptions.Abort:
        _say(["Stopped. Nothing was written."])
        sys.exit(130)
    except click.ClickException as error:
        error.show()
        _say(["Nothing was written."])
        sys.exit(2)
    except GriddesignError as error:
        _say([*map(Complaint.text, error.complaints()), "Nothing was written."])
        sys.exit(error.exit_code)
    sys.exit(result if isinstance(result, int) else 0)


def _make_streams_forgiving() -> None:
    """A pipe in an old code page gets a plain letter in place of an ohm sign, not a crash."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")


def _say(lines: list[str]) -> None:
    for line in lines:
        click.echo(line, err=True)
