"""The glossary: every input and figure with its unit and meaning, by subject, made from the declared fields of the records."""

from __future__ import annotations

import dataclasses
import re
import typing
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from ..case.whole_case import tables
from ..core.fields import STATUS, Figure, Number, declared
from ..model.evaluate import STAGES, Results

SUBJECTS = {
    "line": "The line",
    "ledger": "Costs",
    "market": "Markets",
    "plan": "The plan",
    "deal": "The deal",
    "range": "Uncertainty",
}
# records of another name than their stage
_SUBJECT_OF_RECORDS = {
    "cost": "ledger", "power_class": "line", "warranty": "line", "guarantee": "deal", "service": "deal",
    "transfer": "deal", "laboratory": "deal", "supplied": "deal",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Term:
    """A term as one subject uses it: its name, unit and meaning, and the addresses of what bears it."""

    subject: str
    name: str
    unit: str
    meaning: str
    addresses: tuple[str, ...]


def terms() -> list[Term]:
    """Every term by subject and name; what several records call by one name, in one unit and meaning, is one term.

    >>> found = next(term for term in terms() if term.name == "process time" and "steps.*.process_time" in term.addresses)
    >>> found.subject, found.unit, found.addresses
    ('line', 's', ('steps.*.process_time',))
    """
    found: dict[tuple[str, str, str, str], list[str]] = {}
    for subject, address, unit, meaning in (*_inputs(), *_figures()):
        name = re.sub(r"(\.\*)+$", "", address).rpartition(".")[2]
        found.setdefault((subject, name.replace("_", " "), unit, meaning), []).append(address)
    order = list(SUBJECTS)
    made = [Term(*term, addresses=tuple(addresses)) for term, addresses in found.items()]
    return sorted(made, key=lambda term: (order.index(term.subject), term.name))


def _inputs() -> Iterator[tuple[str, str, str, str]]:
    """Subject, address, unit and meaning of every number of a case; `*` stands for the id of a row."""
    for name, table in tables().items():
        records = table.record.__module__.rpartition(".")[2].removesuffix("_records")
        for column, declaration in declared(table.record).items():
            if isinstance(declaration, Number):
                address = f"{name}.{column}" if table.section else f"{name}.*.{column}"
                unit = declaration.example.partition(" ")[2] or declaration.entry
                yield _SUBJECT_OF_RECORDS.get(records, records), address, unit, declaration.meaning


def _figures() -> Iterator[tuple[str, str, str, str]]:
    """The same of every figure, statuses apart."""
    for stage, hint in zip(STAGES, typing.get_type_hints(Results).values()):
        for address, declaration in _below(hint, stage):
            if not address.endswith(STATUS):
                yield stage, address, declaration.unit, declaration.meaning


def _below(hint: Any, path: str) -> Iterator[tuple[str, Figure]]:
    """Every declared figure below a type: a record, rows of records by name, or one of these that may be absent."""
    parts = typing.get_args(hint)
    if isinstance(hint, type) and dataclasses.is_dataclass(hint):
        hints = typing.get_type_hints(hint)
        for field in dataclasses.fields(hint):
            declaration = declared(hint).get(field.name)
            if isinstance(declaration, Figure):
                yield f"{path}.{field.name}{_rows(hints[field.name])}", declaration
            elif declaration is None:
                yield from _below(hints[field.name], f"{path}.{field.name}")
    elif typing.get_origin(hint) is dict:
        yield from _below(parts[1], f"{path}.*")
    else:
        for part in parts:
            yield from _below(part, path)


def _rows(hint: Any) -> str:
    """What follows an address whose figure is a mapping of values: `.*` for each name on the way to one."""
    is_rows = isinstance(typing.get_origin(hint), type) and issubclass(typing.get_origin(hint), Mapping)
    return f".*{_rows(typing.get_args(hint)[1])}" if is_rows else ""


def shown_unit(unit: str) -> str:
    """A unit as people write it: m² and not m2, a dot between factors.

    >>> shown_unit("{currency}/m2"), shown_unit("s*tool/load")
    ('currency/m²', 's·tool/load')
    """
    plain = re.sub(r"\b(m|cm|mm)([23])\b", lambda found: found[1] + {"2": "²", "3": "³"}[found[2]], re.sub(r"[{}]", "", unit))
    return plain.replace("*", "·")


def as_markdown() -> str:
    """The glossary as a page: a section for each subject, a table in it."""
    lines = [
        "# Glossary",
        "",
        "Every input and figure with its unit and meaning. `*` in an address stands for a name: of a step, a tool, an item, a "
        "quarter. The unit 1 is a plain number. `money` is the reporting currency; `currency`, `unit` and `per` are what the row "
        "states. A figure that may have no value has a status beside it, whose name ends in `_status` and which gives the reason.",
    ]
    subject = ""
    for term in terms():
        if term.subject != subject:
            subject = term.subject
            lines += ["", f"## {SUBJECTS[subject]}", "", "| term | unit | meaning | address |", "|---|---|---|---|"]
        addresses = ", ".join(f"`{address}`" for address in term.addresses)
        lines.append(f"| {term.name} | {shown_unit(term.unit)} | {term.meaning} | {addresses} |")
    return "\n".join(lines) + "\n"
