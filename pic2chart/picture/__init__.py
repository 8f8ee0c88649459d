"""A picture file, upright and cropped; its subject; its grid of stitches."""
