"""What every room may use: errors, files and locks, colour, settings."""
