"""What most commands share: which case they are asked about, with which changes, and how they refuse."""

from __future__ import annotations

import contextlib
import functools
import os
import shlex
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import click

from .screen import show_line

if TYPE_CHECKING:
    from ..case.whole_case import Case
    from ..model.evaluate import Results


class _Refused(click.ClickException):
    """Something that is refused: printed as it is, exit code 2."""

    exit_code = 2

    def show(self, file=None) -> None:
        """Print the message alone, without the usage that click adds."""
        from ..core.faults import visible

        for line in visible(self.message).split("\n"):
            show_line(line, err=True)


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
        refuse(of_file(problem))


def of_file(problem: OSError, option: str = "") -> str:
    """Which file cannot be written or read, and why."""
    from ..core.whole_files import WrongPlace

    before = f"{option}: " if option else ""
    if isinstance(problem, WrongPlace):
        return f"{before}found '{problem.filename}', {problem.strerror}"
    if problem.filename is None:
        return f"{before}found a file that cannot be written or read ({problem}); allowed: a file that can"
    return f"{before}found '{problem.filename}', which cannot be written or read ({problem.strerror}); allowed: a file that can"


@contextlib.contextmanager
def writing(option: str) -> Iterator[None]:
    """An output file that cannot be written is named with its option and the cause, and ends the command with exit code 2."""
    try:
        yield
    except OSError as problem:
        refuse(of_file(problem, option))


class OutFile(click.Path):
    """A file to be written: a place where none may be is refused before anything is computed."""

    def __init__(self, kept: bool = False, begins: bytes = b""):
        super().__init__(path_type=Path, dir_okay=False)
        self.kept = kept  # draws, which their reader checks
        self.begins = begins  # how a file begins that may be the very same: it is compared when it would be written

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """The path, if a file of ours may be there."""
        from ..core.whole_files import check_place

        path = Path(os.fsdecode(super().convert(value, param, ctx)))
        with writing(param.opts[0] if param else "a file"):
            known = bool(self.begins) and path.is_file() and path.read_bytes().startswith(self.begins)
            check_place(path, own=self.kept or known)
        return path


@dataclass(frozen=True)
class Asked:
    """The case a command is asked about: its folder, a scenario, single changes, choices, a round of the deal; and on which day."""

    folder: Path
    scenario: str | None
    changes: Mapping[str, str]
    use: Mapping[str, str]
    round_name: str | None = None
    day: str | None = None
    names_round: bool = False  # whether the round was named, as against our newest offer

    @property
    def terms(self) -> str:
        """The version of the deal that is asked about: a round by its name, or the draft."""
        from ..case.deal_rounds import DRAFT

        return self.round_name or DRAFT

    @property
    def again(self) -> str:
        """The folder and the options that open the same case again, as they are typed.

        >>> Asked(Path("my case"), "dear", {"site.crews": "3"}, {}, "1_offer").again
        "'my case' --scenario dear --set site.crews=3 --round 1_offer"
        """
        single = [("--use", f"{group}={choice}") for group, choice in self.use.items()]
        single += [("--set", f"{address}={value}") for address, value in self.changes.items()]
        given = [("--scenario", self.scenario or ""), *single, ("--round", self.round_name or "")]
        return shlex.join([str(self.folder), *(word for option, value in given if value for word in (option, value))])

    @functools.cached_property
    def case(self) -> Case:
        """The case with its changes, opened once; faults are printed and end the command with exit code 2."""
        from ..case.usual_ranges import far_from_usual
        from ..model.scenarios import open_case

        with refusing():
            case = open_case(self.folder, self.scenario, self.changes, self.use, terms=self.terms)
        sized = case.target.mode == "sized"
        unread = [address for address in self.changes if address.endswith(".installed") and sized]
        if unread:
            show_line(
                f"Note: {', '.join(unread)} moves nothing, as tools are sized here. Add --set target.mode=frozen to count with "
                "what is installed.",
                err=True,
            )
        for odd in far_from_usual(case, self.changes) if self.changes else ():
            show_line(f"Looks odd: {odd}.", err=True)
        return case

    @property
    def results(self) -> Results:
        """Its figures."""
        from ..model.evaluate import evaluate

        return evaluate(self.case)

    def check(self) -> Case:
        """The case with its changes, after every choice and scenario of its folder has been read too; faults as for `open`."""
        from ..case.read_once import files_read_once
        from ..core.faults import InputFaults
        from ..model.checking import folder_faults
        from ..model.scenarios import open_case

        with files_read_once():
            faults = folder_faults(self.folder, self.use)
            try:
                case = open_case(self.folder, self.scenario, self.changes, self.use, terms=self.terms)
            except InputFaults as problem:
                refuse(str(InputFaults(dict.fromkeys([*faults, *problem.faults]))))
        if faults:
            refuse(str(InputFaults(faults)))
        return case


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


