"""Reads the shipped tables: the metals, the titles of their sources, the tables of the workshop."""

import difflib
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from griddesign.errors import TableError
from griddesign.figures import Figure, Status
from griddesign.metals.entries import Entry, entry_from
from griddesign.metals.record import COLD_C, Law, Metal, carried_on, first_slope, linear_points
from griddesign.shipped import materials_folder

MAGNETIC: Mapping[str, bool | None] = {"yes": True, "no": False, "weakly": None}
LAW = "resistance_with_temperature"
RESTORE = "Put back the file as it was shipped."


@dataclass(frozen=True, slots=True)
class Source:
    """Where a figure came from: its short key in the tables, what it is, and what of it was read."""

    key: str
    title: str
    read: str


@cache
def metal_keys() -> tuple[str, ...]:
    """The keys of all shipped metals, in alphabetical order."""
    return tuple(sorted(path.stem for path in (materials_folder() / "metals").glob("*.toml")))


@cache
def metal(key: str) -> Metal:
    """The metal of that key. Raises TableError, naming near keys, where there is none."""
    entries = {entry.name: entry for entry in metal_entries(key)}
    try:
        return _build(key, _document(key), entries)
    except KeyError as error:
        raise TableError(f"The table of {key} lacks {error}.", hint=RESTORE) from error


@cache
def metal_entries(key: str) -> tuple[Entry, ...]:
    """Every figure of the metal as its file has it, with condition, note and what other sources print."""
    tables = ((name, data) for name, data in _document(key).items() if isinstance(data, dict))
    return tuple(entry_from(name, data) for name, data in tables)


@cache
def source(key: str) -> Source:
    """The source behind a short key of the tables. Raises TableError where the list has none."""
    found = _parsed(materials_folder() / "sources.toml").get(key)
    if not isinstance(found, dict):
        raise TableError(f"No source is named {key!r} in the tables.", hint=RESTORE)
    return Source(key, found["title"], found["read"])


@cache
def shop_table(name: str) -> Mapping[str, Any]:
    """A table of the workshop, read-only, with the units in its keys and source and status kept.

    Names: see ``shop_table_names``. Raises TableError for another.
    """
    tables = _shop()
    if name not in tables:
        raise _unknown("table of the workshop", name, tuple(tables))
    frozen: Mapping[str, Any] = _frozen(tables[name])
    return frozen


def shop_table_names() -> tuple[str, ...]:
    """The names ``shop_table`` knows."""
    return tuple(_shop())


def _shop() -> Mapping[str, Any]:
    return _parsed(materials_folder() / "shop.toml")


def _document(key: str) -> Mapping[str, Any]:
    if key not in metal_keys():
        raise _unknown("metal", key, metal_keys(), "griddesign metals lists them all.")
    return _parsed(materials_folder() / "metals" / f"{key}.toml")


