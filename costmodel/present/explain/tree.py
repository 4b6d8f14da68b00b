"""A figure as a tree of named figures down to its inputs, with formulas, values and where the inputs come from."""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Callable, Container, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from ...case.addresses import input_at
from ...case.line_records import Constants
from ...case.whole_case import Case, Evidence, kept
from ...core.at_work import at
from ...core.collecting import no_collecting
from ...core.faults import nearest
from ...core.fields import STATUS, declared
from ...model.evaluate import STAGES, Results, figures, reasons, results_up_to
from ...model.readings.cells import Sheet, Term, read_as_cells
from .solved import in_plan, is_solved, with_roots

COST_OF_A_WATT = "ledger.total.cost_per_stabilised_watt"
FIGURE, INPUT, CONVENTION = "figure", "input", "convention"
_PERIOD = re.compile(r"\.([a-z])[0-9]{2,}(?=\.|$)")  # the number of a quarter or year in an address
_FEW = 3  # so many quarters of one figure are told one by one


def quarter_named(address: str) -> str:
    """An address in which a quarter stands by its year and its number there, with the name of that quarter instead.

    >>> quarter_named("plan.quarters.y02q1.revenue"), quarter_named("plan.start")
    ('plan.quarters.q005.revenue', 'plan.start')
    """
    return re.sub(r"(?<=\.)y0*(\d+)q([1-4])(?=\.|$)", lambda found: f"q{4 * int(found[1]) - 4 + int(found[2]):03d}", address)


@dataclass(frozen=True, slots=True)
class Node:
    """One figure or input of a tree. `value` is in base units, `unit` the unit to show it in.

    `kind` is `figure`, `input` or `convention` (a constant of nature or of counting). `share` is the part of the sum above that
    this branch is, None where what is above is no sum. `shown` is `above` where the branch stands earlier in the tree,
    `deeper` where it goes on below the depth that was asked for. `reason` is why a figure has no value.
    """

    address: str
    kind: str
    title: str
    meaning: str
    value: float
    unit: str
    formula: str = ""
    share: float | None = None
    evidence: Evidence | None = None
    shown: str = ""
    terms: tuple[Term, ...] = ()
    children: tuple[Node, ...] = ()
    reason: str = ""

    def _repr_html_(self) -> str:
        from .explanation_page import tree_html

        return tree_html(self)


