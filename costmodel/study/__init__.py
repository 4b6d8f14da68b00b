"""Studies: what a case says when inputs vary. They know addresses of inputs and figures, and nothing of modules."""
