"""How far the rating of a lot can be off that rests on a sample, and the sample that a precision needs."""

from __future__ import annotations

from ...case.line_records import Soaking
from ...core.operations import Value, choose, larger, normal_quantile, safe_divide, student_t_quantile, sum_of, valid_if, whole_up
from .ledger_figures import LotError

LEAST_SAMPLE = 2.0  # a spread cannot be estimated from fewer modules
LOOKED_AT = 8  # sizes above that of a given spread; with (z^2 + 1) / 2 more at most, enough up to a probability of 99.9 %
LEAST_PART = 1e-6  # of the variance squared; below it the spread of the sample is as good as given


def lot_variance(plan: Soaking, soaked: Value) -> Value:
    """Variance of the mean of a lot as its modules differ: s^2 (1 - n/N) / n, over the lots averaged.

    The factor for a finite lot stands here and nowhere else: a module that is soaked adds nothing to this part, but its measurement
    errs all the same. Cochran, Sampling Techniques, 1977, section 2.6.
    """
    return plan.spread**2 * larger(1 - soaked / plan.lot, 0.0) / soaked / plan.lots_averaged


def between_lots(plan: Soaking) -> Value:
    """Variance of the mean of the last k lots about the true mean of the last one: s_b^2 (1 - 1/k). None for each lot by itself.

    The true mean of a lot is s_b off that of the process, independently: (1 - 1/k)^2 + (k - 1) / k^2 = 1 - 1/k. A moving average
    as on a control chart is common practice; it smooths probability in the sample and lags behind the lots.
    """
    return plan.lot_to_lot**2 * (1 - 1 / plan.lots_averaged)


def lot_error(plan: Soaking, soaked: Value, common: Value) -> LotError:
    """The uncertainty of a rating by its parts, added as variances (GUM, JCGM 100:2008, 5.1), and expanded to a half-width.

    The random part of a measurement becomes less with each module and lot, the common part does not (GUM F.1.2). With a spread
    estimated from the sample, the factor is Student's t with the effective degrees of freedom of Welch and Satterthwaite (GUM G.4):
    k (n - 1) (u^2 / u_s^2)^2, as only the spread within lots, pooled over k of them, is estimated. Else it is the normal one.
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
    """Half-width that no sample goes below: that of lots soaked whole, where only measurement and lots averaged are left."""
    whole = plan.measurement_random**2 / plan.lot / plan.lots_averaged
    return normal_quantile((1 + plan.coverage_probability) / 2) * (whole + between_lots(plan) + common**2) ** 0.5


def endless_precision(plan: Soaking, common: Value) -> Value:
    """Modules of a lot for the wanted half-width e with the normal factor z, not rounded.

    From z^2 (s^2 (1/n - 1/N) / k + u_r^2 / n / k + v) = e^2, v what does not become less with the sample:
    n = (s^2 + u_r^2) / (k ((e / z)^2 - v) + s^2 / N).
    """
    allowed = (plan.precision / normal_quantile((1 + plan.coverage_probability) / 2)) ** 2
    room = larger(allowed - between_lots(plan) - common**2, 0.0)
    return (plan.spread**2 + plan.measurement_random**2) / (plan.lots_averaged * room + plan.spread**2 / plan.lot)


def sample_size(plan: Soaking, common: Value) -> Value:
    """Modules of a lot to soak for the wanted half-width, with a common uncertainty of the measurement.

    No value where no sample does it.

    With a spread from the sample, the factor depends on the size itself. It is above the normal one and falls with the size, so
    the size sought is the normal one, rounded up, and one more for each size from there on that misses the precision.
    """
    first = whole_up(endless_precision(plan, common))
    if plan.spread_known == "from_sample":
        first = larger(first, LEAST_SAMPLE)
        missed = [lot_error(plan, first + more, common).half_width > plan.precision for more in range(LOOKED_AT)]
        first = first + sum_of([choose(each, 1.0, 0.0) for each in missed])
    return valid_if(least_half_width(plan, common) <= plan.precision, first)
