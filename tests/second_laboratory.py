"""The laboratory in the second model: hours by the clock, money by the hour."""

from .second_case import in_money

HOURS, MONTHS = 8760.0, 12.0  # in a year


def parts_of_sample(case, name):
    """What a sample costs: consumables, instruments, people, each as amounts with their currency."""
    test, found = case.laboratory_tests[name], {"equipment": [], "staff": []}
    found["consumables"] = [(test.consumables, test.currency)]
    for row in case.laboratory_work.values():
        if row.test == name:
            instrument, people = case.laboratory_equipment[row.equipment], case.laboratory_staff[row.staff]
            role = case.transfer_resources[people.role]
            hours_of_day = 24 * people.working_day
            cost_of_hour = role.day_cost / 365 / hours_of_day
            found["equipment"].append((HOURS * row.equipment_hours * instrument.hour_cost / HOURS, instrument.currency))
            found["staff"].append((HOURS * row.staff_hours * cost_of_hour, role.currency))
    return found


def costs_of_service(case, service):
    """What the tests of a yearly service cost a year, with the currency of each part."""
    for name, test in case.laboratory_tests.items():
        if test.service == service:
            for amounts in parts_of_sample(case, name).values():
                yield from ((amount * test.samples, currency) for amount, currency in amounts)


def room(case, side):
    """Hours a month of instruments or of people: promised, sold, free, and how full they are."""
    found = {}
    for name, row in getattr(case, f"laboratory_{side}").items():
        there = row.hours * HOURS / MONTHS
        sold = sum(
            HOURS * getattr(work, f"{side}_hours") * case.laboratory_tests[work.test].samples / MONTHS
            for work in case.laboratory_work.values()
            if getattr(work, side) == name
        )
        promised = there * row.promised
        found[name] = {"promised": promised, "sold": sold, "free": there - promised - sold, "load": (promised + sold) / there}
    return found


def more_samples(case, name, rooms):
    """Samples a month that free hours still allow."""
    found = []
    for side, there in rooms.items():
        for place, each in there.items():
            needed = sum(
                HOURS * getattr(work, f"{side}_hours")
                for work in case.laboratory_work.values()
                if work.test == name and getattr(work, side) == place
            )
            if needed:
                found.append(max(each["free"], 0.0) / needed)
    return min(found)


def laboratory(case):
    """Figures of the laboratory by address, without their beginning; none without tests."""
    if not case.laboratory_tests:
        return {}
    rooms, found, together = {side: room(case, side) for side in ("equipment", "staff")}, {}, 0.0
    for side, there in rooms.items():
        found |= {f"{side}.{name}.{key}": value for name, each in there.items() for key, value in each.items()}
    for name, test in case.laboratory_tests.items():
        parts = {
            key: sum(in_money(case, amount, currency) for amount, currency in amounts)
            for key, amounts in parts_of_sample(case, name).items()
        }
        price, cost = in_money(case, test.price, test.currency), sum(parts.values())
        kind = case.payment_kinds[case.yearly_services[test.service].paid_as]
        arriving = price * (1 - kind.withholding) * (1 - kind.inventors_share)
        row = {"price": price, "arriving": arriving, "cost": cost, "margin": price - cost, "left": arriving - cost,
               "left_a_year": (arriving - cost) * test.samples, "could_sell": more_samples(case, name, rooms)}  # fmt: skip
        found |= {f"tests.{name}.{key}": value for key, value in (parts | row).items()}
        together += (arriving - cost) * test.samples
    return found | {"left_a_year": together}
