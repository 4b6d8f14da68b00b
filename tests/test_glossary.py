"""The glossary has every input and figure, under its address, with the unit that its field declares."""
from __future__ import annotations

import re

import pytest

from costmodel.case.addresses import numeric_inputs
from costmodel.case.load import load_case
from costmodel.case.whole_case import Case
from costmodel.core.fields import STATUS
from costmodel.model.evaluate import evaluate, figures
from costmodel.present import glossary

from .cases import DEMO, FIELD, demo

TERMS = glossary.terms()
ADDRESSES = {address: term for term in TERMS for address in term.addresses}
CASES = pytest.mark.parametrize("folder", [DEMO, FIELD], ids=["facade", "field"])


def term_at(address: str) -> glossary.Term | None:
    """The term whose address, with a name for each star, is this one; a line of the ledger has a name of several parts."""
    begin = address.split(".")[:2]
    near = [found for found in ADDRESSES if found.split(".")[:2] in (begin, [begin[0], "*"])]
    wanted = (found for found in near if re.fullmatch(re.escape(found).replace(r"\*", ".+"), address))
    return next((ADDRESSES[found] for found in wanted), None)


def patterns(addresses) -> set[str]:
    """One address of each kind, so that a term is looked up once for all rows of a table."""
    return set({re.sub(r"[qy]\d+", "*", address): address for address in addresses}.values())


@CASES
@pytest.mark.slow
def test_every_figure_of_a_case_is_a_term(folder):
    found = evaluate(load_case(folder))
    known = {address: unit for address, _, unit, _ in figures(found, "money") if not address.endswith(STATUS)}
    for address in patterns(known):
        term = term_at(address)
        assert term is not None, f"the glossary lacks {address}"
        if "{" not in term.unit:
            assert term.unit == known[address], address


@CASES
def test_every_number_of_a_case_is_a_term(folder):
    case: Case = load_case(folder)
    for address, *_ in numeric_inputs(case):
        assert address.startswith("constants.") or term_at(address) is not None, f"the glossary lacks {address}"


def test_an_address_stands_once_and_each_term_has_unit_and_meaning():
    addresses = [address for term in TERMS for address in term.addresses]
    assert len(addresses) == len(set(addresses))
    assert all(term.unit and term.meaning for term in TERMS)


def test_the_page_has_a_section_for_each_subject_in_order_and_no_unit_with_a_digit_for_a_power():
    page = glossary.as_markdown()
    assert re.findall(r"^## (.*)$", page, re.MULTILINE) == list(glossary.SUBJECTS.values())
    cells = [line.split(" | ")[1] for line in page.splitlines() if line.startswith("| ") and "`" in line]
    assert not [unit for unit in cells if re.search(r"m[23]\b|\*|[{}]", unit)]
    assert "| dscr | 1 |" in page


def test_the_meaning_of_a_figure_stands_by_itself():
    meanings = {meaning for *_, meaning in figures(evaluate(demo()), demo().currency)}
    assert len(meanings) > 300
    assert [each for each in meanings if each.startswith(("of these", "of which"))] == []
