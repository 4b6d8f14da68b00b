"""One interpreter of recorded operations, compiled by numba once for all cases; to be imported where numba is there.

`compiled_runs.py` calls it with a program as tables of numbers: first all that no array enters, then the rest block by block.
"""

from .compiled_operations import (
    CHOOSE,
    DIVIDE,
    EXP,
    LOAD,
    POWER,
    RATES,
    SUM,
    UNEQUAL,
    add_up,
    arithmetic,
    choose,
    compare,
    compiled,
    far,
    list_of_numbers,
    load,
    one_operation,
    power,
    rates,
    select,
    with_number,
)


@compiled
def _any_moved(lists, start, length, moved):
    found = False
    for j in range(start, start + length):
        found = found or moved[lists[j]]
    return found


@compiled
def _at(place, code, moved):
    """Where an operand stands in a block: its register, or for a plain number -1 less its place."""
    return code.slots[place] if moved[place] else -1 - place


@compiled
def numbers_pass(code, numbers, moved, active, state):
    """Do the steps that no array enters, from `state[0]` on, and note the others in `active`, `state[1]` so far.

    Stops at a rate of return that needs the grid, `state[0]` being its step; at the end, `state[0]` is the number of steps.
    """
    for k in range(state[0], len(code.table)):
        name, a, b, c, gives = code.table[k, 0], code.table[k, 1], code.table[k, 2], code.table[k, 3], code.table[k, 4]
        listed = name in (SUM, RATES)
        if name == LOAD:
            moves = moved[gives]
        else:
            moves = _any_moved(code.lists, a, b, moved) if listed else moved[a] or moved[b] or moved[c]
        if moves:
            moved[gives] = True
            moved[gives + (name == RATES)] = True
            row = active[state[1]]
            row[0], row[1], row[5] = name, code.slots[gives], k
            row[2], row[3], row[4] = a, b, c
            if not listed and name != LOAD:
                row[2], row[3], row[4] = _at(a, code, moved), _at(b, code, moved), _at(c, code, moved)
            state[1] += 1
        elif listed:
            if not list_of_numbers(name, a, b, code.lists, numbers, gives):
                state[0] = k
                return
        elif name != LOAD:
            numbers[gives] = one_operation(name, numbers[a], numbers[b], numbers[c], code.loops)
    state[0] = len(code.table)


@compiled
def _filled(rows, at, spare, numbers, count):
    """The register of an operand; that of a plain number is a spare one, filled with it."""
    if at >= 0:
        return at
    number = numbers[-1 - at]
    for i in range(count):
        rows[spare, i] = number
    return spare


@compiled
def block_pass(code, values, active, start, count, state):
    """Do the steps of `active` on one block of draws, from step `state[0]` of these on, up to `state[1]`.

    Stops after a rate of return of which a draw needs the grid, `state[0]` being its step.
    """
    rows, numbers = values.rows, values.numbers
    spare = len(rows) - 3
    for j in range(state[0], state[1]):
        name, out, x, y = active[j, 0], active[j, 1], active[j, 2], active[j, 3]
        if name == LOAD:
            load(values, out, x, start, count)
        elif name == SUM:
            add_up(code, values, out, x, y, count)
        elif name == RATES:
            if not rates(code, values, active[j, 5], count):
                state[0] = j
                return
        elif name <= DIVIDE and (x < 0 or y < 0):
            with_number(name, rows, out, max(x, y), numbers[-1 - min(x, y)], x < 0, count)
        else:
            plain = (x < 0, y < 0)
            x, y = _filled(rows, x, spare, numbers, count), _filled(rows, y, spare + 1, numbers, count)
            if arithmetic(name, rows, out, x, y, count):
                continue
            if name == POWER:
                power(rows, out, x, y, plain, count, code.loops)
            elif name <= UNEQUAL:
                compare(name, rows, out, x, y, count)
            elif name == CHOOSE:
                choose(rows, out, x, y, _filled(rows, active[j, 4], spare + 2, numbers, count), count)
            elif name >= EXP:
                far(name, rows, out, x, y, count, code.loops)
            else:
                select(name, rows, out, x, y, count)
    state[0] = state[1]


@compiled
def keep(rows, slots, made, start, count):
    """Keep what stands in some registers after a block of draws."""
    for k in range(len(slots)):
        for i in range(count):
            made[k, start + i] = rows[slots[k], i]
