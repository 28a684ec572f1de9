"""``griddesign metals``: every metal, or every figure of one, with its source and how far it may be trusted."""

import itertools
import textwrap
from collections.abc import Iterator
from typing import Any

import click

from griddesign.cli.saying import answer, say
from griddesign.figures import Figure
from griddesign.metals import (
    TO_SI,
    Entry,
    Metal,
    Sample,
    Source,
    metal,
    metal_entries,
    metal_keys,
    samples,
    source,
)

WIDTH = 100
TITLES = {
    "resistivity": "Resistivity at 20 °C",
    "resistance_with_temperature": "Resistance against temperature",
    "density": "Density",
    "specific_heat_20": "Specific heat at 20 °C",
    "specific_heat_400": "Specific heat at 400 °C",
    "specific_heat_table": "Specific heat by temperature",
    "conductivity": "Conductivity of heat at 20 °C",
    "conductivity_400": "Conductivity of heat at 400 °C",
    "conductivity_500": "Conductivity of heat at 500 °C",
    "conductivity_table": "Conductivity by temperature",
    "emissivity": "Emissivity, as in service",
    "expansion": "Thermal expansion",
    "limit": "Limit in a starting grid",
    "air_limit": "Limit in air",
    "melting": "Begins to melt",
    "pattern_shrinkage": "Pattern shrinkage",
    "min_bend_radius": "Smallest inside bend radius",
}
UNITS = {
    "uohm cm": "µΩ·cm",
    "kg/m3": "kg/m³",
    "J/(kg K)": "J/(kg·K)",
    "W/(m K)": "W/(m·K)",
    "1e-6 /K": "1e-6/K",
    "degC": "°C",
    "of a black body": "",
    "times the thickness": "× thickness",
}
WORDS = {"uohm cm": "µΩ·cm", "uohm m": "µΩ·m", "nohm m": "nΩ·m", "degC": "°C", "degF": "°F", "+-": "±"}
LEGEND = "≈ weak: recalled, estimated, or given with a range. Run both ends; measure before you build on it."


def _beginning(context: click.Context, argument: click.Parameter, typed: str) -> list[str]:
    """The keys that begin with what is typed so far, for a shell that completes them."""
    del context, argument
    return [key for key in metal_keys() if key.startswith(typed)]


@click.command("metals")
@click.argument("name", required=False, shell_complete=_beginning)
@click.option("--json", "as_json", is_flag=True, help="One JSON object on stdout.")
def command(name: str | None, as_json: bool) -> None:
    """List the metals, or show every figure of one: range, source and how far it may be trusted."""
    if as_json:
        answer(_all_as_json() if name is None else _one_as_json(name))
    else:
        say(_all_as_lines() if name is None else _one_as_lines(name))


# The list of all metals.


def _all_as_lines() -> Iterator[str]:
    yield f"{'':<19}{'µΩ·cm':>8}{'':<15}{'':<20}{'limit':>6}"
    yield f"{'metal':<19}{'at 20 °C':>8}  {'range':<13}{'status':<20}{'°C':>6}  what it is"
    metals = sorted(map(metal, metal_keys()), key=lambda each: each.family)
    for family, members in itertools.groupby(metals, key=lambda each: each.family):
        yield ""
        yield family
        for each in members:
            yield from _line_of(each)
    yield ""
    yield LEGEND
    yield "griddesign metals NAME shows every figure of one with its source."


def _line_of(each: Metal) -> list[str]:
    entry = _entry(each.key, "resistivity")
    figures = f"{_marked(entry):>8}  {_range(entry):<13}{entry.status:<20}{_marked(_entry(each.key, 'limit')):>6}"
    start = f"{each.key:<19}{figures}  "
    return textwrap.wrap(each.name, WIDTH, initial_indent=start, subsequent_indent=" " * len(start))


def _entry(key: str, name: str) -> Entry:
    return next(entry for entry in metal_entries(key) if entry.name == name)


# One metal.


def _one_as_lines(key: str) -> Iterator[str]:
    each = metal(key)
    yield f"{each.name}   ({each.key})"
    yield each.designation
    yield _kind(each)
    yield ""
    yield LEGEND
    for entry in metal_entries(key):
        yield ""
        yield from _lines_of(entry)
    yield ""
    yield from _temperature_lines(samples(each))
    yield ""
    yield from _source_lines(metal_entries(key))
    yield ""
    yield from _wrapped(f"To use a figure of your own, write it in the job under [metal.{key}].", "")


def _kind(each: Metal) -> str:
    forms = {(True, True): "cast, or sheet and strip", (True, False): "cast", (False, True): "sheet and strip"}
    form = forms.get((each.castable, each.sheet_formable), "turned from bar")
    magnetic = {True: "magnetic", False: "not magnetic", None: "weakly magnetic"}[each.magnetic]
    note = f" ({_shown(each.magnetic_note)})" if each.magnetic_note else ""
    return f"{form}; {magnetic}{note}"


def _lines_of(entry: Entry) -> Iterator[str]:
    range_ = _range(entry)
    yield f"{TITLES[entry.name]:<32}{_value(entry):<24}{range_ and 'range ' + range_:<25}{entry.status}"
    yield from _law_lines(entry)
    yield from _wrapped(f"source: {source(entry.source).title}", "    ")
    if entry.remark:
        yield from _wrapped(f"note: {entry.remark}", "    ")
    for other in entry.others:
        yield from _wrapped(_other(other), "    ")


def _value(entry: Entry) -> str:
    if entry.value is None:
        return "table" if entry.points else "none"
    if entry.name == "resistance_with_temperature":
        return f"{_marked(entry)} per K at 20 °C"
    return f"{_marked(entry)} {_unit(entry)}".rstrip()


