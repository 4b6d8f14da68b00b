"""LibreOffice recalculates the workbook, after its stored values were spoiled, to what the package computes."""
from __future__ import annotations

import functools
import io
import math
import re
from collections.abc import Collection, Iterator, Mapping

import numpy as np
import pytest
import xlsxwriter

from costmodel.case.addresses import input_at, numeric_inputs, value_at
from costmodel.case.changes import with_values
from costmodel.case.load import load_case
from costmodel.case.whole_case import Case
from costmodel.core import operations
from costmodel.core.faults import InputFaults
from costmodel.core.units import to_base
from costmodel.documents.workbook import second_engine
from costmodel.documents.workbook.formulas import Formulas
from costmodel.documents.workbook.inputs_sheet import stated
from costmodel.documents.workbook.layout import CHECKS, COVER, INPUTS, RETURNS, input_rows
from costmodel.documents.workbook.names import cell_names
from costmodel.documents.workbook.rates import COUNT, RATE, RateSheet, rate_cell
from costmodel.documents.workbook.read import read_changes
from costmodel.documents.workbook.second_engine import (
    POISON,
    cell_values,
    named_cells,
    named_values,
    packed,
    parts_of,
    poisoned,
    recalculated,
    sheet_files,
)
from costmodel.documents.workbook.write import workbook_bytes
from costmodel.model.evaluate import Results, evaluate, figures
from costmodel.model.readings.cells import Cell, Sheet, read_as_cells
from costmodel.present.explain.tree import explained

from .batch import batch
from .cases import DEMO, FIELD, Inputs, demo, tiny
from .identities import frozen
from .running import run
from .spreadsheet import with_inputs, written
from .terms import terms
from .test_closing import early
from .test_readings import scale_of

YEAR = 31_536_000.0

pytestmark = pytest.mark.needs("soffice")


def demo_frozen() -> Case:
    """The demo with its tools given, and late by our delay, which adds a plan to the deal."""
    return with_values(frozen(demo()), {"schedule.delay": 0.25 * YEAR})


def tiny_frozen() -> Case:
    """The tiny line with its tools given."""
    return frozen(tiny())


def field() -> Case:
    """The larger demo."""
    return load_case(FIELD)


FIRST = (tiny, tiny_frozen, batch, terms, early, demo)
CASES = (*FIRST, demo_frozen, field)
SPOILED = (POISON, repr(POISON))


def off(case: Case, book: bytes, saved: bytes) -> list[str]:
    """Every figure and input of a recalculated workbook that is not what the package gives for the case; empty is right."""
    wanted, units = {}, {}
    for address, value, unit, _ in figures(evaluate(case), case.currency):
        wanted[address], units[address] = value, unit
    cells_of = cell_values(saved)
    wrong = [f"{sheet}!{place} was not recalculated" for sheet, cells in cells_of.items()
             for place, value in cells.items() if value in SPOILED]
    inputs = {address: value for address, value, _, _ in numeric_inputs(case)}
    values, names = named_values(book, saved, cells_of), cell_names([*inputs, *wanted])
    for address, value in {**inputs, **wanted}.items():
        found = values[names[address]]
        if address.startswith(("plan.", "deal.")):  # cash is a difference of larger cash; all else stands for itself
            scale = wanted["plan.capital"] if units.get(address) == case.currency else 0.0
        elif address.startswith("line.states."):  # what is left of all hours
            scale = case.constants.year
        else:
            scale = scale_of(address, wanted) if address in wanted else 0.0
        same = isinstance(found, float) and abs(found - value) <= 1e-9 * max(abs(value), scale)
        if not same and not (math.isnan(value) and found == "#N/A"):
            wrong.append(f"{address} is {found}; {value} by the package")
    return wrong


def test_what_was_not_recalculated_is_noticed():
    book = written(tiny)
    assert any("was not recalculated" in line for line in off(tiny(), book, poisoned(book)))
    assert len(off(tiny(), book, poisoned(book))) > len(read_as_cells(tiny()).figures)


def test_a_user_is_shown_what_another_spreadsheet_computes(monkeypatch):
    found = second_engine.agreements(terms())
    count = sum(not (math.isnan(value)) for _, value, _, _ in figures(evaluate(terms()), terms().currency))
    assert {each.verdict for each in found} == {"PASS"}
    assert sum(len(each.found) for each in found) >= count
    assert [each.what.rpartition(" ")[2] for each in found] == ["line", "ledger", "market"]
    monkeypatch.setattr(second_engine, "recalculated", list)  # an engine that computes nothing leaves what was spoiled
    assert [each.verdict for each in second_engine.agreements(tiny())[:2]] == ["DIFF", "DIFF"]


