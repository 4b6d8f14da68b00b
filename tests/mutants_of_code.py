"""Mutants of a source file: one changed place each, in the body of a function."""

from __future__ import annotations

import ast
import marshal
import types
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
OPERATORS: dict[type[ast.operator], tuple[type[ast.operator], str]] = {
    ast.Add: (ast.Sub, "+ becomes -"), ast.Sub: (ast.Add, "- becomes +"), ast.Mult: (ast.Div, "* becomes /"),
    ast.Div: (ast.Mult, "/ becomes *"), ast.Pow: (ast.Mult, "** becomes *"),
}  # fmt: skip
COMPARISONS: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.GtE), ast.LtE: (ast.Lt, ast.Gt), ast.Gt: (ast.GtE, ast.LtE), ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,), ast.NotEq: (ast.Eq,), ast.In: (ast.NotIn,), ast.NotIn: (ast.In,),
}  # fmt: skip
OTHER_FUNCTION = {
    "larger": "smaller", "smaller": "larger", "least_of": "largest_of", "largest_of": "least_of", "min": "max", "max": "min",
    "any": "all", "all": "any",
}  # fmt: skip
COUNTS = {"k", "n", "r", "number", "column", "quarter", "begin", "end", "first", "last", "place", "row", "run"}  # in a row
EITHER_ORDER = {"larger", "smaller", "np.maximum", "np.minimum", "max", "min"}  # the same with arguments swapped, so no mutant
ONLY_ARGUMENT = {"whole_up": 0, "valid_if": 1}  # functions that are left out, but for this argument


@dataclass(frozen=True, slots=True)
class CodeMutant:
    """A changed place of a function: `at` is where (line, column, end line, end column), columns in bytes as in `ast`."""

    file: str
    function: str
    first_line: int
    kind: str
    at: tuple[int, int, int, int]
    old: str
    new: str

    @property
    def key(self) -> str:
        """What names it as long as its function and its text stay, wherever they stand in the file."""
        return f"{self.file}:{self.function}: {self.kind}: {self.old} -> {self.new}"

    @property
    def place(self) -> str:
        """The function that it changes."""
        return f"{self.file}:{self.function}"

    def source(self) -> str:
        """The whole file with the change in it."""
        lines = (ROOT / self.file).read_text(encoding="utf-8").encode().splitlines(keepends=True)
        first, begin, last, end = self.at
        changed = [*lines[: first - 1], lines[first - 1][:begin], f"({self.new})".encode() if self.kind != "argument" else
                   self.new.encode(), lines[last - 1][end:], *lines[last:]]  # fmt: skip
        return b"".join(changed).decode()

    def __str__(self) -> str:
        return f"{self.file}:{self.at[0]} in {self.function}, {self.kind}:\n    {self.old}\n    {self.new}"


def code_of(source: str, path: Path, function: str, first_line: int) -> types.CodeType:
    """The code of a function within a source."""

    def below(code: types.CodeType) -> Iterator[types.CodeType]:
        for each in code.co_consts:
            if isinstance(each, types.CodeType):
                yield each
                yield from below(each)

    whole = compile(source, str(path), "exec", dont_inherit=True)
    return next(each for each in below(whole) if each.co_qualname == function and each.co_firstlineno == first_line)


def mutants_of(path: Path) -> list[CodeMutant]:
    """Every mutant of a file that is another program than the file itself.

    >>> sorted({mutant.kind for mutant in mutants_of(ROOT / "costmodel/model/line/yields.py")})[:2]
    ['* becomes /', '+ becomes -']
    """
    source = path.read_text(encoding="utf-8")
    found = []
    for function, name in functions(ast.parse(source)):
        first = min([function.lineno, *(each.lineno for each in function.decorator_list)])
        unchanged = marshal.dumps(code_of(source, path, name, first))
        for kind, node, new in changes(function):
            if (old := ast.get_source_segment(source, node)) is None or node.end_lineno is None or node.end_col_offset is None:
                continue
            at = (node.lineno, node.col_offset, node.end_lineno, node.end_col_offset)
            mutant = CodeMutant(str(path.relative_to(ROOT)), name, first, kind, at, " ".join(old.split()), ast.unparse(new))
            try:
                other = marshal.dumps(code_of(mutant.source(), path, name, first))
            except (SyntaxError, StopIteration):
                continue
            if other != unchanged:
                found.append(mutant)
    return found


def functions(tree: ast.Module) -> Iterator[tuple[ast.FunctionDef, str]]:
    """The functions of a file and of its classes, with the name that Python gives them."""
    for each in tree.body:
        if isinstance(each, ast.FunctionDef):
            yield each, each.name
        if isinstance(each, ast.ClassDef):
            yield from ((below, f"{each.name}.{below.name}") for below in each.body if isinstance(below, ast.FunctionDef))


