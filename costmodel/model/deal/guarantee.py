"""What a guaranteed power exposes the licensor to: probability and expected amount of damages, in closed form."""

from __future__ import annotations

from ...case.deal_records import Guarantee
from ...case.whole_case import Case
from ...core.operations import Value, normal_cdf, safe_divide
from ..ledger.landed_prices import in_reporting_currency
from ..ledger.soaking_costs import expected_shortfall
from .deal_figures import Exposure


def measured(row: Guarantee, power: Value) -> tuple[Value, Value]:
    """Mean and standard deviation of what is held to the guaranteed power; `power` is that of the case.

        made = power * (1 - row.transfer_loss)    [Wp_stabilised/module]
        spread = (row.transfer_spread**2 + row.module_spread**2 / row.sample + row.measurement**2) ** 0.5    [1]
        mean, deviation = made * (1 - row.coverage * row.measurement), made * spread
            [Wp_stabilised/module, Wp_stabilised/module]

    Takes: power [Wp_stabilised/module].
    Source: JCGM 100 (GUM), combined standard uncertainty; for the rest common practice.

    It is the mean of the sample as measured, less the uncertainty asked for. The transfer, the modules of the sample and the
    measurement vary independently of each other, each by a normal distribution: the root of the sum of squares.

    >>> row = Guarantee("", 40.0, 0.0, 0.03, 0.20, 25.0, 0.0, 0.0, 1.0, 1.0, "EUR", 0.0)
    >>> mean, spread = measured(row, 50.0)
    >>> mean, round(spread, 9)
    (50.0, 2.5)
    """
    made = power * (1 - row.transfer_loss)
    spread = (row.transfer_spread**2 + row.module_spread**2 / row.sample + row.measurement**2) ** 0.5
    return made * (1 - row.coverage * row.measurement), made * spread


def falls_short(error: Value, spare: Value) -> Value:
    """The probability that what is measured falls short: its standard deviation and its mean above the limit, as parts of it.

        probability = normal_cdf(-safe_divide(spare, error))    [1]

    Takes: error [1], spare [1].
    Source: the normal distribution.

    >>> falls_short(0.05, 0.0)
    0.5
    """
    return normal_cdf(-safe_divide(spare, error))


def exposure(case: Case, row: Guarantee, power: Value) -> Exposure:
    """Probability and mean of damages by the shortfall, up to a cap.

        mean_and_spread = measured(row, power)    [Wp_stabilised/module]
        measured_power = mean_and_spread[0]
        spread = mean_and_spread[1]
        error = spread / row.power    [1]
        spare = measured_power / row.power - 1    [1]
        most = row.cap / row.damages    [1]
        short = expected_shortfall(error, spare) - expected_shortfall(error, spare + most)    [1]
        probability = falls_short(error, spare)
        cap_probability = falls_short(error, spare + most)
        damages = in_reporting_currency(row.damages * short, row.currency, case.money)

    Takes: power [Wp_stabilised/module].
    Source: the loss function of the normal distribution.

    Damages of D for a shortfall of all the power, not above a cap c, are those without a cap less those beyond c / D: both
    are loss functions of the normal distribution.

    A guarantee of just the mean: damages come at even odds, by half of the mean absolute deviation, 0.05 / (2 pi)^0.5:

    >>> from types import SimpleNamespace as Some
    >>> row = Guarantee("", 50.0, 0.0, 0.03, 0.20, 25.0, 0.0, 0.0, 1000.0, 1e9, "EUR", 0.0)
    >>> found = exposure(Some(money={"eur": Some(exchange_rate=1.0)}), row, 50.0)
    >>> found.probability, abs(found.damages - 1000.0 * 0.05 / (2 * 3.141592653589793) ** 0.5) < 1e-9
    (0.5, True)
    """
    mean, spread = measured(row, power)
    error, spare = spread / row.power, mean / row.power - 1
    most = row.cap / row.damages  # the shortfall from which the cap holds
    short = expected_shortfall(error, spare) - expected_shortfall(error, spare + most)
    return Exposure(
        measured_power=mean,
        spread=spread,
        probability=falls_short(error, spare),
        cap_probability=falls_short(error, spare + most),
        damages=in_reporting_currency(row.damages * short, row.currency, case.money),
    )
