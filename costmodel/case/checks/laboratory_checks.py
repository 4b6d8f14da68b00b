"""Checks of the laboratory: a yearly service is priced once, and each test says what it takes."""

from __future__ import annotations

import numpy as np

from ..laboratory_records import tests_of, work_on
from ..whole_case import Case
from .frame_checks import Found, Unread, where_read


def services_are_priced_once(case: Case, unread: Unread) -> Found:
    """A yearly service with tests has its price and its cost by them: it states 0 of its own."""
    for identity, row in case.yearly_services.items():
        with where_read():
            if not (listed := tests_of(case.laboratory_tests, identity)):
                continue
            for column in ("price", "cost"):
                value = getattr(row, column)
                if np.any(value != 0):
                    found = f"a {column} above 0, while laboratory_tests.csv has {', '.join(listed)} for it"
                    yield "yearly_services", identity, column, found, "0: the price list takes its place; or no tests for it"


def tests_have_work(case: Case, unread: Unread) -> Found:
    """Each test of the price list says what a sample takes, where the case knows the laboratory and not the price list alone."""
    known = (case.laboratory_work, case.laboratory_equipment, case.laboratory_staff)
    if "laboratory_work" in unread or not any(known):
        return
    for identity in case.laboratory_tests:
        with where_read():
            if not work_on(case.laboratory_work, identity):
                allowed = "a row of laboratory_work.csv for it, with instrument and people"
                yield "laboratory_tests", identity, "id", f"'{identity}', of which nothing says what a sample takes", allowed
