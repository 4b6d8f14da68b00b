"""Editions for outside: a release is what may be told, and the only thing that their documents are made from."""
