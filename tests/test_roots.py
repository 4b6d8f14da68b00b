"""The search for roots and jumps on functions whose answers are worked by hand."""

from __future__ import annotations

import numpy as np
import pytest

from costmodel.core.roots import first, jumps, narrow, profile, profiles, reach, scan_of

GRID = np.linspace(0.0, 10.0, 41)  # steps of a quarter


def near(value):
    return pytest.approx(value, rel=1e-11, abs=1e-11)


def hill(x):
    """3 at 4, and 0 at 1 and 7: 9 less the square of the distance from 4, over 3."""
    return (9.0 - (x - 4.0) ** 2) / 3.0


def stairs(x):
    """Rises by 1 from -2.1, and falls by 4 beyond 6.3."""
    return x - 2.1 - np.where(x > 6.3, 4.0, 0.0)


def saw(x):
    """Rises from -1 to 1, three times in 9, and stays at -1 from then on."""
    return np.where(x < 9.0, 2.0 * (x % 3.0) / 3.0 - 1.0, -1.0)


def test_a_hill_is_not_negative_between_its_two_roots():
    found = profile(hill, GRID + 0.1)
    assert [change.nearest for change in found.roots] == [near(1.0), near(7.0)]
    assert found.stretches == ((near(1.0), near(7.0)),)
    assert all(hill(np.array(end)) >= 0 for end in found.stretches[0])
    assert [change.rises for change in found.changes] == [True, False]


def test_a_root_that_the_scan_hits_is_one():
    assert profile(hill, GRID).stretches == ((near(1.0), near(7.0)),)


def test_a_step_past_zero_is_a_jump_and_ends_a_stretch():
    # from 4.2 to 0.2 at 6.3: no zero there, and one where it began
    found = profile(stairs, GRID)
    assert found.stretches == ((near(2.1), 10.0),)
    (jump,) = jumps(stairs, found)
    assert (jump.low, jump.high, jump.at_low, jump.at_high) == (near(6.3), near(6.3), near(4.2), near(0.2))
    assert jump.low <= 6.3 < jump.high
    # less 1: it jumps from 3.2 to -0.8 and is back at zero at 7.1
    lower = profile(lambda x: stairs(x) - 1.0, GRID)
    assert lower.stretches == ((near(3.1), near(6.3)), (near(7.1), 10.0))
    assert [change.jump for change in lower.changes] == [False, True, False]
    assert [change.nearest for change in lower.roots] == [near(3.1), near(7.1)]


def test_a_saw_has_several_stretches_and_jumps():
    found = profile(saw, np.linspace(0.0, 10.0, 83))
    assert found.stretches == ((near(1.5), near(3.0)), (near(4.5), near(6.0)), (near(7.5), near(9.0)))
    assert [change.jump for change in found.changes] == [False, True] * 3
    assert [jump.low for jump in jumps(saw, found)] == [near(3.0), near(6.0), near(9.0)]


def test_a_steep_slope_or_a_kink_is_no_jump():
    steep, kinked = (lambda x: 1e6 * np.clip(x - 5.1, 0.0, 0.01) - 3.0), (lambda x: np.abs(x - 3.33) - 1.0)
    assert jumps(steep, profile(steep, GRID)) == ()
    assert [change.jump for change in profile(steep, GRID).changes] == [False]
    assert jumps(kinked, profile(kinked, GRID)) == ()
    assert profile(kinked, GRID).stretches == ((0.0, near(2.33)), (near(4.33), 10.0))


def test_rows_are_searched_at_once_each_with_its_own_arguments():
    bound, high = np.array([1.0, 4.0, 40.0]), np.array([2.0, 3.0, 5.0])
    found = profiles(lambda x, b, h: np.where(x < b, h, -h), GRID, [bound, high])
    assert [row.stretches for row in found] == [((0.0, near(1.0)),), ((0.0, near(4.0)),), ((0.0, 10.0),)]
    assert [[change.jump for change in row.changes] for row in found] == [[True], [True], []]


def test_the_first_root_or_change():
    assert first(saw, GRID) == near(1.5)
    step = lambda x: np.where(x < 2.2, 5.0, -1.0)  # noqa: E731
    assert np.isnan(first(step, GRID))
    assert first(step, GRID, jumps=True) == near(2.2)


def test_where_there_is_no_value_it_is_not_taken_for_a_root():
    gone = lambda x: np.where(x < 4.6, 1.0 + x, np.nan)  # noqa: E731
    found = profile(gone, GRID)
    assert found.stretches == ((0.0, near(4.6)),)
    assert found.roots == ()


def test_a_root_at_nothing_ends():
    assert first(lambda x: x, GRID) == 0.0  # the scan begins at it
    assert first(lambda x: x, GRID - 5.1) == pytest.approx(0.0, abs=1e-15)


def test_what_begins_to_hold_is_narrowed_by_halves_too():
    # the first value whose square is at least 2, to 1e-6
    bracket = tuple(np.array([each]) for each in (1.0, 1.0, 2.0, 4.0))
    found = narrow(lambda x, _: x**2, lambda made, _: made >= 2.0, bracket, finer=3, close=1e-6)
    assert found[0][0] < 2**0.5 <= found[2][0]
    assert found[2][0] - found[0][0] < 2e-6


def test_secants_close_a_bracket_of_a_line_at_once_and_a_curve_soon():
    asked = []

    def at(points, rows):
        asked.append(len(rows))
        return np.where(rows[:, None] == 0, 3.0 * points - 1.0, np.where(rows[:, None] == 1, points**3 - 0.2, (points > 0.7) - 0.5))

    values = at(np.tile([0.0, 1.0], (3, 1)), np.arange(3))
    asked.clear()
    bracket = np.zeros(3), values[:, 0], np.ones(3), values[:, 1]
    low, at_low, high, at_high = narrow(at, lambda made, _: made >= 0, bracket, target=0.0)
    assert high == pytest.approx([1 / 3, 0.2 ** (1 / 3), 0.7], rel=1e-12)
    assert np.all((at_low < 0) & (at_high >= 0) & (low < high))
    assert asked[0] == 3
    assert asked[1] == 2  # the line is done
    assert asked.count(2) <= 4  # then the curve; the jump goes on by parts


def test_a_scan_goes_out_until_a_function_has_passed_zero():
    assert reach(lambda x: 7e7 - x, 0.0, 1e6) == 1e8
    points = scan_of(0.0, 1e8, 1234.5)
    assert first(lambda x: x - 30.0, points) == near(30.0)
    assert 1234.5 in points
