"""A hat: ribbed brim, body, and a crown of wedges."""