def changes(function: ast.FunctionDef) -> Iterator[tuple[str, ast.expr, ast.expr]]:
    """The kind of each change, the expression that goes and the one that takes its place."""
    fields: dict[str, list[str]] = {}
    noted = {id(each) for note in annotations(function) for each in ast.walk(note)}  # they compute nothing
    body = [x for statement in function.body for x in ast.walk(statement) if isinstance(x, ast.expr) and id(x) not in noted]
    for node in body:
        if isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Load):
            fields.setdefault(ast.unparse(node.value), []).append(node.attr)
    called = {id(node.func) for node in body if isinstance(node, ast.Call)}
    for node in body:
        for rule in RULES:
            for kind, new in rule(node):
                yield kind, node, new
        if isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Load) and id(node) not in called:
            others = sorted(set(fields[ast.unparse(node.value)]) - {node.attr})
            for other in others[:2]:
                yield "neighbouring field", node, ast.Attribute(node.value, other, ast.Load())


def annotations(function: ast.FunctionDef) -> Iterator[ast.expr]:
    """The annotations within a function: of variables, and of the functions in it."""
    for node in ast.walk(function):
        found = node.annotation if isinstance(node, ast.AnnAssign | ast.arg) else getattr(node, "returns", None)
        if isinstance(found, ast.expr):
            yield found


Changed = Iterator[tuple[str, ast.expr]]


def operators(node: ast.expr) -> Changed:
    """Another operator, or one side of it only."""
    if isinstance(node, ast.BinOp) and (found := OPERATORS.get(type(node.op))):
        other, kind = found
        yield kind, ast.BinOp(node.left, other(), node.right)
        if isinstance(node.op, ast.Add | ast.Sub):
            yield "term dropped", node.left
        elif isinstance(node.op, ast.Mult | ast.Div):
            yield "factor dropped", node.left
        if isinstance(node.op, ast.Mult | ast.Add):
            yield "first dropped", node.right
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        yield "sign", node.operand


def conditions(node: ast.expr) -> Changed:
    """A comparison at its limit or the other way round; and for or."""
    if isinstance(node, ast.Compare) and len(node.ops) == 1:
        for other in COMPARISONS.get(type(node.ops[0]), ()):
            yield "comparison", ast.Compare(node.left, [other()], node.comparators)
    if isinstance(node, ast.BoolOp):
        yield "and, or", ast.BoolOp(ast.Or() if isinstance(node.op, ast.And) else ast.And(), node.values)
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
        yield "not dropped", node.operand
    if isinstance(node, ast.IfExp):
        yield "other branch", ast.IfExp(node.test, node.orelse, node.body)


def numbers(node: ast.expr) -> Changed:
    """A number off by one."""
    if isinstance(node, ast.Constant) and type(node.value) in (int, float):
        yield "number", ast.Constant(node.value + 1)


def places(node: ast.expr) -> Changed:
    """A place of a row off by one, as is a quarter."""
    if isinstance(node, ast.Subscript) and isinstance(node.ctx, ast.Load):
        if isinstance(node.slice, ast.Name) and node.slice.id in COUNTS:
            for by, kind in ((-1, "a place before"), (1, "a place after")):
                moved = ast.BinOp(node.slice, ast.Add() if by > 0 else ast.Sub(), ast.Constant(1))
                yield kind, ast.Subscript(node.value, moved, ast.Load())
        if isinstance(node.slice, ast.Slice) and node.slice.lower is None and node.slice.upper is not None:
            yield "first of a slice", ast.Subscript(node.value, ast.Slice(ast.Constant(1), node.slice.upper), ast.Load())


def calls(node: ast.expr) -> Changed:
    """Another operation, one left out, arguments swapped, an element dropped."""
    if not isinstance(node, ast.Call):
        return
    name = node.func.id if isinstance(node.func, ast.Name) else ""
    if name in OTHER_FUNCTION:
        yield "operation", ast.Call(ast.Name(OTHER_FUNCTION[name]), node.args, node.keywords)
    if name in ONLY_ARGUMENT:
        yield "operation left out", node.args[ONLY_ARGUMENT[name]]
    for k in range(len(node.args) - 1 if ast.unparse(node.func) not in EITHER_ORDER else 0):
        first, second = node.args[k], node.args[k + 1]
        if not isinstance(first, ast.Starred) and not isinstance(second, ast.Starred) and ast.dump(first) != ast.dump(second):
            yield "arguments swapped", ast.Call(node.func, [*node.args[:k], second, first, *node.args[k + 2 :]], node.keywords)
    for k in range(len(node.keywords) - 1):
        first_named, second_named = node.keywords[k], node.keywords[k + 1]
        swapped = [ast.keyword(first_named.arg, second_named.value), ast.keyword(second_named.arg, first_named.value)]
        yield "fields swapped", ast.Call(node.func, node.args, [*node.keywords[:k], *swapped, *node.keywords[k + 2 :]])


def lists(node: ast.expr) -> Changed:
    """An element or a condition of a list left out."""
    if isinstance(node, ast.List) and isinstance(node.ctx, ast.Load) and len(node.elts) > 1:
        for k in range(len(node.elts)):
            yield "element dropped", ast.List([*node.elts[:k], *node.elts[k + 1 :]], ast.Load())
    if isinstance(node, ast.ListComp) and node.generators[-1].ifs:
        last = node.generators[-1]
        all_of_it = ast.comprehension(last.target, last.iter, [], 0)
        yield "condition dropped", ast.ListComp(node.elt, [*node.generators[:-1], all_of_it])


RULES: tuple[Callable[[ast.expr], Changed], ...] = (operators, conditions, numbers, places, calls, lists)