CASE = click.Argument(["case"], type=click.Path(path_type=Path))
CASE_OPTIONS = (
    click.Option(["--scenario"], metavar="NAME", help="Apply scenarios/NAME.yaml of the case."),
    click.Option(
        ["--use"],
        metavar="GROUP=CHOICE",
        multiple=True,
        help="Take another choice of a group of alternatives, as in --use back_contact=aluminium.",
    ),
    click.Option(
        ["--set", "changes"],
        metavar="ADDRESS=VALUE",
        multiple=True,
        help="Change one input, as in --set 'prices.silane.price=80 USD/kg'. A number without a unit is in the unit of the table.",
    ),
    click.Option(
        ["--round", "round_name"],
        metavar="NAME",
        help="Take the terms of rounds/NAME.yaml; `draft`: those of deal.yaml. Without it, deal, report and release take our "
        "newest offer that holds, other commands the draft.",
    ),
)


def asked_for(given: dict[str, Any]) -> Asked:
    """The case that is asked about, from what stands on the command line; its parts are taken out of `given`."""
    changes, use = (
        _pairs(*words) for words in (("--set", "ADDRESS=VALUE", given.pop("changes")), ("--use", "GROUP=CHOICE", given.pop("use")))
    )
    return Asked(given.pop("case"), given.pop("scenario"), changes, use, given.pop("round_name"))


def for_a_case(command: Callable[..., None], required: bool = True) -> Callable[..., None]:
    """Give a command the argument CASE and the options that change it; the command receives `Asked`."""

    @functools.wraps(command)
    def asked(**given: Any) -> None:
        """The command, with what was asked for as one record."""
        command(asked_for(given), **given)

    case = CASE if required else click.Argument(["case"], type=click.Path(path_type=Path), required=False)
    own = getattr(command, "__click_params__", [])
    asked.__click_params__ = [*own, *reversed(CASE_OPTIONS), case]  # type: ignore[attr-defined]  # where click's decorators keep them
    return asked


def for_a_case_or_none(command: Callable[..., None]) -> Callable[..., None]:
    """The same with CASE left to choice; the command receives None without it, and a change without a case is refused."""

    @functools.wraps(command)
    def asked(**given: Any) -> None:
        """The command, with what was asked for as one record, or nothing."""
        options = {"--scenario": given["scenario"], "--set": given["changes"], "--use": given["use"]}
        words = [name for name, value in options.items() if value]
        if given["case"] is None and words:
            refuse(f"{words[0]}: found it without CASE; allowed: with a case")
        found = asked_for(given)
        command(found if found.folder else None, **given)

    case = click.Argument(["case"], type=click.Path(path_type=Path), required=False)
    own = getattr(command, "__click_params__", [])
    asked.__click_params__ = [*own, *reversed(CASE_OPTIONS), case]  # type: ignore[attr-defined]  # where click's decorators keep them
    return asked


def as_record(record: type[Any]) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Hand a command those of its options that a record has fields for as that record, `options`."""

    def taken(command: Callable[..., Any]) -> Callable[..., Any]:
        """The command, which receives the record."""

        @functools.wraps(command)
        def called(*words: Any, **given: Any) -> Any:
            """The command, with its options as one record."""
            own = {each.name: given.pop(each.name) for each in fields(record)}
            return command(*words, options=record(**own), **given)

        return called

    return taken
