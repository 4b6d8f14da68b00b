"""Kinds of what a notebook shows; apart from `drawing`, so that the report's kernel starts without NumPy."""

PLOTLY = "application/vnd.plotly.v1+json"
