"""Warranties and a royalty on labels that are worked by hand, as laws: each that no longer holds is named."""

from __future__ import annotations

from collections.abc import Iterator

from . import test_power_classes, test_warranty

BY_HAND = (
    test_warranty.test_failures_are_claimed_within_the_term_by_hand,
    test_warranty.test_a_part_of_a_year_is_covered_by_its_part,
    test_warranty.test_claims_are_discounted_to_the_sale_at_the_ends_of_their_quarters,
    test_warranty.test_power_claims_are_those_of_modules_drawn_one_by_one,
    test_warranty.test_a_promise_that_falls_faster_than_modules_do_brings_no_new_claims,
    test_warranty.test_the_provision_is_made_at_the_sale_and_used_as_claims_fall_due,
    test_warranty.test_tax_deducts_claims_as_they_are_paid_or_the_provision_as_it_is_made,
    test_warranty.test_a_plant_that_closes_pays_what_is_left_of_the_provision,
    test_warranty.test_energy_follows_age_failures_that_are_not_replaced_included,
    test_power_classes.test_a_royalty_per_watt_is_paid_on_labels,
)


def violated_by_warranty() -> Iterator[str]:
    """What no longer holds."""
    for law in BY_HAND:
        try:
            law()
        except (AssertionError, ArithmeticError, LookupError, ValueError) as problem:
            yield f"{law.__name__}: {type(problem).__name__}"
