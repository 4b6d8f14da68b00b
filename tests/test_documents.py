"""Documents of every kind: figures of the package in HTML and PDF, whole files, nothing of the network or of the other side."""

import ast
import dataclasses
import json
import math
import multiprocessing
import os
import re
import signal
import subprocess
import sys
import time
import zlib
from html import unescape
from html.parser import HTMLParser
from pathlib import Path
from types import SimpleNamespace

import pytest
from click.testing import CliRunner

from costmodel import __version__
from costmodel.case.addresses import numeric_inputs
from costmodel.case.changes import with_values
from costmodel.case.fingerprint import fingerprint
from costmodel.command.main import main
from costmodel.core.units import to_base
from costmodel.documents import deal_facts, facts, page, pdf, svg_pictures
from costmodel.documents.batch import Job, make, make_all, mark_of
from costmodel.documents.editions.allowed import EDITION_OF
from costmodel.documents.editions.build import build
from costmodel.documents.editions.closed_marks import external_view
from costmodel.documents.editions.documents import documents as documents_of_release
from costmodel.documents.editions.documents import facts_of
from costmodel.documents.kinds import ANNEX, KINDS, has_annex, kind
from costmodel.documents.kinds.plan_parts import moved_picture
from costmodel.model.as_bought import as_bought
from costmodel.model.evaluate import evaluate
from costmodel.model.plan import timing
from costmodel.model.scenarios import open_case, scenario_names
from costmodel.present import plan_report, texts
from costmodel.present.numbers import amount, money, people, percent, years
from costmodel.present.palette import contrast_with_white
from costmodel.studies.factory.least_price import least_price, price_of_a_watt
from costmodel.studies.negotiation.probabilities import probabilities
from costmodel.studies.negotiation.zone import trace_zone
from costmodel.studies.risk import run_risk

from .cases import DEMO, Inputs, demo, tiny

pytestmark = pytest.mark.slow  # each takes seconds

KINDS_OF_CASE = ("investor", "proposal", "term_sheet", "memo")
MOST_PAGES = {"investor": 6, "proposal": 6, "term_sheet": 2, "memo": 4}
DAY = "2026-11-02"
THREE_KINDS = ("--kind", "memo", "--kind", "proposal", "--kind", "investor")
PROGRAM = (sys.executable, "-c", "from costmodel.command.main import main; main()")


class Reader(HTMLParser):
    """Tables, texts and pictures of a page: what a person reads."""

    def __init__(self, html):
        super().__init__()
        self.tables, self.words, self.rects, self._cells, self._open = {}, [], [], None, []
        self._caption = ""
        self.feed(html)

    def handle_starttag(self, tag, attributes):
        self._open.append(tag)
        if tag == "table":
            self._rows, self._caption = [], ""
        elif tag == "tr":
            self._rows.append([])
        elif tag in ("td", "th"):
            self._rows[-1].append("")
        elif tag == "rect":
            self.rects.append(dict(attributes))
        elif tag in ("p", "h1", "h2", "li"):
            self.words.append("")
        if tag in ("meta", "rect", "line", "circle", "path", "polyline", "br"):
            self._open.pop()

    def handle_startendtag(self, tag, attributes):
        if tag == "rect":
            self.rects.append(dict(attributes))

    def handle_endtag(self, tag):
        if self._open and self._open[-1] == tag:
            self._open.pop()
        if tag == "table":
            self.tables[self._caption] = self._rows

    def handle_data(self, data):
        tag = self._open[-1] if self._open else ""
        if tag == "caption":
            self._caption += data
        elif tag in ("td", "th"):
            self._rows[-1][-1] += data
        elif tag in ("p", "h1", "h2", "li"):
            self.words[-1] += plain(data)

    def table(self, begins):
        """The rows of the table whose title begins so, without the head."""
        if begins in self.tables:
            return self.tables[begins]
        (rows,) = [rows for title, rows in self.tables.items() if title.startswith(begins)]
        return rows


def plain(text):
    """Text with plain spaces."""
    return " ".join(text.replace("\xa0", " ").split())


def number(shown):
    """A number as it stands in a cell."""
    return 0.0 if shown == "–" else float(shown.replace(",", "").replace("−", "-"))


EDITIONS = EDITION_OF


def given(name, case):
    """What a document of a kind is made from."""
    if name in EDITIONS:
        return facts_of(build(case, EDITIONS[name], DAY).release)
    return facts.collect(case, evaluate(case), kind(name).PARTS, DAY)


@pytest.fixture(scope="module")
def documents(tmp_path_factory):
    """A page of each kind for the demo."""
    folder, case = tmp_path_factory.mktemp("documents"), demo()
    results, made = evaluate(case), {}
    for name in KINDS_OF_CASE:
        made[name] = folder / f"{name}.html"
        if name in EDITIONS:
            for end, content in documents_of_release(build(case, EDITIONS[name], DAY).release, name).items():
                (folder / f"{name}{end}.html").write_bytes(content)
        else:
            page.write_document(name, facts.collect(case, results, kind(name).PARTS, DAY, DEMO), made[name])
    cases = {"as_it_is": case} | {name: open_case(DEMO, name) for name in scenario_names(DEMO)} | {"broken": "a fault"}
    made["scenarios"] = page.write_document("scenarios", facts.collect_scenarios(cases, DAY), folder / "scenarios.html")
    return made


@pytest.fixture(scope="module")
def read(documents):
    return {name: Reader(path.read_text(encoding="utf-8")) for name, path in documents.items()}


@pytest.fixture(scope="module")
def annexes(documents):
    """What is read in the annex of each kind that has one."""
    return {name: Reader(annex_of(path).read_text(encoding="utf-8")) for name, path in documents.items() if has_annex(name)}


def annex_of(path):
    """The file of the annex beside a document."""
    return path.with_stem(path.stem + ANNEX)


def answer(reader):
    """The sentence that a document begins with, behind kind, title and version."""
    return reader.words[3]


def test_the_briefing_begins_with_what_the_plant_takes_and_earns(read):
    case = external_view(demo())
    plan = evaluate(case).plan
    worth = plan.project
    said = answer(read["investor"])
    assert round(4 * worth.payback / to_base("year")) == 31  # quarters of a year, 7¾ years
    assert worth.irr > 0.11  # what plan.yaml asks, so that the sentence says more
    for words in (
        f"takes {money(plan.capital, 'EUR')} of capital",
        f"It has an internal rate of return of {percent(worth.irr)} a year, more than the required 11 %",
        "The owners, with the loan, have "
        f"an internal rate of return of {percent(plan.owners.irr)} a year, more than the required 15 %",
        f"Its net present value is {money(worth.npv, 'EUR')}",
        "payback is after 7¾ years",
    ):
        assert words in said
    rows = dict(read["investor"].table("Key figures"))
    assert rows["Selling price per watt"] == money(price_of_a_watt(case, evaluate(case)), "EUR")
    assert rows["Cost to make, per watt"] == money(evaluate(case).ledger.total.cost_per_stabilised_watt, "EUR")
    least = price_of_a_watt(case, evaluate(case)) * least_price(case).times
    assert rows["Least price for the required return"] == money(least, "EUR")


