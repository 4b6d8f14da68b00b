"""Which version of a deal a command is asked about: a named round, else our newest offer that holds on a day."""

from __future__ import annotations

import dataclasses
import datetime

import click

from .opening import Asked, refuse, refusing
from .screen import show_line

_HELP = "The day on which an offer must hold, as 2026-11-25.  [default: today]"
ON = click.Option(["--on", "day"], metavar="DATE", help=_HELP)
with_day = click.option("--on", "day", metavar="DATE", help=_HELP)


def as_offered(asked: Asked, day: str | None) -> Asked:
    """The same, about our newest round that holds on a day where no round is named; the draft in deal.yaml where none does."""
    from ..case.deal_rounds import offer_on

    on = day_of(day)
    with refusing():
        name = asked.round_name or offer_on(asked.folder, on)
        return dataclasses.replace(asked, round_name=name, day=on, names_round=asked.round_name is not None)


def day_of(written: str | None) -> str:
    """A day as it is written, or today; anything else is refused."""
    if written is None:
        return datetime.date.today().isoformat()
    try:
        return datetime.date.fromisoformat(written).isoformat()
    except ValueError:
        refuse(f"--on: found '{written}'; allowed: a day, as 2026-11-25")


def note_terms(asked: Asked, *figures: str) -> None:
    """Say which terms figures of plan and deal have, where they are the draft's and our newest offer has others."""
    from ..case.deal_rounds import DRAFT, offer_on
    from ..case.differences import same_inputs
    from ..model.scenarios import open_case

    if asked.round_name or not any(figure.startswith(("plan", "deal")) for figure in figures):
        return
    with refusing():
        name = offer_on(asked.folder, day_of(None))
        offered = None if name == DRAFT else open_case(asked.folder, asked.scenario, asked.changes, asked.use, terms=name)
    if offered is not None and not same_inputs(asked.case, offered):
        taken = f"our newest offer has others, which --round {name} takes"
        show_line(f"Note: the terms are those of the draft in deal.yaml; {taken}.", err=True)