@dataclass(frozen=True)
class Explanation:
    """A case read as cells, ready to be asked about any figure."""

    case: Case
    results: Results
    sheet: Sheet
    declared: dict[str, tuple[str, str]]
    reasons: dict[str, dict[float, str]]  # why a figure may have no value, by the number of its status
    _needs: dict[str, tuple[str, ...]] = field(default_factory=dict, compare=False, repr=False)  # what was asked for so far

    def status_of(self, address: str) -> str:
        """The address of the status of a figure that may have no value; with a solved root, that of the plan where it is the same.

        >>> from costmodel.case.load import load_case
        >>> explained(load_case("inputs_demo/facade")).status_of("plan.project.payback")
        'plan.project.payback_status'
        """
        own = address + STATUS
        return own if own in self.sheet.figures or not is_solved(address) else in_plan(address) + STATUS

    def reason(self, address: str) -> str:
        """Why a figure has no value; an empty text where it has one."""
        found = self.reasons.get(address, {})
        return found.get(self.sheet.value(self.status_of(address)), "") if found else ""

    def check(self, address: str) -> str:
        """The address, if a figure or an input has it; otherwise a ValueError that names the nearest."""
        if address in self.declared:
            return address
        ends = [each for each in self.declared if each.endswith(f".{address}")][:3]
        quarter = quarter_named(address)
        near = f"; did you mean '{quarter}'?" if quarter in self.declared else nearest(address, self.declared)
        known = f"; found at the end of {', '.join(ends)}" if ends else near
        raise ValueError(f"'{address}'; allowed: the address of a figure or an input{known}")

    def is_input(self, address: str) -> bool:
        """Whether an address is that of an input or a convention."""
        return address in self.sheet.inputs

    def needs(self, address: str) -> tuple[str, ...]:
        """The figures and inputs that the formula of a figure names; of an input, none."""
        if address not in self._needs:
            self._needs[address] = () if self.is_input(address) else tuple(self.sheet.needs(address))
        return self._needs[address]

    @cached_property
    def _users(self) -> dict[str, list[str]]:
        """By which formulas each figure and input is named."""
        users: dict[str, list[str]] = {name: [] for name in self.declared}
        for name in self.declared:
            for each in self.needs(name):
                users[each].append(name)
        return users

    def inputs_of(self, address: str) -> list[str]:
        """Every input and convention that a figure depends on, in the order of the tables.

        >>> from costmodel.case.load import load_case
        >>> explanation = explained(load_case("inputs_demo/facade"))
        >>> explanation.inputs_of("line.output.plate_area")
        ['product.length', 'product.width']
        """
        below = self.below(self.check(address))
        return [name for name in self.sheet.inputs if name in below and name != address]

    def users_of(self, address: str) -> list[str]:
        """Every figure that depends on an input, or on another figure, in the order of the records.

        >>> from costmodel.case.load import load_case
        >>> "ledger.total.cost" in explained(load_case("inputs_demo/facade")).users_of("prices.silane.price")
        True
        """
        above = _reached([self.check(address)], self._users.__getitem__)
        return [name for name in self.sheet.figures if name != address and name in above]

    def below(self, *addresses: str) -> set[str]:
        """Addresses and every address that they depend on."""
        return _reached(addresses, self.needs)

    def find(self, text: str) -> list[str]:
        """Every figure and input whose address or meaning has the text in it, whatever the case of its letters.

        >>> from costmodel.case.load import load_case
        >>> explained(load_case("inputs_demo/facade")).find("plate_area")
        ['line.output.plate_area']
        """
        wanted = text.lower()
        return [name for name, (_, meaning) in self.declared.items() if wanted in name or wanted in meaning.lower()]

    def tree(self, address: str, depth: int | None = None, leading_to: Iterable[str] | None = None) -> Node:
        """The tree of a figure, `depth` levels below it, or all; with `leading_to` only the branches that lead to these.

        What stands in several places is opened once, where it is met first, and referred to afterwards. Raises ValueError for
        an unknown address.
        """
        kept = self.declared if leading_to is None else _reached([self.check(name) for name in leading_to], self._users.__getitem__)
        return self._node(self.check(address), depth, None, kept, set())

    def _node(self, address: str, depth: int | None, share: float | None, kept: Container[str], seen: set[str]) -> Node:
        unit, meaning = self.declared[address]
        value = self.sheet.value(address)
        if self.is_input(address):
            kind = CONVENTION if address.startswith("constants.") else INPUT
            evidence = self.case.evidence.get(address.rsplit(".", 1)[0])
            return Node(address, kind, self._title(address), meaning, value, unit, share=share, evidence=evidence)
        formula = self.sheet.formula(address)
        needs = [name for name in self.needs(address) if name in kept]
        shown = "above" if needs and address in seen else "deeper" if needs and depth == 0 else ""
        why = self.reason(address)
        if shown or not needs:
            return Node(address, FIGURE, "", meaning, value, unit, formula, share, shown=shown, reason=why)
        seen.add(address)
        terms = self.sheet.terms(address)
        shares = _shares(terms, value)
        if shares:
            needs.sort(key=lambda name: -abs(shares.get(name, 0.0)))
        below = None if depth is None else depth - 1
        children = tuple(self._node(name, below, shares.get(name), kept, seen) for name in needs)
        mixed = tuple(terms) if any(not term.address for term in terms) else ()
        return Node(address, FIGURE, "", meaning, value, unit, formula, share, terms=mixed, children=children, reason=why)

    def _title(self, address: str) -> str:
        """What the row of an input is called."""
        if address.startswith("constants."):
            return "convention"
        _, record = input_at(self.case, address)
        place = address.split(".")
        return getattr(record, "title", place[-2].replace("_", " "))