@pytest.mark.slow
def test_a_plant_below_its_required_return_is_reported_so(documents):
    case = with_values(demo(), {"sales.facade.price": 1.0})
    said = kind("investor").answer(given("investor", case))
    assert evaluate(case).plan.project.npv < 0
    assert "of the outlay is recovered" in said  # a price of 1 EUR a watt brings back less than half of what is spent
    memo = given("memo", case)
    assert kind("memo").answer(memo).startswith("No deal at these beliefs")
    assert memo["negotiation"]["zone"]["ceiling"] == [None] * len(memo["negotiation"]["zone"]["royalty"])
    assert "even with nothing paid the licensee has a better alternative" in kind("memo").page(memo)[4]["svg"]


def test_years_of_the_briefing_are_those_of_the_plan(read):
    quarters = list(evaluate(external_view(demo())).plan.quarters.values())  # outside, a fee counts in full
    years = [quarters[:5], *(quarters[k : k + 4] for k in range(5, len(quarters), 4))]
    head, *rows = read["investor"].table("Year by year, million EUR")
    fields = {"revenue": "revenue", "cash of the project": "free_cash", "cash of the owners": "owners_cash"}
    assert len(rows) == len(years) == 15
    assert head[:4] == ["year", "MW sold", "revenue", "running cost"]  # as a statement reads, not by the alphabet
    for column, field in fields.items():
        shown = [number(row[head.index(column)]) for row in rows]
        assert shown == pytest.approx([sum(getattr(q, field) for q in year) / 1e6 for year in years], abs=0.005001)


def test_cost_by_kind_adds_up_to_the_cost_of_a_watt(read, annexes):
    ledger = evaluate(demo()).ledger
    for reader in (read["investor"], annexes["memo"]):
        _, *rows, total = reader.table("Cost of the modules by kind")
        assert number(total[1]) == pytest.approx(ledger.total.cost_per_stabilised_watt, abs=0.005)
        assert sum(number(row[1]) for row in rows) == pytest.approx(ledger.total.cost_per_stabilised_watt, rel=0.005)
        assert {row[0]: number(row[3]) for row in rows} == {
            label.replace("_", " "): pytest.approx(each.cost, rel=0.005) for label, each in ledger.by_category.items() if each.cost
        }


def test_what_could_change_it_is_the_model_run_with_the_end_of_the_range(annexes):
    plant = as_bought(demo())
    present = evaluate(plant).plan.project.npv
    row = next(row for row in annexes["investor"].table("Net present value with one input moved") if row[0] == "silane: price")
    for shown, value in ((row[3], 42.0), (row[4], 120.0)):  # ends of ranges.csv, USD/kg; a kg is a base unit
        moved = evaluate(with_values(plant, {"prices.silane.price": value})).plan.project.npv - present
        assert number(shown) == pytest.approx(moved / 1e6, abs=0.005001)


def test_fees_of_every_currency_stand_in_the_terms():
    from costmodel.documents.kinds.deal_parts import terms_words

    fees = [
        {"amount": 1e6, "credited": 0.5, "currency": "EUR"},
        {"amount": 2e5, "credited": 0.0, "currency": "USD"},
        {"amount": 3e5, "credited": 1.0, "currency": "USD"},
    ]  # fmt: skip  (the last is taken off the upfront fee whole)
    terms = {"currency": "EUR", "upfront": 9e5, "fees": fees, "royalty": 0.02, "royalty_per_watt": 0.0, "term": 10.0}
    after = "EUR 1.00 million and USD 500,000 at milestones and 2 % of net sales over 10 years of production"
    assert terms_words(terms) == f"EUR 900,000 upfront less EUR 500,000 and USD 300,000 credited, {after}"
    assert terms_words(terms | {"upfront": 0.0}) == after  # nothing is credited where nothing is due


def test_plan_and_external_documents_say_why_their_values_differ(documents):
    """The plan weights a fee by the gate that it waits for; outside, where that belief is closed, each fee counts in full."""
    certain = with_values(demo(), {f"transfer_gates.{name}.probability": 1.0 for name in demo().transfer_gates})
    own, full, outside = (evaluate(case).plan.project.npv for case in (demo(), certain, external_view(demo())))
    assert outside == pytest.approx(full, rel=1e-12)
    assert outside < own - 1e3
    note = "Fees count by their probability. Proposal and investor briefing count each in full, so their value is another."
    assert note in plan_report.worth_table(demo(), evaluate(demo())).note
    assert note not in plan_report.worth_table(certain, evaluate(certain)).note
    for name in ("proposal", "investor"):
        text = unescape(documents[name].read_text(encoding="utf-8"))
        assert text.count("Every fee of the licence counts in full; a plan that weights fees by their probability") == 1