@cache
def _parsed(path: Path) -> Mapping[str, Any]:
    try:
        with path.open("rb") as file:
            return tomllib.load(file)
    except (OSError, tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise TableError(f"The table {path.name} cannot be read: {error}", hint=RESTORE) from error


def _unknown(what: str, name: str, names: tuple[str, ...], where: str = "") -> TableError:
    near = _near(name.lower().replace(" ", "_").replace("-", "_"), names)
    guess = f"Did you mean {' or '.join(near)}?" if near else ""
    listed = "" if where else f"There are {', '.join(names)}."
    hint = " ".join(part for part in (guess, where, listed) if part)
    return TableError(f"No {what} is named {name!r}.", hint=hint)


def _near(asked: str, names: tuple[str, ...]) -> list[str]:
    """Names like the one asked for as a whole, then those of which one word is like it."""
    words = difflib.get_close_matches(asked, {word for name in names for word in name.split("_")}, n=2, cutoff=0.75)
    by_word = [name for name in names if set(words) & set(name.split("_"))]
    return list(dict.fromkeys((*difflib.get_close_matches(asked, names, n=3, cutoff=0.5), *by_word)))[:4]


def _frozen(data: Any) -> Any:
    if isinstance(data, dict):
        return MappingProxyType({key: _frozen(value) for key, value in data.items()})
    if isinstance(data, list):
        return tuple(map(_frozen, data))
    return " ".join(data.split()) if isinstance(data, str) else data


def _build(key: str, document: Mapping[str, Any], entries: Mapping[str, Entry]) -> Metal:
    cold, hot = _must(entries, "specific_heat_20"), _may(entries, "specific_heat_400")
    hot = hot or carried_on(cold)
    heat_points_c, heat_points = _heat_points(entries, cold, hot)
    law, ratio_points_c, ratio_points, alpha20 = _resistance_law(entries[LAW], _must(entries, "limit"))
    return Metal(
        key=key,
        name=document["name"],
        family=document["family"],
        designation=document["designation"],
        castable=document["castable"],
        sheet_formable=document["sheet_formable"],
        magnetic=MAGNETIC[document["magnetic"]],
        magnetic_note=document.get("magnetic_note", ""),
        resistivity=_must(entries, "resistivity"),
        law=law,
        ratio_points_c=ratio_points_c,
        ratio_points=ratio_points,
        alpha20=alpha20,
        density=_must(entries, "density"),
        specific_heat_20=cold,
        specific_heat_400=hot,
        heat_points_c=heat_points_c,
        heat_points=heat_points,
        conductivity=_must(entries, "conductivity"),
        emissivity=_must(entries, "emissivity"),
        expansion=_must(entries, "expansion"),
        limit_c=_must(entries, "limit"),
        air_limit_c=_must(entries, "air_limit"),
        melting_c=_must(entries, "melting"),
        pattern_shrinkage=_may(entries, "pattern_shrinkage"),
        min_bend_radius_t=_may(entries, "min_bend_radius"),
        conductivity_400=_may(entries, "conductivity_400"),
        conductivity_500=_may(entries, "conductivity_500"),
    )


def _must(entries: Mapping[str, Entry], name: str) -> Figure:
    figure = entries[name].figure()
    if figure is None:
        raise KeyError(name)
    return figure


def _may(entries: Mapping[str, Entry], name: str) -> Figure | None:
    return entries[name].figure() if name in entries else None


def _heat_points(
    entries: Mapping[str, Entry], cold: Figure, hot: Figure
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    if "specific_heat_table" in entries:
        return entries["specific_heat_table"].points_c, entries["specific_heat_table"].points
    return (COLD_C, 400.0), (cold.value, hot.value)


def _resistance_law(entry: Entry, limit: Figure) -> tuple[Law, tuple[float, ...], tuple[float, ...], Figure]:
    """Law, ratio points and alpha20. A linear law without a stated range is taken to hold from 20 degC to the limit."""
    alpha20 = entry.figure()
    if alpha20 is not None:
        points_c = entry.valid_c or (COLD_C, limit.value)
        return "linear", points_c, linear_points(alpha20.value, points_c), alpha20
    return "table", entry.points_c, entry.points, _alpha_of_table(entry)


def _alpha_of_table(entry: Entry) -> Figure:
    """alpha20 of a table: its first slope, with the ends the file gives to its rise.

    Worked out from figures that were read, it is "derived"; from recalled ones, "derived from memory"; from the curve
    of another metal, an estimate.
    """
    alpha = first_slope(entry.points_c, entry.points)
    low, high = sorted(alpha * factor for factor in entry.rise_range)
    recalled = entry.status in (Status.MEMORY, Status.DERIVED_MEMORY)
    status = Status.ESTIMATE if entry.stand_in else Status.DERIVED_MEMORY if recalled else Status.DERIVED
    note = f"slope of the table from {entry.points_c[0]:g} to {entry.points_c[1]:g} degC"
    return Figure(alpha, low, high, status, entry.source, note="; ".join(part for part in (note, entry.note) if part))
