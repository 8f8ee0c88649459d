"""The desk: a local page where one sees and changes everything. It holds no knitting logic."""