def test_the_proposal_says_terms_schedule_deliverables_and_payments(read, annexes):
    case = demo()
    view = evaluate(external_view(case))  # outside, every fee counts in full
    deal, payments, money_of = view.deal, view.plan.payments, read["proposal"].table
    net = deal.licensee.npv - deal.licensee.damages  # damages are expected by the licensor alone
    apart = ("supply_", "supplied_")  # margins, which stay inside
    headings = {name: each.paid for name, each in deal.by_heading.items() if not name.startswith(apart)}
    paid = sum(headings.values())
    said = answer(read["proposal"])  # 90,000 + 220,000 + 300,000 at milestones; the fee for disclosure is credited
    assert "You pay EUR 1.25 million upfront less EUR 90,000 credited, EUR 610,000 at milestones and 2.2 % of net sales" in said
    assert "over 10 years of production." in said
    terms = dict(row for row in money_of("Terms"))
    assert terms["Upfront fee"] == "EUR 1,250,000, after 1 month"
    assert terms["Fee: acceptance test passed"] == "EUR 300,000, after 33 months"
    assert terms["Fee: access to data room and pilot line"].endswith(
        "on the first day, 100 % of it credited against the upfront fee"
    )
    assert terms["Minimum royalty: least royalty of the early years"] == (
        "EUR 190,000 a year, months 48 to 84 from the first day; if the plant closes, what remains falls due then"
    )  # minimum_royalties.csv: due
    assert terms["Net sales"].startswith("as the licence defines them, to be agreed; the plan counts ")
    assert any("The first day is in 2027-01, as planned" in words for words in read["proposal"].words)  # plan.yaml
    assert terms["Exclusivity"] == "48 months from the first day"
    head, *rows, total = money_of("Payments, million EUR")
    assert number(total[-1]) == pytest.approx(paid / 1e6, abs=0.005)
    quarters = [sum(each) for each in zip(*(payments[name].quarters.values() for name in headings))]
    years = [sum(each) / 1e6 for each in timing.by_year(quarters)]  # quarters of a year; the first day belongs to the first
    assert [number(row[-1]) for row in rows] == pytest.approx(years, abs=0.005001)
    royalty = sum(sum(payments[name].quarters.values()) for name in ("royalty", "minimum"))
    assert number(total[head.index("royalty")]) == pytest.approx(royalty / 1e6, abs=0.005)
    for sent in (read["proposal"], annexes["proposal"], read["term_sheet"]):
        cells = [cell for table in sent.tables.values() for row in table for cell in row]
        assert not [words for words in (*sent.words, *cells) if "margin" in words]
    head, *rows, total = annexes["proposal"].table("Payments by heading")
    assert total[-1] == people(paid)
    assert len(rows) == sum(1 for x in headings.values() if x)
    assert ["acceptance test passed", "3", "10 %", people(300_000)] in rows  # fees.csv: month 33; its probability stays inside
    assert ["start-up on the licensee's site", "months 20 to 32", "EUR 260,000"] in money_of("Work, yearly services and supplies")
    has = dict(row for row in money_of("Your net present value"))
    assert has["With nothing paid"] == money(deal.licensee.npv_free, "EUR")
    assert has["With all payments made"] == money(net, "EUR")
    words = " ".join(read["proposal"].words)
    for heading in ("Schedule", "What is delivered", "What is guaranteed", "Your plan at the stated inputs", "Limits", "Cautions",
                    "For review before anything is signed"):  # fmt: skip
        assert heading in read["proposal"].words
    assert f"all {len(case.steps)} steps" in words
    assert money(net, "EUR") in words


def test_the_memo_says_whether_both_can_meet_and_what_is_left_to_them(read, annexes):
    case = demo()
    deal, likely = evaluate(case).deal, probabilities(case)
    assert answer(read["memo"]) == plain(
        "At the stated inputs the two sides can meet, and by these terms both gain. "
        f"The licensor gains {amount(deal.licensor.gain, 'EUR')} above its floor, "
        f"the licensee {amount(deal.licensee.gain, 'EUR')} above its best alternative. "
        f"The probability that both gain is {percent(likely.both.share, 2)} (standard error {percent(likely.both.error, 2)}), "
        f"that a zone exists {percent(likely.zone.share, 2)} (standard error {percent(likely.zone.error, 2)})."
    )
    paid = sum(each.paid for each in deal.by_kind.values())  # as `deal payments` has it: supplies and dividends with it
    assert any(f"The licensee pays {money(paid, 'EUR')} over the plan." in words for words in read["memo"].words)
    rows = dict(annexes["memo"].table("What is left to the licensor")[1:])
    assert rows["Withholding tax"] == money(-deal.licensor.withheld, "EUR")
    assert rows["To the inventors"] == money(-deal.licensor.inventors, "EUR")
    row = next(row for row in read["memo"].table("One change at a time") if row[0] == "royalty one point higher")
    moved = evaluate(with_values(case, {"licence.royalty": 0.032})).deal
    assert number(row[1]) == pytest.approx((moved.licensor.npv - deal.licensor.npv) / 1e6, abs=0.005001)
    assert number(row[2]) == pytest.approx((moved.licensee.npv - deal.licensee.npv) / 1e6, abs=0.005001)
    row = next(row for row in annexes["memo"].table("What one unit of a term is worth") if row[0] == "licence: royalty")
    assert row[2:4] == [people(moved.licensor.gain - deal.licensor.gain), people(moved.licensee.gain - deal.licensee.gain)]
    floor = {row[0]: row[1] for row in annexes["memo"].table("The licensor's floor")}
    assert floor["working days at full cost"] == people(deal.licensor.work)
    assert floor["floor"] == people(deal.licensor.floor)
    _, *rounds = annexes["memo"].table("Rounds, EUR")
    assert [row[-1] for row in rounds] == ["2026-10-30", "2026-11-30", "2026-12-31"]
    assert sum("no longer holds on 2026-11-02" in words for words in read["memo"].words) == 1  # the first, of 30 October
    for heading in ("What each term may be", "Exclusivity, minimum royalties, buy-out, services"):
        assert heading in read["memo"].words
    assert "For review before anything is signed" in read["memo"].words
    assert "Yardsticks, for context only" in annexes["memo"].words


def test_the_picture_of_the_zone_has_its_lines_where_the_gains_are_nothing():
    from costmodel.documents import zone_picture

    case = demo()
    told = deal_facts.zone(case, SimpleNamespace(zone=trace_zone(case), turns=[]))
    checked = [k for k, fee in enumerate(told["ceiling"]) if fee is not None and told["floor"][k]][::3]
    assert len(checked) > 2
    for k in checked:
        for line, side in (("floor", "licensor"), ("ceiling", "licensee")):
            at = with_values(case, {"licence.royalty": told["royalty"][k] / 100, "licence.upfront": 1e6 * told[line][k]})
            assert getattr(evaluate(at).deal, side).gain == pytest.approx(0.0, abs=1.0)
    low, high = [1.0, 0.0], [3.0, 1.0]
    lines = {"royalty": [0.0, 4.0], "floor": low, "ceiling": high, "alike": [2.0, 0.5], "bands": [[low, high]], "currency": "EUR"}
    svg = zone_picture.zone(lines | {"offer": [1.0, 1.5], "rounds": [[2.0, 1.25]], "says": "says"})
    for words in ("both gain", "offer", "round 1", "the licensor has just its floor", "the licensee has just its best alternative"):
        assert f">{words}</text>" in svg
    left, right = 62.0, 708.0  # the plane from no royalty to the last
    offer = float(re.search(r'<path d="M([\d.]+)', svg)[1]) + 8
    assert offer == pytest.approx(left + (right - left) / 4, abs=0.1)


def test_scenarios_side_by_side_are_the_scenarios(read):
    _, *rows = read["scenarios"].table("Cost and output")
    cases = [demo(), *(open_case(DEMO, name) for name in scenario_names(DEMO))]
    assert [number(row[1]) for row in rows] == pytest.approx(
        [evaluate(case).ledger.total.cost_per_stabilised_watt for case in cases], abs=0.0005
    )
    _, *worth = read["scenarios"].table("As an investment")
    assert [number(row[2]) for row in worth] == pytest.approx([evaluate(c).plan.project.npv / 1e6 for c in cases], abs=0.005001)
    assert read["scenarios"].table("silver twice as dear")[1:] == [["silver: quote", "1500 EUR/kg", "3000 EUR/kg"]]
    assert "broken: a fault" in read["scenarios"].words


