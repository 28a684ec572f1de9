"""What a user has perhaps meant by words the command line does not know. Loaded only when something went wrong."""

import difflib
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path

_BY_ENDING = {".dxf": 'griddesign plate {} --metal NAME --thickness "8 mm"', ".csv": "griddesign retap JOB {}"}
_UNITS = frozenset(
    {"mm", "cm", "m", "in", "ft", "ohm", "mohm", "A", "V", "s", "min", "h", "t", "kg", "%", "degC", "to"}
)


def unknown_command(words: Sequence[str], commands: Sequence[str]) -> str:
    """The complaint about a first word that is no command: a file, a plea for help, or a slip."""
    word = words[0]
    if word == "help":
        name = words[1] if len(words) > 1 and words[1] in commands else ""
        return f"There is no command help: griddesign {f'{name} ' if name else ''}--help."
    if word == "version":
        return "There is no command version: griddesign --version."
    path = Path(word)
    if path.suffix.lower() == ".toml" or path.suffix.lower() in _BY_ENDING or path.is_file():
        way = _BY_ENDING.get(path.suffix.lower(), "griddesign design {}").format(shown(word))
        return f"The command is missing before {word}, for instance: {way}."
    near = difflib.get_close_matches(word.lower(), commands, n=2)
    guess = f"Did you mean {' or '.join(near)}?" if near else f"There are {', '.join(commands)}."
    return f"No such command {word!r}. {guess}"


def advice(message: str, words: Sequence[str]) -> str:
    """What would do where the command line was not understood: the usual cause is a quantity without its quotes."""
    apart = [f"{one} {two}" for one, two in pairwise(words) if two in _UNITS and one[-1:].isdigit()]
    return f'Put quantities in double quotes: "{apart[0]}".' if "extra argument" in message and apart else ""


def shown(word: str) -> str:
    """A word as one types it in any shell: in double quotes where it holds a blank."""
    return f'"{word}"' if " " in word else word
