"""The quarters of the plan: trading, licence, investing, working capital, loan and tax, the end of use, cash and balance."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ...case.whole_case import Case
from ...core.operations import Value, sum_of
from ..ledger.ledger_figures import Ledger
from ..line.line_figures import Line
from . import capital, closing, finance, licence, operation, sales
from .plan_figures import AssetPlan, MarketSales, Quarter, UseYear, YearCost
from .time_of_use import Use, by_loss, to_the_end
from .timing import QUARTERS, column_count, cumulative, quarter_names, running, steps
from .volume import Volumes, learning_factors
from .worth import discounted, each_quarter

POOLS = ("losses_made", "losses_gone", "profits_taxed", "profits_gone")
KINDS = ("equipment", "systems", "other")  # of capital, by when it is paid; value added tax is on the first two
Columns = dict[str, list[Value]]  # figures of all columns, by the names that Quarter has for them


@dataclass(frozen=True, slots=True)
class Grounds:
    """What the quarters are made from, found once."""

    start: Value
    assets: list[capital.Asset]
    asset_plans: dict[str, AssetPlan]
    use_years: dict[str, UseYear]
    costs: dict[str, YearCost]
    planned: Volumes
    required_return: Value
    equity_return: Value
    pays: bool = True  # whether the licence is paid for


@dataclass(frozen=True, slots=True)
class Bought:
    """Columns of what is spent on the plant and written off; and, by column, what closing then would have to settle."""

    columns: Columns
    spent: list[Value]  # capital while the plant is in use
    unpaid: list[Value]  # capital still to be paid
    unwritten: list[Value]  # not yet written off for tax
    vat_owed: list[Value]  # value added tax to come back


@dataclass(frozen=True, slots=True)
class Filled:
    """All columns for a time of use, with what the licence is paid, what markets take, and what closing would leave unpaid."""

    columns: Columns
    payments: list[licence.Stream]
    markets: dict[str, MarketSales]
    use: Use
    shortfall: list[Value]
    ahead: closing.Ahead

    def quarters(self) -> list[Quarter]:
        """The records of all columns."""
        return [Quarter(**{name: values[k] for name, values in self.columns.items()}) for k in range(len(self.use.open))]


def never_closed(never: Filled, by_rule: Filled) -> dict[str, Quarter]:
    """The quarters as if the plant never closed, on which the rule stands; none where no rule could close it."""
    return {} if by_rule is never else dict(zip(quarter_names(len(never.use.open)), never.quarters()))


def filled(case: Case, line: Line, ledger: Ledger, grounds: Grounds) -> tuple[Filled, Filled]:
    """The plan by the rule of closing, and as if it never closed; the rule looks at the second, and cuts it off."""
    run = running(column_count(case), grounds.start)
    never = _Plan(case, line, ledger, grounds, run, to_the_end(len(run))).filled()
    if case.plan.closing.rule == "never":
        return never, never
    cash = [earned - spent for earned, spent in zip(never.columns["operating"], never.columns["replacement"])]
    return _Plan(case, line, ledger, grounds, run, by_loss(case, cash, run, grounds.start)).filled(), never


@dataclass(frozen=True, slots=True)
class _Plan:
    """The columns for a time of use. Each method fills in some, from those before it."""

    case: Case
    line: Line
    ledger: Ledger
    grounds: Grounds
    run: list[Value]
    use: Use

    def filled(self) -> Filled:
        """All columns of the plan."""
        planned = self.grounds.planned.while_in(self.use)
        markets = sales.market_sales(self.case, self.line, planned.good, self.run)
        trade, materials = self._trading(planned, markets)
        terms = self._terms(trade, materials)
        paid = licence.streams(self.case, self.line, self.grounds.assets, terms) if self.grounds.pays else []
        bought = self._investing(self._together([stream for stream in paid if stream.written_off]))
        held = operation.working_capital(self.case, self.ledger, trade, self.grounds.start)
        proceeds = self._proceeds(trade, bought, held)
        loan = self._loan(bought)
        claims = licence.due_at_closing(self.case, terms) if self.grounds.pays else []
        due, available = self._together(claims), proceeds.available()
        parts = closing.paid_of_claims(self.case, available, loan["debt"], due)
        paid += [licence.cut(stream, self.use.early(parts)) for stream in claims]
        found = trade | self._paid(trade, paid) | bought.columns
        found |= self._ended(found, proceeds) | {"available_if_closed": available}
        found |= self._held(held, bought)
        found |= self._settled(loan, closing.forgiven(self.case, available, loan["debt"]))
        found |= self._taxed(found)
        found |= self._cash(found)
        found |= _balance(found)
        short = closing.unpaid_claims(loan["debt"], due, available)
        top_up = licence.short_of_minimum(self.case, terms, paid)
        all_due = [claim * part + more for claim, part, more in zip(due, parts, top_up)]
        ahead = self._ahead(found, bought.unwritten, all_due, proceeds)
        return Filled(found, paid, markets, self.use, short, ahead)

    def _terms(self, trade: Columns, materials: list[Value]) -> licence.Trade:
        return licence.Trade(self.grounds.start, trade["revenue"], trade["stabilised_watts"], materials, self.use)

    def _together(self, wanted: Sequence[licence.Stream]) -> list[Value]:
        """The sum of some streams, by column."""
        nothing = [0.0 * self.grounds.assets[0].cost] * len(self.run)
        return [sum_of(parts) for parts in zip(nothing, *[stream.amounts for stream in wanted])]

    def _trading(self, planned: Volumes, markets: dict[str, MarketSales]) -> tuple[Columns, list[Value]]:
        """What is made and sold and what that costs, the licence apart; and what materials cost."""
        case, line, costs, count = self.case, self.line, self.grounds.costs, len(self.run)
        sold = sales.sold_shares(case, markets, count)
        taken = sales.taken(case, sold, count)
        made = planned.cut(taken)
        watts = [line.output.stabilised_watts / QUARTERS * share for share in made.good]
        so_far = cumulative(watts)
        learnt = learning_factors(so_far, case.plan.learning)
        variable, fixed = operation.costs(case, costs, made, learnt)
        revenue = operation.revenue(case, line, planned.good, sold)
        incomes = licence.sublicence_income(case, count).values() if case.has_deal else []
        sublicences = [sum_of(parts) for parts in zip([0.0 * sold for sold in revenue], *incomes)]
        once = zip(operation.start_up(case, self.ledger, count, self.grounds.start), capital.expenses(case, count))
        return {
            "open_share": list(self.use.open),
            "lost_quarters": list(self.use.lost),
            "running_share": self.run,
            "started_share": made.started,
            "planned_share": planned.good,
            "taken_share": taken,
            "good_share": made.good,
            "fixed_share": made.fixed,
            "stabilised_watts": watts,
            "cumulative_watts": so_far,
            "learning_factor": learnt,
            "revenue": revenue,
            "variable_cost": variable,
            "fixed_cost": fixed,
            "start_up": self.use.while_open([a + b for a, b in once]),
            "sublicences": self.use.while_open(sublicences),
        }, operation.materials(case, costs, made, learnt)

    def _paid(self, trade: Columns, paid: Sequence[licence.Stream]) -> Columns:
        """What is paid once, what runs with sales, what work costs; and the operating result."""
        royalties = [stream for stream in paid if stream.name in licence.ROYALTIES]
        royalty = self._together(royalties)
        services = self._together([x for x in paid if x.name not in licence.ROYALTIES and not x.written_off])
        rows = zip(*[trade[n] for n in ("revenue", "sublicences", "variable_cost", "fixed_cost", "start_up")], royalty, services)
        return {
            "royalty": royalty,
            "licence_services": services,
            "operating": [sold + other - v - f - s - x - y for sold, other, v, f, s, x, y in rows],
        }

    def _investing(self, fee: list[Value]) -> Bought:
        """What is spent on the plant, and how it is written off while the plant is in use."""
        case, grounds, use, count = self.case, self.grounds, self.use, len(self.run)
        nothing = 0.0 * grounds.assets[0].cost  # in money, for a kind without assets
        totals = {kind: sum_of([nothing, *[x.cost for x in grounds.assets if x.paid_as == kind]]) for kind in KINDS}
        paid = {kind: capital.paid_by(case, kind, count) for kind in totals}
        spent = [sum_of(parts) for parts in zip(*([totals[kind] * share for share in steps(paid[kind])] for kind in totals))]
        unpaid = [sum_of([totals[kind] * (1 - paid[kind][k]) for kind in totals]) for k in range(count)]
        term = case.deal.licence.term if case.has_deal else case.constants.year
        fee_gone, fee_left = licence.fee_written_off(fee, licence.in_term(case, count, grounds.start, term), use)
        replaced, of_books, lost, of_tax = (
            use.while_open(capital.by_quarter([getattr(each, name) for each in grounds.use_years.values()], self.run))
            for name in ("replaced", "books", "lost", "tax")
        )
        spent, fee_gone = use.while_open(spent), use.while_open(fee_gone)
        for_tax = [a + b for a, b in zip(of_tax, fee_gone)]
        gained = [a + b + c - gone for a, b, c, gone in zip(spent, fee, replaced, for_tax)]
        unwritten = cumulative(gained)
        left_for_tax = use.at_end([a + b for a, b in zip(unwritten, unpaid)])
        columns = {
            "capital": [a + b for a, b in zip(spent, use.early(unpaid))],
            "licence_fee": fee,
            "licence_value": fee_left,
            "replacement": replaced,
            "depreciation": [a + b for a, b in zip(of_books, fee_gone)],
            "tax_depreciation": [a + b for a, b in zip(for_tax, left_for_tax)],
            "disposal": lost,
            "unwritten": unwritten,
        }
        return Bought(columns, spent, unpaid, unwritten, self._vat_owed(paid))

    def _vat_owed(self, paid: dict[str, list[Value]]) -> list[Value]:
        """Value added tax paid at the border and not yet paid back."""
        case, count = self.case, len(self.run)
        nothing = 0.0 * self.grounds.assets[0].cost
        prices = {kind: sum_of([nothing, *[x.price for x in self.grounds.assets if x.paid_as == kind]]) for kind in KINDS[:2]}
        at_border = {kind: case.plan.outlay.import_vat * price for kind, price in prices.items()}
        back = {kind: capital.paid_by(case, kind, count, case.plan.outlay.vat_return_time) for kind in at_border}
        return [sum_of([vat * (paid[kind][k] - back[kind][k]) for kind, vat in at_border.items()]) for k in range(count)]

    def _proceeds(self, trade: Columns, bought: Bought, held: Columns) -> closing.Proceeds:
        """What closing early at the end of each column would bring and cost, licence and loan apart."""
        case, grounds, count = self.case, self.grounds, len(self.run)
        tied_up = zip(held["receivables"], held["stock"], held["payables"], bought.vat_owed)
        grant = sum_of([asset.price - asset.cost for asset in grounds.assets])
        return closing.Proceeds(
            sale=[capital.resale_at(grounds.asset_plans, grounds.use_years, grounds.start, k) for k in range(count)],
            set_free=[a + b - c + vat for a, b, c, vat in tied_up],
            cost=closing.closing_cost(case, grounds.costs, trade["fixed_share"], held["stock"], grant, grounds.start),
            dismantling=closing.dismantling(case, count),
            unpaid=bought.unpaid,
        )

    def _loan(self, bought: Bought) -> Columns:
        """Drawn, repaid, interest and debt as if use never ended."""
        drawn = [self.case.plan.loan.part * amount for amount in bought.spent]
        repaid, interest, debt = finance.loan_balances(self.case.plan.loan, drawn, self.case.constants.year / QUARTERS)
        return {"drawn": drawn, "repaid": repaid, "interest": interest, "debt": debt}

    def _ended(self, found: Columns, proceeds: closing.Proceeds) -> Columns:
        """What assets sell for at the end of use, what it costs, and what is lost of their book value."""
        sold = self.use.at_end(proceeds.sale)
        names = ("capital", "licence_fee", "replacement", "depreciation", "disposal")
        rows = zip(*(found[name] for name in names))
        left = self.use.left([a + b + c - gone - lost for a, b, c, gone, lost in rows])
        site = self.use.at_end(proceeds.dismantling)
        return {
            "resale": proceeds.sale,
            "end_value": sold,
            "closing_cost": [a + b for a, b in zip(self.use.early(proceeds.cost), site)],
            "disposal": [lost + rest - price for lost, rest, price in zip(found["disposal"], left, sold)],
        }

    def _held(self, held: Columns, bought: Bought) -> Columns:
        """What is tied up while the plant is in use."""
        kept = {name: self.use.held(amounts) for name, amounts in held.items()}
        vat = self.use.held(bought.vat_owed)
        rows = zip(kept["receivables"], kept["stock"], kept["payables"])
        return kept | {"working_capital": [a + b - c for a, b, c in rows], "vat": steps(vat), "vat_receivable": vat}

    def _settled(self, loan: Columns, lost: list[Value]) -> Columns:
        """The loan while the plant is in use; what is left of it is paid at the end of use, as far as the bank does not lose it."""
        forgiven = self.use.early(lost)
        rows = zip(self.use.while_open(loan["repaid"]), self.use.at_end(loan["debt"]), forgiven)
        return {
            "drawn": loan["drawn"],
            "repaid": [a + b - c for a, b, c in rows],
            "forgiven": forgiven,
            "interest": self.use.while_open(loan["interest"]),
            "debt": self.use.held(loan["debt"]),
        }

    def _taxed(self, found: Columns) -> Columns:
        """Tax with the loan and as if there were none, and profit. Debt that the bank loses is not taxed."""
        rows = zip(*(found[name] for name in ("operating", "closing_cost", "tax_depreciation", "end_value")))
        without_loan = [earned - cost - gone + sold for earned, cost, gone, sold in rows]
        taxable = [a - b for a, b in zip(without_loan, found["interest"])]
        holiday = finance.holiday_to_date(finance.in_holiday(self.case, self.run, self.grounds.start))
        with_loan = finance.taxes(self.case, taxable, holiday)
        alone = finance.taxes(self.case, without_loan, holiday)
        names = ("operating", "closing_cost", "depreciation", "interest", "disposal", "forgiven")
        charges = zip(*(found[name] for name in names), with_loan.paid)
        columns = {
            "taxable": taxable,
            "taxable_without_loan": without_loan,
            "profit": [o - c - b - i - d + f - t for o, c, b, i, d, f, t in charges],
        }
        return columns | with_loan.columns() | alone.columns("_without_loan")

    def _cash(self, found: Columns) -> Columns:
        """Cash of the project as if there were no loan, and of the owners; what is left is paid out at once."""
        bought = [a + b + c for a, b, c in zip(found["capital"], found["licence_fee"], found["replacement"])]
        tied_up = steps(found["working_capital"])
        rows = zip(found["operating"], found["closing_cost"], bought, found["vat"], tied_up, found["end_value"])
        before_tax = [o - c - b - v - w + e for o, c, b, v, w, e in rows]
        free = [cash - tax for cash, tax in zip(before_tax, found["tax_without_loan"])]
        from_bank = [d - r - i for d, r, i in zip(found["drawn"], found["repaid"], found["interest"])]
        owners = [cash - tax + bank for cash, tax, bank in zip(before_tax, found["tax"], from_bank)]
        return {
            "free_cash": free,
            "owners_cash": owners,
            "cumulative_free_cash": cumulative(free),
            "cumulative_owners_cash": cumulative(owners),
            "discounted_free_cash": discounted(free, self.grounds.required_return),
            "discounted_owners_cash": discounted(owners, self.grounds.equity_return),
        }

    def _ahead(self, found: Columns, unwritten: list[Value], due: list[Value], proceeds: closing.Proceeds) -> closing.Ahead:
        return closing.Ahead(
            discounted=found["discounted_free_cash"],
            settled=finance.Settled(
                taxable=found["taxable_without_loan"],
                paid=found["tax_without_loan"],
                pools=finance.Pools(*(found[f"{name}_without_loan"] for name in POOLS)),
                holidays=finance.holiday_to_date(finance.in_holiday(self.case, self.run, self.grounds.start)),
            ),
            unwritten=unwritten,
            due=due,
            proceeds=proceeds,
            available=found["available_if_closed"],
            run=self.run,
            each=each_quarter(self.grounds.required_return),
        )


def _balance(found: Columns) -> Columns:
    """Plant and licence in the books, equity, and the check that assets less debts are the equity."""
    gained = [a + b + c for a, b, c in zip(found["capital"], found["licence_fee"], found["replacement"])]
    gone = [a + b + c for a, b, c in zip(found["depreciation"], found["disposal"], found["end_value"])]
    fixed_assets = cumulative([a - b for a, b in zip(gained, gone)])
    equity = cumulative([a - b for a, b in zip(found["profit"], found["owners_cash"])])
    owned = zip(fixed_assets, found["working_capital"], found["vat_receivable"], found["debt"], equity)
    return {
        "fixed_assets": fixed_assets,
        "equity": equity,
        "balance": [a + w + v - d - e for a, w, v, d, e in owned],
    }