@pytest.mark.parametrize("name", [name for name in KINDS if name != "term_sheet"])
def test_every_kind_says_money_price_year_cautions_version_date_and_seed(read, annexes, name):
    own = [plain(text) for text in read[name].words]
    words = own + [plain(text) for text in annexes[name].words] if has_annex(name) else own
    assert all(plain(text) in own for text in texts.CAUTIONS)
    for text in (*texts.CAUTIONS, *texts.CONVENTIONS):
        assert plain(text) in words
    money = next(text for text in words if "Figures are in EUR, inputs in the currency beside them." in text)
    assert "Costs are at prices of 2026 (some of 2024)." in money
    if name in ("proposal", "memo"):
        assert "Version of the terms: draft of 2026-11-25, not yet offered." in money
        assert "Terms are in EUR and USD, as it stands beside each. Exchange rates: USD 1 is EUR 0.9" in money
    made = words[words.index("Where this comes from") + 1]
    assert f"Made on {DAY} with costmodel {__version__}." in made
    seeds = {"investor": "Draws: 1,000, seed 0.", "memo": "Draws for probabilities: 1,000, seed 0."}
    assert seeds.get(name, "no seed") in made
    assert (fingerprint(demo()) in made) == (name not in ("proposal", "investor"))
    for heading in ("Evidence", "Limits", "Cautions", "Conventions"):
        assert heading in words


@pytest.mark.parametrize("name", ["investor", "memo", "proposal"])
def test_inputs_stand_with_kind_and_source_in_the_annex(annexes, name):
    case, (head, *rows) = demo(), annexes[name].table("plan.yaml, tax")
    shown = case.evidence["tax"]
    own = ["date", "by"] if name == "memo" else []  # outside, the words of a source that may go out alone
    assert head == ["", "entered", "kind", "source", *own]
    words = "rate 24 %; holiday 0 year; loss use 100 %"
    words += "; loss relief carried_forward; loss years 10; holiday losses used" if name == "memo" else ""
    source = shown.source if own else shown.public_source
    assert rows == [["tax", words, shown.kind, source, *(getattr(shown, each) for each in own)]]
    recipe = [title for title in annexes[name].tables if title.startswith(("layers.csv", "gases.csv", "phases.csv"))]
    assert bool(recipe) == (name == "memo")


@pytest.mark.parametrize("name", KINDS)
def test_a_page_may_run_no_script_and_asks_for_nothing(documents, name):
    html = documents[name].read_text(encoding="utf-8")
    assert "default-src 'none'; style-src 'unsafe-inline'; script-src 'none'; connect-src 'none'" in html
    assert "<script" not in html
    assert not re.findall(r'(?:src|href)="(?!#)[^"]+"', html)
    assert not re.search(r"url\(|@import|bundle_file|/tmp/", html)
    assert len(html) < 250_000
    svg_pictures = re.findall(r"<svg.*?</svg>", html, re.S)
    if name == "term_sheet":
        return  # words and tables alone
    assert svg_pictures
    for picture in svg_pictures:
        says = unescape(re.search(r'role="img" aria-label="([^"]+)"', picture)[1])
        assert re.search(r"\d", says), says
        assert len(says) > 40, says
    assert html.index("<svg") < html.index("<table")  # the picture comes first


@pytest.mark.parametrize("name", KINDS)
def test_words_are_legible_and_tables_can_be_read_aloud(documents, name):
    html = documents[name].read_text(encoding="utf-8")
    colours = set(re.findall(r'<text [^>]*fill="(#[0-9a-f]{6})"', html, re.I)) | set(re.findall(r"--(?:ink|soft): (#\w+)", html))
    for colour in colours:
        assert contrast_with_white(colour if len(colour) == 7 else "#" + "".join(2 * part for part in colour[1:])) >= 4.5, colour
    assert re.findall(r"<th(?![^>]* scope=)[ >]", html) == []
    frames = re.findall(r'<div class="(?:wide|frame)"([^>]*)>', html)
    assert frames
    assert all('tabindex="0"' in frame and re.search(r'aria-label="[^"]+"', frame) for frame in frames)
    assert '<html lang="en">' in html


def test_bars_are_as_long_as_their_figures():
    from costmodel.documents import svg_pictures

    svg = svg_pictures.bars(["a", "b"], [("x", "#000", [1.0, 3.0]), ("y", "#111", [2.0, -1.5])], "EUR", "says")
    rects = {
        title: (float(x), float(width))
        for x, width, title in re.findall(r'<rect x="([\d.]+)" y="[\d.]+" width="([\d.]+)"[^>]*><title>([^<]+)', svg)
    }
    scale = rects["a, x: 1.00 EUR"][1]
    assert rects["b, x: 3.00 EUR"][1] == pytest.approx(3 * scale, abs=0.03)
    assert rects["a, y: 2.00 EUR"][0] == pytest.approx(rects["a, x: 1.00 EUR"][0] + scale, abs=0.03)  # stacked behind
    assert rects["b, y: −1.50 EUR"] == pytest.approx((rects["a, x: 1.00 EUR"][0] - 1.5 * scale, 1.5 * scale), abs=0.03)


def test_an_end_that_moves_nothing_is_shown_as_nothing_and_not_as_what_rounding_left():
    svg = svg_pictures.spans(["schedule: delay"], [(-1.49e-14, -276.3)], [("0 month", "12 month")], "million", "says")
    assert "schedule: delay at 0 month: 0<" in svg
    assert "schedule: delay at 12 month: −276<" in svg


def test_a_case_without_plan_has_a_briefing_and_says_that_there_are_no_terms():
    case = dataclasses.replace(tiny(), public_title="a line")
    results = evaluate(case)
    briefing = kind("investor").page(given("investor", case))
    assert briefing[3]["text"].startswith(f"A watt costs {money(results.ledger.total.cost_per_stabilised_watt, 'EUR')} to make")
    for name in ("proposal", "term_sheet", "memo"):
        blocks = kind(name).page(given(name, case))
        assert "there are no terms to show" in blocks[3]["text"]


def hidden_terms(case):
    """Every input that is for the licensor alone: its costs and wishes, inventors, other prospects, beliefs of the licensee."""
    whole = {"licensor", "negotiation", "prospects", "other_ways"}
    parts = {"deliveries": {"days", "day_cost", "overrun", "travel", "pilot_time", "pilot_cost"}, "yearly_services": {"cost"},
             "payment_kinds": {"inventors_share"}}  # fmt: skip
    found = {}
    for address, value, *_ in numeric_inputs(case):
        table, *_, field = address.split(".")
        if value and (table in whole or field in parts.get(table, ())):
            found[address] = value
    return found


