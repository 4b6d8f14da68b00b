"""For whom an external edition is made, and the folder in which the user keeps what went out to each."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from .opening import refuse, refusing
from .screen import show_line

if TYPE_CHECKING:
    from ..documents.editions.sent_before import Recipient


def with_recipient(command: Any) -> Any:
    """The two options that say to whom an edition goes; both or neither."""
    for option in (
        click.option(
            "--sent",
            type=click.Path(path_type=Path, file_okay=False),
            metavar="FOLDER",
            help="Your folder, outside of the case, that keeps what went out to each recipient. It is internal.",
        ),
        click.option(
            "--recipient",
            metavar="NAME",
            help="To whom it goes: what went out to NAME before is counted, and this edition is recorded. Requires --sent.",
        ),
    ):
        command = option(command)
    return command


def recipient_of(name: str | None, sent: Path | None) -> Recipient | None:
    """The recipient that a command is given; None without one."""
    if (name is None) != (sent is None):
        found, lacks = ("--recipient", "--sent") if sent is None else ("--sent", "--recipient")
        refuse(f"{found}: found it without {lacks}; allowed: with both, or neither")
    if name is None or sent is None:
        return None
    from ..core.whole_files import case_around
    from ..documents.editions.sent_before import Recipient

    if (case := case_around(sent / "any")) is not None:
        refuse(f"--sent: found '{sent}', a place in the folder of the case {case.name}; allowed: a folder outside of it")
    with refusing():
        return Recipient(name, sent)


def show_earlier(recipient: Recipient, count: int, notes: list[str], recorded: bool) -> None:
    """Say how many editions are counted, what of them cannot be, and what a record holds."""
    show_line(f"{recipient.name}: {count or 'no'} earlier edition{'s' if count != 1 else ''} in {recipient.place}.", err=True)
    for note in notes:
        show_line(f"Look at this: {note}.", err=True)
    if recorded:
        show_line("This edition is recorded there with the inputs it was made of. Keep that folder inside.", err=True)
