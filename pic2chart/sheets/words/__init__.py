"""Rounds in words: written, read back, and set on paper."""
