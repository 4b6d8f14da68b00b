"""Import this before anything of Jupyter: it leaves out one optional package that costs each process 0.7 s.

jsonschema, which nbformat needs, imports `rfc3987_syntax` to check IRI formats, if it is there; that package compiles some
forty grammars at import. jsonschema goes on without it, and nothing here checks IRIs.
"""

import sys

sys.modules.setdefault("rfc3987_syntax", None)  # type: ignore[arg-type]
