"""A second opinion on formulas: evaluates their text with Python's parser and plain floats, none of our operations."""
from __future__ import annotations

import ast
import math
import operator
from collections.abc import Callable, Mapping, Sequence
from decimal import ROUND_CEILING, ROUND_HALF_EVEN, Decimal
from statistics import NormalDist

_BINARY = {ast.Add: operator.add, ast.Sub: operator.sub, ast.Mult: operator.mul, ast.Div: operator.truediv,
           ast.Pow: operator.pow}
_COMPARISON = {ast.Lt: operator.lt, ast.LtE: operator.le, ast.Gt: operator.gt, ast.GtE: operator.ge,
               ast.Eq: operator.eq, ast.NotEq: operator.ne}


def whole_up(x: float) -> float:
    """The least whole number not below `x` rounded to 9 decimals, in decimal arithmetic."""
    rounded = Decimal(x).quantize(Decimal("1e-9"), rounding=ROUND_HALF_EVEN)
    return float(rounded.to_integral_value(rounding=ROUND_CEILING))


def rates(flows: Sequence[float]) -> list[float]:
    """Every rate for a quarter, from -90 to +1,000 % a year, at which the present value, on a grid, changes sign."""

    def value(rate: float) -> float:
        return math.fsum(flow / (1 + rate) ** k for k, flow in enumerate(flows))

    grid = [0.1**0.25 * 110 ** (k / 1600) - 1 for k in range(401)]
    found = []
    values = [value(rate) for rate in grid]
    for low, high, below, above in zip(grid, grid[1:], values, values[1:]):
        if below * above < 0:
            while high - low > 4e-16 * max(1.0, abs(low)):
                middle = (low + high) / 2
                if middle in (low, high):
                    break
                low, high = (middle, high) if value(middle) * below > 0 else (low, middle)
            found.append(low)
    return found


def status(flows: Sequence[float]) -> int:
    """0 no rate, 1 one rate of return, 2 several, 3 a cost of finance, 4 less than half of the outlay recovered."""
    spent = -math.fsum(flow for flow in flows if flow < 0)
    if spent and math.fsum(flow for flow in flows if flow > 0) / spent < 0.5:
        return 4
    if len(rates(flows)) != 1:
        return min(len(rates(flows)), 2)
    at_lowest = math.fsum(flow / 0.1 ** (k / 4) for k, flow in enumerate(flows))
    return 1 if at_lowest > 0 else 3


def student_t_quantile(share: float, freedom: float) -> float:
    """Quantile of Student's t for whole degrees of freedom, by halving on its finite sum (Abramowitz and Stegun 26.7.3, 26.7.4)."""
    count = max(1, math.floor(round(freedom, 9)))

    def below(t: float) -> float:
        """The share below t."""
        angle = math.atan(t / math.sqrt(count))
        term = math.cos(angle) if count % 2 else 1.0
        total, first = 0.0, 3 if count % 2 else 2
        for step in range(first, count + 1, 2):
            total += term
            term *= math.cos(angle) ** 2 * (step - 1) / step
        inside = 2 / math.pi * (angle + math.sin(angle) * total) if count % 2 else math.sin(angle) * total
        return (1 + inside) / 2

    low, high = -1e6, 1e6
    while high - low > 4e-16 * max(1.0, abs(low)):
        middle = (low + high) / 2
        if middle in (low, high):
            break
        low, high = (middle, high) if below(middle) < share else (low, middle)
    return low


FUNCTIONS: Mapping[str, Callable] = {
    "whole_up": whole_up,
    "larger": lambda a, b: a if a > b else b,
    "smaller": lambda a, b: a if a < b else b,
    "choose": lambda condition, a, b: a if condition else b,
    "valid_if": lambda condition, a: a if condition else math.nan,
    "safe_divide": lambda a, b: a / b if b else 0.0,
    "sum_of": lambda *values: math.fsum(values),
    "least_of": lambda *values: sorted(values)[0],
    "exp": math.exp,
    "log": math.log,
    "irr": lambda *flows: rates(flows)[0] if status(flows) == 1 else math.nan,
    "irr_count": lambda *flows: float(status(flows)),
    "normal_cdf": NormalDist().cdf,
    "normal_quantile": NormalDist().inv_cdf,
    "student_t_quantile": student_t_quantile,
}


def dotted(node: ast.expr) -> str:
    """The address that a node spells, as `product.length`."""
    return f"{dotted(node.value)}.{node.attr}" if isinstance(node, ast.Attribute) else node.id


def names(formula: str) -> set[str]:
    """The addresses that a formula names."""
    found: set[str] = set()

    def visit(node: ast.AST) -> None:
        if isinstance(node, ast.Attribute | ast.Name):
            found.add(dotted(node))
            return
        below = node.args if isinstance(node, ast.Call) else ast.iter_child_nodes(node)
        for child in below:
            visit(child)

    visit(ast.parse(formula, mode="eval").body)
    return found


def evaluated(formula: str, value: Callable[[str], float]) -> float:
    """The value of a formula, with `value` giving that of each address it names."""
    return _value(ast.parse(formula, mode="eval").body, value)


def _value(node: ast.expr, value: Callable[[str], float]) -> float:
    if isinstance(node, ast.Constant):
        return node.value
    if isinstance(node, ast.Attribute | ast.Name):
        return value(dotted(node))
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        return -_value(node.operand, value)
    if isinstance(node, ast.BinOp):
        return _BINARY[type(node.op)](_value(node.left, value), _value(node.right, value))
    if isinstance(node, ast.Compare) and len(node.ops) == 1:
        return _COMPARISON[type(node.ops[0])](_value(node.left, value), _value(node.comparators[0], value))
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
        return FUNCTIONS[node.func.id](*(_value(argument, value) for argument in node.args))
    raise ValueError(f"{ast.unparse(node)} is no formula; allowed: addresses, numbers, + - * / **, comparison and "
                     f"{', '.join(FUNCTIONS)}")


def recalculated(formulas: Mapping[str, str], inputs: Mapping[str, float]) -> dict[str, float]:
    """Every figure from the inputs only, each after the figures that its formula names."""
    known = dict(inputs)

    def value(address: str) -> float:
        if address not in known:
            known[address] = evaluated(formulas[address], value)
        return known[address]

    return {address: value(address) for address in formulas}
