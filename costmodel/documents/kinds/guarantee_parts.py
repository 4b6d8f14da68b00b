"""The guarantees that the terms state: level, test, damages and cap, as both sides may see them."""

from __future__ import annotations

from ...present.numbers import many, named, stated, typeset
from .blocks import Block, Facts, table, words
from .deal_parts import amount, share, when


def guaranteed_blocks(facts: Facts) -> list[Block]:
    """Tables of the guarantees that are offered, and the cap over all; nothing where the terms state none."""
    return [*_power(facts), *_rates(facts), *_dates(facts), *_of_all(facts)]


def _power(facts: Facts) -> list[Block]:
    """The guaranteed powers."""
    if not facts.get("guaranteed"):
        return []
    rows = [
        [each["title"], f"{stated(each['power'])}\xa0W", _test(each), _damages(each), _rejected(each), when(each["time"])]
        for each in facts["guaranteed"]
    ]
    columns = ["guaranteed", "level", "test", "where it is missed", "rejection", "tested"]
    note = "Damages are paid once, at the acceptance test, by the shortfall in percent of the level."
    return [table("Guaranteed levels and damages", columns, rows, note, texts=(0, 1, 2, 3, 4, 5))]


def _test(row: Facts) -> str:
    """How the level is tested."""
    off = f"; less {stated(row['coverage'])} times the standard uncertainty" if row["coverage"] else ""
    return f"mean of a random sample of {stated(row['sample'])} modules{off}; {_who(row)}"


def _who(row: Facts) -> str:
    """Who measures, and who pays.

    >>> _who({"measured_by": "licensee", "test_share": 0.0}), _who({"measured_by": "both", "test_share": 0.5})
    ('measured by: licensee; the licensee pays', 'measured by: both; the licensor pays 50 %')
    """
    ours = row["test_share"]
    paid = f"the licensor pays {share(ours)}" if 0 < ours < 1 else f"the {'licensor' if ours else 'licensee'} pays"
    return f"measured by: {row['measured_by']}; {paid}"


def _rejected(row: Facts) -> str:
    """The minimum acceptance, and what is paid below it."""
    if not row["rejection"]:
        return "none"
    return f"below {share(row['minimum'])}: {amount(row['rejection'], row['currency'])}"


def _damages(row: Facts) -> str:
    """What is paid for a shortfall."""
    return f"{amount(row['damages'] / 100, row['currency'])} per percent short, at most {amount(row['cap'], row['currency'])}"


def _rates(facts: Facts) -> list[Block]:
    """Guaranteed throughput, yield, uptime and consumption."""
    if not facts.get("promised"):
        return []
    rows = [
        [each["title"], f"{each['bound']} {stated(each['level'])}\xa0{typeset(each['unit'])}", _run(each), _beyond(each),
         _rejected(each), when(each["time"])]
        for each in facts["promised"]
    ]  # fmt: skip
    columns = ["guaranteed", "level", "test", "where it is missed", "right to reject", "tested"]
    note = (
        "Damages are paid by the shortfall in percent of the level. Acceptance is refused by the level reached over the level "
        "guaranteed, of a consumption the other way round. One shortfall pays once."
    )
    return [table("Guaranteed rates and damages", columns, rows, note, texts=(0, 1, 2, 3, 4, 5))]


def _beyond(row: Facts) -> str:
    """What is paid for a shortfall, or only for what another row does not pay for."""
    return _damages(row) + (f"; only beyond a shortfall under “{row['under']}”" if row["under"] else "")


def _run(row: Facts) -> str:
    """How a rate is tested, and who pays."""
    tests = f"mean of {many(round(row['tests']), 'test')} of {many(round(row['days']), 'day')}"
    return f"{tests}; {_who(row)}"


def _dates(facts: Facts) -> list[Block]:
    """Guaranteed dates."""
    if not facts.get("promised_dates"):
        return []
    rows = [
        [each["title"], when(each["time"]), f"{stated(round(each['grace'] * 365, 6))} days",
         f"{amount(each['damages'], each['currency'])} per week, at most {amount(each['cap'], each['currency'])}",
         f"{stated(round(each['latest'] * 12, 6))} months late: {amount(each['rejection'], each['currency'])}"]
        for each in facts["promised_dates"]
    ]  # fmt: skip
    columns = ["guaranteed", "date", "grace", "where it is missed", "right to withdraw"]
    return [table("Guaranteed dates and damages", columns, rows, texts=(0, 1, 2, 3, 4))]


def _of_all(facts: Facts) -> list[Block]:
    """The cap over all guarantees, and which of them have a retest, in a paragraph."""
    about = "All damages under guarantees together are at most"
    said = [f"{about} {amount(each['amount'], each['currency'])}." for each in facts.get("promised_cap") or []]
    rows = [*(facts.get("guaranteed") or []), *(facts.get("promised") or [])]
    having = [f"“{row['title']}”" for row in rows if row["retest"]]
    if having:
        which = "" if len(having) == len(rows) else f" under {named(having)}"
        said.append(f"After a miss{which} the licensor pays for mending and a retest; if that is passed, nothing else is due.")
    return [words(" ".join(said))] if said else []
