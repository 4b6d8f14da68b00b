"""The market: what buyers could pay for our module, compared with a reference module with all that goes around either.

Decisions. What limits a market decides the rule (`markets.limited_by`). Where energy does, the highest price is that of equal
levelised cost of energy. Where area does, the area is covered once, so what a square metre leaves its owner is compared with
the reference module, with plain coverings and, where a row permits it, with nothing. Lives differ, so equivalent annual worths
are compared: each covering is put up again at the end of its life, and the horizon cancels. Costs by area are gross; what a
pane saves is the cost of the other covering. The highest price per square metre is a straight line in efficiency under both
rules. Volumes of markets in square metres are counted in watts by the power of our module where markets are added up.
"""