def test_what_only_the_licensor_knows_does_not_move_the_proposal(read, documents):
    case = demo()
    other = with_values(case, {address: 0.9 * value for address, value in hidden_terms(case).items()})
    before, after = (json.dumps(given("proposal", c)) for c in (case, other))
    assert evaluate(other).deal.licensor.gain != evaluate(case).deal.licensor.gain
    assert before == after
    deal, words = evaluate(case).deal, plain(documents["proposal"].read_text(encoding="utf-8"))
    memo = plain(documents["memo"].read_text(encoding="utf-8") + annex_of(documents["memo"]).read_text(encoding="utf-8"))
    own = deal.licensor
    for shown in (money(own.npv, "EUR"), money(-own.inventors, "EUR"), money(own.net - own.npv, "EUR")):
        assert shown not in words
        assert shown in memo


def test_kinds_see_plain_data_only():
    folder = Path(facts.__file__).parent / "kinds"
    allowed = {"numbers", "svg_pictures", "zone_picture", "palette", "plain_plan", "texts", "table", "blocks", "end_matter"}
    allowed |= {"cost_parts", "plan_parts", "deal_parts", "guarantee_parts", "transfer_parts"}
    for path in folder.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and node.level:
                names = [node.module.split(".")[-1]] if node.module else [alias.name for alias in node.names]
                assert set(names) <= allowed, path.name


def pdf_text(path):
    return subprocess.run(["pdftotext", "-layout", path, "-"], capture_output=True, text=True, check=True).stdout


@pytest.mark.needs("pdftotext")
@pytest.mark.needs("pango")
def test_a_pdf_has_the_same_figures_page_numbers_and_bookmarks(documents, read):
    path = pdf.write_pdf(documents["investor"], documents["investor"].with_suffix(".pdf"))
    pages = pdf_text(path).split("\f")[:-1]
    for number_, text in enumerate(pages, start=1):
        assert f"Page {number_} of {len(pages)}" in text
    whole = plain(" ".join(pages))
    assert answer(read["investor"]) in plain(pages[0])
    for row in read["investor"].table("Year by year, million EUR")[1:]:
        assert " ".join(row) in whole
    for title in ("Capital, million EUR", "Key figures"):
        for row in read["investor"].table(title):
            assert plain(" ".join(row)) in whole
    annex = pdf_text(pdf.write_pdf(annex_of(documents["investor"]), path.with_stem("annex"))).split("\f")[:-1]
    split = [text for text in annex if "entered" in text and "kind" in text and "source" in text]
    assert len(split) > 1  # heads of tables stand on every page that has some of their rows
    raw = path.read_bytes()
    inside = b"".join(zlib.decompress(part) for part in re.findall(rb"stream\n(.*?)\nendstream", raw, re.S) if part[:1] == b"x")
    for wanted in (b"/Outlines", b"/Lang", b"/MediaBox [0 0 595", b"/StructTreeRoot"):  # A4 is 595 by 842 points; it is tagged
        assert wanted in inside
    assert raw == pdf.write_pdf(documents["investor"], path.with_stem("again")).read_bytes()
    assert inside.count(b"/FontFile") == 2  # both weights of the font are inside


@pytest.mark.needs("pdftotext")
@pytest.mark.needs("pango")
@pytest.mark.parametrize("name", MOST_PAGES)
def test_a_document_is_short_and_each_page_says_what_it_is(documents, tmp_path, name):
    """Pages are counted; kind, title, version, date and standing stand on the first page and in the head of each other one."""
    pages = pdf_text(pdf.write_pdf(documents[name], tmp_path / "made.pdf")).split("\f")[:-1]
    assert len(pages) <= MOST_PAGES[name]
    for text in pages:
        top = plain("\n".join(text.splitlines()[:12]))
        for said in (
            kind(name).TITLE,
            demo().title,
            "Version ",
            DAY,
            "Internal, no offer" if name == "memo" else "Indication, no offer",
        ):
            assert said in top
    captions = re.findall(r"^ *(Table|Figure) (\d+)\. ", "\n".join(pages), re.M)
    for what in {what for what, _ in captions}:
        numbers = [int(number_) for of, number_ in captions if of == what]
        assert numbers == list(range(1, len(numbers) + 1))
    assert captions


@pytest.mark.needs("pdftotext")
@pytest.mark.needs("pango")
def test_an_annex_lists_its_parts_with_their_pages(documents, tmp_path):
    pages = pdf_text(pdf.write_pdf(annex_of(documents["investor"]), tmp_path / "made.pdf")).split("\f")[:-1]
    entries = re.findall(r"^ *(\S.*?) *\.{4,} *(\d+)$", pages[0], re.M)
    assert [title for title, _ in entries] == [
        "Payments under the licence", "What each uncertain input does", "Inputs, each with its kind and source", "Conventions"
    ]  # fmt: skip
    for title, page_ in entries:
        assert re.search(rf"^ *{title}$", pages[int(page_) - 1], re.M)


@pytest.mark.needs("pdftotext")
@pytest.mark.needs("pango")
def test_no_word_is_broken_inside_a_table(documents, tmp_path):
    """Every word of the inputs stands whole in a line of the PDF."""
    path = annex_of(documents["investor"])
    shown = set(pdf_text(pdf.write_pdf(path, tmp_path / "made.pdf")).split())
    cells = [cell for rows in Reader(path.read_text(encoding="utf-8")).tables.values() for row in rows for cell in row]
    words = {word for cell in cells for word in cell.split()}
    assert "invented" in words & shown
    broken = {word for word in words - shown if not all(any(part in found for found in shown) for part in word.split("/"))}
    assert broken == set()  # a unit may go on in the next line behind a slash


def test_each_claim_of_the_headline_of_the_briefing_is_that_of_the_draws_of_the_case():
    case = demo()
    found, plan = given("investor", case), evaluate(case).plan
    drawn = run_risk(as_bought(external_view(case)), ["plan.project.npv", "plan.owners.npv"], 1000, 0).figures
    said = kind("investor").answer(found)
    for address, begins in (
        ("plan.project.npv", "The probability that the net present value is above 0, at the required 11 % a year, is"),
        ("plan.owners.npv", "The probability that they get what they require is"),
    ):
        above = [value > 0 for value in drawn[address]]
        share = sum(above) / len(above)
        assert share < 0.5  # so the case earns more than required as stated, and less in most draws: both are said
        assert f"{begins} {percent(share, 2)} (standard error {percent((share * (1 - share) / len(above)) ** 0.5, 2)})." in said
    assert plan.project.npv > 0
    assert plan.owners.npv > 0
    assert said.index("probability") < said.index("internal rate of return")


