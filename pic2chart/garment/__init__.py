"""Garments: sizes, shapes, canvases, written patterns and outlines; a file a garment, one table."""
