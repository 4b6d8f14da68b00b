"""How far the rating of a lot can be off that rests on a sample, and the sample that a precision needs."""

from __future__ import annotations

from ...case.line_records import Soaking
from ...core.operations import Value, choose, larger, normal_quantile, safe_divide, student_t_quantile, sum_of, valid_if, whole_up
from .ledger_figures import LotError

LEAST_SAMPLE = 2.0  # a spread cannot be estimated from fewer modules
LOOKED_AT = 8  # sizes above that of a given spread; with (z^2 + 1) / 2 more at most, enough up to a probability of 99.9 %
LEAST_PART = 1e-6  # of the variance squared; below it the spread of the sample is as good as given


def lot_variance(plan: Soaking, soaked: Value) -> Value:
    """Variance of the mean of a lot as its modules differ, over the lots averaged.

        variance = plan.spread**2 * larger(1 - soaked / plan.lot, 0.0) / soaked / plan.lots_averaged    [1]

    Takes: soaked [1].
    Source: Cochran, Sampling Techniques, 1977, section 2.6.

    The factor for a finite lot stands here and nowhere else: a module that is soaked adds nothing to this part, but its
    measurement error remains.

    >>> from dataclasses import replace
    >>> from costmodel.case.demo import demo_case
    >>> plan = replace(demo_case().soaking["rating"], spread=0.5, lot=8.0, lots_averaged=1.0)
    >>> lot_variance(plan, 4.0)
    0.03125
    """
    return plan.spread**2 * larger(1 - soaked / plan.lot, 0.0) / soaked / plan.lots_averaged


def between_lots(plan: Soaking) -> Value:
    """Variance of the mean of the last lots about the true mean of the last one; none where each lot is rated by itself.

        variance = plan.lot_to_lot**2 * (1 - 1 / plan.lots_averaged)    [1]

    Source: common practice, a moving average as on a control chart.

    The true mean of a lot is s_b off that of the process, independently: (1 - 1/k)^2 + (k - 1) / k^2 = 1 - 1/k. The average
    smooths probability in the sample and lags behind the lots.

    >>> from dataclasses import replace
    >>> from costmodel.case.demo import demo_case
    >>> between_lots(replace(demo_case().soaking["rating"], lot_to_lot=0.5, lots_averaged=2.0))
    0.125
    """
    return plan.lot_to_lot**2 * (1 - 1 / plan.lots_averaged)


def lot_error(plan: Soaking, soaked: Value, common: Value) -> LotError:
    """The uncertainty of a rating by its parts, added as variances, and expanded to a half-width.

        random = plan.measurement_random**2 / soaked / plan.lots_averaged    [1]
        variance = lot_variance(plan, soaked) + random + between_lots(plan) + common**2    [1]
        tail = (1 + plan.coverage_probability) / 2    [1]
        of sample = safe_divide(lot_variance(plan, soaked), variance) ** 2    [1]
        freedom = larger(plan.lots_averaged * (soaked - 1), 1.0) / larger(of_sample, LEAST_PART)    [1]
        within_lot = lot_variance(plan, soaked) ** 0.5
        measurement_random = random**0.5
        between_lots = between_lots(plan) ** 0.5
        measurement_common = (common**2) ** 0.5
        standard = variance**0.5
        coverage_factor = normal_quantile(tail) if plan.spread_known == "given" else student_t_quantile(tail, freedom)
        half_width = coverage_factor * variance**0.5

    Takes: soaked [1], common [1].
    Source: GUM, JCGM 100:2008, 5.1 for the sum of variances, F.1.2 for the common part, G.4 for the degrees of freedom.

    The random part of a measurement becomes less with each module and lot, the common part does not. With a spread estimated
    from the sample, the factor is Student's t with the effective degrees of freedom of Welch and Satterthwaite:
    k (n - 1) (u^2 / u_s^2)^2, as only the spread within lots, pooled over k of them, is estimated. Else it is the normal one.

    >>> from dataclasses import replace
    >>> from costmodel.case.demo import demo_case
    >>> plan = replace(demo_case().soaking["rating"], spread=0.3, lot=1e9, lots_averaged=1.0, measurement_random=0.0)
    >>> round(lot_error(plan, 1.0, 0.4).standard, 9)
    0.5
    """
    within, random = lot_variance(plan, soaked), plan.measurement_random**2 / soaked / plan.lots_averaged
    between, together = between_lots(plan), common**2
    variance = within + random + between + together
    tail = (1 + plan.coverage_probability) / 2
    of_sample = safe_divide(within, variance) ** 2
    freedom = larger(plan.lots_averaged * (soaked - 1), 1.0) / larger(of_sample, LEAST_PART)
    factor = normal_quantile(tail) if plan.spread_known == "given" else student_t_quantile(tail, freedom)
    return LotError(
        within_lot=within**0.5,
        measurement_random=random**0.5,
        between_lots=between**0.5,
        measurement_common=together**0.5,
        standard=variance**0.5,
        coverage_factor=factor,
        half_width=factor * variance**0.5,
    )


