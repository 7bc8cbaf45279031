"""Every small fault that can be planted in a module of ours: one changed place each.

Left out, because no test of behaviour could tell them: docstrings, annotations, decorators, texts
for people, and `strict=` of `zip`, which is an assertion about our own code.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass

COMPARISONS: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
}
ARITHMETIC: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Add,
    ast.Pow: ast.Mult,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
    ast.LShift: ast.RShift,
    ast.RShift: ast.LShift,
}
PAIRS = (
    ("min", "max"),
    ("minimum", "maximum"),
    ("argmin", "argmax"),
    ("any", "all"),
    ("floor", "ceil"),
    ("sin", "cos"),
    ("log", "log10"),
    ("zeros", "ones"),
    ("logical_and", "logical_or"),
    ("cumsum", "cumprod"),
)
SWAPS = {one: other for pair in PAIRS for one, other in (pair, pair[::-1])}
TRANSPARENT = frozenset({"abs", "sorted", "sqrt", "reversed"})  # f(x) becomes x


@dataclass(frozen=True)
class Mutant:
    """One changed place: which node of the parsed file, and what stands there instead."""

    file: str
    line: int
    last_line: int
    node: int
    old: str
    new: str
    kind: str

    def __str__(self) -> str:
        return f"{self.file}:{self.line}  {self.old} → {self.new}"


def mutants(text: str, name: str) -> list[Mutant]:
    """All mutants of one file's text, in the order of its lines. name: how the file is called."""
    tree = ast.parse(text)
    nodes = list(ast.walk(tree))
    skipped = set(map(id, _skipped(tree)))
    lines = _lines(tree)
    found = []
    for number, node in enumerate(nodes):
        if id(node) in skipped:
            continue
        for kind, new in changes(node):
            shown = _shown(node), _shown(new)
            if shown[0] != shown[1]:
                found.append(Mutant(name, *lines[id(node)], number, *shown, kind))
    return sorted(found, key=lambda one: (one.line, one.node))


def mutated(text: str, mutant: Mutant | None) -> ast.Module:
    """The text's syntax tree with the mutant planted; without one, as it is."""
    tree = ast.parse(text)
    if mutant is None:
        return tree
    target = list(ast.walk(tree))[mutant.node]
    for kind, new in changes(target):
        if kind == mutant.kind:
            _Put(target, new).visit(tree)
            return ast.fix_missing_locations(tree)
    raise LookupError(f"{mutant}: no such change")


def changes(node: ast.AST) -> Iterator[tuple[str, ast.AST]]:
    """(kind, new node) for each fault that this node can have; kinds are unique for a node."""
    if isinstance(node, ast.Compare):
        yield from _comparison(node)
    elif isinstance(node, ast.BinOp | ast.AugAssign):
        yield from _arithmetic(node)
    elif isinstance(node, ast.Constant):
        yield from _constant(node)
    elif isinstance(node, ast.BoolOp):
        other = ast.Or() if isinstance(node.op, ast.And) else ast.And()
        yield "boolean", ast.BoolOp(other, node.values)
    elif isinstance(node, ast.UnaryOp) and not isinstance(node.operand, ast.Constant):
        yield "unary", node.operand
    elif isinstance(node, ast.Call):
        yield from _call(node)
    elif isinstance(node, ast.IfExp | ast.comprehension):
        yield from _condition(node)
    elif isinstance(node, ast.arguments):
        yield from _defaults(node)
    elif isinstance(node, ast.stmt):
        yield from _statement(node)


def _comparison(node: ast.Compare) -> Iterator[tuple[str, ast.AST]]:
    for place, operator in enumerate(node.ops):
        for other in COMPARISONS[type(operator)]:
            operators = [*node.ops[:place], other(), *node.ops[place + 1 :]]
            kind = f"comparison {place} {other.__name__}"
            yield kind, ast.Compare(node.left, operators, node.comparators)


def _arithmetic(node: ast.BinOp | ast.AugAssign) -> Iterator[tuple[str, ast.AST]]:
    other = ARITHMETIC.get(type(node.op))
    if other is None:
        return
    if isinstance(node, ast.AugAssign):
        yield "arithmetic", ast.AugAssign(node.target, other(), node.value)
    elif not (_is_text(node.left) or _is_text(node.right)):
        yield "arithmetic", ast.BinOp(node.left, other(), node.right)


def _constant(node: ast.Constant) -> Iterator[tuple[str, ast.AST]]:
    value = node.value
    if isinstance(value, bool):
        yield "flip", ast.Constant(not value)
    elif isinstance(value, int):
        yield "more", ast.Constant(value + 1)
        yield "less", ast.Constant(value - 1)
    elif isinstance(value, float):
        step = 1.0 if value.is_integer() else 0.1 * abs(value)
        yield "more", ast.Constant(value + step)
        yield "less", ast.Constant(value - step)


