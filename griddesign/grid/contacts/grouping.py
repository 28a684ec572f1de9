"""From a notch's circuit to motors and grid: how many in series, how many strings, which sections carry what."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from griddesign.grid.contacts.general import NoNetworkError, network_of
from griddesign.grid.contacts.records import Element, MotorOhms, Net, Recognised, Unrecognised
from griddesign.grid.contacts.reduce import bridge, series_parallel
from griddesign.grid.records import Branches, Run

_SAME = 1e-9


@dataclass(frozen=True, slots=True)
class _String:
    """Part of a circuit with motors in plain series: their numbers, the grid among them, field groups (motor, share of
    the armature's current in its field, ohms the field comes to), ohms of fixed resistors."""

    motors: tuple[int, ...]
    grid: Run
    fields: tuple[tuple[int, float, float], ...]
    fixed_ohm: float = 0.0


class _NoGroupingError(Exception):
    """Why a circuit is no grouping, in words."""


def recognise(elements: Sequence[Element], net: Net, ohms: MotorOhms | None = None) -> Recognised | Unrecognised:
    """The grouping of one notch, else the network it is. ``ohms`` are needed where a field has something beside it, and
    of fixed resistors."""
    if net.joined:
        return Unrecognised("line and ground are joined")
    if not net.live:
        return Unrecognised("nothing joins line and ground: no current")
    ohms, run = ohms or MotorOhms(), series_parallel(elements, net)
    if run is None:
        named = bridge(elements, net)
        why = f"a bridge of {', '.join(named[:8])}{' …' * (len(named) > 8)}: no series-parallel circuit"
        return _as_network(elements, net, ohms, Unrecognised(why))
    try:
        return _Reader({one.name: one for one in elements}, ohms).read(run)
    except _NoGroupingError as error:
        return _as_network(elements, net, ohms, Unrecognised(str(error), run))


def _as_network(elements: Sequence[Element], net: Net, ohms: MotorOhms, found: Unrecognised) -> Unrecognised:
    """The same with its network, or with what keeps it from being run as one."""
    try:
        return replace(found, network=network_of(elements, net, ohms, found.why))
    except NoNetworkError as error:
        return replace(found, bar=str(error))


@dataclass(frozen=True)
class _Reader:
    by_name: Mapping[str, Element]
    ohms: MotorOhms

    def read(self, run: Run) -> Recognised:
        """Common parts, and the one arrangement of motors among them."""
        common, ahead_ohm = self._grid(part for part in run.parts if not self._has_motor(part))
        motors = tuple(part for part in run.parts if self._has_motor(part))
        if not motors:
            return Recognised(1, 1, Run(common), ahead_ohm=ahead_ohm)
        groups = [part for part in motors if isinstance(part, Branches) and self._armatures(part) > 1]
        if not groups:
            found = self._one_string(Run(motors), common)
        elif len(motors) == 1:
            found = self._strings(groups[0], common)
        else:
            found = self._cross_joined(motors, groups, common)
        return replace(found, ahead_ohm=ahead_ohm)

    def _one_string(self, motors: Run, common: tuple[str | Branches, ...]) -> Recognised:
        string = self._string(motors)
        return self._done((string,), len(string.motors), 1, Run(common), ())

    def _strings(self, group: Branches, common: tuple[str | Branches, ...]) -> Recognised:
        strings = tuple(self._string(run) for run in group.runs)
        lengths = {len(string.motors) for string in strings}
        if len(lengths) > 1:
            raise _NoGroupingError(f"strings of unlike length: {', '.join(map(_named, strings))}")
        if 0 in lengths:
            raise _NoGroupingError("a branch without a motor stands beside the motors")
        grids = tuple(string.grid for string in strings)
        if common and any(grid.parts for grid in grids):
            raise _NoGroupingError("a grid common to all strings and a grid in a string at once")
        if len({string.fixed_ohm for string in strings}) > 1:
            raise _NoGroupingError("fixed resistors of unlike ohms in the strings")
        per_string = grids if any(grid.parts for grid in grids) else ()
        found = self._done(strings, lengths.pop(), len(strings), Run(common), per_string)
        return replace(found, string_ohm=strings[0].fixed_ohm)

    def _cross_joined(
        self, motors: tuple[str | Branches, ...], groups: Sequence[Branches], common: tuple[str | Branches, ...]
    ) -> Recognised:
        """Groups of motors side by side, one group after another: as strings with their joints joined across."""
        rows = [tuple(self._string(run) for run in group.runs) for group in groups]
        alike = all(len(one.motors) == 1 and not one.grid.parts and not one.fixed_ohm for row in rows for one in row)
        if len(groups) < len(motors) or len({len(row) for row in rows}) > 1 or not alike:
            raise _NoGroupingError("motors one after another and side by side in no even grouping")
        across = len(rows[0])
        strings = tuple(_joined_strings([row[place] for row in rows]) for place in range(across))
        found = self._done(strings, len(rows), across, Run(common), ())
        return replace(found, remarks=(*found.remarks, "motor strings are joined across between the motors"))

    def _done(
        self, strings: tuple[_String, ...], series: int, parallel: int, common: Run, per_string: tuple[Run, ...]
    ) -> Recognised:
        fields = [one for string in strings for one in string.fields]
        shares = {round(share, 9) for _, share, _ in fields}
        if len(shares) > 1:
            raise _NoGroupingError("fields with unlike shares of their armatures' current")
        share, motor_ohm = (1.0, None) if not shares or shares == {1.0} else self._weakened(fields)
        in_series = len(strings) == 1 and parallel == 1
        grid = Run((*common.parts, *strings[0].grid.parts)) if in_series else common
        numbers = tuple(string.motors for string in strings)
        return Recognised(series, parallel, None if per_string else grid, per_string, numbers, share, motor_ohm)

    def _weakened(self, fields: Sequence[tuple[int, float, float]]) -> tuple[float, float]:
        assert self.ohms.armature is not None
        ohms = {round(ohm, 9) for _, _, ohm in fields}
        if len(ohms) > 1:
            raise _NoGroupingError("fields of unlike ohms with what stands beside them")
        return fields[0][1], self.ohms.armature + fields[0][2]

    def _string(self, run: Run) -> _String:
        """Motors in plain series with sections among them."""
        motors: list[int] = []
        fields: list[tuple[int, float, float]] = []
        grid: list[str | Branches] = []
        for part in run.parts:
            kind = self.by_name[part].kind if isinstance(part, str) else ""
            if kind in ("motor", "armature"):
                motors.append(self.by_name[str(part)].motor)
            if kind in ("motor", "field"):
                fields.append((self.by_name[str(part)].motor, 1.0, self.ohms.field or 0.0))
            elif kind == "armature":
                continue
            elif isinstance(part, Branches) and self._has_motor(part):
                fields += self._field_group(part)
            else:
                grid.append(part)
        left, fixed_ohm = self._grid(grid)
        own = {number for number, _, _ in fields}
        if own != set(motors):
            odd = sorted(own.symmetric_difference(motors))[0]
            what = "armature without its field" if odd in motors else "field without its armature"
            raise _NoGroupingError(f"motor {odd}: {what} in one string")
        return _String(tuple(motors), Run(left), tuple(fields), fixed_ohm)

    def _field_group(self, group: Branches) -> list[tuple[int, float, float]]:
        """Fields with something beside them: their share of the current, the ohms that each comes to."""
        inside = [[self._leaf(part) for part in run.parts] for run in group.runs]
        kinds = {element.kind for run in inside for element in run}
        if kinds & {"motor", "armature"}:
            raise _NoGroupingError("an armature or a motor has something beside it")
        if "section" in kinds:
            raise _NoGroupingError("a field has a section beside it")
        each = [sum(self._ohm(element) for element in run) for run in inside]
        whole = 1.0 / sum(1.0 / ohm for ohm in each)
        own = [(run, ohm) for run, ohm in zip(inside, each, strict=True) if any(one.kind == "field" for one in run)]
        count = sum(one.kind == "field" for run, _ in own for one in run)
        return [(one.motor, whole / ohm, whole / count) for run, ohm in own for one in run if one.kind == "field"]

    def _leaf(self, part: str | Branches) -> Element:
        if not isinstance(part, str):
            raise _NoGroupingError("branches within branches beside a field")
        return self.by_name[part]

    def _ohm(self, element: Element) -> float:
        ohm = self.ohms.field if element.kind == "field" else (self.ohms.resistor or {}).get(element.name)
        if ohm is None or self.ohms.armature is None:
            raise _NoGroupingError(
                f"a field with something beside it, and no ohms of {element.name} to tell how much it takes"
            )
        return ohm

    def _has_motor(self, part: str | Branches) -> bool:
        return self._count(part, ("motor", "armature", "field")) > 0

    def _armatures(self, part: str | Branches) -> int:
        return self._count(part, ("motor", "armature"))

    def _count(self, part: str | Branches, kinds: tuple[str, ...]) -> int:
        if isinstance(part, str):
            return int(self.by_name[part].kind in kinds)
        return sum(self._count(inner, kinds) for run in part.runs for inner in run.parts)

    def _grid(self, parts: Iterable[str | Branches]) -> tuple[tuple[str | Branches, ...], float]:
        """Parts without the fixed resistors in plain series with them, and the ohms of those."""
        every = tuple(parts)
        fixed = [part for part in every if isinstance(part, str) and self.by_name[part].kind == "resistor"]
        left = tuple(part for part in every if part not in fixed)
        if any(self._count(part, ("resistor",)) for part in left):
            raise _NoGroupingError("a fixed resistor beside sections")
        known = self.ohms.resistor or {}
        lacking = [name for name in fixed if name not in known]
        if lacking:
            raise _NoGroupingError(f"{lacking[0]} has no ohms")
        return left, sum(known[name] for name in fixed)


def _named(string: _String) -> str:
    return " and ".join(f"motor {number}" for number in string.motors) or "no motor"


def _joined_strings(parts: Sequence[_String]) -> _String:
    motors = tuple(number for part in parts for number in part.motors)
    return _String(motors, Run(), tuple(one for part in parts for one in part.fields))