def test_without_another_spreadsheet_the_command_says_so(monkeypatch):
    monkeypatch.setattr(second_engine, "PROGRAMS", ("no_such_program",))
    refused = run("verify", DEMO, "--workbook")
    assert refused.exit_code == 2
    assert "--workbook: found no LibreOffice Calc on this machine; allowed: one, as soffice or libreoffice" in refused.output
    assert "--workbook: found it without CASE" in run("verify", "--workbook").output


@pytest.mark.slow
def test_every_figure_follows_by_another_engine_from_spoiled_values():
    books = [written(case) for case in FIRST]
    for case, book, saved in zip(FIRST, books, recalculated(map(poisoned, books))):
        assert off(case(), book, saved) == [], case.__name__
        values = named_values(book, saved)
        left = [value for address, value in values.items() if re.fullmatch(r"solved\.\w+\.project\.npv", address)]
        assert len(left) == {demo: 2, early: 1}.get(case, 0)  # no volume is enough where the plant closes early
        assert all(abs(value) <= 1e-9 * values["plan.capital"] for value in left)


# changed inputs

DELIBERATE: Mapping[str, list[dict[str, float]]] = {
    "tiny": [{"steps.cut.process_time": 109.0}, {"steps.cut.process_time": 108.0, "target.output": 2.5e6},
             {"steps.coat.first_pass_yield": 1.0, "steps.coat.load_loss": 0.0, "steps.press.first_pass_yield": 1.0}],
    "terms": [{"target.output": 0.3e6}, {"target.output": 4e6}, {"buying.foil.minimum_order": 40000.0},
              {"price_breaks.glass_some.from_quantity": 60000.0, "price_breaks.glass_more.from_quantity": 70000.0}],
    "batch": [{"target.output": 2.2e6}, {"steps.coat.load_loss": 0.0}, {"markets.none.reference_price": 3.0},
              {"coverings.skin_stone.area_cost": 900.0, "coverings.facade_reference.area_cost": 900.0,
               "coverings.roof_ours.life": 9 * YEAR}],
    "demo": [{"target.output": 18.3e6, "sales.facade.price": 1.0, "tax.loss_use": 0.5, "loan.part": 0.0,
              "licence.royalty_cap": 0.01},
             {"target.output": 3.1e6, "site.crews": 5.0, "tax.holiday": 2.3 * YEAR, "licence.term": 3.3 * YEAR,
              "licence.royalty": 0.0, "licence.upfront": 0.0, "fees.disclosure.amount": 0.0, "fees.acceptance.probability": 0.0},
             {"steps.deposition.first_pass_yield": 1.0, "steps.deposition.load_loss": 0.0,
              "sales.facade.price": 2.9, "minimum_royalties.exclusive.amount": 0.0, "deliveries.training.days": 0.0}],
    "field": [{}],
    "demo_frozen": [{"tools.deposition.installed": 7.0, "site.crews": 3.0, "schedule.delay": 0.7 * YEAR}],
    "tiny_frozen": [{"tools.coater.installed": 9.0}],
}
RANDOM = {"tiny": 40, "tiny_frozen": 40, "batch": 40, "terms": 40, "demo": 40, "demo_frozen": 40}
TOGETHER = 40  # random changes in a workbook


