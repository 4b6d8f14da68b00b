"""The content of a report as named blocks of plain data: the report's notebook receives these and computes nothing."""
from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from .. import __version__
from ..case.fingerprint import fingerprint
from ..case.records import Case
from ..model import Results
from . import charts, sentences, tables

Block = dict[str, Any]


def _text(words: str) -> Block:
    return {"kind": "text", "text": words}


def _list(items: tuple[str, ...]) -> Block:
    return {"kind": "list", "items": list(items)}


def _chart(figure, says: str) -> Block:
    """A chart with the words that a reader gets who cannot see it."""
    figure.update_layout(meta={"says": says})
    return {"kind": "chart", "figure": json.loads(figure.to_json()), "says": says}


def build_bundle(case: Case, results: Results, made_on: str) -> dict[str, Block]:
    """All blocks of the report of one case by name; `made_on` is the date that the report bears."""
    words = {name: getattr(sentences, name)(case, results)
             for name in ("headline", "volume", "dearest", "bottleneck", "losses")}
    return {
        "title": _text(case.title), "story": _text(case.story), "evidence": _text(sentences.evidence(case)),
        **{name: _text(text) for name, text in words.items()},
        "key_figures": tables.key_figures(case, results).as_block(),
        "cost_stack": _chart(charts.cost_stack(case, results), f"Cost per square metre by step and kind. {words['dearest']}"),
        "route_curve": _chart(charts.route_curve(case, results), "What a plate has cost after each step of the route."),
        "loss_bars": _chart(charts.loss_bars(case, results), words["losses"]),
        "loading_bars": _chart(charts.loading_bars(case, results), words["bottleneck"]),
        "by_category": tables.basis_table(case, results).as_block(),
        "by_group": tables.group_table(case, results).as_block(),
        "matrix_watt": tables.matrix_table(case, results, "stabilised_watt").as_block(),
        "matrix_m2": tables.matrix_table(case, results, "m2").as_block(),
        "route": tables.route_table(case, results).as_block(),
        "tools": tables.tool_table(case, results).as_block(),
        "flow": tables.flow_table(case, results.line).as_block(),
        "films": tables.film_table(case, results).as_block(),
        "inputs": {"kind": "tables", "tables": [table.as_block() for table in tables.input_tables(case)]},
        "cautions": _list(sentences.CAUTIONS), "conventions": _list(sentences.CONVENTIONS),
        "origin": _text(f"Case “{case.name}”, fingerprint {fingerprint(case)}. Made on {made_on} with costmodel {__version__}."),
    }


def write_bundle(bundle: dict[str, Block], path: Path) -> None:
    """Keep the blocks as a JSON file for the notebook."""
    path.write_text(json.dumps(bundle), encoding="utf-8")
