"""The strand sheet: the way of every yarn in a round, for teaching."""
