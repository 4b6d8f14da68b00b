"""Every figure can be asked why: as a tree down to its inputs, for a terminal, a notebook, a page or a program."""
