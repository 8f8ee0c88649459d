"""pic2chart: from a picture to a stranded-colourwork chart that can be knitted."""

__version__ = "0.1.0"
