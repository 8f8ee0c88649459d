"""Garments: sizes, shapes, canvases, written patterns and outlines."""
