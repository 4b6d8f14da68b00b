"""The ledger: one table of every cost of a year, from which every view is a sum over a group of lines."""