def _reached(addresses: Iterable[str], ways: Callable[[str], Sequence[str]]) -> set[str]:
    """Addresses and all that can be reached from them."""
    found, waiting = set(addresses), list(addresses)
    while waiting:
        for name in ways(waiting.pop()):
            if name not in found:
                found.add(name)
                waiting.append(name)
    return found


def _shares(terms: list[Term], total: float) -> dict[str, float]:
    """What part of a sum each term is, by the name it has; nothing where the sum is next to nothing against its terms.

    Where no term has a name, as in a present value, each goes by the one name in it that stands in no other term.
    """
    if not math.isfinite(total) or abs(total) <= 1e-9 * sum(abs(term.value) for term in terms):
        return {}
    names = [[term.address] if term.address else [] for term in terms]
    if not any(names):
        uses = Counter(name for term in terms for name in term.needs)
        names = [[name for name in term.needs if uses[name] == 1] for term in terms]
        names = names if all(len(own) == 1 for own in names) else []
    shares: dict[str, float] = {}
    for own, term in zip(names, terms):
        for name in own:
            shares[name] = shares.get(name, 0.0) + term.value / total
    return shares


def alike(nodes: Sequence[Node]) -> Iterator[list[Node]]:
    """Nodes in their order, those put together that are one figure in several quarters or years; the largest of these first."""
    groups: dict[str, list[Node]] = {}
    for node in nodes:
        groups.setdefault(_PERIOD.sub(r".\1", node.address), []).append(node)
    for group in groups.values():
        if len(group) <= _FEW:
            yield from ([node] for node in group)
        else:
            largest = max(group, key=lambda node: abs(node.value) if math.isfinite(node.value) else 0.0)
            yield [largest, *(node for node in group if node is not largest)]


def explained(case: Case, solved: bool = False) -> Explanation:
    """A case read, once, so that every figure can be explained; with `solved`, which takes longer, roots found outside of it too.

    >>> from costmodel.case.load import load_case
    >>> node = explained(load_case("inputs_demo/facade")).tree("line.output.plate_area")
    >>> node.formula, [child.address for child in node.children]
    ('product.length * product.width', ['product.length', 'product.width'])
    """
    return kept(case, "explained with roots" if solved else "explained", lambda: _explained(case, solved))


def explained_for(case: Case, figure: str) -> Explanation:
    """A case read as far as a figure needs it: a figure of line, ledger or market is made of nothing in plan and deal.

    >>> from costmodel.case.load import load_case
    >>> explained_for(load_case("inputs_demo/facade"), "line.output.plate_area").results.has_plan
    False
    """
    if figure.partition(".")[0] in ("line", "ledger", "market"):
        found = kept(case, "costs explained", lambda: _explained(case, stage="market"))
        if figure in found.declared:
            return found
    return explained(case, solved="solved" in figure)


def _explained(case: Case, solved: bool = False, stage: str = STAGES[-1]) -> Explanation:
    at("formulas of all figures")
    results = results_up_to(case, stage)
    known = {address: (unit, meaning) for address, _, unit, meaning in figures(results, case.currency)}
    sheet, why = read_as_cells(case, stage), reasons(results)
    if solved:
        with no_collecting():
            sheet, roots, why_no_root = with_roots(case, results, sheet)
        known |= roots
        why |= why_no_root | {name: why[in_plan(name)] for name in roots if in_plan(name) in why}
    for address in sheet.inputs:
        if address.startswith("constants."):
            declaration = declared(Constants)[address.split(".")[1]]
            known[address] = (declaration.entry, declaration.meaning)
        else:
            known[address] = (case.entry_units[address], input_at(case, address)[0].meaning)
    return Explanation(case, results, sheet, known, why)
