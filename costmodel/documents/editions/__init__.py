"""External editions: a release holds what may be disclosed, and is the only thing that their documents are made from.

Decisions. A release is computed on a view of the case in which what only the licensor knows is 0 or absent and no measurement
is left, so that nothing disclosed can depend on them; then only names of the allow-list go on (`allowed.py`; a test holds that
each name there is needed). Figures of the recipe are folded by group of steps. A row of a list in the facts carries the address
of its row, never disclosed, so that a mark closes what shows an input, a figure, or carries its own name. `leak_check.py` checks
every disclosed number and every pair against all that is closed, in four cases that differ in every input, and refuses an
edition that gives away what is marked.
"""
