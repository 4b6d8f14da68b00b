"""The pages of the guide: written ones beside this file, and those that are made of the declared tables, fields and rules."""

from __future__ import annotations

from pathlib import Path

PAGES = {
    "first_case": "An hour from an empty folder to a first cost.",
    "tables": "The tables of a case, and what each holds.",
    "dictionary": "What every column may hold: unit, range, meaning, example.",
    "commands": "All commands with their subjects, options and examples.",
    "documents": "Documents, external editions, notebooks.",
    "verification": "What the model was checked against, and what is left to trust.",
    "glossary": "Every input and figure with its unit and meaning.",
    "handbook": "How each figure is computed: rule, equation, units, source, example.",
}


def as_markdown(page: str) -> str:
    """A page of the guide as Markdown.

    >>> as_markdown("tables").splitlines()[0]
    '# The tables of a case'
    """
    from ...case import dictionary
    from ...present import glossary, handbook

    made = {"dictionary": dictionary.as_markdown, "glossary": glossary.as_markdown, "handbook": handbook.as_markdown}
    if page in made:
        return made[page]()
    return (Path(__file__).parent / f"{page}.md").read_text(encoding="utf-8")
