"""A published project of fourteen tasks, through the functions that the schedule of a transfer is computed by."""

from __future__ import annotations

from ...case.transfer_records import START, TransferTask
from ...core.operations import normal_cdf
from ...model.plan.transfer import expected_duration, expected_paths, last_of, windows
from .agreement import Published

SUBJECT = "project"
SOURCE = "Hillier and Lieberman, Introduction to Operations Research, building project with three estimates"
NOTE = "recalled, not looked up"
TASKS = {
    "excavate": (START, 1, 2, 3), "foundation": ("excavate", 2, 3.5, 8), "wall": ("foundation", 6, 9, 18),
    "roof": ("wall", 4, 5.5, 10), "plumbing_out": ("wall", 1, 4.5, 5), "plumbing_in": ("plumbing_out", 4, 4, 10),
    "siding": ("roof", 5, 6.5, 11), "paint_out": ("plumbing_out; siding", 5, 8, 17), "wiring": ("wall", 3, 7.5, 9),
    "wallboard": ("plumbing_in; wiring", 3, 9, 9), "flooring": ("wallboard", 4, 4, 4), "paint_in": ("wallboard", 1, 5.5, 7),
    "fixtures_out": ("paint_out", 1, 2, 3), "fixtures_in": ("flooring; paint_in", 5, 5.5, 9),
}  # fmt: skip
DEADLINE = 47.0


def _rows() -> dict[str, TransferTask]:
    return {
        name: TransferTask(title=name, delivery="", after=after, optimistic=low, most_likely=mode, pessimistic=high)
        for name, (after, low, mode, high) in TASKS.items()
    }


def _expected() -> list[float]:
    """Weeks of the project at expected durations, and the variance along its longest path."""
    rows = _rows()
    end = last_of(rows, expected_paths(rows))
    return [float(end.time), float(end.variance)]


def _in_time() -> list[float]:
    time, variance = _expected()
    return [float(normal_cdf((DEADLINE - time) / variance**0.5))]


def _floats() -> list[float]:
    """The float of each task at expected durations, in the order of the table."""
    rows = _rows()
    found = windows(rows, {name: expected_duration(row) for name, row in rows.items()})
    return [float(each.total_float) for each in found.values()]


VALUES: tuple[Published, ...] = (
    Published(SUBJECT, "weeks of a building project, and the variance of its longest path", SOURCE, "44 9", _expected, NOTE, 1e-6),
    Published(SUBJECT, "probability to finish within 47 weeks", SOURCE, "0.84", _in_time, NOTE, 0.5),
    Published(
        SUBJECT, "slack of its fourteen activities, in weeks", SOURCE, "0 0 0 4 0 0 4 4 2 0 1 0 4 0", _floats, NOTE, 1e-6
    ),
)
