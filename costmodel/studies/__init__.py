"""Studies: the model taken many times. They know addresses of inputs and figures, and nothing of how a figure is made.

Decisions. A figure that is added to the model is swept, searched and drawn at once. Studies start from the plant behind the
headline: `as_bought` keeps the tools that the design needs, and the output is the lesser of the planned one and what the tools
allow, so that the figure at the stated inputs is that of `cost`, `plan` and `deal`. Inputs known before purchase size the plant
anew in each draw. What a scenario, another choice, a round or --set supposes is not drawn (`case/uncertain.py`). What a minute,
a tool or a point of yield is worth is computed for the plant at full use (`factory/full_use.py`).

The model is taken through a recording: the case is read as cells once, and what the wanted figures need of it is done again on
chunks of arrays, to the last bit what the array reading gives. A figure may be NaN in some draws: every study counts these,
averages none of them, and a target on one is missed. Each driver of the draws has a stream of its own from the seed and its
name, so that what else is drawn, asked for or cut into chunks changes nothing. Recordings, and the sides of a deal with all terms
varied, stay with the case (`case/whole_case.py:kept`), so that a study takes a case and no more.

A gain may jump or turn along a term, as where the plant closes. So each is scanned, every change of sign is narrowed to
neighbouring numbers, and what remains between them tells a jump from a root (`core/roots.py`); two changes between neighbouring
points of a scan are not seen. The Nash point is the greatest product of both gains over fees from 0 to the highest of the zone
and royalties from 0 to the cap, each gain to the power of its side's weight (Nash 1950; Harsanyi and Selten 1972); the equal
split is along the fee at the royalty of the offer. A zone per draw is looked for along a few royalties, so its probability is a
lower bound.
"""
