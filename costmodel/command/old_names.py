"""Commands of version 0.1 and what they are called now; each is refused with its new name."""

RENAMED = {
    "bottlenecks": "line CASE bottlenecks",
    "cycle": "line CASE cycle",
    "times": "line CASE times",
    "yield": "line CASE yield",
    "soaking": "line CASE soaking",
    "ownership": "cost CASE ownership",
    "buying": "cost CASE buying",
    "depreciation": "cost CASE depreciation",
    "evidence": "cost CASE evidence",
    "size": "cost CASE size",
    "choices": "cost CASE choices",
    "tornado": "rank CASE tornado",
    "scenarios": "compare CASE --all-scenarios",
    "dictionary": "guide dictionary",
}