def _call(node: ast.Call) -> Iterator[tuple[str, ast.AST]]:
    name = node.func.attr if isinstance(node.func, ast.Attribute) else ""
    name = node.func.id if isinstance(node.func, ast.Name) else name
    other = SWAPS.get(name)
    if other and isinstance(node.func, ast.Attribute):
        func: ast.expr = ast.Attribute(node.func.value, other, ast.Load())
        yield "swap", ast.Call(func, node.args, node.keywords)
    elif other and isinstance(node.func, ast.Name):
        yield "swap", ast.Call(ast.Name(other, ast.Load()), node.args, node.keywords)
    if name in TRANSPARENT and len(node.args) == 1 and not isinstance(node.args[0], ast.Starred):
        yield "bare", node.args[0]


def _condition(node: ast.IfExp | ast.comprehension) -> Iterator[tuple[str, ast.AST]]:
    if isinstance(node, ast.IfExp):
        if not _has_own_mutants(node.test):
            yield "negated", ast.IfExp(_negated(node.test), node.body, node.orelse)
    elif node.ifs:
        yield "unfiltered", ast.comprehension(node.target, node.iter, [], node.is_async)


def _defaults(node: ast.arguments) -> Iterator[tuple[str, ast.AST]]:
    """Defaults that are no number: taken as None instead."""
    for place, default in enumerate([*node.defaults, *node.kw_defaults]):
        number = isinstance(default, ast.Constant) and not isinstance(default.value, str)
        if default is None or number:
            continue
        new = ast.arguments(**{field: getattr(node, field) for field in node._fields})
        given = [*node.defaults, *node.kw_defaults]
        given[place] = ast.Constant(None)
        positional = len(node.defaults)
        new.defaults = [one for one in given[:positional] if one is not None]
        new.kw_defaults = given[positional:]
        yield f"default {place}", new


def _statement(node: ast.stmt) -> Iterator[tuple[str, ast.AST]]:
    if isinstance(node, ast.Return) and node.value is not None and not _is_none(node.value):
        yield "returned", ast.Return(ast.Constant(None))
    elif isinstance(node, ast.Raise | ast.Assert) or _is_call(node):
        yield "removed", ast.Pass()
    elif isinstance(node, ast.Continue):
        yield "loop", ast.Break()
    elif isinstance(node, ast.Break):
        yield "loop", ast.Continue()
    elif isinstance(node, ast.If | ast.While):
        if not node.orelse and isinstance(node.body[-1], ast.Return | ast.Continue):
            yield "removed", ast.Pass()
        if not _has_own_mutants(node.test):
            yield "negated", type(node)(_negated(node.test), node.body, node.orelse)


def _is_call(node: ast.stmt) -> bool:
    return isinstance(node, ast.Expr) and isinstance(node.value, ast.Call)


def _negated(test: ast.expr) -> ast.expr:
    return ast.UnaryOp(ast.Not(), test)


def _has_own_mutants(test: ast.expr) -> bool:
    return isinstance(test, ast.Compare | ast.BoolOp | ast.UnaryOp)


def _is_text(node: ast.expr) -> bool:
    text = isinstance(node, ast.Constant) and isinstance(node.value, str | bytes)
    return text or isinstance(node, ast.JoinedStr)


def _is_none(node: ast.expr) -> bool:
    return isinstance(node, ast.Constant) and node.value is None


def _skipped(tree: ast.Module) -> Iterator[ast.AST]:
    """Nodes within annotations, decorators, formatted texts, and the file's own command line."""
    for node in ast.walk(tree):
        parts: list[ast.AST | None] = []
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            parts = [node.returns, *node.decorator_list]
        elif isinstance(node, ast.ClassDef):
            parts = list(node.decorator_list)
        elif isinstance(node, ast.arg | ast.AnnAssign):
            parts = [node.annotation]
        elif _is_beside_the_point(node):
            parts = [node]
        for part in parts:
            if part is not None:
                yield from ast.walk(part)


def _is_beside_the_point(node: ast.AST) -> bool:
    if isinstance(node, ast.If):
        return ast.unparse(node.test) in ("TYPE_CHECKING", "__name__ == '__main__'")
    if isinstance(node, ast.keyword):
        return node.arg == "strict"
    return isinstance(node, ast.JoinedStr)


def _shown(node: ast.AST) -> str:
    text = ast.unparse(node).strip()
    first, _, rest = text.partition("\n")
    return f"{first} …" if rest else first


def _lines(tree: ast.Module) -> dict[int, tuple[int, int]]:
    """First and last line of each node; for one without lines of its own, its parent's."""
    lines = {id(tree): (1, 1)}
    for parent in ast.walk(tree):
        for node in ast.iter_child_nodes(parent):
            first = getattr(node, "lineno", lines[id(parent)][0])
            lines[id(node)] = (first, getattr(node, "end_lineno", lines[id(parent)][1]))
    return lines


class _Put(ast.NodeTransformer):
    """Puts one node in the place of another."""

    def __init__(self, old: ast.AST, new: ast.AST) -> None:
        self.old, self.new = old, ast.copy_location(new, old)

    def visit(self, node: ast.AST) -> ast.AST:
        return self.new if node is self.old else self.generic_visit(node)