def shown_number(cell):
    """A number of a cell and half a unit of its last digit; nothing for words."""
    found = re.fullmatch(r"([−+]?)([\d,]+)(?:\.(\d+))?(?: %)?", cell)
    if not found:
        return (0.0, 0.0) if cell in ("", "–") else None
    sign, whole, rest = found.groups()
    digits = whole.replace(",", "")
    zeros = len(digits) - len(digits.rstrip("0")) if not rest and len(digits) > 3 else 0
    size = 10.0 ** (-len(rest)) if rest else 10.0**zeros
    return (-1 if sign == "−" else 1) * float(f"{digits}.{rest or 0}"), size / 2


def without_subtotals(cells):
    """The cells of a way from one figure to another, but for those between that are the sum of all before."""
    kept_ = []
    for k, (value, half) in enumerate(cells):
        before, left_open = sum(each for each, _ in kept_), half + sum(each for _, each in kept_)
        if k == len(cells) - 1 or not kept_ or not value or abs(before - value) > left_open:
            kept_.append((value, half))
    return kept_


@pytest.mark.parametrize("name", KINDS_OF_CASE)
def test_rows_of_a_table_with_a_total_add_up_to_it(name):
    """In every column of numbers but of rates, to what rounding leaves open."""
    given_facts, looked_at = given(name, demo()), 0
    made = kind(name)
    blocks = [*made.page(given_facts), *(made.annex(given_facts) if has_annex(name) else [])]
    for block in blocks:
        if block["kind"] != "table" or not block["total"]:
            continue
        for place, column in enumerate(zip(*block["rows"])):
            cells = [shown_number(cell) for cell in column]
            rates = any(cell.endswith("%") for cell in column) and column[-1] != "100 %"
            if place and place not in block["texts"] and None not in cells and column[-1] not in ("", "–") and not rates:
                *parts, (total, half) = without_subtotals(cells) if block["title"].startswith("From ") else cells
                left_open = half + sum(each for _, each in parts)
                assert abs(sum(value for value, _ in parts) - total) <= left_open * 1.001, (block["title"], place, column)
                looked_at += 1
    assert looked_at >= {"investor": 2, "proposal": 2, "term_sheet": 0, "memo": 2}[name]


def test_land_is_among_the_capital_of_the_briefing(read):
    shown = {row[0]: number(row[1]) for row in read["investor"].table("Capital, million")[1:]}
    *parts, total = shown.values()
    case, plan = demo(), evaluate(demo()).plan
    plots = sum(x.cost for name, x in plan.assets.items() if name.startswith("land_"))
    assert shown["land"] == pytest.approx(plots / 1e6, abs=0.006)
    assert case.land
    assert shown["land"] > 0
    assert sum(parts) == pytest.approx(total, abs=0.005 * len(shown))


def with_shares():
    """The demo with a twentieth of the shares given to the licensor."""
    return with_values(demo(), {"licence.equity_share": 0.05})


def test_briefing_and_proposal_say_what_shares_given_take_and_agree_on_what_is_left():
    case = with_shares()
    plan = evaluate(external_view(case)).plan
    rate = plan.required_return
    paid = [0.05 * max(quarter.free_cash, 0.0) for quarter in plan.quarters.values()]
    taken = sum(each / (1 + rate) ** (k / 4) for k, each in enumerate(paid))  # the first column is day one
    npv = plan.project.npv
    both = json.dumps([kind(name).page(given(name, case)) for name in ("investor", "proposal")], ensure_ascii=False)
    assert f"The licensor is given 5 % of the shares. Their dividends take EUR {taken / 1e6:.2f} million of the net present" in both
    assert both.count(f"leaves {money(npv - taken, 'EUR')}") == 2
    alone = json.dumps([kind(name).page(given(name, demo())) for name in ("investor", "proposal")], ensure_ascii=False)
    assert "of the shares" not in alone


def test_fees_bear_their_own_dates_where_they_fall_due_after_their_gate():
    case = with_values(demo(), {f"fees.{name}.time": to_base("month") for name, fee in demo().fees.items()
                                if fee.counted_from != "first_day"})  # fmt: skip
    found = given("proposal", case)
    later = [(gate, fee) for gate in found["transfer"]["gates"] for fee in found["licence"]["fees"] if gate["fee"] == fee["title"]]
    assert later
    blocks = kind("proposal").page(found)
    (rows,) = [block["rows"] for block in blocks if block.get("title") == "Gates of the transfer"]
    (schedule,) = [block["says"] for block in blocks if block.get("name") == "schedule"]
    for gate, fee in later:
        assert fee["time"] == pytest.approx(gate["time"] + 1 / 12, abs=1e-6)
        due = f"after {12 * fee['time']:.6g} months"
        assert [gate["name"], f"after {12 * gate['time']:.6g} months", f"{fee['title']}, {due}"] in rows
        assert f"fee due: {fee['title']}: {due}" in schedule


def closing_briefing():
    """The briefing of a scenario in which the plant closes, and its plan."""
    case = open_case(DEMO, "three_blows", {
        f"sales.{name}.price": f"0.9 {sale.currency}/Wp_stabilised" for name, sale in demo().sales.items()
    })  # fmt: skip
    return given("investor", case), case


def test_a_briefing_of_a_plan_that_closes_says_so_and_names_the_scenario():
    found, case = closing_briefing()
    end = evaluate(external_view(case)).plan.ending
    assert end.early
    said = kind("investor").answer(found)
    assert f"At the stated inputs the plant closes after {years(end.time)}, before the end of the plan." in said
    assert ("What is due then exceeds the proceeds by" in said) == (end.shortfall > 0)
    assert "is 0 % (no draw, so at most 0.3 %)." in said  # 3 of 1,000: the rule of three
    assert "standard error 0 %" not in json.dumps(kind("investor").page(found), ensure_ascii=False)
    assert found["identity"]["title"] == f"{demo().public_title}: scenario “three blows”"
    text = json.dumps(kind("investor").page(found), ensure_ascii=False)
    assert "at the prices of the plan until it closes." in text
    (years_shown,) = [block for block in kind("investor").page(found) if block.get("title", "").startswith("Year by year")]
    assert len(years_shown["rows"]) == math.ceil(end.time / to_base("year") - 1e-9)


def test_beside_what_holds_at_the_stated_inputs_the_briefing_says_what_the_draws_say(read):
    """Below the required DSCR, an early closing, the peak funding need: counted in draws of the case here."""
    view = external_view(demo())
    wanted = ["plan.years_below_minimum_dscr", "plan.ending.early", "plan.project.low_point"]
    below, early, low = run_risk(as_bought(view), wanted, 1000, 0).figures.values()
    words = " ".join(read["investor"].words)

    def chance(values):
        share = sum(bool(value > 0) for value in values) / 1000
        return f"is {percent(share, 2)} (standard error {percent((share * (1 - share) / 1000) ** 0.5, 2)})."

    assert f"The probability of a year below the required DSCR {chance(below)}" in words
    assert f"The probability that the plant closes before the end of the plan {chance(early)}" in words
    assert "A price in the inputs is for a unit sold, such as a watt on a label." in words
    needs = sorted(-float(value) for value in low)
    third, middle, last = (needs[k] for k in (100, 500, 899))  # P10, P50, P90 to within a draw
    row = next(row for row in read["investor"].table("Key figures") if row[0] == "The same in eight draws of ten")
    shown = [float(each) for each in re.findall(r"EUR ([\d.]+) million", row[1])]
    assert shown == pytest.approx([third / 1e6, last / 1e6, middle / 1e6], rel=0.01)


