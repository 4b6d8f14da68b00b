"""A case: the tables a person edits, read, checked and turned into records in base units."""
