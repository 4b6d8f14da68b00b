"""The same colours for the same things, in charts on screen and in pictures of documents."""

# after the colour-blind safe set of Okabe and Ito (2008), ordered so that neighbours also differ in lightness
COLOURS = {
    "materials": "#0072B2",
    "utilities": "#F0E442",
    "labour": "#009E73",
    "depreciation": "#333333",
    "maintenance": "#56B4E9",
    "building": "#CC79A7",
    "facilities": "#8C6D31",
    "overheads": "#9E9E9E",
    "emissions": "#AA4499",
    "yield_loss": "#D55E00",
}
INK, SOFT, GRID = "#222222", "#666666", "#dddddd"
FONT = "Source Sans 3, Segoe UI, Helvetica, Arial, sans-serif"