def test_the_proposal_promises_no_return_and_says_who_answers_for_what(read):
    said = answer(read["proposal"])
    assert "The licensor answers for what the contract guarantees, you for the plant and its sales. No return is promised." in said
    assert "rate of return" not in said
    assert [row[0] for row in read["proposal"].table("Who answers for what")[1:]] == [
        "the licensor", "the licensee", "neither, before a contract"
    ]  # fmt: skip
    plan = evaluate(demo()).plan
    assert f"Your owners have an internal rate of return of {percent(plan.owners.irr)} a year; they require 15 %." in " ".join(
        read["proposal"].words
    )


def test_the_term_sheet_has_the_heads_of_terms_with_their_figures(read, documents):
    heads = dict(read["term_sheet"].table("Heads of terms"))
    assert list(heads) == ["Parties", "Grant", "Territory", "First day", "Plant", "Sublicences",
                           "Withholding tax", "Money", "Validity"]  # fmt: skip
    assert heads["Withholding tax"].startswith("royalties and fees for know-how 10 %, 0 % of it paid on top by the licensee")
    assert heads["Money"].startswith("Terms are in EUR and USD, as it stands beside each.")
    assert "Exchange rates: USD 1 is EUR 0.9 on day one, changing +1.00 % a year" in heads["Money"]  # money.csv
    assert heads["Grant"].endswith("exclusive for 48 months from the first day, then non-exclusive")
    assert heads["Sublicences"] == "30 % of their income"
    assert heads["First day"] == "in 2027-01, as planned; all times count from it"  # plan.yaml
    assert heads["Money"].endswith("Each side carries the changes against its own money, unless agreed otherwise.")
    (signed,) = [words for words in read["term_sheet"].words if words.startswith("Signed")]
    assert signed.count("____ ") == 1
    assert signed.endswith("____")
    _, row = read["term_sheet"].table(
        "Guaranteed levels and damages"
    )  # guarantees.csv: 25,000 EUR per percent, cap 200,000, month 33
    assert row[1:] == [
        "39.6\xa0W", "mean of a random sample of 40 modules; measured by: an accredited laboratory; the licensor pays 50 %",
        "EUR 25,000 per percent short, at most EUR 200,000", "below 88 %: EUR 300,000", "after 33 months",
    ]  # fmt: skip
    assert "14,000" not in documents["term_sheet"].read_text(encoding="utf-8")  # what a retest costs the licensor
    assert read["term_sheet"].table("Terms") == read["proposal"].table("Terms")
    assert "Open points" in read["term_sheet"].words
    hidden = plain(documents["term_sheet"].read_text(encoding="utf-8"))
    for belief in ("1.5 %", "2.5 %", "1.2 %"):  # transfer, spread and measurement are what the licensor believes
        assert belief not in hidden


@pytest.mark.needs("chromium")
def test_pages_show_their_pictures_in_a_browser_with_the_network_off(documents, browser):
    tab = browser.new_page()
    tab.context.set_offline(True)
    troubles = []
    tab.on("console", lambda message: troubles.append(message.text))
    tab.on("pageerror", lambda error: troubles.append(str(error)))
    tab.on("request", lambda request: troubles.append(request.url) if request.url.startswith("http") else None)
    for path in (path for name, path in documents.items() if name != "term_sheet"):
        tab.goto(path.as_uri())
        sizes = tab.evaluate("[...document.querySelectorAll('figure.picture svg')].map(e => e.getBoundingClientRect().height)")
        assert sizes
        assert min(sizes) > 80
        assert tab.evaluate("[...document.querySelectorAll('.wide')].every(e => e.scrollWidth <= e.clientWidth)"), path.name
    assert troubles == []
    tab.close()


@pytest.mark.needs("chromium")
def test_on_a_phone_captions_are_whole_wide_tables_say_that_they_scroll_and_bars_begin_on_the_screen(documents, browser):
    tab = browser.new_page(viewport={"width": 390, "height": 800})
    for name in ("investor", "proposal"):
        tab.goto(documents[name].as_uri())
        wide = tab.evaluate(
            "[...document.querySelectorAll('.wide')].filter(e => e.scrollWidth > e.clientWidth + 1)"
            ".map(e => [e.ariaLabel, getComputedStyle(e, '::before').content])"
        )
        assert [label for label, hint in wide if "scroll sideways" not in hint] == []
        ends = tab.evaluate("[...document.querySelectorAll('caption')].map(e => e.getBoundingClientRect().right)")
        assert max(ends) <= 390
        assert tab.evaluate("document.documentElement.scrollWidth") <= 390
    tab.goto(documents["investor"].as_uri())
    bars = "[...document.querySelectorAll('[data-name=what_could_change_it] rect')]"
    lefts = tab.evaluate(f"{bars}.map(e => e.getBoundingClientRect().x)")
    assert min(lefts) < 390 * 2 / 3
    tab.close()


@pytest.mark.needs("chromium")
def test_pictures_are_kept_as_svg_and_png(documents, tmp_path):
    found = pdf.write_pictures(documents["scenarios"], tmp_path / "pictures")
    assert [path.name for path in found] == [
        "cost_by_scenario.png", "cost_by_scenario.svg", "worth_by_scenario.png", "worth_by_scenario.svg"
    ]  # fmt: skip
    import xml.etree.ElementTree as tree

    width, height = map(int, tree.parse(found[1]).getroot().attrib["viewBox"].split()[2:])
    header = found[0].read_bytes()[16:24]
    assert (int.from_bytes(header[:4], "big"), int.from_bytes(header[4:], "big")) == (2 * width, 2 * height)


def test_without_a_chromium_the_page_is_made_and_the_way_to_a_pdf_is_said(tmp_path, monkeypatch):
    monkeypatch.setattr(pdf, "NAMES", ())
    (tmp_path / "tiny").mkdir()
    folder = Inputs().write(tmp_path / "tiny")
    ran = CliRunner().invoke(main, ["report", str(folder), "--kind", "full", "--pdf", "--out", str(tmp_path / "out")])
    assert ran.exit_code == 1
    assert "so this was not made. Install one" in ran.stderr
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["tiny_full.html"]


