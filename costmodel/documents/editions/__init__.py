"""External editions: a release holds what may be disclosed, and is the only thing that their documents are made from.

Decisions. A release is computed on a view of the case in which what only the licensor knows is 0 or absent, every fee counts in
full and no measurement is left, so that nothing disclosed can depend on them; then only names of the allow-list go on
(`allowed.py`; a test holds that each name there is needed). Words go out from fields that are meant to: `public_title` and
`public_story` of case.yaml, `public_source` of a row, titles of the rows that are shown. Figures of the recipe are folded by group
of steps. A row of a list in the facts carries the address of its row, never disclosed, so that a mark closes what shows an input, a
figure, or carries its own name. `leak_check.py` holds all disclosed numbers together against all that is closed, by the rank of
their derivatives (`disclosed_slopes.py`, `span.py`) and by what a reader knows of all other numbers (`readers_knowledge.py`,
`narrowing.py`). It refuses an edition that gives away what is marked; a refusal names what to leave out. A row of confidential.csv
with `protects` leaves out what would give another away, and is no secret itself.
"""
