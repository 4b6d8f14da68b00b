"""Blocks of a case in a notebook: sentences, tables, and charts that a browser saves."""

from __future__ import annotations

from collections.abc import Mapping

from IPython.display import HTML, display

from ..core import lean_imports  # noqa: F401  (first: see there)
from ..documents.case_blocks import Block
from ..documents.show import block_html
from ..present.drawing import Chart
from .pictures import show_picture

_LOOK = "<style>.shown p.headline, .shown p.story { font-weight: 600 } .shown p.note { color: #666 }</style>"


def show_blocks(blocks: Mapping[str, Block]) -> None:
    """Show blocks by name, one below the other; an empty one shows nothing."""
    for name, block in blocks.items():
        if block.get("kind") == "chart":
            show_picture(Chart(block["figure"]), name)
        elif block:
            display(HTML(f'{_LOOK}<div class="shown">{block_html(block)}</div>'))
