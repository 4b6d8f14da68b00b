"""The market: what buyers could pay for our module, held against a reference module with all that goes around either."""