def random_changes(case: Case, count: int, random: np.random.Generator) -> Iterator[dict[str, float]]:
    """Groups of changes that the case takes, of inputs that figures use, from half to half as much again, cut to the range."""
    explanation = explained(case)
    used = explanation.below(*explanation.sheet.figures)
    known = [address for address, _, is_open in input_rows(case, explanation.sheet.inputs) if address in used and is_open]
    for _ in range(count // TOGETHER):
        changes: dict[str, float] = {}
        while len(changes) < TOGETHER:
            address = str(random.choice(known))
            declaration, _ = input_at(case, address)
            value = value_at(case, address) * random.uniform(0.5, 1.5) if value_at(case, address) else random.uniform(0.0, 0.05)
            value = min(value, math.inf if declaration.high is None else declaration.high)
            factor = to_base(case.entry_units[address])
            value = stated(value, factor) * factor  # as a person types it
            try:
                with_values(case, {**changes, address: value})
                changes[address] = value
            except InputFaults:
                continue
        yield changes


@functools.lru_cache(maxsize=1)
def changed_books() -> list[tuple[str, Case, Case, bytes, bytes]]:
    """Each case changed in many ways: its name, the case as written and as changed, the workbook, and as recalculated."""
    random = np.random.default_rng(20261125)
    books = []
    for case in CASES:
        base, name = case(), case.__name__
        book = written(case)
        *deliberate, last = DELIBERATE.get(name, [{}])
        drawn = random_changes(with_values(base, last), RANDOM.get(name, 0), random)  # on top of the last of the deliberate ones
        for changes in (*deliberate, *([{**each, **last} for each in drawn] or [last])):
            books.append((name, base, with_values(base, changes), book, with_inputs(base, poisoned(book), changes)))
    saved = [after for start in range(0, len(books), 6) for after in recalculated(book[4] for book in books[start:start + 6])]
    return [(*book[:4], after) for book, after in zip(books, saved)]


@pytest.mark.slow
def test_every_figure_follows_when_inputs_change():
    assert sum(RANDOM.values()) >= 200
    for name, _, changed, book, saved in changed_books():
        assert off(changed, book, saved) == [], name
        if name == "demo":
            assert "no longer hold: inputs were changed" in cell_values(saved)[COVER].values()


def turned(question, books) -> bool:
    """Whether a change in one of the books changes the answer to a question about the results."""
    return any(question(evaluate(before)) != question(evaluate(after)) for _, before, after, _, _ in books)


@pytest.mark.slow
def test_the_changes_reach_steps_breaks_and_minimum_orders():
    def tools(results: Results) -> dict[str, float]:
        return {name: use.tools for name, use in results.line.tools.items()}

    def discounts(results: Results) -> dict[str, float]:
        return {name: landed.discount for name, landed in results.ledger.landed.items()}

    def unused(results: Results) -> bool:
        return any(landed.paid_for > landed.used * (1 + 1e-9) for landed in results.ledger.landed.values())

    books = changed_books()
    for question in (tools, discounts):
        assert turned(question, [book for book in books if book[0] in ("demo", "terms", "tiny")]), question.__name__
    assert any(unused(evaluate(after)) for name, _, after, _, _ in books if name == "terms")
    assert any(evaluate(after).line.steps["deposition"].lost == 0 for name, _, after, _, _ in books if name == "demo")


@pytest.mark.slow
def test_the_changes_reach_losses_caps_minimum_royalties_and_rates_that_are_not_there():
    books = [book for book in changed_books() if book[0] == "demo"]

    def minimum_binds(results: Results) -> list[float]:
        return [year.minimum_binds for year in results.deal.years.values()]

    def rates(results: Results) -> tuple[float, float]:
        return results.plan.project.irr_status, results.plan.project.payback_status

    for question in (minimum_binds, rates):
        assert turned(question, books), question.__name__
    capped, *_ = (after for _, _, after, _, _ in books)
    results = evaluate(capped)
    sold = sum(results.plan.quarters[f"q{k:03d}"].revenue for k in range(17, 21)) * capped.deal.licence.net_sales  # the fifth year
    assert results.deal.years["y05"].earned == pytest.approx(0.01 * sold, rel=1e-9)
    assert results.plan.quarters["q040"].losses_carried > 0


# operations

A, B, C = 7.25, 2.5, -1.5
OPERATIONS = {
    "difference": (lambda a, b, c: a - (b - c), A - (B - C)),
    "quotient": (lambda a, b, c: a / (b / c), A / (B / C)),
    "power of a power": (lambda a, b, c: a ** (b**2), A ** (B**2)),
    "power on the left": (lambda a, b, c: (a**b) ** 2, (A**B) ** 2),
    "negative of a power": (lambda a, b, c: -(a**2), -52.5625),
    "power of a negative": (lambda a, b, c: (-a) ** 2, 52.5625),
    "negative in a product": (lambda a, b, c: b * -c * -2.0, -7.5),
    "up from above": (lambda a, b, c: operations.whole_up(a / b), 3.0),
    "up from a hair above": (lambda a, b, c: operations.whole_up(a - A + 3.0000000001), 3.0),
    "up below zero": (lambda a, b, c: operations.whole_up(c), -1.0),
    "up below zero, a product": (lambda a, b, c: operations.whole_up(c * 3.0) * 2.0 - operations.whole_up(b), -11.0),
    "a third of eleven tenths": (lambda a, b, c: operations.whole_up(c * 0.0 + 1.1 * 3 / 0.3), 11.0),
    "larger": (lambda a, b, c: operations.larger(a - b, c), 4.75),
    "smaller": (lambda a, b, c: operations.smaller(a - b, c) * 2, -3.0),
    "chosen": (lambda a, b, c: operations.choose(a > b, a * 2, b) + operations.choose(a <= b, a, b + c), 15.5),
    "equal or not": (lambda a, b, c: operations.choose(a == A, 1.0, 2.0) + operations.choose(a != A, 4.0, 8.0), 9.0),
    "divided by zero": (lambda a, b, c: operations.safe_divide(a, b - B), 0.0),
    "valid": (lambda a, b, c: operations.valid_if(a > b, a * 2), 14.5),
    "not valid": (lambda a, b, c: operations.valid_if(a <= b, a * 2), math.nan),
    "not valid, not chosen": (lambda a, b, c: operations.choose(a > b, a, operations.valid_if(a < b, b)), A),
    "divided": (lambda a, b, c: operations.safe_divide(a + b, b - c), 2.4375),
    "exponential": (lambda a, b, c: operations.exp(-(c**2) / 2) * a, A * math.exp(-1.125)),
    "logarithm": (lambda a, b, c: operations.log(a / b) - operations.log(a), -math.log(B)),
    # rates of return whose roots are known: worked out from the factors of the polynomial in 1 + rate
    "one rate": (lambda a, b, c: operations.irr([a - A - 10.0, 12.0]), 0.2),
    "one rate after nothing": (lambda a, b, c: operations.irr([a - A, -10.0, a - A, 14.4]), 0.2),
    "changes of sign and one rate": (lambda a, b, c: operations.irr([c / 1.5, 2.1, -6.1, 5.5]), 0.1),  # (x - 1.1)(x2 - x + 5)
    "one there": (lambda a, b, c: operations.irr_count([c / 1.5, 2.1, -6.1, 5.5]), 1.0),
    "several": (lambda a, b, c: operations.irr([a * 0.0 - 100.0, 230.0, -132.0]), math.nan),  # 10 % and 20 %
    "several there": (lambda a, b, c: operations.irr_count([a * 0.0 - 100.0, 230.0, -132.0]), 2.0),
    "changes of sign and none": (lambda a, b, c: operations.irr_count([a * 0.0 + 1.0, -1.0, 5.0]), 0.0),  # x2 - x + 5
    "a rate of nothing": (lambda a, b, c: operations.irr([c, 1.5]), 0.0),
    "below nothing": (lambda a, b, c: operations.irr([a * 0.0 - 10.0, 2.0, 3.0]), 0.1 + math.sqrt(0.31) - 1),  # 10 x2 = 2 x + 3
    "below the rates that count": (lambda a, b, c: operations.irr([a * 0.0 - 100.0, *[40.0] * 5, -1.0]),
                                   operations.irr([-100.0, *[40.0] * 5, -1.0])),
    "two close ones": (lambda a, b, c: operations.irr_count([a * 0.0 - 1.0, 2.21, -1.221]), 2.0),  # 10 % and 11 %
    "a double one": (lambda a, b, c: operations.irr_count([a * 0.0 + 1.0, -2.2, 1.21]), 2.0),  # (x - 1.1)2
    "cost of finance": (lambda a, b, c: operations.irr_count([a * 0.0 + 100.0, -60.0, -60.0]), 3.0),
    "less than half recovered": (lambda a, b, c: operations.irr_count([a * 0.0 - 100.0, 49.0]), 4.0),
    "none of nothing": (lambda a, b, c: operations.irr_count([a * 0.0, b * 0.0]), 0.0),
    "none": (lambda a, b, c: operations.irr([a, b]), math.nan),
    "none there": (lambda a, b, c: operations.irr_count([a, b]), 0.0),
    "half": (lambda a, b, c: operations.normal_cdf(b - B), 0.5),
    "median of the normal distribution": (lambda a, b, c: operations.normal_quantile(b - B + 0.5) + a, A),
    "quantile of one degree of freedom": (lambda a, b, c: operations.student_t_quantile(b - B + 0.75, a - A + 1.9), 1.0),
    "of two, in full": (lambda a, b, c: operations.student_t_quantile(b - B + 0.9, a - A + 2.0), 0.8 * math.sqrt(2 / 0.36)),
    "of less than one": (lambda a, b, c: operations.student_t_quantile(b - B + 0.75, a * 0.01), 1.0),
    "sum of many": (lambda a, b, c: operations.sum_of([a * b] * 700), 700 * A * B),
    "deep": (lambda a, b, c: functools.reduce(lambda x, _: operations.larger(x + 1.0, c), range(90), a), A + 90),
}


def sheet_of_operations(left_out: Collection[str]) -> Sheet:
    """Each operation as a figure of three inputs."""
    inputs = {"x.a": Cell(A), "x.b": Cell(B), "x.c": Cell(C)}
    made = {f"y.f{number}": build(*inputs.values()) for number, (name, (build, _)) in enumerate(OPERATIONS.items())
            if name not in left_out}
    return Sheet(inputs, made, {id(cell): address for address, cell in {**inputs, **made}.items()})


def book_of_operations(left_out: Collection[str] = ()) -> bytes:
    """The operations but those left out as a workbook with spoiled values; helpers in column B, rates on a sheet of their own."""
    sheet, content = sheet_of_operations(left_out), io.BytesIO()
    addresses = [*sheet.inputs, *sheet.figures]
    names = cell_names(addresses)
    formulas = Formulas(
        sheet, names, lambda number: f"Sheet1!$B${number + 1}",
        lambda number, what: f"{RETURNS}!{rate_cell(number, RATE if what == 'irr' else COUNT)}")
    book = xlsxwriter.Workbook(content)
    page, returns = book.add_worksheet(), book.add_worksheet(RETURNS)
    for row, address in enumerate(addresses):
        book.define_name(names[address], f"=Sheet1!$A${row + 1}")
        if address in sheet.inputs:
            page.write_number(row, 0, sheet.value(address))
        else:
            page.write_formula(row, 0, formulas.of(address), None, POISON)
    for row, helper in enumerate(formulas.helpers):
        page.write_formula(row, 1, helper.formula, None, POISON)
    rates = RateSheet(0, max((len(flows.values) for flows in formulas.flows), default=2))
    for row, told in rates.labels():
        returns.write(row, 0, told)
    for number, flows in enumerate(formulas.flows):
        for row, column, formula, _ in rates.written(number, flows.formulas, flows.values):
            returns.write_formula(row, column, formula, None, POISON)
    book.close()
    return content.getvalue()


@pytest.mark.slow
def test_every_operation_keeps_its_meaning_in_a_spreadsheet():
    book = book_of_operations()
    found = named_values(book, recalculated([book])[0])
    for number, (name, (_, wanted)) in enumerate(OPERATIONS.items()):
        assert found[f"y.f{number}"] == ("#N/A" if math.isnan(wanted) else pytest.approx(wanted, rel=1e-12)), name


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore")  # the library warns of its own ways
@pytest.mark.parametrize("name", ["operations", "tiny"])
def test_a_third_engine_agrees(tmp_path, name):
    """The library `formulas` is another engine than LibreOffice, and follows the raw binary numbers."""
    import formulas

    if name == "operations":
        names = list(OPERATIONS)
        rates = names[names.index("one rate") : names.index("none there") + 1]
        content = book_of_operations(rates)  # a rate takes it half a minute; numpy-financial has those too
        wanted = {f"y.f{number}": value for number, (each, (_, value)) in enumerate(OPERATIONS.items()) if each not in rates}
    else:
        content = with_small_numbers_as_formulas(poisoned(written(tiny)))
        wanted = {address: value for address, value, _, _ in figures(evaluate(tiny()), "EUR")}
    (tmp_path / f"{name}.xlsx").write_bytes(content)
    solution = formulas.ExcelModel().loads(str(tmp_path / f"{name}.xlsx")).finish().calculate()
    values = {str(place).upper(): cell.value[0, 0] for place, cell in solution.items() if hasattr(cell, "value")}
    places = named_cells(content)
    for address, value in wanted.items():
        sheet, place = places[address]
        assert same(values[f"'[{name}.xlsx]{sheet}'!{place}".upper()], value, scale_of(address, wanted)), address


def with_small_numbers_as_formulas(content: bytes) -> bytes:
    """The factors of units as formulas: the library rounds a number in a cell to 15 decimals, which leaves little of 1 %/year."""
    parts = parts_of(content)
    file = sheet_files(parts)[INPUTS]
    text, count = re.subn(rb'(<c r="K[0-9]+"[^>]*>)(<v>)([^<]*)(</v>)', rb"\1<f>\3</f>\2\3\4", parts[file])
    assert count > 100
    return packed({**parts, file: text})


def same(found: object, value: float, scale: float) -> bool:
    """Whether a found value is the wanted one, and an error where there is none."""
    if math.isnan(value):
        return str(found) == "#N/A"
    return abs(float(found) - value) <= 1e-9 * max(abs(value), scale)


# what people see

@pytest.mark.slow
def test_an_input_out_of_range_and_a_missing_one_are_told_and_a_missing_one_is_never_zero():
    book, emptied = poisoned(written(tiny)), "steps.cut.first_pass_yield"
    fine, outside, missing = recalculated([book, *(with_inputs(tiny(), book, {emptied: value}) for value in (3.0, None))])
    good, bad = "all agree", "SOME DISAGREE: see Checks"
    assert [set(cell_values(saved)[COVER].values()) & {good, bad} for saved in (fine, outside, missing)] == [{good}, {bad}, {bad}]
    told = [cell_values(saved)[INPUTS].values() for saved in (outside, missing)]
    notes = [[value for value in values if isinstance(value, str) and value] for values in told]
    assert notes == [["out of range"], ["no number", "#N/A"]]
    values = named_values(book, missing)
    users = explained(tiny()).users_of(emptied)
    assert len(users) > 200
    assert {values[address] for address in users} == {"#N/A"}
    others = set(read_as_cells(tiny()).figures) - set(users)
    assert all(isinstance(values[address], float) for address in others)


@pytest.mark.slow
def test_a_check_turns_when_a_total_is_tampered_with():
    book = poisoned(written(tiny))
    parts = parts_of(book)
    file = sheet_files(parts)["Ledger"]
    place = named_cells(book)["ledger.total.cost"][1]
    tampered = re.sub(rb'(<c r="%s"[^>]*><f>)' % place.encode(), rb"\g<1>7+", parts[file])
    assert tampered != parts[file]
    saved = [cell_values(book)[CHECKS] for book in recalculated([book, packed({**parts, file: tampered})])]
    assert [list(cells.values()).count("DISAGREES") for cells in saved] == [0, 3]  # by step, by category, a module's cost
    addresses = read_as_cells(tiny()).figures
    stages, checks = {address.split(".")[0] for address in addresses}, [a for a in addresses if ".checks." in a]
    assert list(saved[0].values()).count("agrees") == len(checks) + 2 + len(stages)


@pytest.mark.slow
def test_a_workbook_that_another_program_saved_reads_back(tmp_path):
    changes = {"tools.saw.price": 123456.0, "steps.coat.first_pass_yield": 0.5}
    (saved,) = recalculated([with_inputs(tiny(), written(tiny), changes)])
    (tmp_path / "edited.xlsx").write_bytes(saved)
    found = read_changes(tiny(), tmp_path / "edited.xlsx")
    assert {change.address: change.new for change in found} == {"tools.saw.price": 123456.0, "steps.coat.first_pass_yield": 50.0}


@pytest.mark.slow
def test_ids_that_look_like_cells_and_numbers_of_many_digits_do_no_harm():
    inputs = Inputs().yaml("length: 1 m", "length: 1.01234567890123 m")
    for row in inputs.tables["steps.csv"]:
        row[0] = {"cut": "r1c1"}.get(row[0], row[0])
    for file in ("materials.csv", "layers.csv", "coaters.csv", "coatings.csv"):
        inputs.tables[file] = [["r1c1" if cell == "cut" else cell for cell in row] for row in inputs.tables[file]]
    for file in ("tools.csv", "steps.csv", "tool_utilities.csv"):
        inputs.tables[file] = [["a1" if cell == "saw" else cell for cell in row] for row in inputs.tables[file]]
    inputs.tables["ranges.csv"] = [[cell.replace("tools.saw.", "tools.a1.") for cell in row] for row in inputs.tables["ranges.csv"]]
    case = inputs.load()
    book = workbook_bytes(case)
    assert off(case, book, recalculated([poisoned(book)])[0]) == []
