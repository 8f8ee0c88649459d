"""A band: a tube with ribbing at both edges."""
