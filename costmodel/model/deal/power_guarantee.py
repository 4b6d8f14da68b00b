"""What a guaranteed power exposes the licensor to: probability and expected amount of damages, in closed form."""

from __future__ import annotations

from ...case.deal_records import Guarantee
from ...case.whole_case import Case
from ...core.operations import Value, smaller, sum_of
from ..ledger.landed_prices import in_reporting_currency
from .damages import expected_payment, falls_short, of_retests
from .deal_figures import Exposure


def spread_of_modules(case: Case, row: Guarantee) -> Value:
    """Standard deviation of power from module to module, over the mean: of the power classes, else as the guarantee states it.

        given = [each.module_spread for each in case.power_spread.values()]    [1]
        powers = [each.power for each in case.measured_powers.values()]    [Wp_stabilised/module]
        mean = sum_of(powers) / len(powers) if powers else 1.0    [any]
        counted = (sum_of([(power - mean) ** 2 for power in powers]) / (len(powers) - 1)) ** 0.5 / mean if powers else 0.0    [1]
        spread = given[0] if given else counted if powers else row.module_spread    [1]

    Source: standard deviation of a sample; common practice.

    Modules differ in one way, whether classes are sold or a mean is guaranteed, so the spread stands once.

    >>> from types import SimpleNamespace as Some
    >>> powers = {name: Some(power=power) for name, power in (("a", 38.0), ("b", 40.0), ("c", 42.0))}
    >>> spread_of_modules(Some(power_spread={}, measured_powers=powers), None)
    0.05
    """
    for each in case.power_spread.values():
        return each.module_spread
    powers = [each.power for each in case.measured_powers.values()]
    if not powers:
        assert row.module_spread is not None, "a guarantee without a spread of modules, which its check refuses"
        return row.module_spread
    mean = sum_of(powers) / len(powers)
    return (sum_of([(power - mean) ** 2 for power in powers]) / (len(powers) - 1)) ** 0.5 / mean


def measured(row: Guarantee, power: Value, modules: Value) -> tuple[Value, Value]:
    """Mean and standard deviation of what is held to the guaranteed power; `power` is that of the case, `modules` their spread.

        made = power * (1 - row.transfer_loss)    [Wp_stabilised/module]
        spread = (row.transfer_spread**2 + modules**2 / row.sample + row.measurement**2) ** 0.5    [1]
        mean, deviation = made * (1 - row.coverage * row.measurement), made * spread
            [Wp_stabilised/module, Wp_stabilised/module]

    Takes: power [Wp_stabilised/module], modules [1].
    Source: JCGM 100 (GUM), combined standard uncertainty; for the rest common practice.

    It is the mean of the sample as measured, less the uncertainty asked for. The transfer, the modules of the sample and the
    measurement vary independently of each other, each by a normal distribution: the root of the sum of squares.

    >>> from types import SimpleNamespace as Some
    >>> row = Some(transfer_loss=0.0, transfer_spread=0.03, sample=25.0, measurement=0.0, coverage=0.0)
    >>> mean, spread = measured(row, 50.0, 0.20)
    >>> mean, round(spread, 9)
    (50.0, 2.5)
    """
    made = power * (1 - row.transfer_loss)
    spread = (row.transfer_spread**2 + modules**2 / row.sample + row.measurement**2) ** 0.5
    return made * (1 - row.coverage * row.measurement), made * spread


def exposure(case: Case, row: Guarantee, power: Value) -> Exposure:
    """Probability and mean of damages under a guaranteed power, taken alone; what its test and retest cost.

        mean_and_spread = measured(row, power, spread_of_modules(case, row))    [Wp_stabilised/module]
        measured_power = mean_and_spread[0]
        spread = mean_and_spread[1]
        error = spread / row.power    [1]
        spare = measured_power / row.power - 1    [1]
        limit = 1 - row.minimum    [1]
        most = smaller(row.cap / row.damages, limit)    [1]
        miss_probability = falls_short(error, spare)
        left_and_retests = of_retests(case, row, miss_probability)    [any]
        left = left_and_retests[0]    [1]
        retests = left_and_retests[1]
        probability = left * miss_probability
        rejection_probability = left * falls_short(error, spare + limit)
        cap_probability = left * falls_short(error, spare + most) - rejection_probability
        damages = left * in_reporting_currency(expected_payment(error, spare, (row.damages, row.cap, limit, row.rejection)),
            row.currency, case.money)
        licensor_tests = in_reporting_currency(row.test_cost * row.test_share, row.currency, case.money)
        licensee_tests = in_reporting_currency(row.test_cost * (1 - row.test_share), row.currency, case.money)

    Takes: power [Wp_stabilised/module].
    Source: the normal distribution; for the rest common practice.

    A guarantee of just the mean: damages come at even odds, by half of the mean absolute deviation, 0.05 / (2 pi)^0.5:

    >>> from types import SimpleNamespace as Some
    >>> row = Guarantee("", 50.0, 0.0, 0.03, 0.20, 25.0, 0.0, 0.0, 1000.0, 1e9, "EUR", 0.0, "", 90.0, 0.5, 0.01, 0.0, 10.0, 0.0)
    >>> case = Some(money={"eur": Some(exchange_rate=1.0)}, power_spread={}, measured_powers={})
    >>> found = exposure(case, row, 50.0)
    >>> found.probability, abs(found.damages - 1000.0 * 0.05 / (2 * 3.141592653589793) ** 0.5) < 1e-9
    (0.5, True)
    >>> found.licensor_tests, found.retests
    (45.0, 5.0)
    """
    mean, spread = measured(row, power, spread_of_modules(case, row))
    error, spare, limit = spread / row.power, mean / row.power - 1, 1 - row.minimum
    most = smaller(row.cap / row.damages, limit)  # the shortfall from which the cap holds
    miss = falls_short(error, spare)
    left, retests = of_retests(case, row, miss)
    paid = expected_payment(error, spare, (row.damages, row.cap, limit, row.rejection))
    rejected, tests = left * falls_short(error, spare + limit), in_reporting_currency(row.test_cost, row.currency, case.money)
    return Exposure(
        measured_power=mean,
        spread=spread,
        miss_probability=miss,
        probability=left * miss,
        cap_probability=left * falls_short(error, spare + most) - rejected,
        rejection_probability=rejected,
        damages=left * in_reporting_currency(paid, row.currency, case.money),
        licensor_tests=tests * row.test_share,
        licensee_tests=tests * (1 - row.test_share),
        retests=retests,
    )
