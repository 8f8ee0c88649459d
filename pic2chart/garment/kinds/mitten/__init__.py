"""A pair of mittens."""
