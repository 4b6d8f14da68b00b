"""The colours of all charts, in one place: a thing has one colour wherever it is drawn.

The kinds of cost are told apart by people who see red, green or blue less well, and neighbours in a stack in grey too:
`tests/test_palette.py` measures it. Beside colour there are always words, order, dashes or marks.
"""

COLOURS = {
    # kinds of cost, in the order in which they are stacked
    "materials": "#0072B2",
    "utilities": "#F0E442",
    "labour": "#009E73",
    "depreciation": "#333333",
    "maintenance": "#56B4E9",
    "building": "#332288",
    "facilities": "#CC79A7",
    "overheads": "#661100",
    "emissions": "#CFCFCF",
    "yield_loss": "#D55E00",
    # the plan and the deal
    "project": "#0072B2",
    "owners": "#D55E00",
    "operating": "#009E73",
    "tax": "#333333",
    "capital": "#0072B2",
    "replacement": "#56B4E9",
    "sale": "#F0E442",
    "licensee": "#0072B2",
    "licensor": "#CC79A7",
    "withheld": "#9E9E9E",
    "inventors": "#E69F00",
    "transfer": "#333333",
    "paid": "#F0E442",
    "both_gain": "#009E73",
    # whether something is reached, and which way it moves
    "covers": "#0072B2",
    "falls_short": "#D55E00",
    "bottleneck": "#D55E00",
    "in_time": "#333333",
    "low_end": "#56B4E9",
    "high_end": "#D55E00",
    "rise": "#D55E00",
    "fall": "#009E73",
    "level": "#0072B2",
    "mark": "#D55E00",
    "alone": "#0072B2",
    "with_others": "#56B4E9",
    # time states of SEMI E10
    "productive": "#0072B2",
    "standby": "#cfe3f2",
    "engineering": "#009E73",
    "scheduled_down": "#F0E442",
    "unscheduled_down": "#D55E00",
    "non_scheduled": "#444444",
}
STATES = ("productive", "standby", "engineering", "scheduled_down", "unscheduled_down", "non_scheduled")
LINES = ("materials", "yield_loss", "labour", "building", "facilities", "maintenance", "overheads")  # markets, cases, in a row
PALE = "#9bbcd6"  # what was there before
INK, GRID, FAINT = "#222222", "#dddddd", "#696969"
LEGIBLE = 4.5  # least contrast of words with white, by the Web Content Accessibility Guidelines 2.2 (1.4.3)
FONT = "Source Sans 3, Segoe UI, Helvetica, Arial, sans-serif"


def contrast_with_white(colour: str) -> float:
    """How far a colour stands out from white, from 1 to 21. Source: Web Content Accessibility Guidelines 2.2, contrast ratio.

    >>> round(contrast_with_white("#000000"), 2), round(contrast_with_white("#777777"), 2)
    (21.0, 4.48)
    """
    parts = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 1.05 / (0.2126 * red + 0.7152 * green + 0.0722 * blue + 0.05)


def legible(colour: str) -> str:
    """The colour for words: itself, or as much darker as it takes to be read on white.

    >>> legible("#0072B2"), contrast_with_white(legible("#CC79A7")) >= LEGIBLE
    ('#0072B2', True)
    """
    while contrast_with_white(colour) < LEGIBLE:
        colour = "#" + "".join(f"{int(int(colour[k : k + 2], 16) * 0.95):02x}" for k in (1, 3, 5))
    return colour
