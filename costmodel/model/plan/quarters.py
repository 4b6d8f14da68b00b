"""The quarters of the plan, from trading to the balance, filled in by the rules of the other files, added up and cut off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ...case.whole_case import Case
from ...core.operations import Value, sum_of
from ...core.series import Row, constant
from ..ledger.ledger_figures import Ledger
from ..line.line_figures import Line
from . import capital, closing, finance, licence, operation, royalty, sales, statements, tax, warranty_provision
from .closing_time import Use, by_loss, quarters_lost, to_the_end
from .plan_depreciation import fee_written_off
from .plan_figures import AssetPlan, MarketSales, Quarter, UseYear, YearCost
from .supplied import Supply, supplied
from .timing import QUARTERS, column_count, in_term, quarter_names, running
from .volume import Volumes, learning_factors
from .worth import discounted, each_quarter

EQUIPMENT = ("replaced", "books", "lost", "tax")  # of the years of use, by the names that UseYear has for them
POOLS = ("losses_made", "losses_gone", "profits_taxed", "profits_gone")
Columns = dict[str, Row]  # figures of all columns, by the names that Quarter has for them


@dataclass(frozen=True, slots=True)
class Grounds:
    """What the quarters are made from, found once."""

    start: Value
    assets: list[capital.Asset]
    asset_plans: dict[str, AssetPlan]
    use_years: dict[str, UseYear]
    resale: Row  # what the assets would sell for
    equipment: Columns  # what is replaced, written off and lost, by the names that UseYear has for them
    costs: dict[str, YearCost]
    planned: Volumes
    required_return: Value
    equity_return: Value
    pays: bool = True  # whether the licence is paid for


@dataclass(frozen=True, slots=True)
class Trading:
    """Columns of what is made and sold, with what they cost; what materials cost; the volumes that are made."""

    columns: Columns
    materials: Row
    made: Volumes


@dataclass(frozen=True, slots=True)
class Bought:
    """Columns of what is spent on the plant and written off; and, by column, what closing then would have to settle."""

    columns: Columns
    spent: Row  # capital while the plant is in use
    unpaid: Row  # capital still to be paid
    unwritten: Row  # not yet written off for tax
    vat_owed: Row  # value added tax to come back


@dataclass(frozen=True, slots=True)
class Filled:
    """All columns for a time of use, with what the licence is paid, what markets take, and what closing would leave unpaid."""

    columns: Columns
    payments: list[licence.Stream]
    markets: dict[str, MarketSales]
    use: Use
    shortfall: Row
    ahead: closing.Ahead
    supplied: dict[str, Supply]

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
    cash = never.columns["operating"] - never.columns["replacement"]
    never.columns["lost_quarters"] = quarters_lost(cash, run)
    if case.plan.closing.rule == "never":
        return never, never
    return _Plan(case, line, ledger, grounds, run, by_loss(case, cash, run, grounds.start)).filled(), never


@dataclass(frozen=True, slots=True)
class _Plan:
    """The columns for a time of use. Each method fills in some, from those before it."""

    case: Case
    line: Line
    ledger: Ledger
    grounds: Grounds
    run: Row
    use: Use

    def filled(self) -> Filled:
        """All columns of the plan."""
        planned = self.grounds.planned.while_in(self.use)
        markets = sales.market_sales(self.case, self.line, planned.good, self.run)
        trading = self._trading(planned, markets)
        trade = trading.columns
        bought = supplied(self.case, self.ledger, trading.made, trade["learning_factor"]) if self.case.has_deal else {}
        promised = self._promised(trade)
        labelled = sales.watts_labelled(self.line, trade["stabilised_watts"])
        terms = royalty.Trade(self.grounds.start, trade["revenue"], labelled, trading.materials, self.use, bought)
        paid = licence.streams(self.case, self.line, self.grounds.assets, terms) if self.grounds.pays else []
        invested = self._investing(self._together([stream for stream in paid if stream.written_off]))
        held = operation.working_capital(self.case, self.ledger, trade, self.grounds.start)
        proceeds = self._proceeds(trade, invested, held, promised.provision)
        loan = self._loan(invested)
        claims = licence.due_at_closing(self.case, terms) if self.grounds.pays else []
        due, available = self._together(claims), closing.available_if_closed(proceeds)
        parts = closing.paid_of_claims(self.case, available, loan["debt"], due)
        paid += [licence.cut(stream, self.use.early(parts)) for stream in claims]
        found = trade | self._warranted(promised) | invested.columns
        found |= self._paid(found, paid)
        found |= self._ended(found, proceeds) | {"available_if_closed": available}
        found |= self._held(held, invested)
        found |= self._settled(loan, closing.forgiven(self.case, available, loan["debt"]))
        found |= self._taxed(found)
        found |= self._cash(found)
        found |= _balance(found)
        short = closing.unpaid_claims(loan["debt"], due, available)
        all_due = closing.due_at_closing(due, parts, licence.short_of_minimum(self.case, terms, paid))
        ahead = self._ahead(found, invested.unwritten, all_due, proceeds)
        return Filled(found, paid, markets, self.use, short, ahead, bought)

    def _together(self, wanted: Sequence[licence.Stream]) -> Row:
        """The sum of some streams, by column."""
        nothing = constant(capital.nothing(self.grounds.assets), len(self.run))
        return sum_of([nothing, *[stream.amounts for stream in wanted]])

    def _trading(self, planned: Volumes, markets: dict[str, MarketSales]) -> Trading:
        """What is made and sold and what that costs, the licence apart."""
        case, line, costs, count = self.case, self.line, self.grounds.costs, len(self.run)
        sold = sales.sold_shares(case, markets, count)
        taken = sales.taken(case, sold)
        made = planned.cut(taken)
        watts = sales.watts_made(line, made.good)
        so_far = watts.running_sum()
        learnt = learning_factors(so_far, case.plan.learning)
        variable, fixed = operation.costs(case, costs, made, learnt)
        revenue = operation.revenue(case, line, planned.good, sold)
        incomes = licence.sublicence_income(case, count).values() if case.has_deal else []
        once = operation.start_up(case, self.ledger, count, self.grounds.start) + capital.expenses(case, count)
        columns = {
            "open_share": self.use.open,
            "lost_quarters": self.use.lost,
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
            "start_up": self.use.while_open(once),
            "sublicences": self.use.while_open(sum_of([0.0 * revenue, *incomes])),
        }
        return Trading(columns, operation.materials(case, costs, made, learnt), made)

    def _promised(self, trade: Columns) -> warranty_provision.Promised:
        """The warranty of the modules sold, as if use never ended."""
        sold = (trade["stabilised_watts"], trade["cumulative_watts"])
        return warranty_provision.promised(self.case, self.line, self.ledger, *sold)

    def _warranted(self, promised: warranty_provision.Promised) -> Columns:
        """Warranty while the plant is in use; at its end, the provision is paid to whoever then bears the claims."""
        unwinding = self.use.while_open(promised.unwinding)
        paid = self.use.while_open(promised.claims) + self.use.at_end(promised.provision)
        return {
            "warranty_provided": promised.provided,
            "warranty_paid": paid,
            "warranty_unwinding": unwinding,
            "warranty_to_settle": promised.provision,
            "warranty_provision": self.use.held(promised.provision),
        }

    def _paid(self, trade: Columns, paid: Sequence[licence.Stream]) -> Columns:
        """What is paid once, what runs with sales, what work costs; and the operating result."""
        running_royalty = [stream for stream in paid if stream.name in licence.ROYALTIES]
        earned = self._together(running_royalty)
        services = self._together([x for x in paid if x.name not in licence.ROYALTIES and not x.written_off])
        names = ("revenue", "sublicences", "variable_cost", "fixed_cost", "start_up")
        revenue, sublicences, variable, fixed, start_up = (trade[name] for name in names)
        operating = statements.operating_result(revenue, sublicences, variable, fixed, start_up, earned, services)
        operating = statements.less_warranty(operating, trade["warranty_provided"])
        return {"royalty": earned, "licence_services": services, "operating": operating}

    def _investing(self, fee: Row) -> Bought:
        """What is spent on the plant, and how it is written off while the plant is in use."""
        case, grounds, use, count = self.case, self.grounds, self.use, len(self.run)
        paid = {kind: capital.paid_by(case, kind, count) for kind in capital.KINDS}
        unpaid = capital.unpaid(grounds.assets, paid)
        spent = use.while_open(capital.spent(grounds.assets, paid))
        term = case.deal.licence.term if case.has_deal else case.constants.year
        fee_gone, fee_left = fee_written_off(fee, in_term(case, count, grounds.start, term), use)
        fee_gone = use.while_open(fee_gone)
        replaced, of_books, lost, of_tax = (use.while_open(grounds.equipment[name]) for name in EQUIPMENT)
        for_tax = of_tax + fee_gone
        unwritten = (statements.outlays(spent, fee, replaced) - for_tax).running_sum()
        columns = {
            "capital": spent + use.early(unpaid),
            "licence_fee": fee,
            "licence_value": fee_left,
            "replacement": replaced,
            "depreciation": of_books + fee_gone,
            "tax_depreciation": for_tax + use.at_end(unwritten + unpaid),
            "disposal": lost,
            "unwritten": unwritten,
        }
        return Bought(columns, spent, unpaid, unwritten, capital.vat_owed(case, grounds.assets, paid))

    def _proceeds(self, trade: Columns, bought: Bought, held: Columns, provision: Row) -> closing.Proceeds:
        """What closing early at the end of each column would bring and cost, licence and loan apart."""
        case, grounds = self.case, self.grounds
        working_capital = statements.tied_up(held["receivables"], held["stock"], held["payables"])
        grant = sum_of([asset.price - asset.cost for asset in grounds.assets])
        return closing.Proceeds(
            sale=grounds.resale,
            set_free=working_capital + bought.vat_owed,
            cost=closing.closing_cost(case, grounds.costs, trade["fixed_share"], held["stock"], grant, grounds.start),
            dismantling=closing.dismantling(case, len(self.run)),
            unpaid=bought.unpaid,
            warranty=provision,
            deducted=warranty_provision.not_deducted(case, 0.0 * provision, -provision, 0.0 * provision),
        )

    def _loan(self, bought: Bought) -> Columns:
        """Drawn, repaid, interest and debt as if use never ended."""
        loan = self.case.plan.loan
        drawn = finance.drawn(loan, bought.spent)
        repaid, interest, debt = finance.loan_balances(loan, drawn, self.case.constants.year / QUARTERS)
        return {"drawn": drawn, "repaid": repaid, "interest": interest, "debt": debt}

    def _ended(self, found: Columns, proceeds: closing.Proceeds) -> Columns:
        """What assets sell for at the end of use, what it costs, and what is lost of their book value."""
        sold = self.use.at_end(proceeds.sale)
        bought = statements.outlays(found["capital"], found["licence_fee"], found["replacement"])
        left = self.use.left(bought - found["depreciation"] - found["disposal"])
        site = self.use.at_end(proceeds.dismantling)
        return {
            "resale": proceeds.sale,
            "end_value": sold,
            "closing_cost": self.use.early(proceeds.cost) + site,
            "disposal": closing.lost_in_books(found["disposal"], left, sold),
        }

    def _held(self, held: Columns, bought: Bought) -> Columns:
        """What is tied up while the plant is in use."""
        kept = {name: self.use.held(amounts) for name, amounts in held.items()}
        vat = self.use.held(bought.vat_owed)
        working_capital = statements.tied_up(kept["receivables"], kept["stock"], kept["payables"])
        return kept | {"working_capital": working_capital, "vat": vat.gains(), "vat_receivable": vat}

    def _settled(self, loan: Columns, lost: Row) -> Columns:
        """The loan while the plant is in use; what is left of it is paid at the end of use, as far as the bank does not lose it."""
        forgiven = self.use.early(lost)
        repaid = finance.repaid_with_rest(self.use.while_open(loan["repaid"]), self.use.at_end(loan["debt"]), forgiven)
        return {
            "drawn": loan["drawn"],
            "repaid": repaid,
            "forgiven": forgiven,
            "interest": self.use.while_open(loan["interest"]),
            "debt": self.use.held(loan["debt"]),
        }

    def _taxed(self, found: Columns) -> Columns:
        """Tax with the loan and as if there were none, and profit. Debt that the bank loses is not taxed."""
        promised = (found[name] for name in ("warranty_provided", "warranty_paid", "warranty_unwinding"))
        rows = found | {"not_deducted": warranty_provision.not_deducted(self.case, *promised)}
        income = ("operating", "closing_cost", "tax_depreciation", "end_value", "not_deducted")
        without_loan = statements.taxable_income(*(rows[name] for name in income))
        taxable = without_loan - found["interest"]
        holiday = tax.holiday_to_date(tax.in_holiday(self.case, self.run, self.grounds.start), self.run)
        with_loan = tax.taxes(self.case, taxable, holiday)
        alone = tax.taxes(self.case, without_loan, holiday)
        lines = ("operating", "closing_cost", "depreciation", "interest", "disposal", "forgiven")
        earned, closing_cost, depreciation, interest, disposal, forgiven = (found[name] for name in lines)
        interest = interest + found["warranty_unwinding"]
        profit = statements.profit(earned, closing_cost, depreciation, interest, disposal, forgiven, with_loan.paid)
        columns = {"taxable": taxable, "taxable_without_loan": without_loan, "profit": profit}
        return columns | with_loan.columns() | alone.columns("_without_loan")

    def _cash(self, found: Columns) -> Columns:
        """Cash of the project as if there were no loan, and of the owners; what is left is paid out at once."""
        bought = statements.outlays(found["capital"], found["licence_fee"], found["replacement"])
        rows = found | {"bought": bought, "not_yet_paid": found["warranty_provided"] - found["warranty_paid"]}
        names = ("operating", "closing_cost", "bought", "vat", "working_capital", "end_value", "not_yet_paid")
        before_tax = statements.cash_before_tax(*(rows[name] for name in names))
        free = statements.free_cash(before_tax, found["tax_without_loan"])
        owners = statements.owners_cash(before_tax, *(found[name] for name in ("tax", "drawn", "repaid", "interest")))
        return {
            "free_cash": free,
            "owners_cash": owners,
            "cumulative_free_cash": free.running_sum(),
            "cumulative_owners_cash": owners.running_sum(),
            "discounted_free_cash": discounted(free, self.grounds.required_return),
            "discounted_owners_cash": discounted(owners, self.grounds.equity_return),
        }

    def _ahead(self, found: Columns, unwritten: Row, due: Row, proceeds: closing.Proceeds) -> closing.Ahead:
        return closing.Ahead(
            discounted=found["discounted_free_cash"],
            settled=tax.Settled(
                taxable=found["taxable_without_loan"],
                paid=found["tax_without_loan"],
                pools=tax.Pools(*(list(found[f"{name}_without_loan"]) for name in POOLS)),
                holidays=tax.holiday_to_date(tax.in_holiday(self.case, self.run, self.grounds.start), self.run),
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
    bought = statements.outlays(found["capital"], found["licence_fee"], found["replacement"])
    fixed_assets = statements.fixed_assets(bought, found["depreciation"], found["disposal"], found["end_value"])
    equity = statements.equity(found["profit"], found["owners_cash"])
    owed = (found["working_capital"], found["vat_receivable"], found["debt"], found["warranty_provision"])
    return {"fixed_assets": fixed_assets, "equity": equity, "balance": statements.balance(fixed_assets, *owed, equity)}
