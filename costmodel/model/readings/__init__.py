"""Other readings of the model than numbers and arrays: quantities with units, and cells that record their formulas."""
