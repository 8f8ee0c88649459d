"""Pictures of the fabric: front, back, swatches of pairs."""
