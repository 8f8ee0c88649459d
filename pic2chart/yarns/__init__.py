"""Yarns one has or wants: the shelf, contrast, shades in photos, choice, amounts."""