def least_half_width(plan: Soaking, common: Value) -> Value:
    """Half-width that no sample goes below: that of lots soaked whole, where only measurement and lots averaged are left.

        whole = plan.measurement_random**2 / plan.lot / plan.lots_averaged    [1]
        half width = normal_quantile((1 + plan.coverage_probability) / 2) * (whole + between_lots(plan) + common**2) ** 0.5    [1]

    Takes: common [1].
    Source: GUM, JCGM 100:2008, 5.1.

    >>> from dataclasses import replace
    >>> from costmodel.case.demo import demo_case
    >>> plan = replace(demo_case().soaking["rating"], measurement_random=0.0, lots_averaged=1.0, coverage_probability=0.95)
    >>> round(least_half_width(plan, 0.01), 6)
    0.0196
    """
    whole = plan.measurement_random**2 / plan.lot / plan.lots_averaged
    return normal_quantile((1 + plan.coverage_probability) / 2) * (whole + between_lots(plan) + common**2) ** 0.5


def endless_precision(plan: Soaking, common: Value) -> Value:
    """Modules of a lot for the target half-width with the normal factor, not rounded.

        allowed = (plan.precision / normal_quantile((1 + plan.coverage_probability) / 2)) ** 2    [1]
        room = larger(allowed - between_lots(plan) - common**2, 0.0)    [1]
        modules = (plan.spread**2 + plan.measurement_random**2) / (plan.lots_averaged * room + plan.spread**2 / plan.lot)    [1]

    Takes: common [1].
    Source: Cochran, Sampling Techniques, 1977, for the sample size in a finite lot (from memory); derived below.

    From z^2 (s^2 (1/n - 1/N) / k + u_r^2 / n / k + v) = e^2, v what does not become less with the sample:
    n = (s^2 + u_r^2) / (k ((e / z)^2 - v) + s^2 / N).

    With no room left, all modules of the lot are needed where their measurement has no random part:

    >>> from dataclasses import replace
    >>> from costmodel.case.demo import demo_case
    >>> plan = replace(demo_case().soaking["rating"], measurement_random=0.0, spread=0.5, lot=64.0)
    >>> endless_precision(plan, 1.0)
    64.0
    """
    allowed = (plan.precision / normal_quantile((1 + plan.coverage_probability) / 2)) ** 2
    room = larger(allowed - between_lots(plan) - common**2, 0.0)
    return (plan.spread**2 + plan.measurement_random**2) / (plan.lots_averaged * room + plan.spread**2 / plan.lot)


def sample_size(plan: Soaking, common: Value) -> Value:
    """Modules of a lot to soak for the target half-width, with a common uncertainty of the measurement.

        normal = whole_up(endless_precision(plan, common))    [1]
        first = larger(normal, LEAST_SAMPLE) if plan.spread_known == "from_sample" else normal    [1]
        missed = [choose(lot_error(plan, first + more, common).half_width > plan.precision, 1.0, 0.0) for more in
            range(LOOKED_AT)]    [1]
        size = first + sum_of(missed) if plan.spread_known == "from_sample" else first    [1]
        sample size = valid_if(least_half_width(plan, common) <= plan.precision, size)    [1]

    Takes: common [1].
    Source: derived here; the tests hold it against a search size by size.

    No value where no sample reaches it. With a spread from the sample, the factor depends on the size itself. It is above the
    normal one and falls with the size, so the size sought is the normal one, rounded up, and one more for each size from there
    on that misses the precision.

    >>> from dataclasses import replace
    >>> from costmodel.case.demo import demo_case
    >>> plan = replace(demo_case().soaking["rating"], precision=0.001)
    >>> sample_size(plan, 0.5)
    nan
    """
    first = whole_up(endless_precision(plan, common))
    if plan.spread_known == "from_sample":
        first = larger(first, LEAST_SAMPLE)
        missed = [lot_error(plan, first + more, common).half_width > plan.precision for more in range(LOOKED_AT)]
        first = first + sum_of([choose(each, 1.0, 0.0) for each in missed])
    return valid_if(least_half_width(plan, common) <= plan.precision, first)
