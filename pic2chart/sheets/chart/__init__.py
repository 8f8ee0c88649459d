"""The chart as a sheet, and shared out over pages."""
