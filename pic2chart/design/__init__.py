"""From a grid of stitches to what is to be solved, and what comes of it."""
