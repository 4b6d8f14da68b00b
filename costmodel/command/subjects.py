"""Commands that answer one question about a case first, and the rest by subject: `costmodel line CASE bottlenecks`."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import click
from click.core import ParameterSource

from .answering import EVERYTHING, PLAIN, STYLES, View, show_views, style_of
from .opening import CASE, CASE_OPTIONS, Asked, OutFile, asked_for, refuse

Maker = Callable[..., View | list[View]]


def option(*names: str, **settings: Any) -> click.Option:
    """An option of a subject; its default is shown where it has one."""
    return click.Option(names, show_default="default" in settings, **settings)


CHART = option("--chart", type=OutFile(), help="Write the chart to this HTML file, which opens offline.")


@dataclass(frozen=True)
class Subject:
    """One view of a command, made from the case that is asked about and from options of its own."""

    make: Maker
    options: tuple[click.Option, ...]

    @property
    def help(self) -> str:
        """What it answers, in a sentence."""
        return (self.make.__doc__ or "").splitlines()[0]

    def views(self, asked: Asked, given: dict[str, Any]) -> list[View]:
        """What it answers about a case."""
        found = self.make(asked, **{str(each.name): given[str(each.name)] for each in self.options})
        return found if isinstance(found, list) else [found]


class SubjectCommand(click.Command):
    """A command with an answer and subjects; `stage` names the figures that --json and --csv print of it without a subject."""

    def __init__(self, name: str, stage: str = ""):
        self.stage, self.subjects = stage, dict[str, Subject]()
        super().__init__(name, params=[CASE, click.Argument(["subject"], required=False), *CASE_OPTIONS, EVERYTHING, *STYLES])

    def answer(self, *options: click.Option) -> Callable[[Maker], Maker]:
        """Register what the command says without a subject; its docstring is the help of the command."""
        return self.subject("", *options)

    def subject(self, name: str, *options: click.Option) -> Callable[[Maker], Maker]:
        """Register one more subject; its docstring is the help of the subject."""

        def keep(make: Maker) -> Maker:
            """The maker as it is, known under its name now."""
            self.subjects[name] = Subject(make, options)
            self.params += [each for each in options if each not in self.params]
            self.help = self.help or make.__doc__
            return make

        return keep

    @property
    def names(self) -> list[str]:
        """The subjects by name, but for the answer."""
        return [name for name in self.subjects if name]

    def collect_usage_pieces(self, ctx: click.Context) -> list[str]:
        """The usage, in which a subject may be left out."""
        return ["CASE", "[SUBJECT]", "[OPTIONS]"]

    def format_options(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The subjects, the options of each, and those of all of them."""
        with formatter.section("Subjects"):
            formatter.write_dl([(name, self.subjects[name].help) for name in self.names])
        groups: dict[str, list[tuple[str, str]]] = {}
        for each in self.params:
            record = each.get_help_record(ctx)
            if record is not None and isinstance(each, click.Option):
                groups.setdefault(" and ".join(_shown(self._with(each))), []).append(record)
        general = groups.pop("", [])
        help_option = self.get_help_option(ctx)
        for names, records in groups.items():
            with formatter.section(f"Options with {names}"):
                formatter.write_dl(records)
        with formatter.section("Options"):
            shown = help_option.get_help_record(ctx) if help_option else None
            formatter.write_dl([*general, *([shown] if shown else [])])

    def invoke(self, ctx: click.Context) -> None:
        """Print the answer, or the subject that is asked for."""
        given = dict(ctx.params)
        name, everything = given.pop("subject") or "", given.pop("everything")
        style = style_of(given.pop("as_json"), given.pop("as_csv"), given.pop("as_plain"))
        self._check_subject(name)
        exact = style not in ("", PLAIN) and not name and bool(self.stage)  # every figure of the stage
        shown = list(self.subjects) if everything and not name and style in ("", PLAIN) else [name]
        self._check_options(ctx, shown)
        asked = self.asked(given)
        if exact:
            self._show_stage(ctx, asked, style)
            return
        views = [view for each in shown for view in self._views(each, asked, given)]
        show_views(views, style, everything, [] if name else self.names)

    def _views(self, name: str, asked: Asked, given: dict[str, Any]) -> list[View]:
        """What a subject answers; a file that it writes is taken out of `given`, so that no further subject writes over it."""
        subject = self.subjects[name]
        found = subject.views(asked, given)
        given |= {str(each.name): None for each in subject.options if isinstance(each.type, OutFile)}
        return found

    def asked(self, given: dict[str, Any]) -> Asked:
        """What is asked about, from what stands on the command line; its parts are taken out of `given`."""
        return asked_for(given)

    def _with(self, param: click.Parameter) -> list[str]:
        """The subjects that an option belongs to; none where it belongs to all."""
        return [name for name, subject in self.subjects.items() if param in subject.options]

    def _check_subject(self, name: str) -> None:
        from ..core.faults import nearest

        if name not in self.subjects:
            refuse(f"{self.name}: found the subject '{name}'; allowed: {', '.join(self.names)}{nearest(name, self.names)}")

    def _check_options(self, ctx: click.Context, shown: list[str]) -> None:
        """Refuse an option of a subject that is not shown."""
        for param in self.params:
            own = self._with(param)
            given = ctx.get_parameter_source(str(param.name)) is not ParameterSource.DEFAULT
            if own and given and not set(own) & set(shown):
                found = f"with the subject '{shown[0]}'" if shown[0] else "without a subject"
                refuse(f"{param.opts[0]}: found {found}; allowed: with {', '.join(_shown(own))}")

    def _show_stage(self, ctx: click.Context, asked: Asked, style: str) -> None:
        """Print all figures of the stage for programs."""
        from .printing import show_figures

        for param in self.params:
            if self._with(param) and ctx.get_parameter_source(str(param.name)) is not ParameterSource.DEFAULT:
                refuse(f"{param.opts[0]}: found with --{style}; allowed: without it, as --{style} prints all figures")
        show_figures(asked.results, asked.case.currency, self.stage, style)


def _shown(names: list[str]) -> list[str]:
    """Subjects as a sentence names them."""
    return [name or "the answer" for name in names]
