"""The wrong formulas themselves: every change of a module that ``mutation.py`` may try. Not collected by pytest.

One operator, comparison, constant or term at a time. Texts of errors, annotations, decorators and
raises are left alone.
"""

import ast
import copy
import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from inspect import CO_OPTIMIZED
from pathlib import Path
from types import CodeType

SWAPPED: dict[type[ast.AST], tuple[type[ast.AST], ...]] = {
    ast.Add: (ast.Sub,),
    ast.Sub: (ast.Add,),
    ast.Mult: (ast.Div,),
    ast.Div: (ast.Mult,),
    ast.Pow: (ast.Mult,),
    ast.FloorDiv: (ast.Div,),
    ast.Mod: (ast.Mult,),
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.And: (ast.Or,),
    ast.Or: (ast.And,),
}
NAMES = {"min": "max", "max": "min", "sin": "cos", "cos": "sin", "minimum": "maximum", "maximum": "minimum"}
Change = Callable[[ast.AST], ast.AST]


@dataclass(frozen=True)
class Mutant:
    """The source of ``path`` with the node at ``place`` in the order of the walk put through its change ``number``."""

    path: Path
    line: int
    place: int
    number: int
    change: Change
    before: str
    after: str

    @property
    def key(self) -> str:
        return f"{self.path.stem}:{self.line}:{self.place}:{self.number}"


def mutants(path: Path) -> Iterator[Mutant]:
    """Every change of one module."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for place, node in enumerate(walk(tree)):
        for number, change in enumerate(changes(node)):
            after = ast.unparse(ast.fix_missing_locations(change(copy.deepcopy(node))))
            yield Mutant(path, node.lineno, place, number, change, ast.unparse(node), after)  # type: ignore[attr-defined]


def walk(node: ast.AST) -> Iterator[ast.AST]:
    """The nodes that may be changed, always in the same order."""
    if isinstance(node, ast.Raise | ast.JoinedStr | ast.Assert | ast.arg | ast.Import | ast.ImportFrom):
        return
    if isinstance(node, ast.BinOp | ast.Compare | ast.BoolOp | ast.UnaryOp | ast.Constant | ast.Name | ast.Attribute):
        yield node
    left_alone = {"annotation", "returns", "decorator_list", "keywords", "bases", "type_params"}
    if isinstance(node, ast.Call):
        left_alone.discard("keywords")
    for field, value in ast.iter_fields(node):
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.AST) and field not in left_alone:
                yield from walk(child)


def changes(node: ast.AST) -> Iterator[Change]:
    """What may be done to one node."""
    if isinstance(node, ast.BinOp):
        yield from (set_to("op", other()) for other in SWAPPED.get(type(node.op), ()))
        if isinstance(node.op, ast.Add | ast.Sub | ast.Mult | ast.Div):
            yield lambda old: old.left  # type: ignore[attr-defined,no-any-return]
        if isinstance(node.op, ast.Add | ast.Mult):
            yield lambda old: old.right  # type: ignore[attr-defined,no-any-return]
    elif isinstance(node, ast.Compare) and len(node.ops) == 1:
        yield from (set_to("ops", [other()]) for other in SWAPPED.get(type(node.ops[0]), ()))
    elif isinstance(node, ast.BoolOp):
        yield from (set_to("op", other()) for other in SWAPPED[type(node.op)])
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub | ast.Not):
        yield lambda old: old.operand  # type: ignore[attr-defined,no-any-return]
    elif isinstance(node, ast.Constant) and type(node.value) in (int, float):
        yield set_to("value", node.value + 1 if type(node.value) is int else node.value * 1.1 or 1.0)  # type: ignore[operator]
    elif isinstance(node, ast.Constant) and type(node.value) is bool:
        yield set_to("value", not node.value)
    elif isinstance(node, ast.Name) and node.id in NAMES:
        yield set_to("id", NAMES[node.id])
    elif isinstance(node, ast.Attribute) and node.attr in NAMES:
        yield set_to("attr", NAMES[node.attr])


def set_to(field: str, value: object) -> Change:
    def change(node: ast.AST) -> ast.AST:
        setattr(node, field, value)
        return node

    return change


def mutated(mutant: Mutant) -> ast.Module:
    """The tree of the module with the change in it."""
    tree = ast.parse(mutant.path.read_text(encoding="utf-8"))
    target = next(node for place, node in enumerate(walk(tree)) if place == mutant.place)

    class Change(ast.NodeTransformer):
        def visit(self, node: ast.AST) -> ast.AST:
            return mutant.change(node) if node is target else self.generic_visit(node)

    return ast.fix_missing_locations(Change().visit(tree))  # type: ignore[no-any-return]


def in_order(paths: list[Path], seed: int) -> list[Mutant]:
    """Every change of the modules, shuffled so that any first part of the list holds its share of every module."""
    dice, placed = random.Random(seed), []
    for path in paths:
        own = list(mutants(path))
        dice.shuffle(own)
        placed += [((rank + dice.random()) / len(own), mutant) for rank, mutant in enumerate(own)]
    return [mutant for _, mutant in sorted(placed, key=lambda pair: pair[0])]


def statement_lines(path: Path) -> dict[int, range]:
    """Line of a node to the lines of its innermost statement (of a block, its head): coverage may know any of them."""
    spans: dict[int, range] = {}
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.stmt):
            end = node.body[0].lineno - 1 if getattr(node, "body", None) else node.end_lineno or node.lineno
            spans.update(dict.fromkeys(range(node.lineno, end + 1), range(node.lineno, end + 1)))
    return spans


def functions_in(code: CodeType) -> dict[tuple[str, int], CodeType]:
    """The outermost functions of a module or class body, by name and first line."""
    found: dict[tuple[str, int], CodeType] = {}
    for inner in code.co_consts:
        if isinstance(inner, CodeType) and inner.co_flags & CO_OPTIMIZED:
            found[inner.co_qualname, inner.co_firstlineno] = inner
        elif isinstance(inner, CodeType):
            found |= functions_in(inner)
    return found


def changed_functions(mutant: Mutant) -> dict[tuple[str, int], CodeType]:
    """The functions a change is in, as changed; none where it is in what a module works out as it is loaded."""
    was = functions_in(compile(mutant.path.read_text(encoding="utf-8"), str(mutant.path), "exec"))
    now = functions_in(compile(mutated(mutant), str(mutant.path), "exec"))
    return {key: code for key, code in now.items() if key in was and code != was[key]}
