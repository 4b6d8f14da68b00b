"""The share of a plate that generates power, from the geometry of its cells; the line and the summary of a case read it."""

from __future__ import annotations

from ..core.operations import Value
from .line_records import Cells


def share_of_cells(length: Value, width: Value, cells: Cells) -> Value:
    """Share of the plate area that generates power; both sides in m. Geometry.

    Inside the deleted edge, N cells in series leave N - 1 scribe sets dead, and each of two busbars covers its width.
    A plate of 1 m x 0.5 m, edges of 10 mm, 40 cells, 0.25 mm dead, busbars of 5 mm: 0.98 x (0.48 - 0.00975 - 0.01) / 0.5.

    >>> round(share_of_cells(1.0, 0.5, Cells(0.01, "length", 40.0, 0.00025, 0.005)), 6)
    0.90209
    """
    along, across = (length, width) if cells.lines_along == "length" else (width, length)
    return (along - 2 * cells.edge_width) * (across - dead_width(cells)) / (along * across)


def dead_width(cells: Cells) -> Value:
    """Width across the cells that generates no power: edges, scribe sets, busbars.

    >>> round(dead_width(Cells(0.01, "length", 41.0, 0.00025, 0.005)), 6)
    0.04
    """
    return 2 * cells.edge_width + (cells.cell_count - 1) * cells.dead_width + 2 * cells.busbar_width