def _law_lines(entry: Entry) -> Iterator[str]:
    if entry.valid_c:
        yield f"    straight line, given for {_number(entry.valid_c[0])} to {_number(entry.valid_c[1])} °C"
    if entry.points:
        yield from _wrapped(_pairs(entry), "    ")
    if entry.rise_range[0] != entry.rise_range[1]:
        low, high = map(_number, entry.rise_range)
        yield f"    R(T)/R(20) - 1 may be {low} to {high} times what the table says"
    if entry.stand_in:
        yield "    the curve of another metal, for want of its own"


def _other(other: Entry) -> str:
    value = _pairs(other) if other.points else f"{_number(other.value)} {_unit(other)}".rstrip()
    range_ = f" ({_range(other)})" if _range(other) else ""
    remark = f"; {other.remark}" if other.remark else ""
    return f"also: {value}{range_}, {other.status}: {source(other.source).title}{remark}"


def _pairs(entry: Entry) -> str:
    pairs = zip(entry.points_c, entry.points, strict=True)
    return f"°C: {_unit(entry)} = " + ", ".join(f"{_number(t_c)}: {_number(value)}" for t_c, value in pairs)


def _source_lines(entries: tuple[Entry, ...]) -> Iterator[str]:
    yield "Sources, and what of them was read"
    keys = {each.source for entry in entries for each in (entry, *entry.others)}
    for found in map(source, sorted(keys)):
        yield from _wrapped(f"{found.key}: {found.title}. {_read(found)}", "    ")


def _read(found: Source) -> str:
    return f"{found.read.capitalize()}." if found.read.startswith("not ") else f"Read: {found.read}."


def _temperature_lines(rows: tuple[Sample, ...]) -> Iterator[str]:
    yield f"{'°C':>6}  {'R(T)/R(20)':>10}  {'lowest':>8}  {'highest':>8}  {'cp J/(kg·K)':>12}"
    for row in rows:
        beyond = "" if row.given else "   resistance beyond what is given"
        ends = f"{row.ratio_low:>8.3f}  {row.ratio_high:>8.3f}"
        yield f"{row.t_c:>6.0f}  {row.ratio:>10.3f}  {ends}  {row.specific_heat_j_per_kg_k:>12.0f}{beyond}"


def _weak(entry: Entry) -> bool:
    figure = entry.figure()
    return figure is not None and figure.weak


def _marked(entry: Entry) -> str:
    return f"≈ {_number(entry.value)}" if _weak(entry) else _number(entry.value)


def _range(entry: Entry) -> str:
    return "" if entry.low == entry.high else f"{_number(entry.low)} to {_number(entry.high)}"


def _number(value: float | None) -> str:
    return "none" if value is None else f"{value:.10g}"


def _unit(entry: Entry) -> str:
    return UNITS.get(entry.unit, entry.unit)


def _shown(text: str) -> str:
    for ascii_form, shown in WORDS.items():
        text = text.replace(ascii_form, shown)
    return text


def _wrapped(text: str, indent: str) -> list[str]:
    return textwrap.wrap(_shown(text), WIDTH, initial_indent=indent, subsequent_indent=indent + "    ")


# JSON.


def _all_as_json() -> dict[str, Any]:
    return {"metals": [_summary(metal(key)) for key in metal_keys()]}


def _summary(each: Metal) -> dict[str, Any]:
    return {
        "key": each.key,
        "name": each.name,
        "family": each.family,
        "designation": each.designation,
        "castable": each.castable,
        "sheet_formable": each.sheet_formable,
        "magnetic": {True: "yes", False: "no", None: "weakly"}[each.magnetic],
        "resistivity_ohm_m": _ends(each.resistivity),
        "alpha20_per_k": _ends(each.alpha20),
        "limit_c": _ends(each.limit_c),
    }


def _ends(figure: Figure) -> dict[str, Any]:
    ends = {"value": figure.value, "low": figure.low, "high": figure.high}
    return {**ends, "status": figure.status, "source": figure.source, "weak": figure.weak}


def _one_as_json(key: str) -> dict[str, Any]:
    each = metal(key)
    rows = [
        {
            name: getattr(row, name)
            for name in ("t_c", "ratio", "ratio_low", "ratio_high", "specific_heat_j_per_kg_k", "given")
        }
        for row in samples(each)
    ]
    return {
        **_summary(each),
        "magnetic_note": each.magnetic_note,
        "law": each.law,
        "top_c": each.top_c,
        "figures": {entry.name: _entry_as_json(entry) for entry in metal_entries(key)},
        "against_temperature": rows,
    }


def _entry_as_json(entry: Entry) -> dict[str, Any]:
    figure = entry.figure()
    found = source(entry.source)
    result: dict[str, Any] = {"value": entry.value, "low": entry.low, "high": entry.high, "unit": entry.unit}
    if figure is not None:
        result["si"] = {"value": figure.value, "low": figure.low, "high": figure.high, "unit": TO_SI[entry.unit][1]}
    if entry.points:
        result["points"] = [
            {"t_c": t_c, "value": value} for t_c, value in zip(entry.points_c, entry.points, strict=True)
        ]
    if entry.valid_c:
        result["valid_c"] = entry.valid_c
    result |= {"status": entry.status, "weak": _weak(entry), "source": entry.source, "source_title": found.title}
    result |= {"source_read": found.read, "condition": entry.condition, "note": entry.note, "stand_in": entry.stand_in}
    result |= {"rise_range": entry.rise_range, "others": [_entry_as_json(other) for other in entry.others]}
    return result
