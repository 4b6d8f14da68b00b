"""The rules that hold between tables: one named function for each, which finds what breaks it."""
