"""Notebooks: controls for inputs of a case, and pictures that follow them."""
