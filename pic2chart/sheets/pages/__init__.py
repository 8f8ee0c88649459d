"""The one document of a thing: cover, schematic, pattern with its charts, strands, words, notes."""