@pytest.fixture
def folder(tmp_path):
    """The tiny case with scenarios, of which one has a fault."""
    (tmp_path / "tiny").mkdir()
    inputs = Inputs()
    inputs.document += "public_title: a line\n"
    folder = inputs.write(tmp_path / "tiny")
    (folder / "scenarios").mkdir()
    for name, address in {"dear_saw": "tools.saw.price", "dear_glass": "prices.glass.price", "broken": "tools.saw.prize"}.items():
        text = f"title: {name.replace('_', ' ')}\nstory: Another price.\nplant: designed\nset:\n  {address}: 123456\n"
        (folder / "scenarios" / f"{name}.yaml").write_text(text, encoding="utf-8")
    return folder


def state(out):
    """Every file of a folder with the time at which it was written."""
    return {path.name: path.stat().st_mtime_ns for path in out.iterdir()}


def whole(path):
    """Whether a page is all there."""
    return path.read_text(encoding="utf-8").rstrip().endswith("</html>") and bool(mark_of(path))


@pytest.mark.slow
def test_a_batch_goes_on_past_a_failure_and_makes_only_what_is_missing_or_changed(folder, tmp_path):
    out = tmp_path / "out"
    command = ["report", str(folder), "--kind", "memo", "--kind", "scenarios", "--all-scenarios", "--out", str(out)]
    ran = CliRunner().invoke(main, command)
    assert ran.exit_code == 1
    assert "1 of 5 could not be made as asked" in ran.stderr
    assert "broken_memo: 1 fault in the inputs\nscenarios/broken.yaml, 'tools.saw.prize'" in ran.stderr
    assert "[5/5]" in ran.stdout
    memos = {f"tiny_{name}memo{end}.html" for name in ("", "dear_saw_", "dear_glass_") for end in ("", ANNEX)}
    names = memos | {"tiny_scenarios.html"}
    before = state(out)
    assert set(before) == names
    assert all(whole(path) for path in out.iterdir())
    assert "Left out, since they cannot be read: broken." in (out / "tiny_scenarios.html").read_text(encoding="utf-8")
    path = folder / "scenarios" / "dear_glass.yaml"
    path.write_text(path.read_text(encoding="utf-8").replace("123456", "99"), encoding="utf-8")
    (out / "tiny_memo.html").unlink()
    assert CliRunner().invoke(main, command).exit_code == 1
    after = state(out)
    assert set(after) == names
    assert {name for name in names if after[name] == before.get(name)} == {
        "tiny_dear_saw_memo.html",
        "tiny_dear_saw_memo_annex.html",
    }


def begin(folder, out):
    command = [*PROGRAM, "report", str(folder), *THREE_KINDS, "--all-scenarios", "--out", str(out), "--workers", "2"]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True)


@pytest.mark.slow
@pytest.mark.parametrize("sign", [signal.SIGKILL, signal.SIGINT])
def test_a_batch_that_is_stopped_leaves_whole_files_only_and_can_be_resumed(folder, tmp_path, sign):
    (folder / "scenarios" / "broken.yaml").unlink()
    out = tmp_path / "out"
    run = begin(folder, out)
    until = time.monotonic() + 120
    while time.monotonic() < until and run.poll() is None and not list(out.glob("*.html")):
        time.sleep(0.02)
    os.killpg(run.pid, sign) if sign == signal.SIGKILL else os.kill(run.pid, sign)
    _, said = run.communicate(timeout=120)
    assert "Traceback" not in said
    assert run.returncode == (-signal.SIGKILL if sign == signal.SIGKILL else 130)
    pages = sorted(out.glob("*.html"))
    assert 0 < len(pages) < 18  # nine documents, each with its annex
    assert all(whole(path) for path in pages)
    pairs = [path for path in pages if path.with_stem(path.stem + ANNEX) in pages]  # a document without its annex is made again
    before = {path.name: path.stat().st_mtime_ns for page in pairs for path in (page, page.with_stem(page.stem + ANNEX))}
    jobs = [Job(folder, "memo", out, DAY, name) for name in (None, *scenario_names(folder))]
    done = make_all(jobs, 2, lambda _: None)
    assert [one.wrong for one in done] == [""] * 3
    assert {name: time_ for name, time_ in state(out).items() if name in before} == before
    assert all(whole(path) for path in out.glob("*.html"))


@pytest.mark.slow
def test_a_process_that_dies_takes_along_only_what_it_was_making(folder, tmp_path):
    jobs = [Job(folder, name, tmp_path / "out", DAY) for name in ("memo", "proposal", "investor")]
    died = []

    def kill_another(_):
        if not died:
            died.append(multiprocessing.active_children()[0])
            died[0].kill()

    done = make_all(jobs, 1, kill_another)
    assert {one.job.kind for one in done} == {"memo", "proposal", "investor"}
    assert {one.wrong for one in done} <= {"", "its process ended before it was done"}
    assert sum(not one.wrong for one in done) >= 2
    assert all(whole(path) for path in (tmp_path / "out").iterdir())


@pytest.mark.slow
def test_two_runs_at_once_do_each_other_no_harm(folder, tmp_path):
    out = tmp_path / "out"
    command = [*PROGRAM, "report", str(folder), "--kind", "investor", "--out", str(out)]
    runs = [subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) for _ in range(2)]
    said = [run.communicate(timeout=120) for run in runs]
    assert [run.returncode for run in runs] == [0, 0], said
    assert set(state(out)) == {"tiny_investor.html", "tiny_investor_annex.html"}
    assert all(whole(path) for path in out.iterdir())


def test_a_fault_of_the_case_ends_one_document_with_exit_code_2_and_no_file(folder, tmp_path):
    command = ["report", str(folder), "--scenario", "broken", "--kind", "memo", "--out", str(tmp_path / "out")]
    ran = CliRunner().invoke(main, command)
    assert ran.exit_code == 2
    assert "scenarios/broken.yaml" in ran.stderr
    assert not (tmp_path / "out").exists()


@pytest.mark.slow
def test_a_folder_that_cannot_be_written_to_is_said(tmp_path):
    blocked = tmp_path / "file"
    blocked.write_text("no folder")
    done = make(Job(DEMO, "proposal", blocked / "out", DAY))
    assert "--out: found" in done.wrong
    assert done.files == ()


def test_a_bar_too_short_to_be_seen_is_left_out():
    ends = {"low": "1", "high": "2", "unit": "1"}
    bars = [{"input": "price", "at_low": -2e6, "at_high": 1e6, **ends}, {"input": "rate", "at_low": 0.0, "at_high": 1.9e3, **ends}]
    shown = moved_picture("p", {"bars": bars}, "value", "EUR")
    assert "price" in shown["svg"]
    assert "rate" not in shown["svg"]
    alike = moved_picture("p", {"bars": [bars[1] | {"at_high": 0.0}]}, "value", "EUR")
    assert "rate" in alike["svg"]
