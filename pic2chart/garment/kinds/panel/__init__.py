"""A flat panel, or one worked in the round with a steek."""
