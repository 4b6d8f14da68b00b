"""Cost of ownership and module cost of a thin-film silicon line, from a folder of tables."""

__version__ = "0.2.0"
