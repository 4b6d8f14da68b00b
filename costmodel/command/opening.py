"""What most commands share: which case they are asked about, with which changes, and how they refuse."""

from __future__ import annotations

import contextlib
import functools
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import click

if TYPE_CHECKING:
    from ..case.whole_case import Case
    from ..model.evaluate import Results


class _Refused(click.ClickException):
    """Something that is refused: printed as it is, exit code 2."""

    exit_code = 2

    def show(self, file=None) -> None:
        """Print the message alone, without the usage that click adds."""
        click.echo(self.message, err=True)


def refuse(message: str) -> NoReturn:
    """End the command with exit code 2 and a message."""
    raise _Refused(message)


@contextlib.contextmanager
def refusing() -> Iterator[None]:
    """Faults are printed and end the command with exit code 2."""
    from ..core.faults import InputFaults

    try:
        yield
    except InputFaults as faults:
        refuse(str(faults))
    except OSError as problem:
        refuse(f"'{problem.filename}' cannot be written or read ({problem.strerror})")


@dataclass(frozen=True)
class Asked:
    """The case a command is asked about: its folder, a scenario, single changes and choices."""

    folder: Path
    scenario: str | None
    changes: Mapping[str, str]
    use: Mapping[str, str]

    def open(self) -> Case:
        """The case with its changes; faults are printed and end the command with exit code 2."""
        from ..core.faults import InputFaults
        from ..model.scenarios import open_case

        try:
            case = open_case(self.folder, self.scenario, self.changes, self.use)
        except InputFaults as faults:
            refuse(str(faults))
        unread = [address for address in self.changes if address.endswith(".installed") and case.target.mode == "sized"]
        if unread:
            click.echo(
                f"Note: {', '.join(unread)} moves nothing, as tools are sized here. Add --set target.mode=frozen to count with "
                "what is installed.",
                err=True,
            )
        return case

    def check(self) -> Case:
        """The case with its changes, after every choice and scenario of its folder has been read too; faults as for `open`."""
        from ..core.faults import InputFaults
        from ..model.checking import folder_faults
        from ..model.scenarios import open_case

        faults = folder_faults(self.folder, self.use)
        try:
            case = open_case(self.folder, self.scenario, self.changes, self.use)
        except InputFaults as problem:
            refuse(str(InputFaults(dict.fromkeys([*faults, *problem.faults]))))
        if faults:
            refuse(str(InputFaults(faults)))
        return case

    def evaluate(self) -> tuple[Case, Results]:
        """The case and its figures."""
        from ..model.evaluate import evaluate

        case = self.open()
        return case, evaluate(case)


def _pairs(option: str, shape: str, written: tuple[str, ...]) -> dict[str, str]:
    """The pairs of an option that may be given again, such as --set ADDRESS=VALUE."""
    from ..core.faults import Fault, InputFaults

    faults, pairs = [], {}
    for text in written:
        name, sign, value = (part.strip() for part in text.partition("="))
        if not sign:
            faults.append(Fault(option, None, None, f"'{text}'", shape))
        elif name in pairs:
            faults.append(Fault(option, None, name, f"'{name}' twice", "each once"))
        pairs[name] = value
    if faults:
        refuse(str(InputFaults(faults)))
    return pairs


def for_a_case(command: Callable[..., None], required: bool = True) -> Callable[..., None]:
    """Give a command the argument CASE and the options that change it; the command receives `Asked`."""

    @click.argument("case", type=click.Path(path_type=Path), required=required)
    @click.option("--scenario", metavar="NAME", help="Apply scenarios/NAME.yaml of the case.")
    @click.option(
        "--use",
        metavar="GROUP=CHOICE",
        multiple=True,
        help="Take another choice of a group of alternatives, as in --use back_contact=aluminium.",
    )
    @click.option(
        "--set",
        "changes",
        metavar="ADDRESS=VALUE",
        multiple=True,
        help="Change one input, as in --set 'prices.silane.price=80 USD/kg'. A number without a unit is in the unit of the table.",
    )
    @functools.wraps(command)
    def asked(case: Path, scenario: str | None, use: tuple[str, ...], changes: tuple[str, ...], **rest: Any) -> None:
        """The command, with what was asked for as one record."""
        command(Asked(case, scenario, _pairs("--set", "ADDRESS=VALUE", changes), _pairs("--use", "GROUP=CHOICE", use)), **rest)

    return asked


def as_program(command: Callable[..., None]) -> Callable[..., None]:
    """Give a command --json and --csv; the command receives the style, or an empty text for people."""

    @click.option("--json", "as_json", is_flag=True, help="Print every figure as JSON: address, value, unit.")
    @click.option("--csv", "as_csv", is_flag=True, help="Print every figure as CSV: address, value, unit, meaning.")
    @functools.wraps(command)
    def styled(asked: Asked, as_json: bool, as_csv: bool, **rest: Any) -> None:
        """The command, with the form of its output as a word."""
        if as_json and as_csv:
            refuse("--json and --csv: found both; allowed: one of them")
        command(asked, style="json" if as_json else "csv" if as_csv else "", **rest)

    return styled
