"""The deal: what the licence is worth to each side."""
