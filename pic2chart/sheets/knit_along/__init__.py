"""The knit-along page: one HTML file that works offline."""
