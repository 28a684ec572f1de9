"""The starters that ``griddesign new`` writes, and which of their values a job still holds."""

import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any

from griddesign.job.letters import lettered
from griddesign.job.part import Part

PURPOSES = ("plate", "retap", "car", "claim")
_TEXTS = Path(__file__).with_name("starters_text")
_NOT_VALUES = frozenset({"title", "revision", "name", "starter", "metal", "family", "made_by"})


@cache
def starter_text(purpose: str) -> str:
    """The commented starter for one of ``PURPOSES``, with the letters of the measuring sheet behind its keys."""
    return lettered(_TEXTS.joinpath(f"{purpose}.toml").read_text(encoding="utf-8"))


@cache
def offer_text() -> str:
    """The commented claim that goes beside the starter for a claim, as text."""
    return _TEXTS.joinpath("claim-offer.toml").read_text(encoding="utf-8")


def values_left(whole: Part) -> tuple[str, ...]:
    """Dotted keys whose quantity still reads as in the starter that the file names; empty while it is an example."""
    purpose = whole.choice("starter", ("", *PURPOSES), "")
    if not purpose or whole.data.get("example") is True:
        return ()
    original = dict(_quantities((), tomllib.loads(starter_text(purpose))))
    return tuple(key for key, text in _quantities((), whole.data) if original.get(key) == text)


def _quantities(key: tuple[str, ...], value: Any) -> Iterator[tuple[str, str]]:
    if isinstance(value, str):
        if any(letter.isdigit() for letter in value):
            yield ".".join(key), value
    elif isinstance(value, Mapping):
        for name, inner in value.items():
            if name not in _NOT_VALUES:
                yield from _quantities((*key, name), inner)
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            label = inner.get("name", index + 1) if isinstance(inner, Mapping) else index + 1
            yield from _quantities((*key, str(label)), inner)
