"""The command line: one file per command, loaded only when its command is called."""

import gc
import importlib
import os
import sys
from dataclasses import asdict
from typing import Any, TextIO

import click
from click.shell_completion import CompletionItem

from griddesign import __version__
from griddesign.cli.saying import say, stdout_for_answer, telling, write_answer
from griddesign.errors import EXIT_WRONG_INPUT, Complaint, GriddesignError

NOTHING = "Nothing was written."
MOST_TOLD = 50  # complaints on the screen; a JSON answer holds them all
_GLOBAL = frozenset({"-q", "--quiet", "-v", "--verbose"})
OWN_FAULT, STOPPED = 70, 130  # as systems have them: a fault of the software, interrupted
_STACK_WORDS = 33_000  # half of what CPython then takes, 512 kB: some thousand calls deep fit beside it

COMMANDS = {
    "new": "write a commented starter job file",
    "wanted": "the ohms each notch should have, and why",
    "plate": "one plate: ohms, mass, size",
    "design": "counts, taps, all papers",
    "retap": "best taps on plates at hand, and what to do tonight",
    "verify": "a supplier's claim, or the inspector's readings, point by point",
    "start": "the run-up: currents, speed, heat, hold times",
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

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """The command asked for. Raises UsageError with what was perhaps meant."""
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            from griddesign.cli.meant import unknown_command

            raise click.UsageError(unknown_command(args, tuple(COMMANDS)), ctx)
        return super().resolve_command(ctx, args)

    def shell_complete(self, ctx: click.Context, incomplete: str) -> list[CompletionItem]:
        """Names and options that begin so, without importing the commands: the Tab key must not wait."""
        names = [CompletionItem(name, help=told) for name, told in COMMANDS.items() if name.startswith(incomplete)]
        return names + click.Command.shell_complete(self, ctx, incomplete)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands without importing them."""
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.group(cls=LazyCommands, context_settings={"help_option_names": ["-h", "--help"]})
@click.option("-q", "--quiet", is_flag=True, help="Say nothing but errors: papers, --json and the exit code remain.")
@click.option("-v", "--verbose", is_flag=True, help="Tell on stderr what is read and tried, and the time of each step.")
@click.version_option(__version__, prog_name="griddesign")
@click.pass_context
def root(context: click.Context, quiet: bool, verbose: bool) -> None:
    """Design resistor grids for hand-controlled electric cars, and write the papers to make them.

    Exit codes: 0 all holds; 1 something fails or is not shown; 2 the input is wrong.
    """
    if quiet and verbose:
        raise click.UsageError("--quiet and --verbose ask for opposite things: give one of them.")
    if verbose:
        context.with_resource(telling(context.invoked_subcommand or ""))


def main(arguments: list[str] | None = None) -> None:
    """Run the command line; every error of the house ends as one message on stderr and its exit code."""
    words = sys.argv[1:] if arguments is None else arguments
    _keep_to_one_thread()
    _collect_seldom()
    _take_stack_at_once()
    _make_streams_forgiving()
    with stdout_for_answer("--json" in words) as stream:
        code = _run(words, stream)
    if arguments is None:
        gc.freeze()  # the process ends: a last hunt for garbage in all it holds would take a tenth of its time
    sys.exit(code)


def _run(words: list[str], stream: TextIO | None) -> int:
    """The exit code of one call; whatever happens, it ends in plain words."""
    try:
        return _call(words, stream)
    except click.exceptions.Abort:
        return _ended(["Stopped.", NOTHING], STOPPED)
    except OSError as error:
        return _ended([f"The system refused: {error.strerror or error}."], EXIT_WRONG_INPUT)
    except Exception as error:  # the last net: a fault of ours is one message too, and never taken for a verdict
        return _ended([*_own_fault(error), NOTHING], OWN_FAULT)


def _call(words: list[str], stream: TextIO | None) -> int:
    """Call the command. ``stream`` takes its JSON object, where one was asked for."""
    try:
        result: Any = root.main(args=_global_first(words), prog_name="griddesign", standalone_mode=False, obj=stream)
    except click.ClickException as error:
        from griddesign.cli.meant import advice

        error.show()
        return _refused((Complaint(error.format_message(), advice(error.format_message(), words)),), stream, said=True)
    except GriddesignError as error:
        return _refused(error.complaints(), stream)
    return result if isinstance(result, int) else 0


def _global_first(words: list[str]) -> list[str]:
    """``--quiet`` and ``--verbose`` do behind the command too."""
    end = words.index("--") if "--" in words else len(words)
    found = [word for word in words[:end] if word in _GLOBAL]
    return [*found, *(word for word in words[:end] if word not in _GLOBAL), *words[end:]]


def _refused(complaints: tuple[Complaint, ...], stream: TextIO | None, *, said: bool = False) -> int:
    """Say the complaints, and what was not written; of those ``said`` already only what would do."""
    if stream is not None:
        write_answer({"exit_code": EXIT_WRONG_INPUT, "errors": list(map(asdict, complaints))}, stream)
    lines = [complaint.hint if said else complaint.text() for complaint in complaints[:MOST_TOLD]]
    more = [f"And {len(complaints) - MOST_TOLD} more."] if len(complaints) > MOST_TOLD else []
    return _ended([*filter(None, lines), *more, NOTHING], EXIT_WRONG_INPUT)


def _ended(lines: list[str], code: int) -> int:
    say(lines, to_stderr=True)
    return code


def _own_fault(error: Exception) -> list[str]:
    """What went wrong and where in griddesign, in two lines: all a report needs, with the job file."""
    import traceback
    from pathlib import Path

    inside = [frame for frame in traceback.extract_tb(error.__traceback__) if "griddesign" in frame.filename]
    where = f" in {Path(inside[-1].filename).name}, line {inside[-1].lineno}" if inside else ""
    return [
        f"griddesign itself failed{where}: {type(error).__name__}: {' '.join(str(error).split())}.",
        "This is a fault of the program. Please report it with these two lines and the job file.",
    ]


def _keep_to_one_thread() -> None:
    """Our matrices are tiny: on a busy machine the threads of the linear algebra only wait for each other (measured:
    20 ms for one return bend alone, up to seconds with two threads). What the user has set stands."""
    for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ.setdefault(name, "1")


def _collect_seldom() -> None:
    """A command lives for seconds and holds nearly all it makes to its end: hunting for garbage in it every 700 objects
    takes a tenth of the time (measured) and finds next to nothing."""
    gc.set_threshold(1_000_000, 50, 100)


def _take_stack_at_once() -> None:
    """CPython takes the stack of its calls in pieces of 16 kB and gives a piece back as soon as it is empty: a loop
    that happens to call across the edge of one asks the system twice for every call (measured: 14 000 times in the
    demo, a twentieth of its time). A first call with room for all others holds them in one piece."""
    _call.__code__ = _call.__code__.replace(co_stacksize=_STACK_WORDS)


def _make_streams_forgiving() -> None:
    """A pipe in an old code page gets a plain letter in place of an ohm sign, not a crash."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")
