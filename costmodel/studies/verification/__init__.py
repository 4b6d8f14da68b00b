"""The model held against the outside: published values, reference libraries, and identities of a case of one's own."""
