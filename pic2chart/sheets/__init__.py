"""Everything that is drawn, printed and read at the needles."""
