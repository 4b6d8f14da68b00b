"""The records of the licensor's laboratory, which are also their schema: its price list, what a test takes, what there is of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ..core.fields import number, reference, share, text, unit_text
from ..core.operations import Value


@dataclass(frozen=True, slots=True)
class LaboratoryTest:
    """A test of the price list, and how many samples a month the licensee orders while its yearly service runs.

    The price list takes the place of a flat price: a yearly service that has tests states 0 as its price and its cost. Prices and
    consumables change from year to year as the service does.
    """

    title: str = text("what is tested", example="damp heat, 1,000 hours")
    service: str = reference("the yearly service that it belongs to", "yearly_services", example="analysis")
    price: Value = number("{currency}/sample", "what the licensee pays for a sample", example="450")
    consumables: Value = number("{currency}/sample", "what the licensor uses up for a sample", example="35")
    currency: str = unit_text("currency of the row", example="EUR")
    samples: Value = number("sample/s", "samples that this licensee orders", example="12", entry="sample/month")


@dataclass(frozen=True, slots=True)
class LaboratoryWork:
    """What a sample of a test takes of the laboratory: hours of an instrument, and of the people at it.

    A test that needs several instruments has a row for each.
    """

    test: str = reference("test", "laboratory_tests", example="damp_heat")
    equipment: str = reference("the instrument", "laboratory_equipment", example="climate_chamber")
    equipment_hours: Value = number("s/sample", "time of the instrument for a sample", example="20", entry="h/sample", above=0.0)
    staff: str = reference("who works at it", "laboratory_staff", example="testers")
    staff_hours: Value = number("s/sample", "working time for a sample", example="1.5", entry="h/sample", above=0.0)


@dataclass(frozen=True, slots=True)
class LaboratoryEquipment:
    """An instrument of the laboratory, or several alike: hours a month, and the full cost of an hour."""

    title: str = text("the instrument", example="climate chamber")
    hours: Value = number(
        "1", "hours a month that it can be used, several alike added up", example="600", entry="h/month", above=0.0
    )
    promised: Value = share("part of them that is promised to others", example="55 %")
    hour_cost: Value = number("{currency}/s", "full cost of an hour, without people", example="9", entry="{currency}/h")
    currency: str = unit_text("currency of the cost", example="EUR")


@dataclass(frozen=True, slots=True)
class LaboratoryStaff:
    """People of the laboratory. Their cost follows the day of their role in transfer_resources.csv.

    Their hours are kept for the laboratory: they come besides the days of that role that are free for transfers.
    """

    title: str = text("who they are", example="people at the testers")
    role: str = reference("the role whose cost they have", "transfer_resources", example="test")
    working_day: Value = number("1", "hours of work in a day of that role", example="8", entry="h/day", above=0.0, high=1.0)
    hours: Value = number(
        "1", "hours a month kept for the laboratory, all people added up", example="160", entry="h/month", above=0.0
    )
    promised: Value = share("part of them that is promised to others", example="40 %")


def tests_of(tests: Mapping[str, LaboratoryTest], service: str) -> dict[str, LaboratoryTest]:
    """The tests that belong to a yearly service.

    >>> tests_of({"peel": LaboratoryTest("", "analysis", 1.0, 0.0, "EUR", 1.0)}, "research")
    {}
    """
    return {name: row for name, row in tests.items() if row.service == service}


def work_on(work: Mapping[str, LaboratoryWork], test: str) -> list[LaboratoryWork]:
    """What a sample of a test takes, instrument by instrument.

    >>> work_on({"a": LaboratoryWork("peel", "tester", 60.0, "people", 60.0)}, "flash")
    []
    """
    return [row for row in work.values() if row.test == test]
